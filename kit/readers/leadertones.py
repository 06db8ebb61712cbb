"""Tones: stretches of a recording in which one steady tone is the strongest, as a leader is, even under hiss."""

from dataclasses import dataclass

import numpy as np

__all__ = ["Tone", "find_tones", "measured_hz"]

WINDOW_S = 0.043  # of sound looked at together; what is steady for two or three of these is a tone
BATCH = 64  # windows looked at in one go
STEADY = 0.06  # part by which the strongest frequency may differ from one window to the next
FEWEST = 2  # windows in a row, half overlapping
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
    hop = size // 2
    if len(wave) < size:
        return []
    strongest, clear = _strongest(wave, size, hop, low_hz * size / rate, high_hz * size / rate)
    like = np.abs(np.diff(strongest)) <= np.maximum(1.01, STEADY * strongest[1:])
    like &= clear[1:] & clear[:-1]
    turns = np.flatnonzero(np.diff(np.concatenate(([0], like.astype(np.int8), [0]))))
    tones = []
    for first, last in zip(turns[::2], turns[1::2], strict=True):
        if last - first + 1 >= FEWEST:
            start, stop = int(first) * hop, int(last) * hop + size
            # Not the last window's: it may hold what follows the tone.
            steps = np.median(strongest[max(first, last - LAST_WINDOWS) : last])
            tones.append(Tone(start, stop, float(steps) * rate / size, size))
    return tones


def _strongest(wave, size, hop, low, high):
    """The strongest frequency of each window, in steps of the spectrum, and whether it stands out."""
    windows = np.lib.stride_tricks.sliding_window_view(wave, size)[::hop]
    shape = np.hanning(size).astype(np.float32)
    first, stop = max(1, int(low)), min(size // 2, int(np.ceil(high)) + 1)
    batches = range(0, len(windows), BATCH)
    power = [np.abs(np.fft.rfft(windows[k : k + BATCH] * shape, axis=1)[:, first:stop]) ** 2 for k in batches]
    power = np.concatenate(power).astype(np.float32)
    # What sounds all the time, hum for one, is no leader.
    usual = np.partition(power, len(power) // ALWAYS, axis=0)[len(power) // ALWAYS]
    power /= usual + FLOOR * power.mean() + 1e-30
    at = power.argmax(axis=1)
    clear = power[np.arange(len(at)), at] > CLEAR * np.median(power, axis=1)
    return (first + at).astype(float), clear


def measured_hz(wave, rate, tone):
    """The frequency of a tone more finely, from how its phase turns over the last part of its stretch.

    Parameters
    ----------
    wave : ndarray of float32, shape (n,)
    rate : int
        Samples per second.
    tone : Tone

    Returns
    -------
    float
    """
    size = 1 << round(np.log2(rate * WINDOW_S))
    step = size // 4
    # The very end may hold what follows the tone.
    piece = wave[max(tone.start, tone.stop - LAST_WINDOWS * size // 2) : tone.stop - step]
    count = len(piece) // step
    if count < 3:
        return tone.hz
    turned = piece[: count * step] * np.exp(-2j * np.pi * tone.hz / rate * np.arange(count * step))
    parts = turned.reshape(count, step).sum(axis=1)
    turns = np.angle(np.sum(parts[1:] * parts[:-1].conj()))
    return float(tone.hz + turns / (2 * np.pi) * rate / step)
