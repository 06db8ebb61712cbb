"""Cells read by a clock that the edges put right.

The clock runs ahead some cells, the likeliest bits are found with it, and it is put right by the edges that came
near where those bits should have them. Where there are no edges it runs on as it is; where little fits, it is
looked for near there.
"""

from dataclasses import dataclass

import numpy as np

from .edgeclock import EdgeClock

__all__ = ["Reading", "read_cells"]

POOR, STRETCH = 0.6, 8  # mean fit of so many cells below which the clock is in question
BETTER = 0.12  # by which another clock must fit better to be taken
SEARCHED = 16  # cells by which another clock is chosen, and cells between two searches
OTHER_SPEEDS = np.array([0.97, 1.0, 1.03])
BROKEN = 0.45  # fit below which a cell is none
PATIENCE, MOST_BROKEN = 100, 0.1  # broken cells, and part of all, beyond which there is nothing to be read


@dataclass(frozen=True)
class Reading:
    """Cells as they were read.

    Attributes
    ----------
    bits : ndarray of uint8, shape (cells,)
    margins, fits : ndarray of float64, shape (cells,)
        See `LikelyRows`.
    times : ndarray of float64, shape (cells + 1,)
        When each begins, and the last ends, in the measure of the edges.
    """

    bits: np.ndarray
    margins: np.ndarray
    fits: np.ndarray
    times: np.ndarray

    @property
    def broken(self):
        """Which of them can be no cell."""
        return self.fits < BROKEN


def read_cells(rows, edges, cell, most, wave=None):
    """Read cells from the first edge on.

    Parameters
    ----------
    rows : LikelyRows
    edges : ndarray of float64, shape (n,)
        Times of the edges; with the first one the first cell begins.
    cell : float
        How long a cell lasts at first.
    most : int
        No more cells than this.
    wave : tuple of ndarray of float64, shape (m,) each, optional
        Times, and the area under the wave up to each, of a tape made to run evenly; if there is none, the wave is
        +1 from the first edge on, -1 from the second on, and so on.

    Returns
    -------
    Reading
    """
    if len(edges) < 2 or most < 1:
        return Reading(np.zeros(0, np.uint8), np.zeros(0), np.zeros(0), np.array(edges[:1], dtype=float))
    reader = _Reader(rows, edges, cell, wave)
    while not reader.gave_up and reader.advance(most):
        pass
    return reader.reading()


def two_levels(edges):
    """A wave of two levels: its edges, and the area under it up to each."""
    halves = np.diff(edges)
    return edges, np.concatenate(([0.0], np.cumsum(halves * (1.0 - 2.0 * (np.arange(len(halves)) % 2)))))


class _Reader:
    """The cells so far, and the clock that says where the next one begins."""

    def __init__(self, rows, edges, cell, wave):
        self.rows, self.edges = rows, edges
        self.times, self.area = two_levels(edges) if wave is None else wave
        self.clock = EdgeClock(rows, edges, cell, self.row, even=wave is not None)
        self.ways = rows.at_first()
        self.count = self.rested = self.broken = 0  # before cell `rested` the clock is not looked for again
        self.parts = []  # bits, margins, fits and times of each piece

    @property
    def gave_up(self):
        """Whether there is so much that cannot be a cell that what follows is not worth reading."""
        return self.broken > PATIENCE + self.count * MOST_BROKEN

    def advance(self, most):
        """Read some more cells; whether there were any."""
        left = min(self.clock.whole(), most - self.count)
        if left <= 0:
            return False
        borders, row, sure = self.clock.ahead(left)
        poor = self._first_poor(row.fits[:sure])
        if poor == 0:
            self.rested = self.count + SEARCHED
            if self._search(min(SEARCHED, left)):
                borders, row, sure = self.clock.ahead(left)
            poor = self._first_poor(row.fits[:sure])
        count = poor or sure  # a stretch that fits badly from its first cell on is read all the same
        self._keep(borders, row, count)
        self.clock.go(count)
        return True

    def row(self, borders):
        """The likeliest row of the next cells, which begin and end at these times."""
        grid = self._grid(borders[:-1], np.diff(borders))
        return self.rows.best(self.ways, self.rows.worths(grid, self.count), grid.sum(axis=-1))

    def _grid(self, begins, cells):
        """The wave in parts of cells, shape (..., parts)."""
        times = begins[..., None] + cells[..., None] * self.rows.breaks
        return np.diff(np.interp(times, self.times, self.area), axis=-1) / cells[..., None]

    def _first_poor(self, fits):
        """The first cell with which a stretch begins that fits badly, if the clock was not looked for near there."""
        first = max(0, self.rested - self.count)
        if len(fits) - first < STRETCH:
            return None
        total = np.concatenate(([0.0], np.cumsum(fits)))
        means = (total[STRETCH:] - total[:-STRETCH]) / STRETCH
        poor = np.flatnonzero(means[first:] < POOR)
        return int(poor[0]) + first if len(poor) else None

    def _search(self, ahead):
        """Take another clock, if one fits clearly better: one of another speed, or later one that has slipped."""
        begin, cell = self.clock.begin, self.clock.cell
        slips = np.arange(-0.5, 0.5, 0.25 * self.rows.shortest) if self.count else np.zeros(0)
        slip, speed = (part.ravel() for part in np.meshgrid(np.append(slips, 0.0), OTHER_SPEEDS))
        begins, cells = begin + slip * cell, speed * cell
        places = begins[:, None] + cells[:, None] * np.arange(ahead)
        worths = self.rows.worths(self._grid(places, np.repeat(cells[:, None], ahead, axis=1)), self.count)
        scores = self.rows.score(self.ways, worths) / ahead
        now, best = int(np.flatnonzero((slip == 0) & (speed == 1))[0]), int(np.argmax(scores))
        if scores[best] <= scores[now] + BETTER:
            return False
        self.clock.set(float(begins[best]), float(cells[best]))
        return True

    def _keep(self, borders, row, count):
        fits = row.fits[:count]
        self.parts.append((row.bits[:count], row.margins[:count], fits, borders[:count]))
        self.last = borders[count]
        self.ways = row.ways[count]
        self.count += count
        self.broken += int(np.count_nonzero(fits < BROKEN))

    def reading(self):
        """The cells so far."""
        if not self.parts:
            return Reading(np.zeros(0, np.uint8), np.zeros(0), np.zeros(0), self.edges[:1])
        bits, margins, fits, times = (np.concatenate(part) for part in zip(*self.parts, strict=True))
        return Reading(bits, margins, fits, np.append(times, self.last))
