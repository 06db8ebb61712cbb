"""What is found of time code: each frame with its place, its bits, and everything that speaks against it."""

from dataclasses import dataclass, replace

import numpy as np

from ..cells import MILD
from .frame import TimecodeFrame

__all__ = ["FoundFrame"]


@dataclass(frozen=True, eq=False)
class FoundFrame:
    """A frame as it was read.

    Attributes
    ----------
    frame : TimecodeFrame or None
        What it says; None if its bits spell no time.
    bits : ndarray of uint8, shape (80,)
        Bits 0 to 79 as written, whatever the direction of play.
    start_s, stop_s : float
        Where it lies in the recording, in seconds: from the first edge to the last that was heard of it.
    backwards : bool
        Whether it was played from its end to its start.
    margin : float
        Of the cell least clearly read before the sync word: 1 is just as written, 0 is as near to the other bit.
    fits : bool
        Whether every cell looks like a bit, there are just 64 of them, and the sync word behind them is whole.
    polarity_agrees : bool
        Whether the number of zeros is even, the sync word taken for whole.
    side : str
        The channel it was read from, or the mixture of channels.
    follows : bool or None
        Whether it counts on from the frame found before it, by as many frames as had time to pass; None for
        the first, and where the direction of play turns.
    missing : int
        How many frames had time to pass since the one before, and were not found; 0 where it does not follow.
    doubts : tuple of str
        What speaks against it, in words; empty if nothing does.
    """

    frame: TimecodeFrame | None
    bits: np.ndarray
    start_s: float
    stop_s: float
    backwards: bool
    margin: float
    fits: bool
    polarity_agrees: bool
    side: str = "mono"
    follows: bool | None = None
    missing: int = 0
    doubts: tuple = ()

    @property
    def sure(self):
        """bool: whether nothing speaks against it."""
        return not self.doubts

    @property
    def clear(self):
        """bool: whether every one of its cells was read clearly, whatever they say."""
        return self.fits and self.margin >= MILD

    @property
    def direction(self):
        """str: forwards or backwards."""
        return "backwards" if self.backwards else "forwards"

    @property
    def speed(self):
        """float or None: how fast the tape ran, 1 being the speed at which it was written."""
        return None if self.frame is None else 1 / (self.frame.real_fps * (self.stop_s - self.start_s))

    def changed(self, **changes):
        """FoundFrame: the same but for some attributes."""
        return replace(self, **changes)

    def __str__(self):
        time = "??:??:??:??" if self.frame is None else str(self.frame)
        doubts = f", in doubt: {'; '.join(self.doubts)}" if self.doubts else ""
        return f"{self.start_s:.3f} to {self.stop_s:.3f} s, {self.direction}: {time}{doubts}"
