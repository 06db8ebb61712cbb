"""A take: one recording as it arrives, kept in memory, every frame in its place."""

import math
from numbers import Integral

import numpy as np

from ..errors import SettingError
from ..sound import Sound

__all__ = ["LOADING_ZONE_DBFS", "Take", "level_in_words"]

# Between these a tape loads: below, the noise of an ordinary input comes near (common practice: keep 30 dB above
# it); above, peaks are cut off. The kit's own files for a recorder lie at −6 dB.
LOADING_ZONE_DBFS = (-24.0, -3.0)
FULL_SCALE = 0.999
LONGEST_GAP_S = 10.0  # as silence, so that what follows keeps its time; what claims more ends the take
LONGEST_CHUNK_S = 10.0
RATES_HZ = (8000, 192000)


class Take:
    """Samples as they arrive, with what is missing between them.

    Parameters
    ----------
    rate : int
        Frames per second, 8000 to 192000 Hz.
    most_s : float
        How much is kept, in seconds.

    Attributes
    ----------
    frames : int
        Kept so far, silence in place of what was lost included.
    lost : int
        Frames that never came.
    gaps : int
        In how many places.
    peak : float
        Largest absolute sample; 1 is full scale.
    clipped : int
        Samples at full scale.

    Examples
    --------
    >>> take = Take(8000, most_s=60)
    >>> pieces = take.add(0, [0.5, 0.5]) + take.add(4, [0.5])
    >>> take.frames, take.lost, [len(piece) for piece in pieces]
    (5, 2, [2, 2, 1])
    """

    def __init__(self, rate, most_s):
        proper = isinstance(rate, Integral) and not isinstance(rate, bool)
        if not (proper and RATES_HZ[0] <= rate <= RATES_HZ[1]):
            raise SettingError(f"rate must be a whole number from {RATES_HZ[0]} to {RATES_HZ[1]} Hz, got "
                               f"{str(rate)[:20]!r}: choose another input")
        self.rate, self.most = int(rate), int(most_s * rate)
        self._pieces = []
        self.frames = self.lost = self.gaps = self.clipped = 0
        self.peak = 0.0

    @property
    def full(self):
        """bool: whether the limit is reached; no more is taken."""
        return self.frames >= self.most

    @property
    def seconds(self):
        """float: how much is kept."""
        return self.frames / self.rate

    def add(self, first, samples):
        """Take samples; what has been taken already is left out.

        Parameters
        ----------
        first : int
            Number of the first of them, counted from the start of the take.
        samples : array_like of float, shape (n,)

        Returns
        -------
        list of ndarray of float32
            What is new, in order: silence for what was lost, and the samples.

        Raises
        ------
        SettingError
            This cannot be: no numbers, too many at once, or from another time. Nothing of it is kept.
        """
        samples = self._checked(first, samples)
        gap = first - self.frames
        if gap > LONGEST_GAP_S * self.rate:
            raise SettingError(f"a gap must be at most {LONGEST_GAP_S:g} s long, got {gap / self.rate:.1f} s: "
                               "what came before it is kept; record again")
        pieces = [np.zeros(max(gap, 0), np.float32), samples[max(-gap, 0) :]]
        if gap > 0 and not self.full:
            self.lost += min(gap, self.most - self.frames)
            self.gaps += 1
        return [kept for piece in pieces if len(kept := self._keep(piece))]

    def _checked(self, first, samples):
        if isinstance(first, bool) or not isinstance(first, Integral) or first < 0:
            raise SettingError(f"first must be a frame's number, 0 or more, got {str(first)[:20]!r}: record again")
        samples = np.asarray(samples)
        if samples.ndim != 1 or samples.dtype.kind not in "fi" or len(samples) > LONGEST_CHUNK_S * self.rate:
            raise SettingError(f"samples must be a row of at most {LONGEST_CHUNK_S:g} s, got {samples.dtype} of "
                               f"shape {samples.shape}: record again")
        return np.nan_to_num(samples.astype(np.float32), nan=0.0, posinf=0.0, neginf=0.0)

    def _keep(self, piece):
        piece = piece[: self.most - self.frames]
        if len(piece):
            size = np.abs(piece)
            self.peak = max(self.peak, float(size.max()))
            self.clipped += int(np.count_nonzero(size >= FULL_SCALE))
            self._pieces.append(piece)
            self.frames += len(piece)
        return piece

    @property
    def sound(self):
        """Sound: all of it so far."""
        if len(self._pieces) > 1:
            self._pieces = [np.concatenate(self._pieces)]  # so that it is not held twice
        return Sound(self._pieces[0] if self._pieces else np.zeros(0, np.float32), self.rate)


def level_in_words(peak):
    """A peak in dB, and whether that is where a tape loads.

    Examples
    --------
    >>> level_in_words(0.25), level_in_words(0.01), level_in_words(1.0)
    ('−12 dB, in the loading zone', '−40 dB, too quiet: turn up', '0 dB, too loud: turn down')
    """
    if not peak > 0:
        return "silent"
    decibels = 20 * math.log10(peak)
    low, high = LOADING_ZONE_DBFS
    place = "too quiet: turn up" if decibels < low else "too loud: turn down" if decibels > high else \
        "in the loading zone"
    return f"{decibels:.0f} dB, {place}".replace("-0 ", "0 ").replace("-", "−")
