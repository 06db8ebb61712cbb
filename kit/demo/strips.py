"""Strips: a leader, a sync mark and a few bytes, written as sound and read back from it."""

from dataclasses import dataclass

import numpy as np

from ..bench.shortreading import read_cells
from ..known import find_format
from ..sound import Sound
from ..waves import edges, render

__all__ = ["HOUSE", "LINE", "RATE", "Strip", "as_bytes", "quoted", "read_strip", "written"]

LINE = b"Wind west 5, gulls 3."
HOUSE = find_format("house")
RATE = 44100


@dataclass(frozen=True, eq=False)
class Strip:
    """Bytes as they lie on a tape.

    Attributes
    ----------
    format : kit.Format
    bits : ndarray of uint8, shape (bits,)
    halves_s : ndarray of float64, shape (half-cycles,)
    data_s : float
        Where the first bit begins.
    """

    format: object
    bits: np.ndarray
    halves_s: np.ndarray
    data_s: float

    @property
    def sound(self):
        """Sound: the strip at its even speed."""
        return Sound(render(self.halves_s, RATE), RATE)

    @property
    def borders_s(self):
        """ndarray of float64, shape (bits + 1,): where each bit begins, and the last one ends."""
        lengths = np.array([self.format.code.encode([bit]).sum() for bit in (0, 1)])[self.bits]
        return self.data_s + self.format.unit_s() * np.concatenate(([0.0], np.cumsum(lengths)))


def written(content, format=HOUSE, leader_s=0.5):
    """Bytes behind a leader and a sync mark, with nothing in front that says what they are.

    Returns
    -------
    Strip
    """
    unit_s = format.unit_s()
    cycles = round(leader_s / (format.leader.leader_units * unit_s))
    leader = format.leader.encode(cycles)
    bits = format.frame.to_bits(content)
    tail = format.leader.encode(format.tail_cycles, sync=False)
    halves = unit_s * np.concatenate((leader, format.code.encode(bits), tail))
    return Strip(format, bits, halves, unit_s * leader.sum())


def read_strip(strip, sound, counter=None, edges_s=None):
    """Cells of a strip as they are read from a sound; parameters as in `kit.bench.shortreading.read_cells`.

    Parameters
    ----------
    strip : Strip
        Says in which format, and how many bits there are.
    sound : Sound
    counter : kit.Counter, optional
    edges_s : ndarray of float64, optional
        Where another reader says the wave turned.

    Returns
    -------
    kit.cells.Cells or None
    """
    found = edges(sound.samples, sound.rate) if edges_s is None else edges_s
    return read_cells(strip.format, found, len(strip.bits), counter, strip.bits[:8])


def as_bytes(strip, cells):
    """The bytes of the cells that were read; of a byte cut short nothing."""
    return b"" if cells is None else strip.format.frame.to_bytes(cells.bits)[0].tobytes()


def quoted(data, most=None):
    """Bytes as letters between quotation marks, a dot for what is none.

    Examples
    --------
    >>> quoted(b"Wind\\x07")
    '“Wind·”'
    """
    letters = "".join(chr(each) if 32 <= each < 127 else "·" for each in data)
    return f"“{letters if most is None or len(letters) <= most else letters[:most] + '…'}”"
