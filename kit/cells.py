"""Bit cells: bits to half-cycles and back; what every cell code offers, and the one by cycle length.

A bit is a few equal half-cycles: how many, and how long they are, tells a one from a zero. Lengths are in
units (the format says how long a unit is), so the same code reads at any speed.
"""

from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np

from .errors import SettingError

__all__ = ["MILD", "CellCode", "Cells", "CycleLength", "tracked", "unusual_lean"]

TRACKED_CELLS = 32  # cells over which one estimate of speed is made: short against wow, long against jitter
STEADY = 0.12  # cells within this part of their nominal length need no tracking
MILD = 0.3  # margin below which a cell may have been taken for the other
SUSPECT_MARGIN, SUSPECT_LEAN = 0.95, 0.02  # a cell no farther off than this is above suspicion
LOPSIDED = 0.35  # a cell whose halves differ by more than this part of it was not written so


@dataclass(frozen=True)
class Cells:
    """Bits found in a stretch of edges.

    Attributes
    ----------
    bits : ndarray of uint8, shape (cells,)
    margins : ndarray of float32, shape (cells,)
        1 where cycles have just the length of their bit, 0 where one lies on the threshold between the two or
        as far out on the other side.
    lean : ndarray of float32, shape (cells,)
        How unequal the halves are, beyond what is usual here: 0 is as usual, 1 is all in the first half.
    broken : ndarray of bool, shape (cells,)
        True where no cell of this code can look so: the count of cells may be wrong from here on.
    unit : ndarray of float64, shape (cells,)
        Length of a unit as tracked, in the unit of the edges given.
    times : ndarray of float64, shape (cells + 1,)
        Where each cell begins, and where the last one ends, in the unit of the edges given.
    """

    bits: np.ndarray
    margins: np.ndarray
    lean: np.ndarray
    broken: np.ndarray
    unit: np.ndarray
    times: np.ndarray


class CellCode:
    """What a cell code offers; each one is a frozen dataclass with these attributes and `decode` and `room`.

    Attributes
    ----------
    zero_units, one_units : float
        Length of a whole cycle with which each bit is drawn.
    zero_half_cycles, one_half_cycles : int
        How many half-cycles make each bit.
    draws_alike : bool
        Whether a bit looks the same wherever it stands, so that ``encode([bit])`` shows it.
    """

    draws_alike: ClassVar[bool] = True

    @property
    def shortest_units(self):
        """How long the shorter bit lasts, in units."""
        return min(self._cells_units)

    @property
    def longest_units(self):
        """How long the longer bit lasts, in units."""
        return max(self._cells_units)

    @property
    def _cells_units(self):
        return self.zero_half_cycles * self.zero_units / 2, self.one_half_cycles * self.one_units / 2

    @property
    def shortest_cycle_units(self):
        """Length of the shorter of the two cycles, in units."""
        return min(self.zero_units, self.one_units)

    @property
    def longest_cycle_units(self):
        """Length of the longer of the two cycles, in units."""
        return max(self.zero_units, self.one_units)

    @property
    def cycle_lengths_units(self):
        """Lengths of cycles that occur, in units: each is two of the intervals between edges."""
        return self.zero_units, self.one_units

    @property
    def first_half_cycles(self):
        """From how many half-cycles after a sync mark it is told whether bits follow."""
        # Of a bit of a single half-cycle the other half is counted in: the next bit may be of the other tone.
        return min(2, self.zero_half_cycles, self.one_half_cycles)

    @property
    def threshold_units(self):
        """Length at which a cycle is as likely one bit's as the other's."""
        return (self.zero_units + self.one_units) / 2

    def most_edges(self, cells):
        """How many edges so many cells have at most, with the one that ends them."""
        return max(self.zero_half_cycles, self.one_half_cycles) * cells + 1

    def encode(self, bits):
        """Half-cycles of some bits.

        Parameters
        ----------
        bits : array_like of int, shape (n,)

        Returns
        -------
        ndarray of float64, shape (half_cycles,)
            In units; as many for each bit as the code says.
        """
        bits = np.asarray(bits, dtype=np.uint8)
        counts = np.where(bits, self.one_half_cycles, self.zero_half_cycles)
        return np.repeat(np.where(bits, self.one_units / 2, self.zero_units / 2), counts)

    def decode(self, edges, unit, most=None):
        """Bits of a stretch of edges.

        Parameters
        ----------
        edges : ndarray of float64, shape (n,)
            Times of the edges, from the first edge of the first cell on.
        unit : float
            Length of a unit at the start, in the same measure as the edges.
        most : int, optional
            No more cells than this.

        Returns
        -------
        Cells
            As many as the edges hold whole; speed is followed from cell to cell.
        """
        raise NotImplementedError

    def room(self, edges, unit):
        """How many cells some edges can hold at most: a quick bound."""
        raise NotImplementedError

    def decode_backwards(self, edges, unit, most=None):
        """As `decode`, but of the cells before the last edge, last first; the times fall."""
        cells = self.decode(edges[-1] - edges[::-1], unit, most)
        return replace(cells, times=edges[-1] - cells.times)

    def outliers(self, cells):
        """Cells that are broken, or far off what is usual among the others: something happened to the tape there.

        Parameters
        ----------
        cells : Cells

        Returns
        -------
        ndarray of bool, shape (cells,)
        """
        if len(cells.bits) == 0:
            return cells.broken
        doubtful = cells.broken | (cells.margins < MILD)
        fair = ~doubtful if not doubtful.all() else doubtful
        low, usual = np.percentile(cells.margins[fair], [5, 50])
        tilt = np.percentile(np.abs(cells.lean[fair]), 95)
        far = cells.margins < min(SUSPECT_MARGIN, low - 2 * (usual - low))
        return doubtful | far | (np.abs(cells.lean) > max(SUSPECT_LEAN, 3 * tilt))


@dataclass(frozen=True)
class CycleLength(CellCode):
    """The cycle-length code: a bit is one whole cycle, and a one and a zero differ in how long it lasts.

    Parameters
    ----------
    zero_units, one_units : float
        Length of a whole cycle for each bit. They must differ by a quarter of the longer at least.

    Examples
    --------
    >>> CycleLength().encode([0, 1]).tolist()
    [0.5, 0.5, 1.0, 1.0]
    """

    zero_half_cycles: ClassVar[int] = 2
    one_half_cycles: ClassVar[int] = 2

    zero_units: float = 1.0
    one_units: float = 2.0

    def __post_init__(self):
        short, long = sorted((self.zero_units, self.one_units))
        if not (short > 0 and short <= 0.75 * long < float("inf")):
            raise SettingError(
                "cycle lengths must be positive and the shorter at most 3/4 of the longer, "
                f"got {self.zero_units!r} and {self.one_units!r} units"
            )

    def room(self, edges, unit):
        """How many whole cycles some edges hold."""
        return max(0, (len(edges) - 1) // 2)

    def decode(self, edges, unit, most=None):
        """Bits of a stretch of edges, two half-cycles each: see `CellCode.decode`."""
        count = self.room(edges, unit) if most is None else min(most, self.room(edges, unit))
        edges = edges[: 2 * count + 1]
        times = edges[::2]
        cycles = np.diff(times)
        units, ratio, large = self._follow(cycles, unit)
        half_gap = (self.longest_units - self.shortest_units) / 2
        nominal = np.where(large, self.longest_units, self.shortest_units)
        margins = 1 - np.abs(ratio - nominal) / half_gap
        lean = unusual_lean(2 * (edges[1:-1:2] - times[:-1]) / cycles - 1)
        broken = (margins < 0) | (np.abs(lean) > LOPSIDED)
        bits = (large if self.one_units > self.zero_units else ~large).astype(np.uint8)
        margins = np.clip(margins, 0, 1).astype(np.float32)
        return Cells(bits, margins, lean.astype(np.float32), broken, units, times)

    def _follow(self, cycles, unit):
        """Units, lengths in units, and which cycles are the longer ones."""
        ratio = cycles / unit
        large = ratio > self.threshold_units
        nominal = np.where(large, self.longest_units, self.shortest_units)
        if np.all(np.abs(ratio - nominal) < STEADY * nominal):
            return np.full(len(cycles), unit), ratio, large
        units = tracked(cycles, unit, self.shortest_units, self.longest_units, TRACKED_CELLS)
        ratio = cycles / units
        return units, ratio, ratio > self.threshold_units


def tracked(lengths, unit, short, long, every):
    """Length of a unit along lengths of two kinds, from groups of them; those of neither kind have no say.

    Parameters
    ----------
    lengths : ndarray of float64, shape (n,)
    unit : float
        Length of a unit at the start, in the measure of the lengths.
    short, long : float
        What each kind measures, in units.
    every : int
        Lengths from which one estimate of speed is made.

    Returns
    -------
    ndarray of float64, shape (n,)
        In the measure of the lengths.
    """
    middles, found = [-0.5], [unit]
    for start in range(0, len(lengths), every):
        group = lengths[start : start + every]
        ratio = group / unit
        nominal = np.where(ratio > (short + long) / 2, long, short)
        fits = np.abs(ratio - nominal) < 0.3 * nominal
        if np.count_nonzero(fits) * 2 > len(group):
            measured = group[fits].sum() / nominal[fits].sum()
            unit = float(min(max(measured, 0.85 * unit), 1.15 * unit))  # quicker than `np.clip` of one number
        middles.append(start + len(group) / 2 - 0.5)
        found.append(unit)
    return np.interp(np.arange(len(lengths)), middles, found)


def unusual_lean(lean):
    """How unequal the halves of each cell are; a held level makes all lean alike, which is no fault."""
    return lean - np.median(lean) if len(lean) else lean
