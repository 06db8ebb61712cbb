"""One block read patiently, from where its first cell begins: its timing, its length, its end, and what is in it."""

import numpy as np

from .. import blocks
from ..found import DAMAGED, FoundBlock
from ..trellis import Trellis
from .likeliest import WEAK, drawing, likeliest, scale_of
from .timing import follow

__all__ = ["BlockReader"]

NOTE = "read patiently"
TRIALS = 12  # rows of cells that the check is asked about after the likeliest
TAIL_BEATS = 40  # round where a block ends
TAIL_LEADER_UNITS = 16  # of leader that must follow
LIKE_CELLS = 0.6  # how well a block's first cells and its tail must fit, as a part of how well the leader did
PROBE_BEATS, FEWEST_BEATS = 320, 64
NEAR_SPEED = 0.1  # part by which the speeds of blocks of one length may differ


class BlockReader:
    """Read blocks of one cell code.

    Parameters
    ----------
    code : CellCode
    formats : sequence of Format
        With this code and the same leader, to be tried.
    rate : int
        Samples per second.
    side : str
        Name of the channel, kept with each block.
    """

    def __init__(self, code, formats, rate, side):
        self.formats, self.rate, self.side = formats, rate, side
        self.trellis, self.leader = Trellis(code), formats[0].leader
        self._usual = []  # bytes of the last data block read, check left out, and its speed: units a second

    def read(self, heard, beginning, reach):
        """A block from one place, for each format, or None; and whether its end has been heard."""
        if len(heard) - beginning.place < PROBE_BEATS * beginning.unit * self.trellis.beat_units:
            yield None, False
        grid, _ = self._grid(heard, beginning, PROBE_BEATS, reach)
        path = self.trellis.best(grid) if len(grid) else None
        if path is None or not self._are_cells(grid, path, beginning):
            return
        claims = [(f, length) for f in self.formats for length in self._lengths_of(f, path, beginning)]
        if not claims:
            return
        most = max(self._cells(format, length) for format, length in claims)
        most *= self.trellis.lengths[-1]
        grid, beats = self._grid(heard, beginning, most, reach, TAIL_BEATS)
        path = self.trellis.best(grid)
        for format, length in claims:
            count = self._cells(format, length)
            end = self._end(grid, path, count, beginning) if path is not None else None
            if end is None and len(grid) < most + TAIL_BEATS:
                yield None, False
            found = end and likeliest(self.trellis, grid[:end], count, format, TRIALS)
            if found:
                block = self._found(format, found, beats, beginning, grid[:end])
                if block.whole and block.kind == blocks.DATA:
                    self._usual = [(length, self.rate / beginning.unit)]
                yield block, end + TAIL_BEATS < len(grid)

    def _grid(self, heard, beginning, beats, reach, tail=0):
        """The sound summed over each step of so many beats of cells, and of a tail, as far as there is any.

        Gives the beats' places as well: they are followed through the cells only.
        """
        room = int((len(heard) - beginning.place) / (beginning.unit * self.trellis.beat_units))
        if min(beats, room) < FEWEST_BEATS:
            return np.zeros((0, self.trellis.steps), np.float32), None
        found = follow(
            heard, beginning.place, beginning.unit, beginning.level, self.trellis, min(beats, room), reach
        )
        grid = found.grid(heard, min(beats + tail, room), self.trellis.steps)
        return (np.sign(beginning.level) * grid).astype(np.float32), found

    def _are_cells(self, grid, path, beginning):
        """Whether cells of this code fit well enough for it to be a block at all."""
        fit = np.mean(drawing(self.trellis, path) * grid[path.bounds[0] : path.bounds[-1]])
        return fit > LIKE_CELLS * abs(beginning.level) * self._step_of(beginning)

    def _cells(self, format, length):
        return (length + format.check_bytes) * format.frame.bits_per_byte

    def _lengths_of(self, format, path, beginning):
        """How many bytes, check left out, a block may have: as it says itself, or as those before it had."""
        each = format.frame.bits_per_byte
        start, _ = format.frame.to_bytes(path.bits[: len(path.bits) // each * each][: blocks.PART_START * each])
        claimed = blocks.length_of(start.tobytes())
        usual = [n for n, hz in self._usual if abs(beginning.unit * hz / self.rate - 1) < NEAR_SPEED]
        return list(dict.fromkeys([length for length in (claimed, *usual) if length is not None]))

    def _end(self, grid, path, count, beginning):
        """The beat at which the last of so many cells ends: where leader begins near there; None if it does not."""
        if len(path.bits) < count:
            return None
        near, steps = int(path.bounds[count]), self.trellis.steps
        first, stop = max(0, near - TAIL_BEATS), min(len(grid), near + TAIL_BEATS)
        piece = grid[first:stop]
        values = self.trellis.by_length(self.trellis.values(piece))
        there = self.trellis.forwards({size: value[:, None] for size, value in values.items()})[:-1, 0]
        halves = self.leader.encode(len(piece), sync=False) * steps / self.trellis.beat_units
        leader = np.repeat(1.0 - 2.0 * (np.arange(len(halves)) % 2), np.rint(halves).astype(int))
        # All ways are weighed over the same stretch: cells up to a beat, leader from there on.
        fits = [leader[:n] * piece.ravel()[-n:] for n in range(piece.size, 0, -steps)]
        at = int(np.argmax(there + np.array([fit.sum() for fit in fits])))
        tail = fits[at][: TAIL_LEADER_UNITS * steps]
        enough = LIKE_CELLS * abs(beginning.level) * self._step_of(beginning)
        return first + at if len(tail) and tail.mean() > enough else None

    def _step_of(self, beginning):
        """Samples in a step of the grid."""
        return beginning.unit * self.trellis.beat_units / self.trellis.steps

    def _found(self, format, found, beats, beginning, grid):
        path, content, doubtful, verdict, trials = found
        times = beats.places(path.bounds) / self.rate
        note = NOTE if not trials else f"{NOTE}, after {trials} trials"
        upright, inverted = blocks.upright(content) if not doubtful[0] else (content, False)
        return FoundBlock(
            format,
            upright,
            doubtful,
            verdict,
            path.bits,
            np.clip(path.soft / (2 * WEAK), 0, 1).astype(np.float32),
            (times - times[0]).astype(np.float32),
            float(times[0]),
            beginning.leader / self.rate,
            beginning.unit / self.rate,
            inverted=inverted,
            side=self.side,
            note=note,
            soft=path.signed,
            grid=grid * scale_of(self.trellis, path, grid) if verdict == DAMAGED else None,
        )
