"""Likely rows: which bits, in cells whose borders are known, a two-level wave speaks for.

A cell code is a table of branches: in this state, this bit has edges at these parts of the cell, and that state
follows. With the sign of the wave a state becomes a place; from place to place each branch is a pattern of
stretches above and below zero. The row of branches whose patterns agree with the wave best is found by going
along it once with the best way to each place (Viterbi), and back again; what the best row with the other bit
is short of it is the margin of a bit.
"""

from dataclasses import dataclass

import numpy as np

from .branches import after_gap, intervals, step

__all__ = ["LikelyRows", "Row"]

FEW = 16  # places up to which plain numbers are quicker than arrays
SPREAD = 3.0  # cells in which the wave makes up for any place it was taken to be at
HORIZON = 12  # cells after a bit that are counted for what its margin would be at best
NEVER = -1e9


@dataclass(frozen=True)
class Row:
    """The likeliest branches of some cells.

    Attributes
    ----------
    branches : ndarray of int, shape (cells,)
    bits : ndarray of uint8, shape (cells,)
    margins : ndarray of float64, shape (cells,)
        How far the best row with the other bit is behind; 1 is as far as in a perfect wave, 0 not at all.
    fits : ndarray of float64, shape (cells,)
        How much of each cell agrees with its branch, less how much does not: 1 is all. More than all, which a
        wave of more than two levels can do, is as bad as less. Where nothing need sound, a level held is all.
    ways : list of ndarray or of list, shape (places,)
        The worth of the best way to each place, before each cell and after the last.
    """

    branches: np.ndarray
    bits: np.ndarray
    margins: np.ndarray
    fits: np.ndarray
    ways: list


class LikelyRows:
    """The rows of cells that a table of branches allows.

    Parameters
    ----------
    table : sequence of Branch
    starts : sequence of int
        States in which the first cell may find itself. It begins with an edge whatever its bit: a sync mark
        ends there, or, for those who read backwards, the cells end.
    lead : sequence of int
        Bits that are known to come first.
    signs : sequence of int, optional
        The sign of the wave in each state, where that is known and the first cell need not begin with an edge.

    Attributes
    ----------
    breaks : ndarray of float64, shape (parts + 1,)
        Parts of a cell between which no branch has an edge.
    edges : ndarray of float64, shape (branches, most)
        Where the edges of each branch lie; NaN where it has fewer than others.
    shortest : float
        Least time between two edges, as a part of a cell.
    step : float
        Part of a cell of which all places for edges are multiples.
    after_gap : list of float
        Where the first edge may be after more than a cell's time without any, as a part of its cell.
    """

    def __init__(self, table, starts, lead=(), signs=None):
        self.lead = tuple(lead)
        signed, first = _signed(table, starts, self.lead, signs)
        places = sorted({place for before, _, after in signed for place in (before, after)})
        number = {place: k for k, place in enumerate(places)}
        self.places = len(places)
        self.source = np.array([number[before] for before, _, _ in signed])
        self.target = np.array([number[after] for _, _, after in signed])
        self.bits = np.array([branch.bit for _, branch, _ in signed], dtype=np.uint8)
        self.silent = np.array([branch.silent for _, branch, _ in signed])
        self.first = np.array([k in first for k in range(len(signed))])
        self.breaks = np.unique([0.0, 1.0, *(edge for branch in table for edge in branch.edges)])
        self.widths = np.diff(self.breaks)
        self.patterns = np.array([_pattern(before[1], branch, self.breaks) for before, branch, _ in signed])
        self.edges = _padded([branch.edges for _, branch, _ in signed])
        self.shortest = intervals(table)[0]
        self.step = step(self.breaks)
        self.after_gap = after_gap(table)
        self._into, self._out_of = _by(self.target, self.places), _by(self.source, self.places)
        self._plain = [
            [(int(b), int(self.source[b])) for b in np.flatnonzero(self.target == k)] for k in range(self.places)
        ]
        self._plain_back = [
            [(int(b), int(self.target[b])) for b in np.flatnonzero(self.source == k)] for k in range(self.places)
        ]
        self._apart = self._least_apart()

    def at_first(self):
        """The worth of each place before the first cell: any that a start allows."""
        return np.zeros(self.places)

    def worths(self, grid, number=None):
        """How well each branch agrees with each cell.

        Parameters
        ----------
        grid : ndarray of float64, shape (..., cells, parts)
            Mean level of the wave in each part of each cell, times how wide that part is.
        number : int, optional
            Number of the first of these cells in the whole row; the first of all, and known bits, allow but
            some branches.

        Returns
        -------
        ndarray of float64, shape (..., cells, branches)
        """
        worths = grid @ self.patterns.T
        worths[..., self.silent] = 0.5
        if number is not None:
            for k, bit in enumerate(self.lead[number:], start=0):
                if k < worths.shape[-2]:
                    worths[..., k, self.bits != bit] = NEVER
            if number == 0:
                worths[..., 0, ~self.first] = NEVER
        return worths

    def best(self, ways, worths, levels):
        """The likeliest row of cells.

        Parameters
        ----------
        ways : ndarray of float64, shape (places,)
            The worth of the best way to each place before the first cell.
        worths : ndarray of float64, shape (cells, branches)
        levels : ndarray of float64, shape (cells,)
            Mean level of the wave in each cell.

        Returns
        -------
        Row
        """
        go = self._go_plainly if self.places <= FEW else self._go
        there, back = go(np.maximum(ways, np.max(ways) - SPREAD), worths)
        total = there[:-1][:, self.source] + worths + back[1:][:, self.target]
        ones = total[:, self.bits == 1].max(axis=1)
        zeros = total[:, self.bits == 0].max(axis=1)
        left = np.minimum(np.arange(len(worths), 0, -1), HORIZON)
        margins = np.clip(np.abs(ones - zeros) / self._apart[left], 0, 1)
        branches = total.argmax(axis=1)
        fits = worths[np.arange(len(worths)), branches]
        fits = np.where(self.silent[branches], np.abs(levels), np.minimum(fits, 2 - fits))
        return Row(branches, self.bits[branches], margins, fits, there)

    def score(self, ways, worths):
        """The worth of the best row, of many waves at once.

        Parameters
        ----------
        ways : ndarray of float64, shape (places,)
        worths : ndarray of float64, shape (waves, cells, branches)

        Returns
        -------
        ndarray of float64, shape (waves,)
        """
        best = np.repeat(ways[None], len(worths), axis=0)
        for k in range(worths.shape[1]):
            best = self._step(best, worths[:, k], self.source, self._into)
        return best.max(axis=-1)

    def _step(self, best, worths, ends, sorted_branches):
        ways = best[..., ends] + worths
        ways = np.concatenate((ways, np.full((*ways.shape[:-1], 1), NEVER)), axis=-1)
        return ways[..., sorted_branches].max(axis=-1)

    def _go(self, ways, worths):
        cells = len(worths)
        there, back = np.empty((cells + 1, self.places)), np.zeros((cells + 1, self.places))
        there[0] = ways
        for k in range(cells):
            there[k + 1] = self._step(there[k], worths[k], self.source, self._into)
        for k in range(cells - 1, -1, -1):
            back[k] = self._step(back[k + 1], worths[k], self.target, self._out_of)
        return there, back

    def _go_plainly(self, ways, worths):
        """As `_go`, with plain numbers."""
        rows = worths.tolist()
        best = ways.tolist()
        there = [best]
        for row in rows:
            best = [max([best[k] + row[b] for b, k in into]) for into in self._plain]
            there.append(best)
        best = [0.0] * self.places
        back = [best]
        for row in reversed(rows):
            best = [max([best[k] + row[b] for b, k in out]) for out in self._plain_back]
            back.append(best)
        return np.array(there), np.array(back[::-1])

    def _least_apart(self):
        """By how much a perfect row is better than any with another bit, if 0, 1, ... cells follow to the last.

        The worth of two rows is compared from where they part, before the bit or at it, to where they meet.
        """
        ideal = np.where(self.silent[:, None], 0.5, self.patterns @ (self.patterns * self.widths).T)
        # Where nothing need sound, what does is the level held, which agrees with no tone.
        own = np.diag(ideal)[:, None] - np.where(self.silent[None, :], 0.5, ideal.T)
        from_places, to_places = np.ix_(self.source, self.source), np.ix_(self.target, self.target)
        before = np.where(np.eye(self.places, dtype=bool), 0.0, np.inf)
        for _ in range(HORIZON):
            np.minimum.at(before, to_places, before[from_places] + own)
        differ = self.bits[:, None] != self.bits[None, :]
        after, apart = np.zeros((self.places, self.places)), np.zeros(HORIZON + 1)
        for k in range(1, HORIZON + 1):
            worth = own + after[to_places]
            apart[k] = (before[from_places] + worth)[differ].min()
            after = np.full((self.places, self.places), np.inf)
            np.minimum.at(after, from_places, worth)
            np.fill_diagonal(after, 0.0)
        apart[0] = apart[1]
        return apart


def _signed(table, starts, lead, signs):
    """Branches between places, a place being a state and the sign before its cell; and which may come first.

    The sign is +1 from the first edge on, so a first cell with an edge at its border finds -1 before it.
    """
    found, first, open_places = [], set(), []
    seen = set()

    def meet(place):
        if place not in seen:
            seen.add(place)
            open_places.append(place)

    def follow(branch, sign):
        return branch.after, sign * (-1) ** len(branch.edges)

    firsts = []
    for branch in table:
        if branch.before in starts and (not lead or branch.bit == lead[0]):
            sign = (-1 if 0.0 in branch.edges else 1) if signs is None else signs[branch.before]
            firsts.append(((branch.before, sign), branch))
            meet((branch.before, sign))
    while open_places:
        place = open_places.pop()
        for branch in table:
            if branch.before == place[0]:
                found.append((place, branch, follow(branch, place[1])))
                meet(found[-1][2])
    first = {k for k, (place, branch, _) in enumerate(found) if (place, branch) in firsts}
    return found, first


def _pattern(sign, branch, breaks):
    """The sign of the wave between the breaks."""
    middles = (breaks[1:] + breaks[:-1]) / 2
    crossed = np.searchsorted(np.array(branch.edges), middles)
    return np.zeros(len(middles)) if branch.silent else sign * (1.0 - 2.0 * (crossed % 2))


def _padded(rows):
    """Rows of different lengths as one array, with NaN at their ends."""
    most = max(1, *(len(row) for row in rows))
    return np.array([[*row, *[np.nan] * (most - len(row))] for row in rows])


def _by(ends, places):
    """For each place the branches that have it as their end, filled up with one branch too many."""
    rows = [np.flatnonzero(ends == k).tolist() for k in range(places)]
    most = max(1, *(len(row) for row in rows))
    return np.array([[*row, *[len(ends)] * (most - len(row))] for row in rows])
