"""A first look: of which formats a recording has blocks that read as they are.

Where many kinds of cells may be, to spend effort on each wherever something does not read would take minutes. So
a recording is gone through once with none, up to the first blocks that read; what they are written in is then
read with all effort. That costs little: of what begins with no kind of block, only one byte is read.
"""

import math
from functools import cached_property

import numpy as np

from . import blocks
from .blockreader import LOST, WAIT
from .lane import Lane
from .samples import full_scale

__all__ = ["LookLane", "first_formats"]

NOTHING = 2.0**-10  # a piece that never leaves this level is silence


class LookLane(Lane):
    """A lane that takes note of what reads as it is, and of nothing else."""

    def _try(self, group, final):
        if not final and len(self._edges) - group[0].index < self._byte_edges:
            return WAIT
        for start in group:
            formats = [format for format in self.formats if self._begins(start, format)]
            answer = self._read(start, formats, final) if formats else LOST
            if answer is not LOST:
                return answer
        return LOST

    @cached_property
    def _byte_edges(self):
        return max(_byte_edges(format) for format in self.formats)

    def _begins(self, start, format):
        """Whether the first byte after a start is a kind of block."""
        edges, each = self._edges[start.index :][: _byte_edges(format)], format.frame.bits_per_byte
        cells = format.code.decode(edges, start.unit, each)
        return len(cells.bits) == each and blocks.is_kind(format.frame.to_bytes(cells.bits)[0].tobytes())

    def _settle(self, stop):
        self._drop(stop)
        return []


def first_formats(sounds, lanes, most_s=math.inf):
    """Names of the formats of the first blocks that read.

    Parameters
    ----------
    sounds : sequence of Sound
        Recordings of one tape's parts.
    lanes : callable
        Gives, for a rate and a number of channels, a `LookLane` for each channel and kind of cell: all those of
        the first channel's kind of cell, then of the next.
    most_s : float
        How much of each recording is looked at; what is silent does not count.

    Returns
    -------
    set of str
        Empty if no block reads.
    """
    for sound in sounds:
        looking, left = lanes(sound.rate, sound.channels), most_s * sound.rate
        for piece in sound.pieces(native=True):
            if left <= 0:
                break
            left -= len(piece) if np.abs(piece).max() > NOTHING * full_scale(piece) else 0
            piece = piece[:, None] if piece.ndim == 1 else piece
            found = [b for k, lane in enumerate(looking) for b in lane.feed(_side(piece, k % sound.channels))]
            if found:
                return {block.format.name for block in found}
        found = [block for lane in looking for block in lane.finish()]
        if found:
            return {block.format.name for block in found}
    return set()


def _byte_edges(format):
    return format.code.most_edges(format.frame.bits_per_byte + 1)


def _side(piece, number):
    return np.ascontiguousarray(piece[:, number])
