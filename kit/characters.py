"""Characters: asynchronous reading of cells that all take the same time, the clock starting with each start bit.

Time is counted in cells, as long as the tape has them just there. In each cell the wave is asked, over most of its
time, how much of it is of the tone of ones: one edge too many, too few or out of place is outvoted.
"""

from dataclasses import dataclass

import numpy as np

from .cells import MILD, tracked

__all__ = ["Characters", "Wave"]

TRACKED_CELLS = 4  # cells over which one estimate of speed is made
GUARD = 0.15  # part of a cell at either end that has no say: the edge between two cells may lie there
PROPER = 0.25  # a cycle no farther off than this part is of one of the two tones
AHEAD = 3  # characters in a row that tell a start bit from what only looks like one
SCARCE = 0.6  # a character must be of the two tones for this part of its time


@dataclass(frozen=True)
class Characters:
    """Characters in a stretch of edges.

    Attributes
    ----------
    bits : ndarray of uint8, shape (characters, bits)
    margins : ndarray of float32, shape (characters, bits)
        1 where all of a cell is of one tone, 0 where half of it is of each, or of neither.
    times : ndarray of float64, shape (characters, bits + 1)
        Where each cell begins, and where the last one ends.
    doubt : ndarray of bool, shape (characters,)
        True where a start, stop or parity bit is not what it must be, a cell is undecided, or nothing was heard.
    """

    bits: np.ndarray
    margins: np.ndarray
    times: np.ndarray
    doubt: np.ndarray

    @classmethod
    def none(cls, each):
        """No characters of so many bits."""
        return cls(
            np.zeros((0, each), np.uint8), np.zeros((0, each), np.float32), np.zeros((0, each + 1)), np.zeros(0, bool)
        )

    @classmethod
    def joined(cls, parts):
        """The characters of several stretches."""
        return cls(*(np.concatenate([getattr(p, n) for p in parts]) for n in ("bits", "margins", "times", "doubt")))

    def __len__(self):
        return len(self.doubt)

    def __getitem__(self, which):
        return Characters(self.bits[which], self.margins[which], self.times[which], self.doubt[which])


class Wave:
    """Edges as a row of cells: where each lies, and how much of it is of the tone of ones.

    Parameters
    ----------
    edges : ndarray of float64, shape (n,)
        Times, rising; three at least.
    unit : float
        Length of a unit at the first edge, in the measure of the edges.
    code : TwoTones
    frame : Frame
    fixed : bool
        True if the speed is not to be followed.
    """

    def __init__(self, edges, unit, code, frame, fixed=False):
        self.edges, self.code, self.frame = edges, code, frame
        halves = np.diff(edges)
        # A held level makes every second half-cycle longer: a half-cycle with half of each neighbour does not see it.
        around = np.pad(halves, 1, mode="edge")
        cycles = halves + (around[:-2] + around[2:]) / 2
        short, long = code.shortest_cycle_units, code.longest_cycle_units
        every = TRACKED_CELLS * (code.zero_half_cycles + code.one_half_cycles) // 2
        self.units = np.full(len(halves), unit) if fixed else tracked(cycles, unit, short, long, every)
        ratio = cycles / self.units
        proper = (np.abs(ratio - short) < PROPER * short) | (np.abs(ratio - long) < PROPER * long)
        slow = np.clip((ratio - short) / (long - short), 0, 1)
        ones = 1 - slow if code.one_units < code.zero_units else slow
        heard = (ratio > (1 - 1.6 * PROPER) * short) & (ratio < (1 + 1.6 * PROPER) * long)
        self.ones = np.where(heard, ones, 0.5)
        steps = halves / (code.cell_units * self.units)
        self.cells = np.concatenate(([0.0], np.cumsum(steps)))
        self._ones = np.concatenate(([0.0], np.cumsum(self.ones * steps)))
        self._proper = np.concatenate(([0.0], np.cumsum(proper * steps)))
        self._marks = np.concatenate(([0.0], np.cumsum((proper & (self.ones > 0.5)) * steps)))

    @property
    def last(self):
        """Cells up to the last edge."""
        return self.cells[-1]

    def time(self, cell):
        """When a place, in cells, comes by."""
        return np.interp(cell, self.cells, self.edges)

    def cell(self, time):
        """The place, in cells, that comes by at a time."""
        return np.interp(time, self.edges, self.cells)

    def unit(self, cell):
        """Length of a unit at a place, in the measure of the edges."""
        return float(np.interp(cell, self.cells[:-1], self.units))

    def mean_unit(self, first, stop):
        """Mean length of a unit between two places, in the measure of the edges."""
        first, stop = max(first, 0.0), min(stop, self.last)
        return float(self.time(stop) - self.time(first)) / ((stop - first) * self.code.cell_units)

    def proper(self, first, stop):
        """Which part between two places is of either tone."""
        return self._mean(self._proper, first, stop)

    def marks(self, first, stop):
        """Which part between two places is plainly of the tone of ones."""
        return self._mean(self._marks, first, stop)

    def _mean(self, total, first, stop):
        first, stop = np.clip(first, 0, self.last), np.clip(stop, 0, self.last)
        part = np.interp(stop, self.cells, total) - np.interp(first, self.cells, total)
        return part / np.maximum(stop - first, 1e-9)

    def starts(self):
        """Places, in cells, where the tone of ones gives way to a start bit; shape (n,)."""
        zeros = self.ones < 0.5
        at = self.cells[1:-1][zeros[1:] & ~zeros[:-1]]
        begun = self._mean(self._ones, at + GUARD, at + 1 - GUARD) < 0.5
        before = self._mean(self._ones, at - 0.5, at - 0.05) > 0.4  # or nothing was heard there
        return at[begun & before]

    def characters(self, at):
        """The characters that begin at some places, whether or not they are any."""
        each = self.frame.bits_per_byte
        begins = np.asarray(at, float)[:, None] + np.arange(each)
        value = np.where(
            begins + 0.5 < self.last, self._mean(self._ones, begins + GUARD, begins + 1 - GUARD), 0.5
        )
        bits = (value > 0.5).astype(np.uint8)
        margins = np.abs(2 * value - 1).astype(np.float32)
        _, doubt = self.frame.to_bytes(bits.reshape(-1)) if len(bits) else (None, np.zeros(0, bool))
        times = self.time(np.concatenate((begins, begins[:, -1:] + 1), axis=1))
        return Characters(bits, margins, times, doubt | (margins < MILD).any(axis=1))

    def chain(self, starts, good, first, stop):
        """Which starts are of characters one after the other: numbers of them, from a place on, up to another.

        After a character whose frame is not right, what follows best counts: the start that is next, or one within
        it from which more characters in a row are right.
        """
        each = self.frame.bits_per_byte
        following = np.searchsorted(starts, starts + each - 0.5).tolist()
        good, places = good.tolist(), starts.tolist()
        row = [0] * (len(places) + 1)
        for k in range(len(places) - 1, -1, -1):
            row[k] = min(AHEAD, 1 + row[following[k]]) if good[k] else 0
        chosen, here = [], int(np.searchsorted(starts, first))
        while here < len(places) and places[here] < stop:
            chosen.append(here)
            after = following[here]
            if not good[here]:
                within = max(range(here + 1, after), key=lambda k: (row[k], -k), default=after)
                after = within if row[within] > row[after] else after
            here = after
        return chosen
