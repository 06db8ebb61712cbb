"""Level gate: hears nothing where a wave is, for long, far weaker than it was a moment ago.

A recorder hisses before a leader and behind the end of a stream. As an edge is an edge however weak the wave, only
the level tells hiss from tones there. A dropout is soon over, and may be read; a tape that fades, or a recorder that
sets the level by itself, takes longer.
"""

import numpy as np

__all__ = ["LevelGate"]

STEP_S = 0.005  # the level is taken of so much at a time: a cycle of the slowest tape at least
USUAL_STEPS = 21  # the middle one of so many levels is the usual level: no click, and no short dropout, is
HELD_STEPS = 200  # the loudest usual level of so many steps counts: longer than the pause that ends a stream
WEAK, VOID = 0.05, 0.005  # parts of it below which a step is weak: -26 dB; below which there is but hiss: -46 dB
LONG_STEPS = 30  # so many weak steps in a row are no dropout


class LevelGate:
    """Put silence where a wave is far weaker than usual for 0.15 s, or to one of its ends, piece by piece.

    Where it is so weak that there can be hiss alone, it need not last.

    Parameters
    ----------
    rate : int
        Samples per second.
    level : float
        Mean size of the wave where it is known to be heard, which may be in samples that are still to come.
    """

    def __init__(self, rate, level):
        self.step = max(1, round(STEP_S * rate))
        self.reach = (LONG_STEPS + 1) * self.step  # so many samples at most are kept back
        self._kept, self._sizes = np.zeros(0), np.zeros(0)  # samples, and how weak their whole steps are
        self._levels = np.full(USUAL_STEPS - 1, float(level))
        self._usual = np.full(HELD_STEPS - 1, float(level))
        self._shut = True  # whether a weak step that is next goes on with what was silenced

    def feed(self, samples, final=False):
        """Take samples, shape (n,); gives those of which it is known what they are, all if these are the last."""
        samples = np.concatenate((self._kept, samples))
        steps = -(-len(samples) // self.step) if final else len(samples) // self.step
        known = len(self._sizes)
        sizes = np.append(self._sizes, self._sizes_of(samples[known * self.step : steps * self.step]))
        silent, ready = self._silent(sizes, final)
        stop = ready * self.step
        samples, self._kept, self._sizes = samples[:stop], samples[stop:].copy(), sizes[ready:].copy()
        samples[np.repeat(silent[:ready], self.step)[: len(samples)]] = 0
        return samples

    def _sizes_of(self, samples):
        """The level of each step, as a part of the usual one; shape (steps,)."""
        if not len(samples):
            return np.zeros(0)
        begins = np.arange(0, len(samples), self.step)
        levels = np.add.reduceat(np.abs(samples), begins) / np.diff(begins, append=len(samples))
        rows, self._levels = _rows(self._levels, levels)
        rows, self._usual = _rows(self._usual, np.median(rows, axis=1))
        return levels / np.maximum(rows.max(axis=1), 1e-30)

    def _silent(self, sizes, final):
        """Which steps are not to be heard, and up to which step that is known."""
        weak, silent = sizes < WEAK, sizes < VOID
        for start, stop in np.flatnonzero(np.diff(weak, prepend=False, append=False)).reshape(-1, 2).tolist():
            last = stop == len(weak)
            if stop - start >= LONG_STEPS or (start == 0 and self._shut) or (final and last):
                silent[start:stop] = True
            elif last:
                self._shut = False
                return silent, start
        if len(weak):
            self._shut = bool(weak[-1])
        return silent, len(weak)


def _rows(known, new):
    """Each of some new numbers with as many before it as are known, shape (n, known + 1); and what to know next."""
    numbers = np.concatenate((known, new))
    return np.lib.stride_tricks.sliding_window_view(numbers, len(known) + 1), numbers[len(new) :].copy()
