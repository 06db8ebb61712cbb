"""How often a lane tries to make something of what does not read: without end, or in brief only so often."""

import math

__all__ = ["BACKWARDS", "LOOK", "ONWARDS", "SLIP_TRIES", "Tries"]

DAMAGED_TRIES, LOOK, SLIP_TRIES = 200, 0.125, 3  # in brief; by cost, a try of what may be worth one being 1
VAIN_STARTS, ONE_OF = 60, 8  # in brief: after so many in vain, one of so many is tried
ONWARDS, BACKWARDS = 0, 1  # ways to read


class Tries:
    """What is left of them.

    Parameters
    ----------
    brief : bool

    Attributes
    ----------
    left : float
        Tries of what is damaged, by cost.
    """

    def __init__(self, brief):
        self._brief, self._vain = brief, [0, 0]
        self.left = DAMAGED_TRIES if brief else math.inf

    def passes(self, way):
        """Whether the next start is passed over, as most are in brief where many were tried in vain."""
        return self._brief and self._vain[way] > VAIN_STARTS and self._vain[way] % ONE_OF > 0

    def answered(self, way, well):
        """Note that a start read well, or was tried or passed over in vain."""
        self._vain[way] = 0 if well else self._vain[way] + 1
