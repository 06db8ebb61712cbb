"""Sync words among edges: found by the ratios of a row of half-cycles, so that no speed need be known.

Time code has no leader. But no data can hold twelve ones in a row, so the sync word is a row of half-cycles like
no other, it tells how long a cell is just there, and it comes with every frame.
"""

from dataclasses import dataclass

import numpy as np

from .frame import SYNC_WORD
from .writing import CODE

__all__ = ["PATTERN", "SyncWord", "find_syncs"]

PATTERN = CODE.encode(SYNC_WORD) / CODE.longest_units  # half-cycles of the sync word, in cells
OFF = 0.22  # cells by which a half-cycle may be off; a quarter is half way between the two lengths


@dataclass(frozen=True)
class SyncWord:
    """Where a sync word lies.

    Attributes
    ----------
    first, last : int
        Numbers of the edges that begin its first bit and end its last.
    cell : float
        Length of a cell in it, in the measure of the edges.
    """

    first: int
    last: int
    cell: float


def find_syncs(edges):
    """Sync words played forwards; turn the edges round (``-edges[::-1]``) to find those played backwards.

    Parameters
    ----------
    edges : ndarray of float64, shape (n,)
        Times of edges, rising.

    Returns
    -------
    list of SyncWord
        In order; no two of them overlap.
    """
    count = len(PATTERN)
    if len(edges) <= count:
        return []
    halves = np.diff(edges)
    cells = (edges[count:] - edges[:-count]) / PATTERN.sum()
    at = np.arange(len(cells))
    # The long half-cycles first: there are few of them, so that little is left to look at.
    for place in np.argsort(-PATTERN, kind="stable"):
        at = at[np.abs(halves[at + place] - PATTERN[place] * cells[at]) < OFF * cells[at]]
    found, free = [], 0
    for first in at.tolist():
        if first >= free:
            found.append(SyncWord(first, first + count, float(cells[first])))
            free = first + count
    return found
