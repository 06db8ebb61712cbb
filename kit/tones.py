"""Two tones: a code in which every bit takes the same time, in half-cycles of one of two tones.

A bit is drawn with a whole number of half-cycles, few of the low tone or more of the high one, and the wave
goes on without a break from bit to bit. Because the time of a cell is known, one that was spoilt does not
make the reader lose count: the next cell begins a cell's time later.
"""

from dataclasses import dataclass

import numpy as np

from .cellclock import Walk
from .cells import CellCode, tracked
from .errors import SettingError

__all__ = ["TwoTones", "levelled"]

MOST_HALF_CYCLES = 256
TRACKED_CELLS = 20  # cells over which one estimate of speed is made: short against wow, long against jitter
ROOM = 1.12  # how much faster than at its start the tape may run
PROBE_EDGES = 4096  # if these are no cells of this code, the others are not looked at


@dataclass(frozen=True)
class TwoTones(CellCode):
    """The code of two tones in cells of equal length.

    Parameters
    ----------
    zero_half_cycles, one_half_cycles : int
        How many half-cycles make each bit, 1 to 256; the smaller number at most 3/4 of the larger.
    cell_units : float
        How long each bit lasts, in units.

    Examples
    --------
    >>> TwoTones().encode([0, 1]).tolist()
    [1.0, 1.0, 0.5, 0.5, 0.5, 0.5]
    """

    zero_half_cycles: int = 2
    one_half_cycles: int = 4
    cell_units: float = 2.0

    def __post_init__(self):
        counts = (self.zero_half_cycles, self.one_half_cycles)
        for count in counts:
            if not isinstance(count, int) or not 1 <= count <= MOST_HALF_CYCLES:
                raise SettingError(
                    f"a bit must have 1 to {MOST_HALF_CYCLES} half-cycles, got {count!r}: take a whole number"
                )
        if not min(counts) <= 0.75 * max(counts):
            raise SettingError(
                "half-cycles of one bit must be at most 3/4 in number of those of the other, got "
                f"{self.zero_half_cycles!r} and {self.one_half_cycles!r}: they could not be told apart"
            )
        if not 0 < self.cell_units < float("inf"):
            raise SettingError(f"cell_units must be longer than 0 units, got {self.cell_units!r} units")

    @property
    def zero_units(self):
        """Length of a whole cycle of the tone of zeros, in units."""
        return 2 * self.cell_units / self.zero_half_cycles

    @property
    def one_units(self):
        """Length of a whole cycle of the tone of ones, in units."""
        return 2 * self.cell_units / self.one_half_cycles

    def room(self, edges, unit):
        """How many cells fit into the time of some edges, if the tape runs somewhat faster than that."""
        if len(edges) < 2:
            return 0
        return int(ROOM * (edges[-1] - edges[0]) / (self.cell_units * unit)) + 1

    def decode(self, edges, unit, most=None):
        """Bits of a stretch of edges: see `CellCode.decode`.

        A cell whose half-cycles do not fit is told by where its edges lie in the time it should have taken, and
        the next one begins at the edge nearest to the end of that time, or at that end if none is near.
        """
        if most is not None:
            edges = edges[: 2 * self.most_edges(most)]
        most = len(edges) if most is None else most
        if len(edges) > 2 * PROBE_EDGES:
            walk = self._walk(edges[:PROBE_EDGES], unit, most)
            if walk.gave_up:
                return walk.cells(edges)
        return self._walk(edges, unit, most).cells(edges)

    def _walk(self, edges, unit, most):
        """The way along the cells, as if the tape ran evenly if it does, else with its speed tracked."""
        # Where a bit may have an odd number of half-cycles, leaning one way may be the data's own doing.
        odd = (self.zero_half_cycles | self.one_half_cycles) & 1
        level = edges if odd else levelled(edges)
        halves = np.diff(level)
        walk = Walk(self, level, np.full(len(halves), unit))
        if not walk.is_plain(most):
            short, long = self.shortest_cycle_units / 2, self.longest_cycle_units / 2
            every = TRACKED_CELLS * (self.zero_half_cycles + self.one_half_cycles) // 2
            walk = Walk(self, level, tracked(halves, unit, short, long, every))
            walk.go(most)
        return walk


def levelled(edges):
    """Edges as they would be if no held level made every second half-cycle longer."""
    if len(edges) < 4:
        return edges
    halves = np.diff(edges)
    turn = 1.0 - 2.0 * (np.arange(len(edges)) % 2)
    # Few pairs of neighbours are of two tones, and as many of them lean one way as the other.
    lean = np.median(turn[:-2] * (halves[:-1] - halves[1:])) / 2
    return edges + turn * lean / 2
