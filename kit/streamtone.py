"""The tone that woke a lane for streams: from where it was surely heard back to where it began."""

from dataclasses import dataclass

import numpy as np

__all__ = ["Tone"]

PROPER = 0.25  # a cycle no farther off than this part is one of the tone
OTHER = 3  # for each cycle that is none, so many more of the tone must lie before it


@dataclass(frozen=True)
class Tone:
    """A steady tone.

    Attributes
    ----------
    begun_s : float
        It was not heard before, in seconds.
    sure_s : float
        Here it is heard, and it has not ceased since it began.
    cycle_s : float
        How long a cycle is, in seconds.
    """

    begun_s: float
    sure_s: float
    cycle_s: float

    def of(self, edges):
        """Those of some edges that do not come before it; shape (n,), in seconds, as they are.

        What was heard before, be it hiss or another recording, would lead astray what follows the speed of the tape.
        """
        before = int(np.searchsorted(edges, self.sure_s))
        if before < 3:
            return edges
        halves = np.diff(edges[:before])
        cycles = halves[:-1] + halves[1:]
        fits = np.abs(cycles / self.cycle_s - 1) < PROPER
        row = np.cumsum(np.where(fits, 1, -OTHER)[::-1])
        return edges[len(row) - 1 - int(row.argmax()) :]
