"""Frequency response of a recorder, from steps of tones, or from a sweep whose original is known."""

import numpy as np

from kit.errors import ReadingError
from kit.meters.levels import power_density

__all__ = ["response_from_original", "response_from_steps", "step_levels_dbfs", "sweep", "tone_level_dbfs"]

NEAR = 0.08  # a tone is looked for within ±8 % of its nominal frequency
WIDE = 0.02  # and its power gathered within ±2 %, wow and flutter included


def step_levels_dbfs(sound, steps_hz, step_s, start_s=0.0, side=0):
    """Levels of tones played one after the other.

    Parameters
    ----------
    sound : Sound
    steps_hz : sequence of float
        Nominal frequencies in the order played; a recorder off speed by up to 8 % is allowed for.
    step_s : float
        How long each lasts.
    start_s : float
        When the first begins.
    side : int

    Returns
    -------
    numpy.ndarray
        float64, (steps,): rms levels in dB relative to 1; −inf for silence.

    Raises
    ------
    ReadingError
        The recording ends before the last step does.
    """
    if start_s + len(steps_hz) * step_s > sound.seconds * 1.01:
        raise ReadingError(f"{len(steps_hz)} steps of {step_s:g} s must fit after {start_s:g} s, "
                           f"got a recording of {sound.seconds:.2f} s: check the steps")
    levels = []
    for number, hz in enumerate(steps_hz):
        middle = start_s + (number + 0.5) * step_s
        stretch = sound.part(max(middle - 0.3 * step_s, 0), middle + 0.3 * step_s)
        levels.append(tone_level_dbfs(stretch, hz, side))
    return np.array(levels)


def tone_level_dbfs(stretch, tone_hz, side=0):
    """Level of a tone that sounds through a stretch, whatever else is there.

    Parameters
    ----------
    stretch : Sound
    tone_hz : float
        Nominal frequency; it is looked for within ±8 %, and its power gathered within ±2 %.
    side : int

    Returns
    -------
    float
        rms, in dB relative to 1; −inf for silence.
    """
    samples = stretch.samples if stretch.channels == 1 else stretch.samples[:, side]
    window = np.hanning(len(samples))
    power = 2 * np.abs(np.fft.rfft(samples * window)) ** 2 / (np.sum(window ** 2) * len(samples))
    hz = np.arange(len(power)) * stretch.rate / len(samples)
    near = np.flatnonzero(np.abs(hz - tone_hz) <= NEAR * tone_hz + 2 * hz[1])
    found_hz = hz[near[np.argmax(power[near])]]
    total = power[np.abs(hz - found_hz) <= WIDE * tone_hz + 3 * hz[1]].sum()
    return 10 * np.log10(total) if total > 0 else -np.inf


def response_from_steps(sound, steps_hz, step_s, start_s=0.0, reference_hz=None, side=0):
    """Frequency response from steps of tones recorded at one level.

    Parameters
    ----------
    sound, steps_hz, step_s, start_s, side
        As for `step_levels_dbfs`.
    reference_hz : float or None
        The step that counts as 0 dB; None: the first.

    Returns
    -------
    numpy.ndarray
        float64, (steps,), in dB.
    """
    levels = step_levels_dbfs(sound, steps_hz, step_s, start_s, side)
    if reference_hz is None:
        return levels - levels[0]
    return levels - levels[np.argmin(np.abs(np.asarray(steps_hz, float) - reference_hz))]


def response_from_original(recording, original, bands_per_octave=6, side=0):
    """Frequency response from a sweep (or noise, or music) and its recording, by the power in narrow bands.

    It needs no alignment in time, and a speed error only shifts it by as much along the frequency axis.

    Parameters
    ----------
    recording, original : Sound
        Each from the beginning of the sweep to its end. What is the same length of time in both counts alike.
    bands_per_octave : int
    side : int
        Channel of the recording; of the original the first is taken.

    Returns
    -------
    hz : numpy.ndarray
        float64, (bands,): middles of the bands in which the original has power.
    response_db : numpy.ndarray
        float64, (bands,).
    """
    hz_in, power_in = power_density(original)
    hz_out, power_out = power_density(recording, side)
    middles = 1000 * 2 ** (np.arange(-6 * bands_per_octave, 5 * bands_per_octave) / bands_per_octave)
    half = 2 ** (0.5 / bands_per_octave)
    found = []
    for middle in middles[middles * half < 0.48 * min(original.rate, recording.rate)]:
        sent = _band(hz_in, power_in, middle / half, middle * half)
        got = _band(hz_out, power_out, middle / half, middle * half)
        if sent > 1e-6 * power_in.sum() * hz_in[1] and got > 0:
            found.append((middle, 10 * np.log10(got * recording.seconds / (sent * original.seconds))))
    if not found:
        raise ReadingError("the original must have power in some band, got none: give what was played")
    return np.array(found).T


def _band(hz, density, low_hz, high_hz):
    inside = (hz >= low_hz) & (hz < high_hz)
    return density[inside].sum() * hz[1] if np.count_nonzero(inside) >= 3 else 0.0


def sweep(seconds=10.0, rate=44100, low_hz=40.0, high_hz=18_000.0, peak=0.25):
    """A tone that rises evenly in octaves, with soft ends.

    Parameters
    ----------
    seconds : float
    rate : int
        In Hz; more than twice `high_hz`.
    low_hz, high_hz : float
    peak : float
        Part of full scale.

    Returns
    -------
    Sound
    """
    from kit.sound import Sound

    time_s = np.arange(round(seconds * rate)) / rate
    pace = np.log(high_hz / low_hz) / seconds
    wave = peak * np.sin(2 * np.pi * low_hz * np.expm1(pace * time_s) / pace)
    edge_s = np.minimum(time_s, time_s[::-1])
    return Sound(wave * np.clip(edge_s / 0.02, 0, 1), rate)
