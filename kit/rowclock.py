"""A clock for cells whose edges lie anywhere: it is put right by the edges that the likeliest bits should have."""

import numpy as np

__all__ = ["RowClock"]

FEWEST_AHEAD, MOST_AHEAD = 6, 96  # cells decided at once
NEAR = 0.45  # part of the shortest interval within which an edge is the one expected
TURNS = 3  # times the clock is put right before the cells stand
STILL = 0.04  # part of the shortest interval: a clock that is off by less is right
CALM, WILD = 0.08, 0.25  # parts of it by which the clock was off at the far end: look farther ahead, or less far
WORSE, USUAL_CELLS = 0.08, 48  # by which the farther half may fit worse than is usual over so many cells
STRAY_START, STRAY_SPEED = 0.2, 0.01  # how far off a clock is usually: parts of the shortest interval, of speed
FIRST_STRAY = 0.02  # and at first, when it starts with an edge
EDGE_NOISE = 0.04  # and an edge, as a part of the shortest interval
WHOLE = 0.6  # part of a cell that must be there for it to be one
LEAST_USUAL = 0.7
FASTEST, SLOWEST = 0.7, 1.4  # length of a cell as a part of what it was said to be


class RowClock:
    """A clock that follows what was decided; parameters and attributes as in `EdgeClock`."""

    def __init__(self, rows, edges, cell, row):
        self.rows, self.edges, self.row = rows, edges, row
        self.begin, self.cell, self.said = float(edges[0]), cell, cell
        self.usual, self._ahead, self._first = 1.0, FEWEST_AHEAD, True

    def whole(self):
        """How many cells there are up to the last edge, if the speed stays as it is."""
        return int((self.edges[-1] - self.begin) / self.cell + 1 - WHOLE)

    def set(self, begin, cell):
        """Go on from there at that speed."""
        self.begin, self.cell = begin, cell

    def ahead(self, left):
        """Borders of the next cells, their likeliest row, and how many of them may be kept."""
        row, off = self._calm(left)
        count = len(row.bits)
        if off < CALM * self.rows.shortest:
            self._ahead = min(2 * self._ahead, MOST_AHEAD)
        return self._borders(count), row, count if count == left else (count + 1) // 2

    def go(self, count):
        """Go on to that one of these borders."""
        self.begin += self.cell * count
        self._first = self._first and count == 0

    def _borders(self, count):
        return self.begin + self.cell * np.arange(count + 1)

    def _calm(self, left):
        """As many cells as the clock is good for, but some; and how far off it was at the last of them."""
        while True:
            count, begin, cell = min(self._ahead, left), self.begin, self.cell
            row, off = self._settled(count)
            late = float(row.fits[count // 2 :].mean())
            if count <= FEWEST_AHEAD or (off < WILD * self.rows.shortest and late > self.usual - WORSE):
                self.usual += min(1.0, count / USUAL_CELLS) * (max(LEAST_USUAL, late) - self.usual)
                return row, off
            self.begin, self.cell = begin, cell
            self._ahead = max(FEWEST_AHEAD, self._ahead // 2)

    def _settled(self, count):
        """The likeliest row, the clock being put right by it; and how far off that was at the far end, in cells."""
        farthest = 0.0
        for _ in range(TURNS):
            row = self.row(self._borders(count))
            start, speed = self._differences(row)
            off = max(abs(start), abs(start + speed * count))
            farthest = max(farthest, off)
            self.begin += start * self.cell
            self.cell = min(max(self.cell * (1 + speed), FASTEST * self.said), SLOWEST * self.said)
            if off < STILL * self.rows.shortest:
                return row, farthest
        return self.row(self._borders(count)), farthest

    def _differences(self, row):
        """By what part of a cell the clock is early, and by what part of itself it is fast."""
        edges, rows = self.edges, self.rows
        places = (np.arange(len(row.branches))[:, None] + rows.edges[row.branches]).ravel()
        places = places[~np.isnan(places)]
        if len(places) == 0:
            return 0.0, 0.0
        off = (edges[_nearest(edges, self.begin + places * self.cell)] - self.begin) / self.cell - places
        good = np.abs(off) < NEAR * rows.shortest
        return _line(places[good], off[good], rows.shortest, FIRST_STRAY if self._first else STRAY_START)


def _nearest(edges, times):
    """Numbers of the edges nearest to some times."""
    after = np.clip(np.searchsorted(edges, times), 1, len(edges) - 1)
    return after - (times - edges[after - 1] < edges[after] - times)


def _line(places, off, shortest, stray):
    """Start and slope of a line through differences that is near most of them and not far from nothing."""
    if len(places) == 0:
        return 0.0, 0.0
    away = off - float(np.median(off))
    usual = max(float(np.median(np.abs(away))), EDGE_NOISE * shortest)
    weight = 1 / (1 + (away / (3 * usual)) ** 4)
    # Least squares, with what is known of clocks as two more measurements.
    noise = (usual / (stray * shortest)) ** 2, (usual / STRAY_SPEED) ** 2
    a, b, c = weight.sum() + noise[0], (weight * places).sum(), (weight * places**2).sum() + noise[1]
    p, q = (weight * off).sum(), (weight * places * off).sum()
    whole = a * c - b * b
    return float((c * p - b * q) / whole), float((a * q - b * p) / whole)
