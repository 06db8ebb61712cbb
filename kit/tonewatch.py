"""Tone watch: where a steady tone is heard, told from a few short looks a second at what frequencies there are.

It costs next to nothing while there is none, and hiss does not hide a tone from it.
"""

import numpy as np

__all__ = ["ToneWatch"]

LOOK_S, EVERY_S = 0.03, 0.125  # how long a look is, at least, and from one to the next
FLOOR_HZ, CEILING_HZ = 150.0, 12_000.0  # hum is below, and only hiss above
CLEAR = 0.2  # part of the power that is in a tone's own bins
SAME = 0.08  # a tone that changes by more than this part from look to look is not steady


class ToneWatch:
    """Look for a steady tone, piece by piece.

    Parameters
    ----------
    rate : int
        Samples per second.
    low_hz, high_hz : float
        Between which the tone lies.
    looks : int
        How many looks in a row must see it.
    """

    def __init__(self, rate, low_hz, high_hz, looks=4):
        self.size = 1 << max(5, int(np.ceil(np.log2(LOOK_S * rate))))
        self.every = max(1, round(EVERY_S * rate))
        self.looks = looks
        hz = np.arange(self.size // 2 + 1) * rate / self.size
        self._bin_hz = rate / self.size
        self._heard = (hz > FLOOR_HZ) & (hz < CEILING_HZ)
        self._asked = self._heard & (hz >= low_hz) & (hz <= high_hz)
        self._window = np.hanning(self.size + 2)[1:-1].astype(np.float32)
        self.skip_to(0)

    @property
    def reach(self):
        """Samples before the end of what was fed from which on it wants to see again what it has not looked at."""
        return (self.looks + 1) * self.every + self.size

    def skip_to(self, position):
        """Forget what was seen; the next look begins at this sample."""
        self._next, self._row, self._hz = position, 0, 0.0

    def feed(self, samples, first):
        """Look at samples, shape (n,), the first of which is number `first`, as far as they were not looked at.

        Returns
        -------
        tuple of (int, float), or None
            Where the first look that saw the tone began, in samples, and how high the tone is, in Hz.
        """
        begins = np.arange(self._next, first + len(samples) - self.size + 1, self.every)
        if not len(begins):
            return None
        looks = np.lib.stride_tricks.sliding_window_view(samples, self.size)[begins - first]
        for begin, hz in zip(begins.tolist(), self._tones(looks), strict=True):
            self._next = begin + self.every
            same = self._row and abs(hz - self._hz) <= SAME * self._hz
            self._row, self._hz = (self._row + 1 if same else int(hz > 0)), hz
            if self._row >= self.looks:
                return begin - (self.looks - 1) * self.every, hz
        return None

    def _tones(self, looks):
        """The tone of each look, in Hz; 0 where there is none."""
        power = np.abs(np.fft.rfft(looks * self._window, axis=1)) ** 2
        total = power[:, self._heard].sum(axis=1)
        peak = np.where(self._asked, power, -1).argmax(axis=1)
        near = np.clip(peak[:, None] + np.arange(-2, 3), 0, power.shape[1] - 1)
        own = np.take_along_axis(power, near, axis=1)
        weight = own.sum(axis=1)
        clear = weight > CLEAR * np.maximum(total, 1e-30)
        hz = (own * near).sum(axis=1) / np.maximum(weight, 1e-30) * self._bin_hz
        return np.where(clear, hz, 0.0).tolist()
