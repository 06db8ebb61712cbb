"""Line codes: ways to write bits as changes of level, each in a few lines.

What each needs of a recorder is computed from its table in `codefacts`.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import ClassVar

from .branches import Branch
from .errors import SettingError
from .patterns import PatternCode, checked_cell_units

__all__ = ["BiphaseMark", "DelayModulation", "OnOffTone", "PhaseEncoding", "PhaseFlips", "RawLevels"]

HALF = 0.5  # the middle of a cell
MOST_CYCLES = 64


@dataclass(frozen=True)
class RawLevels(PatternCode):
    """Raw levels: a one is a cell of one level, a zero a cell of the other.

    The simplest code, and one that recorders do not carry: a run of equal bits is a held level, which neither
    their inputs nor the tape let through, and holds no edge by which a clock could be kept. The frame has to
    see to it that bits change.

    Parameters
    ----------
    cell_units : float
        How long each bit lasts, in units.

    Examples
    --------
    >>> RawLevels().encode([1, 1, 0]).tolist()  # between a one and a zero that are added
    [3.0, 2.0]
    """

    lead_bits: ClassVar[tuple] = (1,)
    tail_bits: ClassVar[tuple] = (0,)

    cell_units: float = 1.0

    def __post_init__(self):
        checked_cell_units(self.cell_units)

    @cached_property
    def table(self):
        """The state is the level, and that is the bit."""
        return tuple(Branch(level, bit, () if bit == level else (0.0,), bit) for level in (0, 1) for bit in (0, 1))


@dataclass(frozen=True)
class OnOffTone(PatternCode):
    """On-off tone: a one is a tone, a zero is none.

    Off is drawn as the level held where it is; what couples a recorder turns that into silence. What noise
    there is in the silence is not taken for a tone unless it looks like one.

    Parameters
    ----------
    cycles : int
        Whole cycles of the tone in a one, 1 to 64.
    cell_units : float
        How long each bit lasts, in units.

    Examples
    --------
    >>> OnOffTone(cycles=1).encode([0]).tolist()  # between two ones that are added
    [0.5, 1.5, 0.5, 0.5]
    """

    lead_bits: ClassVar[tuple] = (1,)
    tail_bits: ClassVar[tuple] = (1,)

    cycles: int = 4
    cell_units: float = 1.0

    def __post_init__(self):
        _check_cycles(self.cycles)
        checked_cell_units(self.cell_units)

    @cached_property
    def table(self):
        """One state: a tone ends at the level at which it began."""
        return Branch(0, 0, (), 0, silent=True), Branch(0, 1, _steps(2 * self.cycles), 0)


@dataclass(frozen=True)
class PhaseFlips(PatternCode):
    """Phase flips: one and zero are the same tone, half a cycle apart, so that it flips where bits differ.

    Parameters
    ----------
    cycles : int
        Whole cycles of the tone in each bit, 1 to 64.
    cell_units : float
        How long each bit lasts, in units.

    Examples
    --------
    >>> PhaseFlips(cycles=1).encode([1, 0]).tolist()  # between a one and a zero that are added
    [0.5, 0.5, 0.5, 1.0, 0.5, 0.5, 0.5]
    """

    lead_bits: ClassVar[tuple] = (1,)
    tail_bits: ClassVar[tuple] = (0,)

    cycles: int = 2
    cell_units: float = 1.0

    def __post_init__(self):
        _check_cycles(self.cycles)
        checked_cell_units(self.cell_units)

    @cached_property
    def table(self):
        """The state is the level at which the tone ended: the level at which a cell begins is its bit."""
        inside = _steps(2 * self.cycles)
        return tuple(
            Branch(level, bit, inside if bit != level else inside[1:], 1 - bit) for level in (0, 1) for bit in (0, 1)
        )


@dataclass(frozen=True)
class BiphaseMark(PatternCode):
    """Biphase mark: an edge at each border, and a one has one in mid-cell as well.

    Which way the edges go does not matter, so neither does a tape that is upside down.

    Parameters
    ----------
    cell_units : float
        How long each bit lasts, in units.

    Notes
    -----
    Source: SMPTE 12M / IEC 60461, linear time code (rule read in a secondary copy).

    Examples
    --------
    >>> BiphaseMark().encode([0, 1]).tolist()
    [1.0, 0.5, 0.5]
    """

    cell_units: float = 1.0

    def __post_init__(self):
        checked_cell_units(self.cell_units)

    @cached_property
    def table(self):
        """One state: no bit depends on what came before."""
        return Branch(0, 0, (0.0,), 0), Branch(0, 1, (0.0, HALF), 0)


@dataclass(frozen=True)
class PhaseEncoding(PatternCode):
    """Phase encoding: each bit is an edge in mid-cell, and its direction is the bit.

    Between two equal bits there must be another edge, at the border.

    Parameters
    ----------
    cell_units : float
        How long each bit lasts, in units.

    Notes
    -----
    Source: ECMA-34, Data Interchange on 3,81 mm Magnetic Tape Cassette (phase encoded): changes of ones all in one
    direction, of zeros all in the other (read in a secondary copy); the edge between equal bits `from memory`.

    Examples
    --------
    >>> PhaseEncoding().encode([0, 1]).tolist()  # between a zero and a one that are added
    [0.5, 0.5, 0.5, 1.0, 0.5, 0.5, 0.5]
    """

    lead_bits: ClassVar[tuple] = (0,)
    tail_bits: ClassVar[tuple] = (1,)

    cell_units: float = 1.0

    def __post_init__(self):
        checked_cell_units(self.cell_units)

    @cached_property
    def table(self):
        """The state is the level at which the last edge ended, and that is its bit."""
        return tuple(
            Branch(level, bit, (0.0, HALF) if bit == level else (HALF,), bit) for level in (0, 1) for bit in (0, 1)
        )


@dataclass(frozen=True)
class DelayModulation(PatternCode):
    """Delay modulation (Miller): a one has an edge in mid-cell, a zero after a zero has one at the border.

    No two edges are nearer than a cell, so of these codes it puts most bits into a second.

    Parameters
    ----------
    cell_units : float
        How long each bit lasts, in units.

    Notes
    -----
    Source: A. Miller, US patent 3,108,261 (1963); M. Hecht and A. Guida, Delay modulation, Proceedings of the
    IEEE 57 (1969), pp. 1314-1316. Both `from memory`.

    Examples
    --------
    >>> DelayModulation().encode([0, 1, 0]).tolist()  # between two zeros that are added
    [1.0, 1.5, 1.5, 1.0]
    """

    lead_bits: ClassVar[tuple] = (0,)  # so that no edge comes too soon after the sync mark, or before the tail
    tail_bits: ClassVar[tuple] = (0,)

    cell_units: float = 1.0

    def __post_init__(self):
        checked_cell_units(self.cell_units)

    @cached_property
    def table(self):
        """The state is the last bit."""
        ones = tuple(Branch(last, 1, (HALF,), 1) for last in (0, 1))
        return Branch(0, 0, (0.0,), 0), Branch(1, 0, (), 0), *ones


def _steps(count):
    """Where equal parts of a cell begin."""
    return tuple(k / count for k in range(count))


def _check_cycles(cycles):
    if not isinstance(cycles, int) or not 1 <= cycles <= MOST_CYCLES:
        raise SettingError(f"a bit must have 1 to {MOST_CYCLES} whole cycles, got {cycles!r}: take a whole number")
