"""Pattern codes: cell codes that are a small table of where a two-level wave changes its level.

Every bit takes the same time. What its cell looks like may depend on what came before; a state holds that.
"""

from dataclasses import replace
from functools import cached_property
from typing import ClassVar

import numpy as np

from .branches import intervals
from .cells import CellCode, Cells
from .clockedcells import read_cells
from .errors import SettingError
from .likelyrows import LikelyRows

__all__ = ["PatternCode", "checked_cell_units"]

ROOM = 1.12  # how much faster than at its start the tape may run
ANY_NUMBER = 1 << 40
MORE_EDGES = 1.5  # edges that may come for one that is expected: crackle


class PatternCode(CellCode):
    """What all pattern codes have in common; each one is a frozen dataclass with `cell_units` and a table.

    Attributes
    ----------
    table : tuple of Branch
        One branch for each bit in each state; the first state is 0.
    lead_bits, tail_bits : tuple of int
        Bits that `encode` adds in front and behind and `decode` leaves out again. Where a level or a direction
        tells the bits, they tell which is which, on a tape that may be upside down.
    """

    lead_bits: ClassVar[tuple] = ()
    tail_bits: ClassVar[tuple] = ()
    draws_alike: ClassVar[bool] = False

    @cached_property
    def table(self):
        """The branches, one for each bit in each state."""
        raise NotImplementedError

    @property
    def _cells_units(self):
        return self.cell_units, self.cell_units

    @cached_property
    def _intervals(self):
        return intervals(self.table)

    @property
    def cycle_lengths_units(self):
        """Lengths of cycles that occur, in units: each is two of the intervals between edges.

        Where intervals have no end, as in a level held, only the shorter ones.
        """
        return tuple(2 * gap * self.cell_units for gap in self._intervals)

    @property
    def first_half_cycles(self):
        """From how many half-cycles after a sync mark it is told whether bits follow."""
        return 1

    @property
    def shortest_cycle_units(self):
        """Twice the shortest interval between edges, in units."""
        return self.cycle_lengths_units[0]

    @property
    def longest_cycle_units(self):
        """Twice the longest interval between edges that `cycle_lengths_units` has, in units."""
        return self.cycle_lengths_units[-1]

    def encode(self, bits):
        """Half-cycles of some bits, in units: see `CellCode.encode`.

        With the edge before them the first cell begins, whether or not the code has one there, and with the
        last of them the last cell ends.
        """
        bits = [*self.lead_bits, *np.asarray(bits, dtype=np.uint8).tolist(), *self.tail_bits]
        branches, state, places = self._branch, 0, []
        for k, bit in enumerate(bits):
            branch = branches[state, bit]
            places += [k + edge for edge in branch.edges]
            state = branch.after
        if not bits:
            return np.zeros(0)
        begun = places[:1] == [0.0]
        return np.diff(np.array([0.0, *places[begun:], len(bits)])) * self.cell_units

    @cached_property
    def _branch(self):
        return {(branch.before, branch.bit): branch for branch in self.table}

    @cached_property
    def _rows(self):
        return LikelyRows(self.table, (0,), self.lead_bits)

    @cached_property
    def _rows_back(self):
        states = tuple({branch.before for branch in self.table})
        return LikelyRows([branch.reversed() for branch in self.table], states, self.tail_bits[::-1])

    def most_edges(self, cells):
        """How many edges so many cells have at most, with the one that ends them."""
        most = max(len(branch.edges) for branch in self.table)
        return most * (cells + len(self.lead_bits) + len(self.tail_bits)) + 1

    def room(self, edges, unit):
        """How many cells fit into the time of some edges, if the tape runs somewhat faster than that."""
        if len(edges) < 2:
            return 0
        most = int(ROOM * (edges[-1] - edges[0]) / (self.cell_units * unit)) + 1
        return max(0, most - len(self.lead_bits))

    def decode(self, edges, unit, most=None):
        """Bits of a stretch of edges: see `CellCode.decode`.

        If no number of cells is asked for, the edges are taken to end where the cells do, and what this code adds
        behind the bits is left out.
        """
        return self._decode(self._rows, edges, unit, most, len(self.lead_bits), len(self.tail_bits))

    def decode_backwards(self, edges, unit, most=None):
        """As `decode`, but of the cells before the last edge, last first; the times fall."""
        back = edges[-1] - edges[::-1] if len(edges) else edges
        cells = self._decode(self._rows_back, back, unit, most, len(self.tail_bits), len(self.lead_bits))
        return replace(cells, times=edges[-1] - cells.times) if len(edges) else cells

    def _read(self, rows, edges, unit, most):
        """Cells from the first edge on, those included that `encode` adds."""
        return read_cells(rows, edges, self.cell_units * unit, most)

    def _decode(self, rows, edges, unit, most, before, behind):
        if most is not None:
            edges = edges[: int(MORE_EDGES * self.most_edges(most + 1)) + 1]
        found = self._read(rows, edges, unit, ANY_NUMBER if most is None else most + before)
        stop = max(before, len(found.bits) - (behind if most is None else 0))
        kept = slice(before, stop)
        return Cells(
            found.bits[kept],
            found.margins[kept].astype(np.float32),
            np.zeros(len(found.bits[kept]), np.float32),
            found.broken[kept],
            np.diff(found.times[before : stop + 1]) / self.cell_units,
            found.times[before : stop + 1],
        )


def checked_cell_units(cell_units):
    """The length of a cell, if it is one.

    Raises
    ------
    SettingError
        When it is not longer than nothing.
    """
    if not 0 < cell_units < float("inf"):
        raise SettingError(f"cell_units must be longer than 0 units, got {cell_units!r} units")
    return cell_units
