"""Data as a test signal: the two-level wave it was is known again once it is sliced, and shows what became of it.

The wave is sliced into two levels, and the recording compared with that, frequency by frequency: what follows
later is echo, what does not follow at all is noise that comes and goes with the sound.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["CellWave", "measure_data"]

SEGMENT_S = 0.26
LEAST_SEGMENT = 1024
DIRECT_S = (-0.003, 0.007)
TAIL_S = (0.009, 0.085)
HEARD_HZ = (150.0, 7000.0)
LEAST_FULL = 0.5  # part of the frequencies that data must hold to show an echo
EDGE_DB = 20.0
EDGE_FROM_HZ = 1500.0


@dataclass(frozen=True)
class CellWave:
    """What a stretch of data shows.

    Attributes
    ----------
    start_s, stop_s : float
    echo_db : float
        Energy that comes 9 to 85 ms late, relative to the direct sound; NaN where the stretch is too short, or too
        even, to tell.
    noise_db : float
        What does not follow the two-level wave, relative to what does.
    edge_hz : float
        Above it the spectrum ends as if cut off; inf where it does not.
    rms : float
    """

    start_s: float
    stop_s: float
    echo_db: float
    noise_db: float
    edge_hz: float
    rms: float


def measure_data(wave, rate, shortest_hz, start_s=0.0):
    """Measure a stretch of data.

    Parameters
    ----------
    wave : numpy.ndarray
        float32, (n,): half a second or more.
    rate : int
        In Hz.
    shortest_hz : float
        Frequency of the shortest cycle in it.
    start_s : float

    Returns
    -------
    CellWave or None
        None where it is too short.
    """
    size = 1 << round(np.log2(SEGMENT_S * rate))
    while len(wave) < 2 * size and size > LEAST_SEGMENT:
        size //= 2
    if len(wave) < 1.5 * size:
        return None
    centred, sliced = _sliced(wave, rate, shortest_hz)
    own, cross, both = _spectra(centred, sliced, size)
    hz = np.fft.rfftfreq(size, 1 / rate)
    inside = (hz > HEARD_HZ[0]) & (hz < min(HEARD_HZ[1], 0.45 * rate))
    # Where the two-level wave has little, nothing can be said: a floor keeps that from growing large.
    transfer = np.where(inside, cross / (own + 0.02 * own[inside].mean()), 0)
    answer = np.fft.irfft(transfer) ** 2
    follows = np.abs(cross[inside]) ** 2 / np.maximum(own[inside], 1e-20)
    apart = np.maximum(both[inside] - follows, 0).sum() / max(follows.sum(), 1e-20)
    kept = both / np.maximum(own, 1e-6 * own.mean())
    # Data that repeats, as zeros do, is a few lines: what it shows repeats too, and looks like an echo.
    full = np.mean(own[inside] > 0.02 * own[inside].mean())
    echo_db = _echo_db(answer, rate) if full > LEAST_FULL else float("nan")
    return CellWave(start_s, start_s + len(wave) / rate, echo_db, float(10 * np.log10(apart + 1e-9)),
                    _edge_hz(hz, kept, rate), float(np.sqrt(np.mean(centred**2))))


def _sliced(wave, rate, shortest_hz):
    """The wave without held levels, and the two-level wave it was made from, as far as slicing tells."""
    from scipy.signal import butter, sosfiltfilt

    centred = sosfiltfilt(butter(2, 70, "high", fs=rate, output="sos"), wave)
    smooth = sosfiltfilt(butter(3, min(2.2 * shortest_hz, 0.45 * rate), fs=rate, output="sos"), centred)
    return centred, np.sign(smooth) * np.sqrt(np.mean(centred**2))


def _spectra(centred, sliced, size):
    """Power of the sliced wave, its product with the recording, and power of the recording."""
    shape = np.hanning(size)
    rows = [np.lib.stride_tricks.sliding_window_view(w, size)[:: size // 2] * shape for w in (sliced, centred)]
    known, heard = (np.fft.rfft(row, axis=1) for row in rows)
    return (np.mean(np.abs(known) ** 2, axis=0), np.mean(heard * known.conj(), axis=0),
            np.mean(np.abs(heard) ** 2, axis=0))


def _echo_db(answer, rate):
    """Late energy of an impulse response over its early energy."""
    if 2 * TAIL_S[1] * rate > len(answer):
        return float("nan")

    def between(span):
        first, last = (round(s * rate) for s in span)
        return np.take(answer, range(first, last), mode="wrap").sum()

    # As much as stands ahead of the sound is no echo but chance.
    chance = between((-TAIL_S[1], -TAIL_S[0]))
    return float(10 * np.log10(max(between(TAIL_S) - chance, 1e-9) / max(between(DIRECT_S), 1e-12)))


def _edge_hz(hz, kept, rate):
    """Where the spectrum ends as if cut off; `kept` is what is left of each frequency's power."""
    width = max(3, round(0.01 * len(hz)))
    level = 10 * np.log10(np.convolve(kept, np.ones(width) / width, mode="same") + 1e-12)
    total = np.concatenate(([0.0], np.cumsum(level)))
    best = (0.0, float("inf"))
    for edge in np.arange(EDGE_FROM_HZ, 0.40 * rate, 100.0):
        below = _mean(total, hz, 0.78 * edge, 0.95 * edge)
        above = _mean(total, hz, 1.05 * edge, min(1.25 * edge, 0.49 * rate))
        beyond = _mean(total, hz, 1.05 * edge, 0.49 * rate)
        fall = below - max(above, beyond)
        if fall > max(EDGE_DB, best[0]):
            best = (fall, float(edge))
    return best[1]


def _mean(total, hz, low, high):
    first, last = np.searchsorted(hz, (low, high))
    return (total[max(last, first + 1)] - total[first]) / max(1, last - first)
