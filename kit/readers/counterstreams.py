"""The counter on a stream: each start bit starts its clock, and no speed is followed."""

import numpy as np

from ..streams import StreamLane

__all__ = ["CounterStreamLane"]


class CounterStreamLane(StreamLane):
    """A lane that reads streams by a bit clock that never adjusts; parameters as in `StreamLane`, and the `Counter`.

    It is always started anew with each character: in a stream nothing else could start it.
    """

    follows = False

    def __init__(self, format, rate, counter, side="mono", strict=False):
        self.counter = counter
        super().__init__(format, rate, side, strict)

    def _sharpened(self, edges):
        """When the loop notices each edge: at the end of the round in which it came."""
        return np.ceil(edges / self.counter.loop_s) * self.counter.loop_s

    def _unit_of(self, hz):
        """The unit the loop was made for, whatever the tone says."""
        return self.format.unit_s(self.counter.speed)
