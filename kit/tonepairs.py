"""Tone pairs: two tones of any frequencies, at any rate, in a wave that goes on without a break.

Where a cell holds no whole number of half-cycles, the next tone takes over in the middle of one. `TwoTones` is
the code for whole numbers, and quicker to read.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import ClassVar

from .errors import SettingError
from .patterns import Branch, PatternCode, checked_cell_units

__all__ = ["TONE_PAIRS", "TonePair"]

FEWEST_HALF_CYCLES, MOST_HALF_CYCLES = 0.5, 256
MOST_ALIKE = 0.95  # half-cycles of the lower tone as a part of those of the higher
MOST_STATES = 64
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
    >>> TonePair(2.5, 3.5).encode([0, 1]).tolist()  # and a zero that is added
    [0.4, 0.4, 0.34285714285714286, 0.2857142857142857, 0.2857142857142857, 0.2857142857142857, 0.4, 0.6]
    """

    tail_bits: ClassVar[tuple] = (0,)

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
