"""Leader and sync: where a block starts, how fast the tape runs there, and where the block ends.

A leader is a long run of equal cycles; some cycles of another length, the sync mark, end it, and the first
bit cell follows at once. All tests are of ratios, so the speed of the tape need not be known.
"""

from dataclasses import dataclass

import numpy as np

from .cells import CellCode
from .errors import SettingError

__all__ = ["Leader", "Start"]

LOCK_CYCLES = 4  # leader cycles that must lie just before a sync mark, and just after a block's last cell
EVEN = 0.15  # two halves of these cycles may differ by this part
LEAN = 0.11  # the first half of a sync cycle may differ by this part of the cycle from a leader cycle's
OFF = 1 / 6  # by which part a sync cycle may be longer or shorter than it should be
MOST_UNLIKE = 0.3  # by which part a half-cycle that ends a block may differ from the leader's
SEARCHED_EDGES = 8192
NEAR = 12  # edges within which two starts are rivals for one block


@dataclass(frozen=True)
class Start:
    """A place where a block may start.

    Attributes
    ----------
    index : int
        Number of the edge at which the first bit cell begins.
    unit : float
        Length of a unit in the leader just before, in the measure of the edges.
    fit : float
        How far the sync mark is from what it should be; 0 is perfect.
    """

    index: int
    unit: float
    fit: float


@dataclass(frozen=True)
class Leader:
    """Leader and sync mark of a format.

    Parameters
    ----------
    leader_units, sync_units : float
        Length of a cycle of each.
    sync_cycles : int
        How many cycles make the sync mark; all but one of them suffice for reading.
    """

    leader_units: float = 4.0
    sync_units: float = 3.0
    sync_cycles: int = 3

    def __post_init__(self):
        lengths = sorted((self.leader_units, self.sync_units))
        if not (0 < lengths[0] <= 0.8 * lengths[1] < float("inf")):
            raise SettingError(
                "leader and sync cycles must be positive and the shorter at most 4/5 of the longer, "
                f"got {self.leader_units!r} and {self.sync_units!r} units"
            )
        if not 2 <= self.sync_cycles <= 16:
            raise SettingError(f"a sync mark must have 2 to 16 cycles, got {self.sync_cycles!r}")

    def encode(self, cycles, sync=True):
        """Half-cycles of so many leader cycles and, if asked, the sync mark; shape (n,), in units."""
        halves = np.full(2 * int(cycles), self.leader_units / 2)
        if not sync:
            return halves
        return np.concatenate((halves, np.full(2 * self.sync_cycles, self.sync_units / 2)))

    def find(self, edges, codes, first=0, stop=None):
        """Places where a block may start.

        Parameters
        ----------
        edges : ndarray of float64, shape (n,)
            Times of edges, rising.
        codes : CellCode or sequence of CellCode
            The bit cells that may follow the sync mark: the lengths of their cycles bound what counts as sync.
        first, stop : int
            Look only for starts from edge `first` up to, not including, `stop`.

        Returns
        -------
        list of list of Start
            One list per place, best fit first; where noise forges sync marks there are rivals.
        """
        before, after = 2 * LOCK_CYCLES, 2 * self.sync_cycles
        low = max(0, first - before - after)
        stop = len(edges) - 2 if stop is None else min(stop, len(edges) - 2)
        edges = edges[low : stop + 2]
        if len(edges) < before + after + 3:
            return []
        at = self._leader_ends(edges, after)
        leader = (edges[at] - edges[at - before]) / LOCK_CYCLES
        marks = (
            np.stack([edges[at + 2 * k + 2] - edges[at + 2 * k] for k in range(self.sync_cycles)]) / leader
        )
        codes = (codes,) if isinstance(codes, CellCode) else codes
        low_bound, high_bound = self.sync_bounds(*codes)
        right = (marks > low_bound) & (marks < high_bound) & self._marks_lean_like_leader(edges, at)
        good = right.sum(axis=0) >= self.sync_cycles - 1
        begins, cycle = at[good] + after, leader[good]
        good[good] = np.any([self._is_data(edges, begins, cycle, code) for code in codes], axis=0)
        misfit = np.sort(np.abs(marks - self.sync_units / self.leader_units), axis=0)[:-1].sum(axis=0)
        misfit = misfit + ~right.all(axis=0)
        starts = [
            Start(int(i) + after + low, float(p) / self.leader_units, float(f))
            for i, p, f in zip(at[good], leader[good], misfit[good], strict=True)
        ]
        return _rivals([s for s in starts if first <= s.index < stop])

    def _leader_ends(self, edges, after):
        """Edges with some even leader cycles just before them, and about as much time as a sync mark after."""
        half = LOCK_CYCLES  # edges in half the stretch
        here = edges[2 * half : len(edges) - after - 2]
        stretch = here - edges[: len(here)]
        mark = edges[2 * half + after : len(edges) - 2] - here
        wanted = self.sync_cycles * self.sync_units / (LOCK_CYCLES * self.leader_units)
        at = 2 * half + np.flatnonzero(np.abs(mark - wanted * stretch) < (0.2 * wanted + 0.1) * stretch)
        early, late = edges[at - half] - edges[at - 2 * half], edges[at] - edges[at - half]
        last = edges[at] - edges[at - 2]
        even = (np.abs(early - late) < EVEN * late) & (np.abs(2 * last - late) < 1.5 * EVEN * late)
        return at[even]

    def _marks_lean_like_leader(self, edges, at):
        """Whether each sync cycle is divided as the leader's are; half a one with half a zero is not."""

        def lean(first, last):
            return (edges[first + 1] - edges[first]) / (edges[last] - edges[first])

        wanted = (lean(at - 2, at) + lean(at - 4, at - 2)) / 2
        marks = [at + 2 * k for k in range(self.sync_cycles)]
        return np.stack([np.abs(lean(k, k + 2) - wanted) < LEAN for k in marks])

    def sync_bounds(self, *codes):
        """Between which parts of a leader cycle a cycle counts as sync, if bits of these codes may follow."""
        lengths = [length for code in codes for length in code.cycle_lengths_units]
        others = np.array([self.leader_units, *lengths], dtype=float)
        below, above = others[others < self.sync_units], others[others > self.sync_units]
        low = max((self.sync_units + below.max(initial=0.0)) / 2, (1 - OFF) * self.sync_units)
        high = min((self.sync_units + above.min(initial=np.inf)) / 2, (1 + OFF) * self.sync_units)
        return low / self.leader_units, high / self.leader_units

    def _is_data(self, edges, first, leader, code):
        """Whether what begins at some edges is nearer to a bit cell than to leader or sync."""
        step = code.first_half_cycles
        cycle = 2 / step * (edges[first + step] - edges[first]) / leader * self.leader_units
        data = np.array(code.cycle_lengths_units)
        distance = np.abs(cycle[:, None] - np.concatenate((data, (self.leader_units, self.sync_units))))
        like = distance.argmin(axis=1) < len(data)
        # Where a level may be held, there is no end to how long a cycle is.
        return like if code.draws_alike else like | (cycle > max(data.max(), 2 * self.leader_units))

    def find_end(self, edges, unit, code, first=0):
        """First edge from `first` on at which bit cells give way to leader.

        Parameters
        ----------
        edges : ndarray of float64, shape (n,)
        unit : float
            Length of a unit, in the measure of the edges, to within about a quarter.
        code : CellCode

        Returns
        -------
        tuple of int and float, or None
            The edge's number, and the length of a unit in the leader that begins there.
        """
        need = 2 * LOCK_CYCLES
        # By stretches: the end is mostly near, and the edges may go on for minutes.
        for low in range(first, len(edges) - need, SEARCHED_EDGES):
            at = self._first_leader(edges[low : low + SEARCHED_EDGES + need], unit, code)
            if at is not None:
                index = low + at
                length = (edges[index + need] - edges[index]) / LOCK_CYCLES
                return index, float(length) / self.leader_units
        return None

    def _first_leader(self, edges, unit, code):
        """The first edge with some leader cycles after it."""
        leader = self.leader_units / 2
        lengths = np.array(code.cycle_lengths_units) / 2
        gap = min(np.abs(lengths - leader).min() * 0.6, MOST_UNLIKE * leader)
        like = np.abs(np.diff(edges) / unit - leader) < gap
        need = 2 * LOCK_CYCLES
        if np.count_nonzero(like) < need:
            return None
        run = np.convolve(like, np.ones(need, dtype=int), mode="valid") == need
        at = np.flatnonzero(run)
        return int(at[0]) if len(at) else None

    def began(self, edges, start):
        """Number of the edge at which the leader before a start began, as far as its cycles are even."""
        last = start.index - 2 * self.sync_cycles
        size = 256
        while True:
            first = max(0, last - size)
            halves = np.diff(edges[first : last + 1])
            uneven = np.abs(halves / start.unit - self.leader_units / 2) > self.leader_units / 8
            odd = np.flatnonzero(uneven)
            if len(odd) or first == 0:
                return first + int(odd[-1]) + 1 if len(odd) else 0
            size *= 4

    def even_edges(self, edges, unit):
        """How many of the first edges lie in leader: at least 1, to step over it."""
        halves = np.diff(edges) / unit
        other = np.flatnonzero(np.abs(halves - self.leader_units / 2) > self.leader_units / 6)
        return max(1, int(other[0])) if len(other) else len(edges)


def _rivals(starts):
    """Starts that lie close together, in groups, best fit first."""
    groups = []
    for start in starts:
        if groups and start.index - groups[-1][-1].index <= NEAR:
            groups[-1].append(start)
        else:
            groups.append([start])
    return [sorted(group, key=lambda s: s.fit) for group in groups]
