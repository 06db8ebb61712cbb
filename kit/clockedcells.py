"""Cells read by a clock that the edges put right.

A few cells ahead are decided with the clock as it is; the edges that they should have are compared with those
that came, the clock is put right by a line through the differences, and the first half of the cells is kept.
Where there are no edges the clock runs on as it is; where little fits, it is looked for near there.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["Reading", "read_cells"]

FEWEST_AHEAD, MOST_AHEAD = 6, 192  # cells decided at once
WHOLE = 0.6  # part of a cell that must be there for it to be one
NEAR = 0.45  # part of the shortest interval within which an edge is the one expected
TURNS = 3  # times the clock is put right before the cells stand
STILL = 0.04  # part of the shortest interval: a clock that is off by less is right
CALM, WILD = 0.08, 0.25  # parts of it by which the clock was off at the far end: look farther ahead, or less far
STRAY_START, STRAY_SPEED = 0.2, 0.02  # how far off a clock is usually: parts of the shortest interval, of speed
EDGE_NOISE = 0.04  # and an edge, as a part of the shortest interval
GOOD, POOR = 0.93, 0.7  # mean fit of cells above which the start, below which the clock is not in question
BETTER = 0.12  # by which another clock must fit better to be taken
FASTEST, SLOWEST = 0.7, 1.4  # length of a cell as a part of what it was said to be
BROKEN = 0.45  # fit below which a cell is none
PATIENCE, MOST_BROKEN = 100, 0.1  # broken cells, and part of all, beyond which there is nothing to be read
RESTED = 12  # cells between two searches for the clock


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
    cell : ndarray of float64, shape (cells,)
        How long each lasts by the clock.
    """

    bits: np.ndarray
    margins: np.ndarray
    fits: np.ndarray
    times: np.ndarray
    cell: np.ndarray

    @property
    def broken(self):
        """Which of them can be no cell."""
        return self.fits < BROKEN


def read_cells(rows, edges, cell, most):
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

    Returns
    -------
    Reading
    """
    clock = _Clock(rows, edges, cell)
    while not clock.gave_up and clock.advance(most):
        pass
    return clock.reading()


class _Clock:
    """Where the next cell begins and how long it is; and the cells so far."""

    def __init__(self, rows, edges, cell):
        self.rows, self.edges = rows, edges
        halves = np.diff(edges)
        signs = 1.0 - 2.0 * (np.arange(len(halves)) % 2)
        self.area = np.concatenate(([0.0], np.cumsum(halves * signs)))
        self.begin, self.cell, self.said = float(edges[0]) if len(edges) else 0.0, cell, cell
        self.ways = rows.at_first()
        self.count, self.ahead, self.searched = 0, FEWEST_AHEAD, -RESTED
        self.broken = 0
        self.parts = []  # bits, margins, fits, times, cell of each piece

    @property
    def gave_up(self):
        """Whether there is so much that cannot be a cell that what follows is not worth reading."""
        return self.broken > PATIENCE + self.count * MOST_BROKEN

    def advance(self, most):
        """Read some more cells; whether there were any."""
        whole = int((self.edges[-1] - self.begin) / self.cell + 1 - WHOLE) if len(self.edges) > 1 else 0
        left = min(whole, most - self.count)
        if left <= 0:
            return False
        ahead = min(self.ahead, left)
        row, off = self._settled(ahead)
        if self._in_question(row):
            self._search(ahead)
            row, off = self._settled(ahead)
        self._keep(row, ahead if ahead == left else (ahead + 1) // 2)
        reach = off / self.rows.shortest
        self.ahead = min(2 * self.ahead, MOST_AHEAD) if reach < CALM else self.ahead
        self.ahead = max(self.ahead // 2, FEWEST_AHEAD) if reach > WILD else self.ahead
        return True

    def _settled(self, ahead):
        """The likeliest row, the clock being put right by it; and how far off that was at the far end, in cells."""
        farthest = 0.0
        for _ in range(TURNS):
            row = self._row(ahead)
            start, speed = self._differences(row)
            off = max(abs(start), abs(start + speed * ahead))
            farthest = max(farthest, off)
            self.begin += start * self.cell
            longer = self.cell * (1 + speed)
            self.cell = min(max(longer, FASTEST * self.said), SLOWEST * self.said)
            if off < STILL * self.rows.shortest:
                break
        else:
            row = self._row(ahead)
        return row, farthest

    def _row(self, ahead):
        grid = self._grid(np.array([self.begin]), np.array([self.cell]), ahead)[0]
        return self.rows.best(self.ways, self.rows.worths(grid, self.count))

    def _grid(self, begins, cells, ahead):
        """The wave in parts of cells, for several clocks: shape (clocks, cells, parts)."""
        places = np.arange(ahead)[:, None] + self.rows.breaks[None, :]
        times = begins[:, None, None] + cells[:, None, None] * places[None]
        return np.diff(np.interp(times, self.edges, self.area), axis=-1) / cells[:, None, None]

    def _differences(self, row):
        """By what part of a cell the clock is late, and by what part of itself it is slow."""
        edges, rows = self.edges, self.rows
        places = (np.arange(len(row.branches))[:, None] + rows.edges[row.branches]).ravel()
        places = places[~np.isnan(places)]
        if len(places) == 0:
            return 0.0, 0.0
        off = (edges[_nearest(edges, self.begin + places * self.cell)] - self.begin) / self.cell - places
        good = np.abs(off) < NEAR * rows.shortest
        if self.count == 0:
            places, off, good = np.append(places, 0.0), np.append(off, 0.0), np.append(good, True)
        return _line(places[good], off[good], rows.shortest)

    def _in_question(self, row):
        fit = float(row.fits.mean())
        if self.count == 0 and self.searched < 0:
            return fit < GOOD
        return fit < POOR and self.count - self.searched >= RESTED

    def _search(self, ahead):
        """Take another clock, if one fits clearly better: one of another speed, later also one that has slipped."""
        self.searched = self.count
        shortest = self.rows.shortest
        step = max(0.25 * shortest / ahead, 0.004)
        speeds = 1 + step * np.arange(-np.ceil(0.05 / step), np.ceil(0.05 / step) + 1)
        slips = np.zeros(1) if self.count == 0 else np.arange(-0.5, 0.5, 0.25 * shortest)
        if self.count:
            speeds = np.array([0.98, 1.0, 1.02])
        slip, speed = (grid.ravel() for grid in np.meshgrid(slips, speeds))
        begins, cells = self.begin + slip * self.cell, speed * self.cell
        worths = self.rows.worths(self._grid(begins, cells, ahead), self.count)
        scores = self.rows.score(self.ways - self.ways.max(), worths) / ahead
        now = int(np.argmin(np.abs(slip) + np.abs(speed - 1)))
        best = int(np.argmax(scores))
        if scores[best] > scores[now] + (BETTER if self.count else 0.0):
            self.begin, self.cell = float(begins[best]), float(cells[best])

    def _keep(self, row, count):
        bits, margins, fits = row.bits[:count], row.margins[:count], row.fits[:count]
        times = self.begin + self.cell * np.arange(count)
        self.parts.append((bits, margins, fits, times, np.full(count, self.cell)))
        self.ways = row.ways[count] if isinstance(row.ways, np.ndarray) else np.array(row.ways[count])
        self.begin += self.cell * count
        self.count += count
        self.broken += int(np.count_nonzero(fits < BROKEN))

    def reading(self):
        """The cells so far."""
        if not self.parts:
            return Reading(np.zeros(0, np.uint8), *np.zeros((2, 0)), np.array([self.begin]), np.zeros(0))
        bits, margins, fits, times, cell = (np.concatenate(part) for part in zip(*self.parts, strict=True))
        return Reading(bits, margins, fits, np.append(times, self.begin), cell)


def _nearest(edges, times):
    """Numbers of the edges nearest to some times."""
    after = np.clip(np.searchsorted(edges, times), 1, len(edges) - 1)
    return after - (times - edges[after - 1] < edges[after] - times)


def _line(places, off, shortest):
    """Start and slope of a line through differences that is near most of them and not far from nothing."""
    if len(places) == 0:
        return 0.0, 0.0
    middle = float(np.median(off))
    away = off - middle
    usual = max(float(np.median(np.abs(away))), EDGE_NOISE * shortest)
    weight = 1 / (1 + (away / (3 * usual)) ** 4)
    # Least squares, with what is known of clocks as two more measurements.
    noise = (usual / (STRAY_START * shortest)) ** 2, (usual / STRAY_SPEED) ** 2
    a, b, c = weight.sum() + noise[0], (weight * places).sum(), (weight * places**2).sum() + noise[1]
    p, q = (weight * off).sum(), (weight * places * off).sum()
    whole = a * c - b * b
    return float((c * p - b * q) / whole), float((a * q - b * p) / whole)
