"""One block read patiently, from where its first cell begins: its timing, its length, its end, and what is in it."""

import numpy as np

from .. import blocks
from ..found import CHECKED, DAMAGED, FoundBlock
from ..trellis import Trellis
from .likeliest import WEAK, drawing, likeliest, said_length
from .timing import follow

__all__ = ["BlockReader", "Budget"]

NOTE = "read patiently"
MOST_TRIALS = 16  # for one block
TRIALS = 8  # rows of cells that the check is asked about after the likeliest, for one length of a block
TAIL_BEATS = 40  # round where a block ends
TAIL_LEADER_UNITS = 16  # of leader that must follow
LIKE_CELLS = 0.6  # how well a block's first cells and its tail must fit, as a part of how well the leader did
AS_WELL = 0.03  # a difference in fit that is none
PROBE_BEATS, FEWEST_BEATS = 320, 64
MOST_LENGTHS = 4  # of blocks, that are kept in mind
NEAR_SPEED = 0.1  # part by which the speeds of blocks of one length may differ


class Budget:
    """How many trials are left for one block, however often it is read: each may pass what is wrong."""

    def __init__(self, trials=MOST_TRIALS):
        self.left = trials

    def taken(self, trials):
        """So many, or as many as there are."""
        taken = min(trials, self.left)
        self.left -= taken
        return taken


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
        self._usual = []  # bytes, check left out, that data blocks here may have
        self._hz = 0.0  # units a second in the last block that had its end where it said

    def read(self, heard, beginning, reaches, budget):
        """A block from one place, or None; and whether its end has been heard.

        `reaches` are ways of following beats, each the passes of `follow`, the nearest first. The first one under
        which the first cells fit about as well as under any is taken, and others too if the speed went farther.
        `budget` is a `Budget` of trials.
        """
        if len(heard) - beginning.place < PROBE_BEATS * beginning.unit * self.trellis.beat_units:
            yield None, False
        probes = [self._probe(heard, beginning, reach[:1]) for reach in reaches]
        best = max(fit for fit, _ in probes)
        if best < LIKE_CELLS:
            return
        good = [(reach, path) for reach, (fit, path) in zip(reaches, probes, strict=True) if fit > best - AS_WELL]
        for followed in self._followed(heard, beginning, good, reaches[0]):
            block = None
            for block, over in self._read(*followed, beginning, budget):
                yield block, over
            if block is not None and block.whole:
                return

    def _followed(self, heard, beginning, good, nearest):
        """Claims of formats and lengths, and grid, beats and path, for each way of following beats that may do."""
        strained = []
        for reach, start in good:
            claims = [(f, length) for f in self.formats for length in self._lengths_of(f, start, beginning)]
            if not claims:
                continue
            most = max(self._cells(format, length) for format, length in claims)
            grid, beats = self._grid(heard, beginning, most * self.trellis.lengths[-1], reach, TAIL_BEATS)
            path = self.trellis.best(grid)
            if path is not None and beats.strained(path.bounds[: most + 1][-1]):
                strained.append((claims, grid, beats, path))
                continue
            yield claims, grid, beats, path
            # Where the speed moves it may go farther later on.
            if reach == nearest:
                break
        yield from strained

    def _read(self, claims, grid, beats, path, beginning, budget):
        """A block, the way its beats run being known."""
        most = max(self._cells(format, length) for format, length in claims) * self.trellis.lengths[-1]
        damaged = None
        for format, length in claims:
            count = self._cells(format, length)
            end = self._end(grid, path, count, beginning) if path is not None else None
            if end is None and len(grid) < most + TAIL_BEATS:
                yield None, False
            trials = budget.taken(TRIALS) if end else 0
            found = likeliest(self.trellis, grid[:end], count, format, trials) if end else None
            if path is not None and (found is None or found.verdict == DAMAGED):
                found, end = self._without_tail(grid, path, count, format) or (found, end)
            if found is not None and found.says(length):
                block = self._found(format, found, beats, beginning)
                self._note_lengths(block, length)
                if block.whole:
                    yield block, end + TAIL_BEATS < len(grid)
                    return
                damaged = damaged or (block, end + TAIL_BEATS < len(grid))
        if damaged:
            yield damaged

    def _without_tail(self, grid, path, count, format):
        """A block whose tail lies in a hole, if its check agrees at once, and where it ends; else None."""
        if len(path.bits) < count:
            return None
        end = int(path.bounds[count])
        found = likeliest(self.trellis, grid[:end], count, format, 0)
        return (found, end) if found is not None and found.verdict == CHECKED else None

    def _grid(self, heard, beginning, beats, reach, tail=0):
        """The sound summed over each step of so many beats of cells, and of a tail, as far as there is any.

        Gives the beats' places as well: they are followed through the cells only.
        """
        left = (len(heard) - beginning.place) / (beginning.unit * self.trellis.beat_units)
        if min(beats, left) < FEWEST_BEATS:
            return np.zeros((0, self.trellis.steps), np.float32), None
        tracked = follow(heard, beginning.place, beginning.unit, beginning.level, self.trellis, beats, reach)
        room = int(np.searchsorted(tracked.places(np.arange(beats + tail + 1)), len(heard), side="right")) - 1
        grid = tracked.grid(heard, min(beats + tail, room), self.trellis.steps)
        return (np.sign(beginning.level) * grid).astype(np.float32), tracked

    def _probe(self, heard, beginning, reach):
        """How well the first cells fit, 1 being as well as the leader did, and what they are."""
        grid, _ = self._grid(heard, beginning, PROBE_BEATS, reach)
        path = self.trellis.best(grid) if len(grid) else None
        if path is None:
            return 0.0, None
        fit = np.mean(drawing(self.trellis, path) * grid[path.bounds[0] : path.bounds[-1]])
        return float(fit / (abs(beginning.level) * self._step_of(beginning))), path

    def _note_lengths(self, block, length):
        """Keep in mind how long blocks are: this one ends where it says, and a header says it of those after it."""
        if block.header is not None:
            rest = block.header.length % block.header.block_bytes or block.header.block_bytes
            said = [blocks.PART_START + size for size in (block.header.block_bytes, rest)]
        else:
            said = [length] if block.kind == blocks.DATA else []
        self._usual = list(dict.fromkeys([*said, *self._usual]))[:MOST_LENGTHS]
        self._hz = 1 / block.unit_s

    def _cells(self, format, length):
        return (length + format.check_bytes) * format.frame.bits_per_byte

    def _lengths_of(self, format, path, beginning):
        """How many bytes, check left out, a block may have: as it says itself, or as those before it had."""
        near = abs(beginning.unit * self._hz / self.rate - 1) < NEAR_SPEED
        usual = self._usual if near else []
        return list(dict.fromkeys([length for length in (*usual, said_length(path, format)) if length is not None]))

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
        tail = round(TAIL_LEADER_UNITS / self.trellis.beat_units) * steps
        fits = [leader[:n] * piece.ravel()[-n:] for n in range(piece.size, tail - 1, -steps)]
        if not fits:
            return None
        at = int(np.argmax(there[: len(fits)] + np.array([fit.sum() for fit in fits])))
        enough = LIKE_CELLS * abs(beginning.level) * self._step_of(beginning)
        return first + at if fits[at][:tail].mean() > enough else None

    def _step_of(self, beginning):
        """Samples in a step of the grid."""
        return beginning.unit * self.trellis.beat_units / self.trellis.steps

    def _found(self, format, found, beats, beginning):
        path = found.path
        times = beats.places(path.bounds) / self.rate
        note = NOTE if not found.trials else f"{NOTE}, after {found.trials} trials"
        upright, inverted = found.upright
        return FoundBlock(
            format,
            upright,
            found.doubtful,
            found.verdict,
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
            grid=found.grid if found.verdict == DAMAGED else None,
        )
