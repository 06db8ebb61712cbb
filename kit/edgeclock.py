"""A clock for cells in which edges lie at equal steps: each edge that comes puts it right by some of its error."""

from bisect import bisect_left

import numpy as np

__all__ = ["EdgeClock"]

AHEAD, MORE = 256, 12  # cells for which the clock runs ahead; and cells after them, so that the last are as good
PULL, SPEED_PULL = 0.35, 0.06  # parts of an edge's error by which the clock is set, and its speed changed
EVEN_PULL, EVEN_SPEED_PULL = 0.2, 0.005  # the same where edges come from a tape that was made to run evenly
LONG_PULL = 0.05  # how much more of it for each step without an edge
MOST_PULL, MOST_SPEED_PULL = 0.8, 0.5
NEAR = 0.6  # part of the shortest interval that must lie between two edges that both count
WHOLE = 0.6  # part of a cell that must be there for it to be one
ROUND = 6  # edges before and after one that have a say in where it belongs
FASTEST, SLOWEST = 0.7, 1.4  # length of a cell as a part of what it was said to be


class EdgeClock:
    """A clock that follows edges.

    Parameters
    ----------
    rows : LikelyRows
        With `step`, the part of a cell that lies between places for edges.
    edges : ndarray of float64, shape (n,)
    cell : float
        How long a cell lasts at first.
    row : callable
        Gives the likeliest row for the borders of some cells.
    even : bool
        True if the tape was made to run evenly already: then an edge that is off has little to say.

    Attributes
    ----------
    begin, cell : float
        Where the next cell begins, and how long it is.
    """

    def __init__(self, rows, edges, cell, row, even=False):
        self._pull, self._speed_pull = (EVEN_PULL, EVEN_SPEED_PULL) if even else (PULL, SPEED_PULL)
        self.per_cell, self.row = round(1 / rows.step), row
        self._after_gap = [round(first * self.per_cell) for first in rows.after_gap]
        self.near = NEAR * rows.shortest / rows.step
        self.edges, self._list = edges, edges.tolist()
        self.begin, self.cell = float(edges[0]), cell
        self.said = cell / self.per_cell

    def whole(self):
        """How many cells there are up to the last edge, if the speed stays as it is."""
        return int((self._list[-1] - self.begin) / self.cell + 1 - WHOLE)

    def set(self, begin, cell):
        """Go on from there at that speed."""
        self.begin, self.cell = begin, cell

    def ahead(self, left):
        """Borders of the next cells, their likeliest row, and how many of them may be kept."""
        wanted = min(left, AHEAD + MORE)
        places, times, steps = self._followed(wanted)
        # The tape may run slower than it did: the edges may end sooner than the clock said.
        count = min(wanted, max(1, int(places[-2] / self.per_cell + 1 - WHOLE)))
        self._borders = np.interp(np.arange(count + 1) * self.per_cell, places, times)
        self._places, self._steps = places, steps
        ends = places[-2] < wanted * self.per_cell or wanted == left
        return self._borders, self.row(self._borders), count if ends else AHEAD

    def go(self, count):
        """Go on to that one of these borders."""
        at = int(np.searchsorted(self._places, count * self.per_cell, "right")) - 1
        self.begin, self.cell = float(self._borders[count]), float(self._steps[at]) * self.per_cell

    def _nearest_after_gap(self, place, gap):
        """How many steps on from a place an edge can come after a long gap, as near to it as can be."""
        per_cell = self.per_cell
        each = (first + per_cell * round((place + gap - first) / per_cell) - place for first in self._after_gap)
        return max(1, min(each, key=lambda over: abs(over - gap)))

    def _followed(self, count):
        """Places of edges, in steps from the next cell's begin; when they are; and the length of a step there."""
        edges, at, stop = self._list, self.begin, count * self.per_cell
        step, near, place = self.cell / self.per_cell, self.near, 0
        low, high = FASTEST * self.said, SLOWEST * self.said
        pull, speed_pull = self._pull, self._speed_pull
        last = at
        places, times, steps = [0], [at], [step]
        for k in range(bisect_left(edges, at + 0.5 * step), len(edges)):
            edge = edges[k]
            if edge - last < near * step:
                continue
            last = edge
            gap = (edge - at) / step
            over = round(gap)
            if over < 1:
                continue
            if over > self.per_cell and self._after_gap:
                over = self._nearest_after_gap(place, gap)
            off = gap - over
            at += (over + min(pull + LONG_PULL * over, MOST_PULL) * off) * step
            place += over
            places.append(place)
            times.append(edge)
            step = min(max(step * (1 + min(speed_pull, MOST_SPEED_PULL / over) * off), low), high)
            steps.append(step)
            if place > stop:
                break
        places.append(max(place, stop) + self.per_cell)
        times.append(at + (places[-1] - place) * step)
        steps.append(step)
        return np.array(places), _smoothed(np.array(places, dtype=float), np.array(times)), steps


def _smoothed(places, times):
    """Times at which edges belong, each from a straight line through those round it; the first and last stay."""
    size = 2 * ROUND + 1
    if len(places) < size + 2:
        return times
    x = np.pad(places[1:-1], ROUND, mode="edge")
    y = np.pad(times[1:-1], ROUND, mode="edge")
    weight = np.pad(np.ones(len(places) - 2), ROUND)
    origin = places[1:-1]
    sums = {}
    values = {"w": weight, "x": weight * x, "y": weight * y, "xx": weight * x * x, "xy": weight * x * y}
    for name, value in values.items():
        total = np.concatenate(([0.0], np.cumsum(value)))
        sums[name] = total[size:] - total[:-size]
    mean_x, mean_y = sums["x"] / sums["w"], sums["y"] / sums["w"]
    spread = sums["xx"] / sums["w"] - mean_x**2
    slope = (sums["xy"] / sums["w"] - mean_x * mean_y) / spread
    result = times.copy()
    result[1:-1] = mean_y + slope * (origin - mean_x)
    return np.maximum.accumulate(result)
