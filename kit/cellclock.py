"""From cell to cell where all take the same time: by the edges where they are good, else by the clock.

A good cell has just the half-cycles of a bit. Where there is none, the next cell begins at the edge nearest to
the end of the time that this one should take, or at that end if no edge is near. If what lies between is no
cell, the clock may have slipped: it is put right by the edge near there from which good cells follow longest.
"""

from bisect import bisect_left, bisect_right

import numpy as np

from .cells import Cells, unusual_lean

__all__ = ["Walk"]

UNEVEN = 0.2  # part of a cell's time by which one that is not in doubt may be longer or shorter
NEAR = 0.5  # part of the shorter half-cycle within which an edge is taken for a cell's border
HIT = 0.35  # part of a half-cycle within which an edge is where a bit would have it
MISSING, EXTRA = 1.0, 1.5  # what a bit without an edge it should have costs, and an edge it should not have
PULL = 0.5  # how far the clock moves towards the edge that marks a border
ASTRAY = 0.45  # part of a cell by which the clock may have slipped
FEWEST_GOOD, MOST_GOOD = 3, 24  # good cells in a row that put the clock right; more are not counted
PATIENCE, MOST_BROKEN = 100, 0.1  # broken cells, and part of all, beyond which there is nothing to be read
PLAIN = 0.24  # half-cycles no farther off than this part of the way to the threshold need no tracking
RUMP = 0.8  # part of a cell that is none yet


class Walk:
    """A way from cell to cell.

    Parameters
    ----------
    code : TwoTones
    edges : ndarray of float64, shape (n,)
        Times of edges; with the first one the first cell begins.
    units : ndarray of float64, shape (n - 1,)
        Length of a unit at each half-cycle, in the measure of the edges.
    """

    def __init__(self, code, edges, units):
        self.code, self.edges, self.units = code, edges, units
        self.counts = (code.zero_half_cycles, code.one_half_cycles)
        self.shortest = max(self.counts)  # how many of the shorter half-cycles a cell has
        self.cell = units * code.cell_units  # time of a cell, at each half-cycle
        halves = np.diff(edges) / units
        short, long = code.shortest_cycle_units / 2, code.longest_cycle_units / 2
        self.large = halves > (short + long) / 2
        self.off = np.abs(halves - np.where(self.large, long, short)) / ((long - short) / 2)  # 1: on the threshold
        self.ones = self.large if code.one_units > code.zero_units else ~self.large
        self.steps = self._steps().tolist()
        self.marks = [0]  # number of the edge with which each cell begins, or of the first one in it
        self.between = {}  # times of those borders that no edge marks
        self.odd = []  # cells told by the clock: number, when it begins, how long it is, first edge inside, next
        self.broken = []  # numbers of those of them that cannot be a cell
        self._list = None

    def _steps(self):
        """For each edge the number of half-cycles of the good cell that begins there, or 0.

        What follows a good cell must not be too short: that would be an edge too many, at its end or just after.
        """
        steps = np.zeros(len(self.edges), dtype=int)
        fair, code = self.off < 1, self.code
        clear = np.append(fair | self.large, True)
        for count, fits in ((code.zero_half_cycles, ~self.ones), (code.one_half_cycles, self.ones)):
            if len(fair) < count:
                continue
            total = np.concatenate(([0], np.cumsum(fits & fair)))
            length, wanted = self.edges[count:] - self.edges[:-count], self.cell[: len(fair) + 1 - count]
            whole = (total[count:] - total[:-count] == count) & (np.abs(length - wanted) < UNEVEN * wanted)
            whole &= clear[count:]
            steps[: len(whole)][whole] = count
        return steps

    def is_plain(self, most):
        """Walk while cells are good; whether all are, on a tape that runs so evenly that it needs no tracking."""
        self._stride(0, most)
        rest = self.edges[self.marks[-1] :]
        whole = len(self.marks) > most or rest[-1] - rest[0] < RUMP * self.cell[-1:].sum()
        return whole and bool(np.all(self.off[: self.marks[-1]] < PLAIN))

    def go(self, most):
        """Find cells up to the last whole one, but no more than `most`."""
        at = 0
        while len(self.marks) <= most and at is not None:
            at = self._stride(at, most)
            at = self._by_clock(at, most)

    def _stride(self, at, most):
        """Find good cells; gives the edge at which there is none."""
        steps, marks = self.steps, self.marks
        for _ in range(most + 1 - len(marks)):
            step = steps[at]
            if not step:
                break
            at += step
            marks.append(at)
        return at

    def _by_clock(self, at, most):
        """Find cells by their time until a good one begins; gives its edge, or None at the end."""
        edges = self._list = self._list or self.edges.tolist()
        begin, first, marked = edges[at], at + 1, True
        while len(self.marks) <= most and not self.gave_up and first < len(edges):
            cell = float(self.cell[first - 1])
            end, near = begin + cell, cell * NEAR / self.shortest
            if end > edges[-1] + near:
                return None
            was_marked, (stop, off) = marked, self._border(first, end, near)
            if not was_marked or off is None or stop - first + 1 not in self.counts:
                stop, off = self._put_right(stop, off, first, end, cell)
            marked = off is not None
            self._note(begin, cell, first, stop, was_marked and marked)
            begin, first = end + (off if marked else 0.0), stop + marked
            self.marks.append(stop)
            if marked and self.steps[stop]:
                return stop
            if not marked:
                self.between[len(self.marks) - 1] = end
        return None

    @property
    def gave_up(self):
        """Whether there is so much that cannot be a cell that what follows is not worth reading."""
        return len(self.broken) > PATIENCE + len(self.marks) * MOST_BROKEN

    def _border(self, first, end, near):
        """The edge that marks the end of a cell, and how far it pulls the clock; or the next edge, and None."""
        edges = self._list
        after = nearest = bisect_left(edges, end, first)
        if after == len(edges) or (after > first and end - edges[after - 1] < edges[after] - end):
            nearest -= 1
        off = edges[nearest] - end
        return (nearest, PULL * off) if abs(off) < near else (after, None)

    def _put_right(self, stop, off, first, end, cell):
        """As `_border`, but where more good cells follow from another edge near there, that one."""
        edges, reach = self._list, ASTRAY * cell
        good = max(FEWEST_GOOD - 1, self._usually_good(stop, off, end, cell))
        for edge in range(bisect_left(edges, end - reach, first), bisect_right(edges, end + reach, stop)):
            if (count := self._good_from(edge)) > good:
                stop, off, good = edge, edges[edge] - end, count
        return stop, off

    def _usually_good(self, stop, off, end, cell):
        """How many good cells follow if the clock is right; where no edge marks a border, a cell later."""
        if off is not None:
            return self._good_from(stop)
        if stop == len(self._list):
            return 0
        following, off = self._border(stop, end + cell, cell * NEAR / self.shortest)
        return 0 if off is None else 1 + self._good_from(following)

    def _good_from(self, edge):
        """How many good cells follow from an edge."""
        for count in range(MOST_GOOD):
            step = self.steps[edge]
            if not step:
                return count
            edge += step
        return MOST_GOOD

    def _note(self, begin, cell, first, stop, marked):
        """Keep what is needed to tell the bit of a cell that began so, with edges from `first` up to `stop` in it."""
        number = len(self.marks) - 1
        self.odd.append((number, begin, cell, first, stop))
        if not marked or stop - first + 1 not in self.counts:
            self.broken.append(number)

    def cells(self, edges):
        """What was found, as `Cells` with times of the edges as they came."""
        marks = np.array(self.marks)
        times, first = edges[marks], np.minimum(marks[:-1], marks[-1] - 1)
        times[list(self.between)] = list(self.between.values())
        bits, broken = self.ones[first].astype(np.uint8), np.zeros(len(first), bool)
        margins = 1 - np.maximum.reduceat(self.off[: marks[-1]], first) if len(first) else np.zeros(0)
        if self.odd:
            which, odd_bits, odd_margins = self._judged()
            bits[which], margins[which], broken[self.broken] = odd_bits, odd_margins, True
        margins = np.clip(margins, 0, 1).astype(np.float32)
        return Cells(bits, margins, self._lean(marks), broken, self.units[first], times)

    def _judged(self):
        """Numbers of the cells told by the clock, their bits and margins."""
        which, begin, cell, first, stop = map(np.array, zip(*self.odd, strict=True))
        counts = stop - first
        of_cell = np.repeat(np.arange(len(which)), counts)
        inside = np.arange(counts.sum()) + np.repeat(first - np.cumsum(counts) + counts, counts)
        places = (self.edges[inside] - begin[of_cell]) / cell[of_cell]
        return which, *_judged(self.code, places, of_cell, len(which))

    def _lean(self, marks):
        """How far the middle edge of each cell is from where it should be."""
        count = np.diff(marks)
        begin, middle, end = (self.edges[k] for k in (marks[:-1], marks[:-1] + count // 2, marks[1:]))
        part = (middle - begin) / np.maximum(end - begin, 1e-300)
        # Of a cell that has no length, which noise may make, nothing can be said.
        lean = np.clip(2 * (part - count // 2 / np.maximum(count, 1)) * (count > 0), -2, 2)
        return unusual_lean(lean).astype(np.float32)


def _judged(code, places, cells, count):
    """Which bit the edges inside a cell speak for, and how clearly, of many cells.

    Parameters
    ----------
    places : ndarray of float, shape (n,)
        Where the edges between the cells' borders lie, as parts of their cell.
    cells : ndarray of int, shape (n,)
        In which cell each of them lies.
    count : int
        How many cells there are.

    Returns
    -------
    bits : ndarray of bool, shape (count,)
    margins : ndarray of float64, shape (count,)
        From 0, undecided, to 1.
    """
    zero, one = (_misfit(places, cells, count, n) for n in (code.zero_half_cycles, code.one_half_cycles))
    return one < zero, np.abs(one - zero) / (one + zero)


def _misfit(places, cells, count, half_cycles):
    """How badly the edges inside of each cell fit a bit of so many half-cycles."""
    steps = places * half_cycles
    near = np.rint(steps).astype(int)
    away = np.abs(steps - near)
    hit = (near > 0) & (near < half_cycles) & (away < HIT)
    nearest = np.full(count * half_cycles, np.inf)
    np.minimum.at(nearest, cells[hit] * half_cycles + near[hit], away[hit])
    nearest = nearest.reshape(count, half_cycles)
    found = np.isfinite(nearest)
    hits = found.sum(axis=1)
    extra = np.bincount(cells, minlength=count) - hits
    return MISSING * (half_cycles - 1 - hits) + EXTRA * extra + np.where(found, nearest, 0).sum(axis=1)
