"""Tones: stretches of a recording in which one steady tone is the strongest, as a leader is, even under hiss."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ..found import ranges

__all__ = ["Tone", "find_tones", "measured_hz"]

WINDOW_S = 0.043  # of sound looked at together; what is steady for two or three of these is a tone
BATCH = 64  # windows looked at in one go
STEADY = 0.06  # part by which the strongest frequency may differ from one window to the next
FEWEST = 2  # windows in a row, half overlapping
DIP = 0.6  # part of its usual power
LAST_WINDOWS = 10  # at the end of a tone, in which its frequency is measured
ALWAYS = 5  # what is there in all but one of so many windows is there always
FLOOR = 0.01  # of the mean power: what is weaker is nothing
CLEAR = 12.0  # how far the strongest frequency stands above the middle of the others, as a ratio of power


@dataclass(frozen=True)
class Tone:
    """A stretch with a steady tone.

    Attributes
    ----------
    start, stop : int
        In samples; each may be off by about a window.
    hz : float
        Its frequency near the end of the stretch, to within a step of the spectrum; see `measured_hz`.
    window : int
        Samples looked at together.
    """

    start: int
    stop: int
    hz: float
    window: int


def find_tones(wave, rate, low_hz, high_hz):
    """Steady tones in a stretch of sound.

    Parameters
    ----------
    wave : ndarray of float32, shape (n,)
    rate : int
        Samples per second.
    low_hz, high_hz : float
        The lowest and the highest frequency looked for.

    Returns
    -------
    list of Tone
        In order of time.
    """
    size = 1 << round(np.log2(rate * WINDOW_S))
    if len(wave) < size:
        return []
    power, first = _spectra(wave, size, low_hz * size / rate, high_hz * size / rate)
    # What sounds all the time, hum for one, is no leader; but a leader may be most of a short recording.
    usual = np.partition(power, len(power) // ALWAYS, axis=0)[len(power) // ALWAYS]
    tones = _runs(power, first, size, rate)
    for tone in _runs(power / (usual + FLOOR * power.mean() + 1e-30), first, size, rate):
        if not any(_same(tone, other) for other in tones):
            tones.append(tone)
    return sorted(tones, key=lambda tone: tone.start)


def _same(tone, other):
    """Whether two tones end together, and are as high."""
    return abs(tone.stop - other.stop) < tone.window and abs(tone.hz - other.hz) < STEADY * tone.hz


def _spectra(wave, size, low, high):
    """The power of each frequency from low to high, in steps of the spectrum, in windows half overlapping."""
    windows = np.lib.stride_tricks.sliding_window_view(wave, size)[:: size // 2]
    shape = np.hanning(size).astype(np.float32)
    first, stop = max(1, int(low)), min(size // 2, int(np.ceil(high)) + 1)
    batches = range(0, len(windows), BATCH)
    power = [np.abs(np.fft.rfft(windows[k : k + BATCH] * shape, axis=1)[:, first:stop]) ** 2 for k in batches]
    return np.concatenate(power).astype(np.float32), first


def _runs(power, first, size, rate):
    """Runs of windows in which about the same frequency is the strongest, and stands out."""
    at = power.argmax(axis=1)
    strongest = (first + at).astype(float)
    clear = power[np.arange(len(at)), at] > CLEAR * np.median(power, axis=1)
    like = np.abs(np.diff(strongest)) <= np.maximum(1.01, STEADY * strongest[1:])
    like &= clear[1:] & clear[:-1]
    tones = []
    for begin, last in ranges(like):
        if last - begin + 1 >= FEWEST:
            ends = [begin, *(begin + _dips(power[np.arange(begin, last + 1), at[begin : last + 1]])), last]
            for start, stop in pairwise(ends):
                # Not the last window's: it may hold what follows the tone.
                steps = np.median(strongest[max(start, stop - LAST_WINDOWS) : max(stop, start + 1)])
                first_sample, last_sample = int(start) * (size // 2), int(stop) * (size // 2) + size
                tones.append(Tone(first_sample, last_sample, float(steps) * rate / size, size))
    return tones


def _dips(power):
    """Windows inside a tone in which it is weaker for once: a block shorter than a window may lie there."""
    inner = power[1:-1]
    low = (inner < power[:-2]) & (inner <= power[2:]) & (inner < DIP * np.median(power))
    return 1 + np.flatnonzero(low)


def measured_hz(wave, rate, tone, windows=LAST_WINDOWS):
    """The frequency of a tone more finely, from how its phase turns over the last part of its stretch.

    Parameters
    ----------
    wave : ndarray of float32, shape (n,)
    rate : int
        Samples per second.
    tone : Tone
    windows : int
        How many, at its end, are measured.

    Returns
    -------
    float
    """
    size = 1 << round(np.log2(rate * WINDOW_S))
    step = size // 4
    # The very end may hold what follows the tone.
    piece = wave[max(tone.start, tone.stop - windows * size // 2) : tone.stop - step]
    count = len(piece) // step
    if count < 3:
        return tone.hz
    turned = piece[: count * step] * np.exp(-2j * np.pi * tone.hz / rate * np.arange(count * step))
    parts = turned.reshape(count, step).sum(axis=1)
    turns = np.angle(np.sum(parts[1:] * parts[:-1].conj()))
    return float(tone.hz + turns / (2 * np.pi) * rate / step)
