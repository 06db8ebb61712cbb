"""The counter: reading as a processor's timing loop did it, with a clock that never adjusts.

A loop looks at the input again and again and counts its own rounds. Where bits differ in length, it counts
from edge to edge and calls a cycle long if it took more rounds than half-way between the two lengths: each
cycle is judged for itself, and that fails only where the tape runs so fast or slow that a cycle crosses the
threshold, beyond about a third of the speed. Where all bits take the same time, the rounds are a bit clock,
and edges are counted in each of its windows: an error of speed adds up from bit to bit until the clock has
slipped into the next bit, half a bit off after 0.5 / error bits; with as few edges as two or four a bit, the
count tells the wrong tone from 0.35 / error bits on. The clock starts again at each block, or each character.
"""

from dataclasses import dataclass, replace
from functools import singledispatch

import numpy as np

from ..cells import Cells, CycleLength
from ..ears import Ear
from ..errors import SettingError
from ..lane import Lane
from ..tones import TwoTones

__all__ = ["RESTARTS", "Counter", "CounterLane", "can_count", "counted"]

RESTARTS = ("block", "character")
GUARD = 0.4  # part of a short half-cycle left out at either end of a window
NOTHING = np.zeros(0)


@dataclass(frozen=True)
class Counter:
    """How the loop counts.

    Parameters
    ----------
    loop_s : float
        Time of one round of the loop, in seconds: edges are noticed only when it looks.
    speed : float
        Part of ordinary speed that the fixed threshold, or the bit clock, is made for.
    restart : {"block", "character"}
        When a bit clock starts: once after the sync mark, or anew with the start bit of each byte; that takes a
        frame whose start bit differs from what stands before it. Where bits differ in length, it does nothing.
    """

    loop_s: float = 20e-6
    speed: float = 1.0
    restart: str = "block"

    def __post_init__(self):
        if not 0 < self.loop_s <= 1e-3:
            raise SettingError(f"loop_s must lie above 0 and not above 0.001 s, got {self.loop_s!r}")
        if not 0.1 <= self.speed <= 16:
            raise SettingError(f"speed must lie in 0.1 to 16, got {self.speed!r}")
        if self.restart not in RESTARTS:
            raise SettingError(f"restart must be one of {', '.join(RESTARTS)}, got {self.restart!r}: choose one")


@singledispatch
def counted(code, format, restart):
    """A cell code as the counter reads it; each kind of code registers its own way.

    Parameters
    ----------
    code : CellCode
    format : Format
        Whose code it is; its frame says what a character is.
    restart : str
        See `Counter`.

    Returns
    -------
    CellCode
        Of the same lengths; it judges by the unit it is given, and follows no change of it.

    Raises
    ------
    SettingError
        Nothing is registered for such a code, or the frame has no start bit to restart with.
    """
    raise SettingError(f"the counter must know the cell code, got {type(code).__name__}: read without a counter")


def can_count(code):
    """Whether the counter knows a way to read a cell code."""
    return counted.dispatch(type(code)) is not counted.dispatch(object)


@counted.register
def _(code: CycleLength, format, restart):
    return _Unmoved(code.zero_units, code.one_units)


@counted.register
def _(code: TwoTones, format, restart):
    return _BitClock(
        code.zero_half_cycles,
        code.one_half_cycles,
        code.cell_units,
        *(_frame_of(format) if restart == "character" else ()),
    )


def _frame_of(format):
    """Bits in a character, and its first one, which starts the clock."""
    frame = format.frame
    if not (frame.start_bits and frame.stop_bits) or frame.start_bits[0] == frame.stop_bits[-1]:
        raise SettingError(
            'restart="character" needs a frame whose start bit differs from its last stop bit, '
            f"got start bits {frame.start_bits!r} and stop bits {frame.stop_bits!r} in {format.name!r}: "
            'take restart="block", or another frame'
        )
    return frame.bits_per_byte, int(frame.start_bits[0])


class _Unmoved(CycleLength):
    """Cycle lengths judged by the unit they are said to have, whatever the tape does."""

    def _follow(self, cycles, unit):
        ratio = cycles / unit
        return np.full(len(cycles), unit), ratio, ratio > self.threshold_units

    def decode(self, edges, unit, most=None):
        """As `CycleLength.decode`, but any cycle is short or long: the loop knows no other lengths."""
        cells = super().decode(edges, unit, most)
        ratio = np.diff(cells.times) / unit
        half_gap = (self.longest_units - self.shortest_units) / 2
        margins = np.minimum(1, np.abs(ratio - self.threshold_units) / half_gap).astype(np.float32)
        absurd = (ratio < self.shortest_units / 3) | (ratio > 2 * self.longest_units)
        return replace(cells, margins=margins, broken=absurd)


@dataclass(frozen=True)
class _BitClock(TwoTones):
    """Two tones told apart by the number of edges in each window of a clock that never adjusts.

    A window is as long as a cell, less somewhat under half a short half-cycle at either end: the edge at the
    border of two cells belongs to both, and would be counted now in this one and now in that. Somewhat under
    half, so that while the clock slips an edge comes in at one end before one is lost at the other.
    """

    restart_cells: int = 0  # cells after which the clock waits for the next start bit; 0 is never
    start_bit: int = 0

    @property
    def guard(self):
        """Part of a cell left out at either end of a window."""
        return GUARD / max(self.zero_half_cycles, self.one_half_cycles)

    def decode(self, edges, unit, most=None):
        """Bits of a stretch of edges, by the clock: see `CellCode.decode`."""
        cell = self.cell_units * unit
        whole = max(0, int((edges[-1] - edges[0]) / cell + self.guard)) if len(edges) else 0
        most = whole if most is None else min(most, whole)
        if self.restart_cells:
            begins = self._restarted(edges, unit, most)
        else:
            begins = edges[:1] + cell * np.arange(most)
        return self._counted(edges, begins, cell, unit)

    def _restarted(self, edges, unit, most):
        """When each cell begins, the clock being started anew by each start bit."""
        cell, starts = self.cell_units * unit, self._starting(edges, unit)
        begins, start = [NOTHING], edges[0] if len(edges) else 0.0
        each = cell * np.arange(self.restart_cells)
        for count in range(most, 0, -self.restart_cells):
            begins.append((start + each)[:count])
            # From the middle of the last stop bit on the loop waits for the other tone.
            at = np.searchsorted(starts, start + (self.restart_cells - 0.5) * cell)
            if at == len(starts):
                break
            start = starts[at]
        begins = np.concatenate(begins)
        return begins[begins + cell * (1 - self.guard) <= edges[-1]] if len(begins) else begins

    def _starting(self, edges, unit):
        """Edges with which a half-cycle of the start bit's tone begins."""
        halves = np.diff(edges) / unit
        long_tone = (self.one_units > self.zero_units) == bool(self.start_bit)
        long = halves > self.threshold_units / 2
        return edges[:-1][long == long_tone]

    def _counted(self, edges, begins, cell, unit):
        """Bits by the edges in each window."""
        first = np.searchsorted(edges, begins + self.guard * cell)
        counts = np.searchsorted(edges, begins + (1 - self.guard) * cell) - first
        # Inside a cell lies one edge less than it has half-cycles.
        zero, one = self.zero_half_cycles - 1, self.one_half_cycles - 1
        half_gap = abs(one - zero) / 2
        many = counts > (zero + one) / 2
        bits = (many == (one > zero)).astype(np.uint8)
        miss = np.abs(counts - np.where(bits, one, zero)) / half_gap
        broken = (miss > 1) | ((counts == 0) & (min(zero, one) > 0))
        margins = np.clip(1 - miss, 0, 1).astype(np.float32)
        times = np.append(begins, begins[-1] + cell) if len(begins) else edges[:1]
        return Cells(bits, margins, np.zeros(len(bits), np.float32), broken, np.full(len(bits), unit), times)

    def decode_backwards(self, edges, unit, most=None):
        """No cells: a clock that was started at the beginning does not run backwards from the end."""
        return self._counted(edges[-1:], NOTHING, self.cell_units * unit, unit)


class CounterLane(Lane):
    """A lane that reads as the counter does; parameters as in `Lane`, and the `Counter`."""

    def __init__(self, formats, rate, counter, side="mono"):
        self.counter = counter
        self._named = {format.name: format for format in formats}
        rigid = [
            format.changed(code=counted(format.code, format, counter.restart)) for format in formats
        ]
        super().__init__(rigid, rate, Ear(), side)

    def _sharpened(self, edges):
        """When the loop notices each edge: at the end of the round in which it came."""
        return np.ceil(edges / self.counter.loop_s) * self.counter.loop_s

    def _likely(self, groups):
        """Starts as the leader shows them, but with the unit the loop was made for."""
        units = {format.unit_s(self.counter.speed) for format in self.formats}
        unit = units.pop()
        near = [[s for s in group if 0.5 < s.unit / unit < 2] for group in groups]
        return [[replace(start, unit=unit) for start in group] for group in near if group]

    def _signed(self, block, backwards=False):
        return super()._signed(block.changed(format=self._named[block.format.name]), backwards)
