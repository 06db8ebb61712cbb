"""Branches: a cell code as a table of what each bit looks like in each state, and what follows from the table."""

import math
from dataclasses import dataclass
from fractions import Fraction

from .errors import SettingError

__all__ = ["Branch", "after_gap", "intervals", "step"]

FINEST = 128  # most places for edges in a cell
LONGEST = 8  # cells without an edge beyond which intervals are not listed
PLACES = 9  # decimals to which parts of a cell are the same


@dataclass(frozen=True)
class Branch:
    """What one bit looks like in one state.

    Attributes
    ----------
    before, after : int
        State before the cell and after it.
    bit : int
    edges : tuple of float
        Where the wave changes its level, as parts of the cell: 0 is the border to the cell before.
    silent : bool
        True if nothing need sound here: what is heard neither speaks for this bit nor against it.
    """

    before: int
    bit: int
    edges: tuple
    after: int
    silent: bool = False

    def reversed(self):
        """The same cell as it looks to one who goes the other way."""
        edges = tuple(round(1 - edge, PLACES) for edge in reversed(self.edges))
        return Branch(self.after, self.bit, edges, self.before, self.silent)


def intervals(table):
    """Times between one edge and the next that a table of branches allows, in cells, rising.

    Returns
    -------
    list of float
        Those of up to so many cells; longer ones are left out.
    """
    return sorted({round(gap, PLACES - 1) for gap, _ in _edge_pairs(table)})


def _edge_pairs(table):
    """Each interval that can lie between two edges, and where in its cell the second lies."""
    found = set()
    for one in table:
        found |= {(b - a, b) for a, b in zip(one.edges, one.edges[1:], strict=False)}
        states = {one.after} if one.edges else set()
        for cells in range(1, LONGEST + 1):
            follow = [two for two in table if two.before in states]
            found |= {(cells + two.edges[0] - one.edges[-1], two.edges[0] % 1) for two in follow if two.edges}
            states = {two.after for two in follow if not two.edges}
    return {(gap, place) for gap, place in found if gap > 1e-6}


def step(breaks):
    """The part of a cell of which all places for edges are multiples."""
    parts = [Fraction(float(place)).limit_denominator(FINEST) for place in breaks]
    finest = math.lcm(*(part.denominator for part in parts))
    if finest > FINEST or max(abs(float(part) - place) for part, place in zip(parts, breaks, strict=True)) > 1e-6:
        raise SettingError(
            f"edges of a cell code must lie at multiples of 1/{FINEST} of a cell or of a larger part of it, "
            f"got {breaks.tolist()}: choose other places"
        )
    return 1 / finest


def after_gap(table):
    """Where the first edge may be after more than a cell's time without any."""
    return sorted({place for gap, place in _edge_pairs(table) if gap > 1 + 1e-6})
