"""Bit cells: bits to half-cycles and back, here by cycle length.

A bit is one whole cycle, two equal half-cycles; a one and a zero differ only in how long their cycle lasts.
Lengths are in units (the format says how long a unit is), so the same code reads at any speed.
"""

from dataclasses import dataclass

import numpy as np

from .errors import SettingError

__all__ = ["MILD", "Cells", "CycleLength"]

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
        1 where a cycle has just the length of its bit, 0 where it lies on the threshold between the two or
        as far out on the other side.
    lean : ndarray of float32, shape (cells,)
        How unequal the halves are, beyond what is usual here: 0 is as usual, 1 is all in the first half.
    broken : ndarray of bool, shape (cells,)
        True where no cell of this code can look so: the count of cells may be wrong from here on.
    unit : ndarray of float64, shape (cells,)
        Length of a unit as tracked, in the unit of the edges given.
    """

    bits: np.ndarray
    margins: np.ndarray
    lean: np.ndarray
    broken: np.ndarray
    unit: np.ndarray


@dataclass(frozen=True)
class CycleLength:
    """The cycle-length code.

    Parameters
    ----------
    zero_units, one_units : float
        Length of a whole cycle for each bit. They must differ by a quarter of the longer at least.

    Examples
    --------
    >>> CycleLength().encode([0, 1]).tolist()
    [0.5, 0.5, 1.0, 1.0]
    """

    zero_units: float = 1.0
    one_units: float = 2.0

    def __post_init__(self):
        short, long = sorted((self.zero_units, self.one_units))
        if not (short > 0 and short <= 0.75 * long < float("inf")):
            raise SettingError(
                "cycle lengths must be positive and the shorter at most 3/4 of the longer, "
                f"got {self.zero_units!r} and {self.one_units!r} units"
            )

    @property
    def shortest_units(self):
        """Length of the shorter cycle, in units."""
        return min(self.zero_units, self.one_units)

    @property
    def longest_units(self):
        """Length of the longer cycle, in units."""
        return max(self.zero_units, self.one_units)

    @property
    def threshold_units(self):
        """Length at which a cycle is as likely one bit as the other."""
        return (self.zero_units + self.one_units) / 2

    def encode(self, bits):
        """Half-cycles of some bits.

        Parameters
        ----------
        bits : array_like of int, shape (n,)

        Returns
        -------
        ndarray of float64, shape (2 * n,)
            In units.
        """
        bits = np.asarray(bits, dtype=np.uint8)
        return np.repeat(np.where(bits, self.one_units / 2, self.zero_units / 2), 2)

    def decode(self, edges, unit):
        """Bits of a stretch of edges.

        Parameters
        ----------
        edges : ndarray of float64, shape (2 * n + 1,)
            Times of the edges, from the first edge of the first cell to the last of the last.
        unit : float
            Length of a unit at the start, in the same measure as the edges.

        Returns
        -------
        Cells
            `n` of them; speed is followed from cell to cell.
        """
        cycles = edges[2::2] - edges[:-2:2]
        units, ratio, large = self._follow(cycles, unit)
        half_gap = (self.longest_units - self.shortest_units) / 2
        nominal = np.where(large, self.longest_units, self.shortest_units)
        margins = 1 - np.abs(ratio - nominal) / half_gap
        lean = _lean(edges, cycles)
        broken = (margins < 0) | (np.abs(lean) > LOPSIDED)
        bits = (large if self.one_units > self.zero_units else ~large).astype(np.uint8)
        margins = np.clip(margins, 0, 1).astype(np.float32)
        return Cells(bits, margins, lean.astype(np.float32), broken, units)

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

    def _follow(self, cycles, unit):
        """Units, lengths in units, and which cycles are the longer ones."""
        ratio = cycles / unit
        large = ratio > self.threshold_units
        nominal = np.where(large, self.longest_units, self.shortest_units)
        if np.all(np.abs(ratio - nominal) < STEADY * nominal):
            return np.full(len(cycles), unit), ratio, large
        units = self._track(cycles, unit)
        ratio = cycles / units
        return units, ratio, ratio > self.threshold_units

    def _track(self, cycles, unit):
        """Length of a unit along the cycles, from groups of them; cycles that fit no bit have no say."""
        middles, found = [-0.5], [unit]
        for start in range(0, len(cycles), TRACKED_CELLS):
            group = cycles[start : start + TRACKED_CELLS]
            ratio = group / unit
            nominal = np.where(ratio > self.threshold_units, self.longest_units, self.shortest_units)
            fits = np.abs(ratio - nominal) < 0.3 * nominal
            if np.count_nonzero(fits) * 2 > len(group):
                measured = group[fits].sum() / nominal[fits].sum()
                unit = float(np.clip(measured, 0.85 * unit, 1.15 * unit))
            middles.append(start + len(group) / 2 - 0.5)
            found.append(unit)
        return np.interp(np.arange(len(cycles)), middles, found)


def _lean(edges, cycles):
    """How unequal the halves of each cell are; a held level makes all lean alike, which is no fault."""
    lean = 2 * (edges[1:-1:2] - edges[:-2:2]) / cycles - 1
    return lean - np.median(lean) if len(lean) else lean
