"""The counter: reading as a processor's timing loop did it, with a fixed threshold that never adjusts.

A loop looks at the input again and again, counts its own rounds from edge to edge, and calls a cycle long if
it took more rounds than half-way between the two lengths. It follows no change of speed: it fails where the
tape runs so fast or slow that a cycle crosses the threshold, beyond about a third of the speed.
"""

from dataclasses import dataclass, replace

import numpy as np

from ..cells import CycleLength
from ..ears import Ear
from ..errors import SettingError
from ..lane import Lane

__all__ = ["Counter", "CounterLane"]


@dataclass(frozen=True)
class Counter:
    """How the loop counts.

    Parameters
    ----------
    loop_s : float
        Time of one round of the loop, in seconds: edges are noticed only when it looks.
    speed : float
        Part of ordinary speed that the fixed threshold is made for.
    """

    loop_s: float = 20e-6
    speed: float = 1.0

    def __post_init__(self):
        if not 0 < self.loop_s <= 1e-3:
            raise SettingError(f"loop_s must lie above 0 and not above 0.001 s, got {self.loop_s!r}")
        if not 0.1 <= self.speed <= 16:
            raise SettingError(f"speed must lie in 0.1 to 16, got {self.speed!r}")


class _Unmoved(CycleLength):
    """Cycle lengths judged by the unit they are said to have, whatever the tape does."""

    def _follow(self, cycles, unit):
        ratio = cycles / unit
        return np.full(len(cycles), unit), ratio, ratio > self.threshold_units

    def decode(self, edges, unit):
        """As `CycleLength.decode`, but any cycle is short or long: the loop knows no other lengths."""
        cells = super().decode(edges, unit)
        ratio = (edges[2::2] - edges[:-2:2]) / unit
        half_gap = (self.longest_units - self.shortest_units) / 2
        margins = np.minimum(1, np.abs(ratio - self.threshold_units) / half_gap).astype(np.float32)
        absurd = (ratio < self.shortest_units / 3) | (ratio > 2 * self.longest_units)
        return replace(cells, margins=margins, broken=absurd)


class CounterLane(Lane):
    """A lane that reads as the counter does; parameters as in `Lane`, and the `Counter`."""

    def __init__(self, formats, rate, counter, side="mono"):
        self.counter = counter
        self._named = {format.name: format for format in formats}
        rigid = [
            format.changed(code=_Unmoved(format.code.zero_units, format.code.one_units)) for format in formats
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
