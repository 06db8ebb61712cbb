"""Tone pairs: two tones of any frequencies, at any rate, in a wave that goes on without a break.

Where a cell holds no whole number of half-cycles, the next tone takes over in the middle of one. `TwoTones` is
the code for whole numbers, and quicker to read.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import ClassVar

import numpy as np

from .branches import Branch
from .clockedcells import read_cells
from .errors import SettingError
from .likelyrows import LikelyRows
from .patterns import PatternCode, checked_cell_units
from .tones import levelled

__all__ = ["TONE_PAIRS", "TonePair"]

FEWEST_HALF_CYCLES, MOST_HALF_CYCLES = 0.5, 256
MOST_ALIKE = 0.95  # half-cycles of the lower tone as a part of those of the higher
MOST_STATES = 64
GROUP = 24  # half-cycles by which the speed is told before cells are looked for
TURNS = 3
WINDOW = 0.7  # cells in which the tone is told to find where it changes
MOST_LEVEL = 2.0
# How high the tone is, as levels: the state is the bit before.
LEVELS = tuple(Branch(level, bit, () if bit == level else (0.0,), bit) for level in (0, 1) for bit in (0, 1))
LIKE, FAR = 0.08, 2.5  # how far half-cycles may be from the usual ones: a part, or times as far as is usual
STEADY = 0.01  # a tape whose speed was told to vary by less than this is taken to run evenly
SLOWER, FASTER = 0.96, 1.04  # how much a unit may change from group to group
LARGEST_PART = 1000  # largest denominator that is looked for


@dataclass(frozen=True)
class TonePair(PatternCode):
    """Two tones without a break between them: phase-continuous frequency-shift keying.

    Parameters
    ----------
    zero_half_cycles, one_half_cycles : float
        How many half-cycles of its tone each bit lasts, 0.5 to 256, in a ratio of small whole numbers to each
        other and to 1.
    cell_units : float
        How long each bit lasts, in units.

    Examples
    --------
    >>> TonePair(2, 3.5).encode([0, 1]).round(3).tolist()  # the last cells are added
    [0.5, 0.5, 0.286, 0.286, 0.286, 0.365, 0.444, 0.444, 0.444, 0.444]
    """

    tail_bits: ClassVar[tuple] = (0, 0)  # tuned a little, so that the last cell ends with an edge

    zero_half_cycles: float = 2.5
    one_half_cycles: float = 3.5
    cell_units: float = 1.0

    def __post_init__(self):
        checked_cell_units(self.cell_units)
        counts = (self.zero_half_cycles, self.one_half_cycles)
        for count in counts:
            if not FEWEST_HALF_CYCLES <= count <= MOST_HALF_CYCLES:
                raise SettingError(
                    f"a bit must last {FEWEST_HALF_CYCLES} to {MOST_HALF_CYCLES} half-cycles, got {count!r}"
                )
        if min(counts) > MOST_ALIKE * max(counts):
            raise SettingError(
                f"half-cycles of one bit must be at most {MOST_ALIKE} of those of the other, got "
                f"{self.zero_half_cycles!r} and {self.one_half_cycles!r}: they could not be told apart"
            )
        if len(self._phases) > MOST_STATES:
            raise SettingError(
                "rates must stand in ratios of small whole numbers, got "
                f"{self.zero_half_cycles!r} and {self.one_half_cycles!r} half-cycles a bit: round the tones"
            )

    @classmethod
    def of_hz(cls, zero_hz, one_hz, bits_per_second, unit_hz=2400.0):
        """The code of two tones at a rate, for a format with that unit.

        Examples
        --------
        >>> TonePair.of_hz(2200, 1200, 1200).one_half_cycles
        2.0
        """
        if not (bits_per_second > 0 and unit_hz > 0):
            raise SettingError(f"rates must be above 0, got {bits_per_second!r} bit/s and units of {unit_hz!r} Hz")
        return cls(2 * zero_hz / bits_per_second, 2 * one_hz / bits_per_second, unit_hz / bits_per_second)

    @cached_property
    def _counts(self):
        """Half-cycles of a zero and of a one, exactly."""
        return tuple(
            Fraction(count).limit_denominator(LARGEST_PART) for count in (self.zero_half_cycles, self.one_half_cycles)
        )

    @cached_property
    def _phases(self):
        """What part of a half-cycle may be over when a cell begins: the first is none; not more than too many."""
        found = [Fraction(0)]
        for phase in found:
            new = {(phase + count) % 1 for count in self._counts} - set(found)
            found += sorted(new)
            if len(found) > MOST_STATES:
                break
        return found

    def encode(self, bits):
        """Half-cycles of some bits, in units: see `CellCode.encode`."""
        bits = np.asarray(bits, dtype=np.uint8)
        count, part = len(bits), [float(count) for count in self._counts]
        phase = np.concatenate(([0.0], np.cumsum(np.where(bits, part[1], part[0]))))
        tail = len(self.tail_bits)
        last = max(np.floor(phase[-1]) + 1, np.rint(phase[-1] + tail * part[0]))
        times = np.interp(np.arange(last + 1), np.append(phase, last), np.append(np.arange(count + 1), count + tail))
        return np.diff(times) * self.cell_units

    @cached_property
    def _rows(self):
        return LikelyRows(LEVELS, (0, 1), self.lead_bits, signs=(-1, 1))

    @cached_property
    def _rows_back(self):
        return LikelyRows(LEVELS, (0, 1), self.tail_bits[::-1], signs=(-1, 1))

    def _read(self, rows, edges, unit, most):
        """Cells from the first edge on: how many half-cycles pass in each, parts of them included, tells the bit."""
        if len(edges) < 3:
            return read_cells(rows, edges, self.cell_units * unit, most)
        level = levelled(edges) if len(edges) > 2 * GROUP else edges
        even, cell = self._evened(level, unit), self.cell_units * unit
        area = self._area(even, cell)
        changes, wave = _kinked(even, area, *_changes(even, area, WINDOW * cell))
        found = read_cells(rows, changes, cell, most, wave)
        return replace(found, times=np.interp(found.times, even, edges))

    def _area(self, edges, cell):
        """Area under the height of the tone up to each edge: 1 for the tone of ones, -1 for that of zeros.

        What a half-cycle adds to it is one half-cycle less what a tone half-way between would have had in its
        time, so errors of single edges do not add up; unless it is of neither tone by far.
        """
        zero, one = map(float, self._counts)
        halves = np.diff(edges)
        level = (2 * cell / np.maximum(halves, 1e-9 * cell) - zero - one) / (one - zero)
        return np.concatenate(([0.0], np.cumsum(halves * np.clip(level, -MOST_LEVEL, MOST_LEVEL))))

    def _evened(self, edges, unit):
        """Edges in a time in which most half-cycles of each tone, or a few together, last what they should."""
        halves = np.diff(edges)
        if len(halves) < 2 * GROUP:
            return edges
        some = max(1, round(float(min(self._counts)) / 3))
        nominal = some * np.array([self.cell_units / float(count) for count in self._counts])
        lengths = edges[some:] - edges[:-some]
        middles, found, there = [], [], unit
        for first in range(0, len(lengths) - GROUP // 2, GROUP):
            group = lengths[first : first + GROUP]
            kind = np.abs(group[:, None] / there - nominal).argmin(axis=1)
            there = min(max(_usual(group / nominal[kind]), SLOWER * there), FASTER * there)
            middles.append(first + (len(group) + some) / 2 - 1)
            found.append(there)
        smooth = np.convolve(np.pad(found, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
        units = np.interp(np.arange(len(halves)), middles, smooth)
        if np.ptp(units) < STEADY * unit:
            units = np.mean(units)
        return edges[0] + np.concatenate(([0.0], np.cumsum(halves * (unit / units))))

    @cached_property
    def table(self):
        """The state is how much of a half-cycle is over."""
        number = {phase: k for k, phase in enumerate(self._phases)}
        return tuple(
            Branch(number[phase], bit, _edges(phase, count), number[(phase + count) % 1])
            for phase in self._phases
            for bit, count in enumerate(self._counts)
        )


def _edges(phase, count):
    """Where in a cell half-cycles begin, if at its begin that part of one is over."""
    first = 0 if phase == 0 else 1
    stop = phase + count
    whole = range(first, int(stop) + 1)
    return tuple(float((k - phase) / count) for k in whole if k < stop)


def _usual(ratio):
    """Mean of those ratios that are near most others.

    Half-cycles in which one tone takes over from the other are of neither, and in the minority.
    """
    usual = float(np.median(ratio))
    away = np.abs(ratio - usual)
    return float(ratio[away <= max(LIKE * usual, FAR * float(np.median(away)))].mean())


def _changes(edges, area, window):
    """Where the tone changes, the first and the last edge included, and which comes first: 1 or -1 for ones or zeros.

    It changes where half the time round it is of each.
    """
    places = np.sort(np.concatenate((edges + window / 2, edges - window / 2)))
    places = places[(places >= edges[0]) & (places <= edges[-1])]
    height = np.interp(places + window / 2, edges, area) - np.interp(places - window / 2, edges, area)
    at = np.flatnonzero((height[1:] > 0) != (height[:-1] > 0))
    before, after = height[at], height[at + 1]
    found = places[at] + before / (before - after) * (places[at + 1] - places[at])
    first = 1.0 if len(height) and height[0] > 0 else -1.0
    return np.concatenate((edges[:1], found, edges[-1:])), first


def _kinked(edges, area, changes, first):
    """Where just the tone changes, and the wave with its height changing there, not at the edges before and after."""
    inside = changes[1:-1]
    side = first * (1.0 - 2.0 * (np.arange(len(inside)) % 2))
    for _ in range(TURNS):
        at = np.clip(np.searchsorted(edges, inside, "right") - 1, 0, len(edges) - 2)
        begin, end = edges[at], edges[at + 1]
        # Before the change the area rises or falls as fast as it can, after it the other way.
        inside = (side * (area[at + 1] - area[at]) + begin + end) / 2
    inside = np.maximum.accumulate(np.clip(inside, edges[0], edges[-1]))
    at = np.clip(np.searchsorted(edges, inside, "right") - 1, 0, len(edges) - 2)
    there = (area[at] + area[at + 1] + side * (edges[at + 1] - edges[at])) / 2
    changes = np.concatenate((edges[:1], inside, edges[-1:]))
    return changes, (np.insert(edges, at + 1, inside), np.insert(area, at + 1, there))


# Zero, one, bit/s.
TONE_PAIRS = {
    # ITU-T V.21 (11/88), clause 3: F is the lower frequency and stands for one (read in a secondary copy).
    "v21-1": (1180, 980, 300),
    "v21-2": (1850, 1650, 300),
    # ITU-T V.23 (11/88): modes 1 and 2 and the backward channel (read in a secondary copy).
    "v23-1": (1700, 1300, 600),
    "v23-2": (2100, 1300, 1200),
    "v23-back": (450, 390, 75),
    # Bell System data sets 103 and 202 (read in a secondary copy).
    "bell103-originate": (1070, 1270, 300),
    "bell103-answer": (2025, 2225, 300),
    "bell202": (2200, 1200, 1200),
}
