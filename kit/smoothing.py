"""Smoothing: make a wave readable that hiss, hum or a held level has spoilt, without moving its edges.

Only moving averages are used: they delay every frequency alike, so edges stay where they are.
"""

import numpy as np

__all__ = ["Conditioner", "average"]


class Conditioner:
    """Take hiss off and centre the wave, piece by piece.

    Parameters
    ----------
    smooth : int
        Samples in the longer of two moving averages that take hiss off, the other has a third of them; 1
        leaves the wave alone. A mean over just a half-cycle takes off most hiss for what it takes of the
        wave, and the short one sees to it that the wave crosses zero once where a half-cycle ends.
    centre : int
        Samples in the moving average that is subtracted, which removes a held level and hum; 0 removes nothing.
    """

    def __init__(self, smooth=1, centre=0):
        self.smooth = max(1, int(smooth)) | 1  # odd, so that the middle is a sample
        self.second = round(self.smooth / 3) | 1
        self.centre = int(centre) | 1 if centre else 0
        # Samples needed on either side.
        self.reach = self.smooth // 2 + self.second // 2 + self.centre // 2
        self.restart()

    def restart(self):
        """Forget what was heard."""
        self._carried = np.zeros(2 * self.reach)

    def feed(self, samples):
        """Take more samples, shape (n,).

        Returns
        -------
        ndarray of float64, shape (n,)
            The conditioned wave, `reach` samples late: what comes out first belongs before the first sample.
        """
        wave = np.concatenate((self._carried, samples))
        self._carried = wave[len(wave) - 2 * self.reach :].copy()
        smoothed = average(average(wave, self.smooth), self.second)
        if not self.centre:
            return smoothed
        half = self.centre // 2
        return smoothed[half : len(smoothed) - half] - average(smoothed, self.centre)


def average(wave, width):
    """Moving average over `width` samples; the result is `width - 1` samples shorter."""
    if width <= 1:
        return wave
    total = np.cumsum(wave)
    result = total[width - 1 :].copy()
    result[1:] -= total[:-width]
    return result / width
