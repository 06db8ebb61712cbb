"""Waves: half-cycles to samples (`render`) and samples to edges (`edges`).

Half-cycle durations, in seconds, are what every floor above deals in. A two-level wave is drawn so that each
sample holds the wave's mean over that sample's own interval: an edge may fall anywhere between two samples
without being rounded to one of them. Sample ``n`` covers the time from ``n / rate`` to ``(n + 1) / rate``.
"""

import numpy as np

from .errors import SettingError

__all__ = ["PEAK", "EdgeFinder", "Renderer", "edges", "half_cycles", "render"]

LONG_PAUSE = 16  # windows without a sample beyond the hysteresis after which the wave starts anew
BATCH = 4096  # half-cycles drawn at a time
PEAK = 0.5  # -6 dBFS: strong enough for a recorder's line input, with room before full scale


class Renderer:
    """Draw a two-level wave piece by piece.

    Parameters
    ----------
    rate : int
        Samples per second.
    peak : float
        Level of the wave, as a part of full scale, 0 to 1.

    Examples
    --------
    >>> Renderer(rate=4, peak=1.0).feed([0.5, 0.625]).tolist()
    [1.0, 1.0, -1.0, -1.0]
    """

    def __init__(self, rate, peak=PEAK):
        if not 0 < peak <= 1:
            raise SettingError(f"peak must lie above 0 and not above 1, got {peak!r}: 0.5 suits a recorder")
        if not rate > 0:
            raise SettingError(f"rate must lie above 0 Hz, got {rate!r} Hz: 44100 is usual")
        self.rate = rate
        self.peak = peak
        self._level = 0.0  # level of the wave now; the first edge rises from 0
        self._next = peak  # level after the next edge
        self._position = 0.0  # where the next edge falls, in samples from the first sample not yet given
        self._pending = np.zeros(1)  # changes already known for samples not yet given

    def feed(self, half_cycles_s):
        """Draw more of the wave.

        Parameters
        ----------
        half_cycles_s : array_like of float, shape (n,)
            Durations in seconds; the level changes sign after each.

        Returns
        -------
        ndarray of float32, shape (samples,)
            All samples that no later half-cycle can change.
        """
        lengths = np.asarray(half_cycles_s, dtype=float) * self.rate
        if lengths.ndim != 1 or not np.all((lengths > 0) & np.isfinite(lengths)):
            raise SettingError(
                "half-cycles must be longer than 0 s, finite, and in one row: leave out those that are not"
            )
        # Positions are sums: short ones, so that rounding does not build up.
        batches = [lengths[k : k + BATCH] for k in range(0, len(lengths), BATCH)]
        return np.concatenate([np.zeros(0, np.float32), *map(self._draw_batch, batches)])

    def _draw_batch(self, lengths):
        stops = self._position + np.cumsum(lengths)
        starts = np.concatenate(([self._position], stops[:-1]))
        levels = self._next * (1 - 2 * (np.arange(len(starts)) % 2))
        jumps = np.diff(levels, prepend=self._level)
        self._level, self._next = levels[-1], -levels[-1]
        return self._draw(starts, jumps, stops[-1])

    def finish(self):
        """End the wave: the level returns to 0 after the last half-cycle; gives the samples left over."""
        stop = self._position
        samples = self._draw(np.array([stop]), np.array([-self._level]), np.ceil(stop))
        self._level = 0.0
        return samples

    def _draw(self, starts, jumps, stop):
        """A jump at n + f adds its part 1 - f to sample n and the rest from sample n + 1 on."""
        whole = np.floor(starts).astype(np.int64)
        late = jumps * (starts - whole)
        size = max(int(whole[-1]) + 2, int(np.ceil(stop)) + 1)
        changes = np.bincount(whole, jumps - late, size) + np.bincount(whole + 1, late, size)
        changes[: len(self._pending)] += self._pending
        ready = int(stop)
        samples = np.cumsum(changes[:ready])
        rest = changes[ready:]
        if ready:
            rest[0] += samples[-1]
        self._pending = rest
        self._position = stop - ready
        return samples.astype(np.float32)


def render(half_cycles_s, rate, peak=PEAK):
    """Draw half-cycles as samples of a two-level wave.

    Parameters
    ----------
    half_cycles_s : array_like of float, shape (n,)
        Durations in seconds. The first one is drawn above zero.
    rate : int
        Samples per second.
    peak : float
        Level of the wave, as a part of full scale.

    Returns
    -------
    ndarray of float32, shape (samples,)
        Every edge lies within 1e-6 of a sample of where it belongs.

    Examples
    --------
    >>> render([0.5, 0.5], rate=4, peak=1.0).tolist()
    [1.0, 1.0, -1.0, -1.0]
    >>> render([0.375, 0.625], rate=4, peak=1.0).tolist()
    [1.0, 0.0, -1.0, -1.0]
    """
    renderer = Renderer(rate, peak)
    return np.concatenate((renderer.feed(half_cycles_s), renderer.finish()))


class EdgeFinder:
    """Find where a wave crosses zero, piece by piece.

    Parameters
    ----------
    hysteresis : float
        0 takes every crossing. Above 0, a crossing counts only once the wave has gone beyond this part of
        its own level (a mean over `window` samples) on both sides, so that hiss round zero makes no edges.
    window : int
        Samples over which the level is taken, for `hysteresis` above 0.
    """

    def __init__(self, hysteresis=0.0, window=2048):
        self.hysteresis = hysteresis
        self.window = window
        self._start = 0  # position of the first carried sample
        self._known = 0  # carried samples whose edges have been given already
        self._held = False  # whether the first one after these was beyond the hysteresis
        self._carried = None

    def skip_to(self, position):
        """Forget what was heard; the next piece begins at this sample."""
        self._start, self._known, self._held = position, 0, False
        self._carried = None

    def feed(self, samples, last=False):
        """Take more samples.

        Parameters
        ----------
        samples : ndarray of float32 or int16, shape (n,)
        last : bool
            True if no more will come.

        Returns
        -------
        ndarray of float64, shape (edges,)
            Times of the crossings in samples since the first sample fed. With hysteresis, short pieces are
            kept until there are enough samples to tell the level.
        """
        if self._carried is not None:
            samples = np.concatenate((self._carried, samples))
        if len(samples) == 0 or (self.hysteresis > 0 and len(samples) < 4 * self.window and not last):
            self._carried = samples
            return np.zeros(0)
        first = self._start
        if self.hysteresis > 0:
            found, keep = self._strong_crossings(samples)
        else:
            found, keep = _crossings(samples), len(samples) - 1
        # What is kept begins earlier than the next edge can: the level there needs its surroundings.
        before = min(keep, self.window) if self.hysteresis > 0 else 0
        self._start = first + keep - before
        self._known = before
        self._carried = samples[keep - before :].copy()
        return found + (first + 0.5)

    def _strong_crossings(self, samples):
        """Crossings between samples that are beyond the hysteresis on either side."""
        size = np.abs(samples.astype(np.float32))  # the size of -32768 is none of int16
        strong = np.flatnonzero(size > self.hysteresis * _levels(size, self.window))
        strong = strong[np.searchsorted(strong, self._known, "right" if self._held else "left") :]
        if self._held:
            strong = np.concatenate(([self._known], strong))
        if len(strong) == 0:
            return np.zeros(0), max(self._known, len(samples) - self.window)
        self._held = True
        above = samples[strong] > 0
        turns = np.flatnonzero(above[1:] != above[:-1])
        found, last = _between(samples, strong[turns], strong[turns + 1]), int(strong[-1])
        if len(samples) - last > LONG_PAUSE * self.window:
            self._held, last = False, len(samples) - self.window
        return found, last


def _crossings(samples):
    above = samples >= 0
    at = np.flatnonzero(above[1:] != above[:-1])
    before = samples[at].astype(float)
    after = samples[at + 1].astype(float)
    return at + before / (before - after)


def _between(samples, left, right):
    """Where the wave crosses zero between a sample on one side and one on the other: the crossings' mean."""
    before, after = samples[left].astype(float), samples[right].astype(float)
    found = left + before / (before - after)
    wide = right - left > 1
    crossings = _crossings(samples)
    first, stop = np.searchsorted(crossings, left[wide]), np.searchsorted(crossings, right[wide])
    total = np.concatenate(([0.0], np.cumsum(crossings)))
    found[wide] = (total[stop] - total[first]) / (stop - first)
    return found


def _levels(size, window):
    """Mean size round each sample, in steps of half a window."""
    step = max(1, window // 2)
    whole = -(-len(size) // step)
    padded = np.pad(size, (0, whole * step - len(size)), mode="edge")
    means = padded.reshape(whole, step).mean(axis=1, dtype=float)
    around = np.convolve(np.pad(means, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    return np.repeat(around, step)[: len(size)].astype(np.float32)


def edges(samples, rate, hysteresis=0.0, window_s=0.02):
    """Times at which a wave crosses zero.

    Parameters
    ----------
    samples : ndarray of float, shape (n,)
    rate : int
        Samples per second.
    hysteresis : float
        See `EdgeFinder`.
    window_s : float
        Seconds over which the level is taken.

    Returns
    -------
    ndarray of float64, shape (edges,)
        Seconds from the start of the first sample, found between samples by linear interpolation.

    Examples
    --------
    >>> edges(np.array([1.0, 1.0, -1.0, -1.0, 1.0]), rate=4).tolist()
    [0.5, 1.0]
    """
    samples = np.asarray(samples)
    if samples.ndim != 1:
        raise SettingError(f"samples must be one channel, shape (n,), got {samples.shape}: pick a side first")
    finder = EdgeFinder(hysteresis, max(2, round(window_s * rate)))
    return finder.feed(samples, last=True) / rate


def half_cycles(samples, rate, hysteresis=0.0):
    """Durations between the edges of a wave, in seconds (the inverse of `render`, but for the two ends)."""
    return np.diff(edges(samples, rate, hysteresis))
