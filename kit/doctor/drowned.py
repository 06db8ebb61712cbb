"""A leader that lies so deep in noise that only a long look shows it: then what drowns it is the finding."""

from dataclasses import dataclass

import numpy as np

from kit.doctor.noise import noise_of

__all__ = ["LOOKED_S", "Drowned", "find_drowned"]

WINDOW_S = 0.34  # looked at together: long enough to raise a line out of noise, short beside a first leader
LOOKED_S = 30.0
RUN = 3  # windows, half overlapping, that the line must last
CLEAR = 10.5  # times the noise beside it, on average over the run
CLEAR_OF_SPEECH = 25.0  # the same in what may be speech, which has tones of its own
CLEAR_AS_USUAL = 17.0  # the same if the tone is where leaders usually lie
VOICED_HZ = 500.0  # below it lie the strongest tones of speech
RESTLESS = 0.3  # speech moves more than hiss
NEAR = 0.01  # of a usual frequency, as a logarithm
BESIDE = 81  # frequencies over which the noise is read
ALWAYS = 20  # percent of the time that a tone which ends is not there


@dataclass(frozen=True)
class Drowned:
    """A steady tone under stronger noise.

    Attributes
    ----------
    hz : float
        Its frequency, to within 3 Hz.
    rms : float
        Of the tone, as a ratio of full scale.
    start_s, stop_s : float
        Where it is clearest, in seconds.
    noise : Noise
        What drowns it.
    """

    hz: float
    rms: float
    start_s: float
    stop_s: float
    noise: object


def find_drowned(wave, rate, low_hz, high_hz, likely_hz=()):
    """The clearest steady tone in noise, if there is one.

    Parameters
    ----------
    wave : numpy.ndarray
        float32, (n,).
    rate : int
        In Hz.
    low_hz, high_hz : float
        Where it is looked for.
    likely_hz : sequence of float
        Where leaders lie at the usual speeds: there, tones of speech are few.

    Returns
    -------
    Drowned or None
    """
    size = 1 << round(np.log2(rate * WINDOW_S))
    first, stop = int(low_hz * size / rate), min(int(high_hz * size / rate), size // 2)
    wave = wave[: round(LOOKED_S * rate)]
    if len(wave) < (RUN + 1) * size // 2 or stop - first < 2 * BESIDE:
        return None
    over, power = _standing_out(wave, size, first, stop)
    hz = np.arange(first, stop) * rate / size
    away = [np.abs(np.log(hz / each)) for each in likely_hz if each > VOICED_HZ]
    near = np.min(away, axis=0, initial=np.inf) < NEAR if away else np.zeros(len(hz), bool)
    step_s = size // 2 / rate
    return (_clearest(over, power, hz, step_s, CLEAR_OF_SPEECH, wave, rate)
            or _clearest(np.where(near, over, 0), power, hz, step_s, CLEAR_AS_USUAL, wave, rate))


def _clearest(over, power, hz, step_s, of_speech, wave, rate):
    """The clearest tone, if it is clear enough, also of what may be speech."""
    row, column = np.unravel_index(over.argmax(), over.shape)
    if over[row, column] < CLEAR:
        return None
    noise = noise_of(wave, rate, float(np.sqrt(power[row, column])))
    speaks = noise.coloured and noise.restless > RESTLESS
    if speaks and over[row, column] < of_speech:
        return None
    return Drowned(float(hz[column]), float(np.sqrt(power[row, column])), float(row * step_s),
                   float((row + RUN + 1) * step_s), noise)


def _standing_out(wave, size, first, stop):
    """How far each frequency stands above what is beside it, run by run, and the mean square of a tone there."""
    from scipy.ndimage import median_filter, uniform_filter1d

    windows = np.lib.stride_tricks.sliding_window_view(wave, size)[:: size // 2]
    shape = np.hanning(size).astype(np.float32)
    power = np.stack([np.abs(np.fft.rfft(window * shape)[first:stop]) ** 2 for window in windows])
    # What is beside a tone is noise, and so is what sounds all the time, as lines of hum do.
    beside = median_filter(power.mean(axis=0), BESIDE, mode="nearest") + 1e-12 * size
    always = np.percentile(power, ALWAYS, axis=0)
    run = uniform_filter1d(power, RUN, axis=0, mode="nearest")[RUN // 2 : len(power) - RUN // 2]
    return run / np.maximum(beside, always), 2 * np.maximum(run - beside, 0) / shape.sum() ** 2
