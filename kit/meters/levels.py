"""Levels of a recording: how strong it is, how much noise and hum it holds, how alike its sides are."""

import math

import numpy as np

from kit.errors import ReadingError

__all__ = ["band_level_dbfs", "correlation", "hum_dbfs", "level_dbfs", "noise_dbfs", "power_density",
           "skew_us"]

SEGMENT_S = 0.2


def level_dbfs(sound, start_s=0.0, stop_s=math.inf):
    """Level (rms) of a stretch, in dB relative to 1.

    Parameters
    ----------
    sound : Sound
    start_s, stop_s : float

    Returns
    -------
    float
        −inf for silence.
    """
    return sound.part(start_s, min(stop_s, sound.seconds)).rms_dbfs


def power_density(sound, side=0, segment_s=SEGMENT_S):
    """How the power of a sound is spread over frequency, averaged over its whole length (Welch's method,
    each moment with equal weight).

    Parameters
    ----------
    sound : Sound
    side : int
        Which channel.
    segment_s : float
        A longer one resolves finer frequencies.

    Returns
    -------
    hz : numpy.ndarray
        float64, (n,): evenly spaced from 0 to half the sample rate.
    density : numpy.ndarray
        float64, (n,): per Hz; its sum times the spacing is the mean square.

    Raises
    ------
    ReadingError
        The sound is shorter than one segment.
    """
    hop = round(segment_s * sound.rate / 4)
    if sound.frames < 4 * hop or hop < 4:
        raise ReadingError(f"a spectrum is read from {segment_s:g} s or more, got {sound.seconds:.3f} s: "
                           "give a longer stretch")
    window = 0.5 - 0.5 * np.cos(np.pi * np.arange(4 * hop) / (2 * hop))
    energy = sum(_segment_energy(stretch, window, hop) for stretch in _stretches(sound, side, hop))
    # A quarter of a segment apart, squared windows add up to the same everywhere: all moments count alike.
    return np.arange(2 * hop + 1) * sound.rate / (4 * hop), energy * 2 / (sound.rate * 1.5 * sound.frames)


def _stretches(sound, side, hop):
    """One side in stretches of whole hops, each begun three hops before the last ended; silence round it."""
    kept = np.zeros(3 * hop, np.float32)
    for piece in sound.pieces(frames=hop * max(1, (1 << 17) // hop)):
        kept = np.concatenate([kept, piece[:, side]])
        whole = len(kept) // hop * hop
        if whole < 4 * hop:  # a last piece of less than a hop: what is kept goes on with the silence behind it
            continue
        yield kept[:whole]
        kept = kept[whole - 3 * hop:]
    yield np.concatenate([kept, np.zeros(4 * hop - len(kept) % hop, np.float32)])


def _segment_energy(stretch, window, hop):
    from scipy import fft

    segments = np.lib.stride_tricks.sliding_window_view(stretch, 4 * hop)[::hop]
    spectra = fft.rfft(segments * window.astype(np.float32), axis=1)
    return np.sum(spectra.real ** 2 + spectra.imag ** 2, axis=0, dtype=np.float64)


def band_level_dbfs(sound, low_hz, high_hz, side=0, segment_s=SEGMENT_S):
    """Level (rms) of what lies between two frequencies.

    Parameters
    ----------
    sound : Sound
    low_hz, high_hz : float
    side : int
    segment_s : float

    Returns
    -------
    float
        In dB relative to 1; −inf if nothing is there.
    """
    hz, density = power_density(sound, side, segment_s)
    return _db(density[(hz >= low_hz) & (hz <= high_hz)].sum() * hz[1])


def noise_dbfs(sound, start_s=0.0, stop_s=math.inf, band_hz=(250.0, 20_000.0), side=0):
    """Level of the noise in a stretch where nothing was recorded, as if its density filled 20 kHz.

    The band leaves out the hum. A sample rate that does not reach to 20 kHz is allowed for.

    Parameters
    ----------
    sound : Sound
    start_s, stop_s : float
        The silent stretch.
    band_hz : tuple of float
        From, to: where the density is read.
    side : int

    Returns
    -------
    float
        In dB relative to 1, rms.
    """
    hz, density = power_density(sound.part(start_s, min(stop_s, sound.seconds)), side)
    inside = (hz >= band_hz[0]) & (hz <= min(band_hz[1], 0.45 * sound.rate))
    return _db(np.mean(density[inside]) * 20_000) if inside.any() else -math.inf


def hum_dbfs(sound, hum_hz=50.0, harmonics=3, side=0):
    """Level of the mains frequency and its harmonics together, less the noise beside them.

    Parameters
    ----------
    sound : Sound
        At least a second, without other low tones.
    hum_hz : float
    harmonics : int
        How many multiples, the first included.
    side : int

    Returns
    -------
    float
        In dB relative to 1, rms.
    """
    hz, density = power_density(sound, side, segment_s=1.0)
    total = 0.0
    for tone_hz in hum_hz * np.arange(1, harmonics + 1):
        away = np.abs(hz - tone_hz)
        line, beside = density[away <= 4], density[(away > 5) & (away < 15)]
        total += max(0.0, line.sum() - len(line) * np.median(beside)) * hz[1]
    return _db(total)


def correlation(sound):
    """How alike the two sides are.

    Parameters
    ----------
    sound : Sound
        Stereo.

    Returns
    -------
    float
        1 for the same wave at any level, −1 if one side is upside down, 0 if they have nothing in common or
        one is silent.
    """
    left, right = _two_sides(sound)
    power = float(np.dot(left, left)) * float(np.dot(right, right))
    return float(np.dot(left, right)) / math.sqrt(power) if power else 0.0


def skew_us(sound, longest_us=3000.0):
    """How much later the right side comes than the left.

    Parameters
    ----------
    sound : Sound
        Stereo; not a single steady tone, which repeats.
    longest_us : float
        No longer skew is looked for.

    Returns
    -------
    float
        In microseconds, finer than a sample: a parabola through the peak of the correlation.
    """
    from scipy.signal import correlate, resample_poly

    dense = 4
    left, right = (resample_poly(side[:1 << 20], dense, 1) for side in _two_sides(sound))
    far = math.ceil(longest_us * 1e-6 * sound.rate * dense)
    alike = np.abs(correlate(right, left, method="fft")[len(left) - 1 - far:len(left) + far])
    peak = int(np.clip(np.argmax(alike), 1, len(alike) - 2))
    before, at, after = alike[peak - 1:peak + 2]
    bend = before - 2 * at + after
    place = peak - far + (0.5 * (before - after) / bend if bend else 0.0)
    return 1e6 * place / (sound.rate * dense)


def _two_sides(sound):
    if sound.channels != 2:
        raise ReadingError(f"two sides are compared, got {sound.channels}: record in stereo")
    return sound.samples[:, 0].astype(float), sound.samples[:, 1].astype(float)


def _db(power):
    return 10 * math.log10(power) if power > 0 else -math.inf
