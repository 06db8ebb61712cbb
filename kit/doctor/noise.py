"""What is in a recording beside the signal: hiss, hum, murmur of an older recording."""

import math
from dataclasses import dataclass

import numpy as np

from kit.meters import power_density
from kit.sound import Sound

__all__ = ["Hum", "Noise", "high_passed", "hum_lines", "noise_of"]

VOICE_HZ = (400.0, 3000.0)
HISS_HZ = (3500.0, 14_000.0)
SEGMENT = 1024
HUM_RATE_HZ = 2000
HUM_SECONDS = 40.0
MAINS_HZ = (50.0, 60.0)
COLOURED_DB, HUM_CLEAR_DB = 6.0, 15.0
SETTLES_S = 0.3  # of sound beside what is filtered
LEAST_FILTERED = 64  # samples


@dataclass(frozen=True)
class Noise:
    """Noise beside a signal of known strength.

    Attributes
    ----------
    dbfs : float
        Its rms over the whole band, in dB relative to 1.
    hiss_dbfs : float
        Level of its even part, as if that filled 20 kHz.
    voice_over_hiss_db : float
        How far its density in the band of speech lies above that of the hiss.
    restless : float
        How much its level in the band of speech moves, as a ratio of its standard deviation and mean; what even
        noise would show taken off.
    signal_over_db, signal_over_voice_db : float
        Level of the signal over `dbfs`, and over the noise in the band of speech.
    """

    dbfs: float
    hiss_dbfs: float
    voice_over_hiss_db: float
    restless: float
    signal_over_db: float
    signal_over_voice_db: float

    @property
    def coloured(self):
        """bool: whether it is so much stronger in the band of speech that it is not hiss alone."""
        return self.voice_over_hiss_db > COLOURED_DB


def noise_of(residue, rate, signal_rms, top_hz=math.inf):
    """Noise from what is left of a stretch when its signal has been taken off.

    Parameters
    ----------
    residue : numpy.ndarray
        float32, (n,).
    rate : int
        In Hz.
    signal_rms : float
    top_hz : float
        Above it the residue may hold what is no noise: there the density of the hiss is assumed.

    Returns
    -------
    Noise or None
        None where the stretch is too short.
    """
    windows = len(residue) // (SEGMENT // 2) - 1
    if windows < 4:
        return None
    table = np.lib.stride_tricks.sliding_window_view(residue, SEGMENT)[:: SEGMENT // 2]
    shape = np.hanning(SEGMENT)
    power = np.abs(np.fft.rfft(table * shape, axis=1)) ** 2 * 2 / (rate * np.sum(shape**2))
    hz = np.fft.rfftfreq(SEGMENT, 1 / rate)
    voice = power[:, (hz >= VOICE_HZ[0]) & (hz <= VOICE_HZ[1])]
    top_hz = min(top_hz, rate / 2)
    hiss = power[:, (hz >= min(HISS_HZ[0], 0.5 * top_hz)) & (hz <= min(HISS_HZ[1], 0.42 * rate, 0.95 * top_hz))]
    floor = float(np.median(hiss)) / math.log(2) if hiss.size else 0.0  # mean of an even noise from its median
    inside = power[:, hz <= top_hz].mean(axis=0).sum() * hz[1] + floor * (rate / 2 - top_hz)
    rms = math.sqrt(inside)
    voice_db = _db(signal_rms) - _db(math.sqrt(voice.mean() * (VOICE_HZ[1] - VOICE_HZ[0])))
    restless = _restless(voice)
    return Noise(_db(rms), _db(math.sqrt(floor * 20_000)), _db(math.sqrt(voice.mean() / max(floor, 1e-20))),
                 restless, _db(signal_rms) - _db(rms), voice_db)


def _restless(power):
    """How much the level moves from window to window, beyond what chance makes of even noise."""
    each = power.mean(axis=1)
    if each.mean() <= 0:
        return 0.0
    by_chance = 1 / power.shape[1]
    return math.sqrt(max(0.0, np.var(each) / np.mean(each) ** 2 - by_chance))


@dataclass(frozen=True)
class Hum:
    """Hum of the mains.

    Attributes
    ----------
    hz : float
        Mains frequency.
    dbfs : float
        Level (rms) of it and its first multiples.
    over_beside_db : float
        How far the strongest line stands above what is beside it.
    """

    hz: float
    dbfs: float
    over_beside_db: float

    @property
    def clear(self):
        """bool: whether there is hum at all, and not only data or noise at its frequency."""
        return self.over_beside_db >= HUM_CLEAR_DB


def hum_lines(wave_of, seconds, rate):
    """The stronger of the two usual hums, from the first part of the recording.

    Parameters
    ----------
    wave_of : callable
        Given start and stop in seconds, the samples between.
    seconds : float
    rate : int

    Returns
    -------
    Hum or None
        None where the recording is shorter than a second.
    """
    from scipy.signal import resample_poly

    if seconds < 1.2:
        return None
    wave = wave_of(0.0, min(seconds, HUM_SECONDS))
    down = max(1, rate // HUM_RATE_HZ)
    slow = Sound(resample_poly(wave, 1, down).astype(np.float32), rate // down)
    hz, density = power_density(slow, segment_s=1.0)
    return max((_line(hz, density, mains) for mains in MAINS_HZ), key=lambda hum: (hum.over_beside_db, hum.dbfs))


def high_passed(wave_of, rate, hz):
    """A function that gives waves without what lies below a frequency.

    Parameters
    ----------
    wave_of : callable
        Given start and stop in seconds, the samples between.
    rate : int
        In Hz.
    hz : float

    Returns
    -------
    callable
        The same, filtered.
    """
    from scipy.signal import butter, sosfiltfilt

    filtered = butter(6, hz, "high", fs=rate, output="sos")

    def above(start_s, stop_s):
        before = min(start_s, SETTLES_S)  # in which the filter settles
        wave = wave_of(start_s - before, stop_s + SETTLES_S)
        if len(wave) < LEAST_FILTERED:
            return wave_of(start_s, stop_s)
        first = round(start_s * rate) - round((start_s - before) * rate)
        count = round(stop_s * rate) - round(start_s * rate)
        return sosfiltfilt(filtered, wave)[first : first + count].astype(np.float32)

    return above


def _line(hz, density, mains):
    """Hum at one mains frequency: lines narrower than anything data can make."""
    total, clear = 0.0, 0.0
    for multiple in (1, 2, 3):
        away = np.abs(hz - multiple * mains)
        line, beside = density[away <= 1.6], density[(away > 2.6) & (away < 8)]
        middle = float(np.median(beside)) + 1e-18
        total += max(0.0, float(line.sum()) - len(line) * middle) * hz[1]
        clear = max(clear, float(line.max()) / middle if multiple == 1 else 0.0)
    return Hum(mains, _db(math.sqrt(total)) if total > 0 else -math.inf, _db(math.sqrt(clear)))


def _db(ratio):
    return 20 * math.log10(ratio) if ratio > 0 else -math.inf
