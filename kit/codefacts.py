"""Facts of a cell code, computed from what its bits look like: rate, run lengths, clock, held level, spectrum.

A code is taken as a chain: from state to state, each bit is a piece of a two-level wave, ones and zeros being
equally many and in no order. All else follows from the pieces. Times are in units, frequencies in cycles a unit.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .errors import SettingError
from .patterns import PatternCode

__all__ = ["CodeFacts", "Piece", "facts"]

BAND_PART = 0.75  # of the power in the band that is quoted: a square wave has 81 % in its lowest cycle
FINE, HARMONICS = 200, 12  # steps for each bit a unit, and highest cycles up to which power is summed
BATCH = 1000  # frequencies looked at in one go
DAMPING = 1e-4  # what a bit knows of the one before is cut by this, so that a steady line has a width
WIDE = 0.02  # the same where power is summed in steps
EQUAL = 1e-9


@dataclass(frozen=True)
class Piece:
    """The wave of one bit in one state.

    Attributes
    ----------
    before, after : int
        Number of the state, in which the level before the piece is included.
    bit : int
    turns : tuple of float
        Where the level changes, in units from the begin of the piece.
    length : float
        In units.
    first : int
        Level before the first of these turns, +1 or -1; 0 if the piece is silent.
    """

    before: int
    bit: int
    turns: tuple
    after: int
    length: float
    first: int

    @property
    def levels(self):
        """Borders of the stretches of one level, in units, and their levels."""
        borders = np.array([0.0, *self.turns, self.length])
        return borders, self.first * (1.0 - 2.0 * (np.arange(len(borders) - 1) % 2))

    @property
    def sum(self):
        """Time above less time below zero, in units."""
        borders, levels = self.levels
        return float(np.diff(borders) @ levels)

    def transform(self, frequencies):
        """Fourier transform of the piece; shape as that of the frequencies."""
        borders, levels = self.levels
        angles = -2j * np.pi * np.asarray(frequencies, dtype=float)[..., None]
        flat = np.abs(angles) < EQUAL
        turned = np.exp(angles * borders) / np.where(flat, 1, angles)
        return np.where(flat[..., 0], self.sum, np.diff(turned, axis=-1) @ levels)


@dataclass(frozen=True)
class CodeFacts:
    """What a code asks of whatever carries it.

    Parameters
    ----------
    pieces : tuple of Piece
        One for each bit in each state.
    """

    pieces: tuple

    @cached_property
    def _matrix(self):
        """From piece to piece: how likely each follows."""
        follows = np.array([[0.5 * (b.before == a.after) for b in self.pieces] for a in self.pieces])
        return follows

    @cached_property
    def _often(self):
        """How often each piece comes, as a part of all."""
        count = len(self.pieces)
        wanted = np.vstack((self._matrix.T - np.eye(count), np.ones(count)))
        return np.linalg.lstsq(wanted, np.append(np.zeros(count), 1.0), rcond=None)[0]

    @property
    def mean_units(self):
        """Mean time of a bit, in units."""
        return float(self._often @ [piece.length for piece in self.pieces])

    @property
    def bits_per_unit(self):
        """Mean rate."""
        return 1 / self.mean_units

    @property
    def edges_per_bit(self):
        """Mean number of edges in a bit: what a clock can be kept by."""
        return float(self._often @ [len(piece.turns) for piece in self.pieces])

    @cached_property
    def _gaps(self):
        """Least and greatest time between two edges, in units."""
        # From the last edge before a state on, how long ago it may be; without end where a piece has none.
        since = {}
        for piece in self.pieces:
            if piece.turns:
                since.setdefault(piece.after, set()).add(round(piece.length - piece.turns[-1], 9))
        for _ in range(len(self.pieces) + 1):
            grown = False
            for piece in self.pieces:
                if not piece.turns:
                    more = {round(ago + piece.length, 9) for ago in since.get(piece.before, ())}
                    grown |= not more <= since.setdefault(piece.after, set())
                    since[piece.after] |= more
        inside = [b - a for piece in self.pieces for a, b in zip(piece.turns, piece.turns[1:], strict=False)]
        across = [ago + piece.turns[0] for piece in self.pieces if piece.turns for ago in since[piece.before]]
        gaps = [*inside, *across]
        return min(gaps), (float("inf") if grown else max(gaps))

    @property
    def shortest_gap_units(self):
        """Least time between two edges, in units."""
        return float(self._gaps[0])

    @property
    def longest_gap_units(self):
        """Greatest time between two edges, in units; infinite if there are bits that make none."""
        return float(self._gaps[1])

    @property
    def highest_cycle_hz(self):
        """Highest frequency of which a whole cycle occurs, in cycles a unit: what must pass at least."""
        return 1 / (2 * self.shortest_gap_units)

    @property
    def bits_per_cycle(self):
        """Bits in the time of the shortest cycle: how dense the code is where a recorder carries no shorter one."""
        return self.bits_per_unit / self.highest_cycle_hz

    @cached_property
    def largest_mean_level(self):
        """The largest mean level that bits can cause if they go on as is worst, 0 to 1; 0 has no held level."""
        low, high = 0.0, 1.0
        if not self._can_gain(EQUAL):
            return 0.0
        while high - low > 1e-7:
            middle = (low + high) / 2
            low, high = (middle, high) if self._can_gain(middle) else (low, middle)
        return round(high, 6)

    def _can_gain(self, level):
        """Whether there is a way round on which the mean level is above this one."""
        best = dict.fromkeys({piece.before for piece in self.pieces}, 0.0)
        for _ in range(len(best) + 1):
            grown = False
            for piece in self.pieces:
                worth = best[piece.before] + piece.sum - level * piece.length
                if worth > best[piece.after] + EQUAL:
                    best[piece.after], grown = worth, True
        return grown

    @cached_property
    def running_sum_units(self):
        """How far the sum of the wave, in units, can wander from lowest to highest; infinite without bound."""
        if self.largest_mean_level > 0:
            return float("inf")
        places = {0: 0.0}
        reached = []
        for _ in self.pieces:
            for piece in self.pieces:
                if piece.before in places:
                    borders, levels = piece.levels
                    inner = places[piece.before] + np.concatenate(([0.0], np.cumsum(np.diff(borders) * levels)))
                    reached += [inner.min(), inner.max()]
                    places.setdefault(piece.after, float(inner[-1]))
        return float(max(reached) - min(reached))

    def spectrum(self, frequencies):
        """Power of random bits by frequency.

        Parameters
        ----------
        frequencies : array_like of float, shape (n,)
            In cycles a unit, above 0.

        Returns
        -------
        ndarray of float64, shape (n,)
            One-sided density: over all frequencies it adds up to the power, 1 for a wave of ±1 without silence.

        Source
        ------
        The spectrum of a chain of pieces follows from how pieces are correlated: J. G. Proakis, Digital
        Communications, the section on modulated signals with memory (from memory).
        """
        return self._density(np.atleast_1d(np.asarray(frequencies, dtype=float)), DAMPING)

    def _density(self, frequencies, damping):
        """As `spectrum`, with lines as wide as is asked for."""
        batches = [frequencies[k : k + BATCH] for k in range(0, len(frequencies), BATCH)]
        return np.concatenate([np.zeros(0), *(self._densities(batch, damping) for batch in batches)])

    def _densities(self, frequencies, damping):
        shapes = np.stack([piece.transform(frequencies) for piece in self.pieces], axis=-1)
        lengths = np.array([piece.length for piece in self.pieces])
        later = (1 - damping) * np.exp(-2j * np.pi * frequencies[:, None] * lengths)
        often, matrix = self._often, self._matrix
        chains = np.eye(len(lengths)) - later[:, :, None] * matrix
        follow = np.linalg.solve(chains, (later[:, :, None] * (matrix @ shapes[:, :, None])))[:, :, 0]
        # What follows a piece, heard from its own begin on.
        power = (often * np.abs(shapes) ** 2).sum(axis=1) + 2 * ((often * np.conj(shapes)) * follow).sum(axis=1).real
        return 2 * np.maximum(power, 0) / self.mean_units

    def band(self, part=BAND_PART):
        """The narrowest band that holds a part of the power: its lowest and highest frequency, in cycles a unit."""
        if not 0 < part < 1:
            raise SettingError(f"part must lie between 0 and 1, got {part!r}")
        step = self.bits_per_unit / FINE
        borders = step * np.arange(int(HARMONICS * self.highest_cycle_hz / step) + 2)
        power = step * self._density(borders[1:] - step / 2, WIDE)
        total = np.concatenate(([0.0], np.cumsum(power))) / self.power
        stop = np.searchsorted(total, total + part)
        fits = np.flatnonzero(stop < len(total))
        best = fits[np.argmin(borders[stop[fits]] - borders[fits])]
        return float(borders[best]), float(borders[stop[best]])

    @property
    def power(self):
        """Mean power of a wave of ±1, in which silence has none."""
        loud = self._often @ [piece.length * abs(piece.first) for piece in self.pieces]
        return float(loud / self.mean_units)


def facts(code):
    """The facts of a cell code.

    Parameters
    ----------
    code : CellCode

    Returns
    -------
    CodeFacts

    Examples
    --------
    >>> from kit.cells import CycleLength
    >>> found = facts(CycleLength())
    >>> round(found.bits_per_unit, 3), found.shortest_gap_units, found.longest_gap_units, found.largest_mean_level
    (0.667, 0.5, 1.0, 0.0)
    """
    return CodeFacts(tuple(_numbered(_branches(code))))


def _branches(code):
    """Branches of a code: state before, bit, turns and length in units, state after, whether it is silent."""
    if isinstance(code, PatternCode):
        cell = code.cell_units
        return [
            (b.before, b.bit, tuple(cell * edge for edge in b.edges), cell, b.after, b.silent) for b in code.table
        ]
    rows = []
    for bit in (0, 1):
        halves = code.encode([bit])
        turns = np.concatenate(([0.0], np.cumsum(halves)[:-1]))
        rows.append((0, bit, tuple(turns.tolist()), float(halves.sum()), 0, False))
    return rows


def _numbered(branches):
    """Pieces of the branches, with the level before as part of the state."""
    number, found, left = {(branches[0][0], 1): 0}, [], [(branches[0][0], 1)]
    while left:
        state, level = left.pop()
        for before, bit, turns, length, after, silent in branches:
            if before != state:
                continue
            end = after, level * (-1) ** len(turns)
            if end not in number:
                number[end] = len(number)
                left.append(end)
            # A turn at the very begin is one, too.
            found.append(Piece(number[state, level], bit, turns, number[end], length, 0 if silent else level))
    return found
