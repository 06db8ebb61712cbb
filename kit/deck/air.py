"""Beside the tape: a room between loudspeaker and microphone, and what software takes for noise."""

import math

import numpy as np

from kit.deck.pieces import by_side, convolved, db_to_gain
from kit.deck.tape import hiss

__all__ = ["noise_suppression", "room"]

SOUND_SPEED_M_S = 343.0  # in air at 20 °C (common practice)
FIRST_ECHO_S = 0.002
FRAME_S = 0.032  # how long a stretch noise suppression looks at
LEARNING_S = 1.0  # how long a sound must last to be taken for noise (assumption)


@by_side
def room(samples, rate, distance_m, reverberation_s, reverberation_db, noise_dbfs, echo_rng, noise_rng):
    """From a loudspeaker to a microphone: later, with reverberation, and with the noise of the room.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    distance_m : float
        Sound arrives this way divided by 343 m/s later; the recording is longer by as much.
    reverberation_s : float
        Time until the reverberation has fallen by 60 dB; 0: none.
    reverberation_db : float
        Its energy relative to the direct sound.
    noise_dbfs : float
        Level (rms, 20 kHz wide) of the room's noise; −inf: none.
    echo_rng, noise_rng : numpy.random.Generator

    Returns
    -------
    numpy.ndarray
        The same object if there is no distance, reverberation or noise.
    """
    late = round(distance_m / SOUND_SPEED_M_S * rate)
    heard = np.concatenate([np.zeros(late, np.float32), samples]) if late else samples
    if reverberation_s and len(samples):
        heard = convolved(heard, _reverberation(rate, reverberation_s, reverberation_db, echo_rng))
    return hiss(heard, rate, noise_dbfs, noise_rng)


def _reverberation(rate, time_s, level_db, rng):
    """The direct sound, and noise that dies away."""
    taps = max(2, round(time_s * rate))
    tail = rng.standard_normal(taps) * 10 ** (-3 * np.arange(taps) / taps)
    tail[:min(taps - 1, round(FIRST_ECHO_S * rate) + 1)] = 0
    tail *= db_to_gain(level_db) / math.sqrt(np.sum(tail ** 2))
    tail[0] = 1
    return tail.astype(np.float32)


@by_side
def noise_suppression(samples, rate, most_db):
    """What telephones and laptops do to a microphone's sound: whatever stays the same is taken for noise.

    A leader tone is just such a sound, and is turned down within a second or so.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    most_db : float
        How far a steady sound is turned down; 0 leaves the samples alone (the same object).

    Returns
    -------
    numpy.ndarray
    """
    if most_db == 0 or not len(samples):
        return samples
    hop = max(2, round(FRAME_S * rate / 2))
    window = np.sin(np.pi * (np.arange(2 * hop) + 0.5) / (2 * hop)).astype(np.float32)
    padded = np.concatenate([np.zeros(hop, np.float32), samples, np.zeros(2 * hop, np.float32)])
    out = np.zeros(len(padded), np.float32)
    noise = None
    for first in range(0, len(padded) // hop - 1, 256):
        last = min(first + 256, len(padded) // hop - 1)
        stretch = padded[first * hop:(last + 1) * hop]
        frames = np.lib.stride_tricks.sliding_window_view(stretch, 2 * hop)[::hop]
        cleaned, noise = _suppressed(frames * window, noise, hop / rate, db_to_gain(-most_db))
        cleaned *= window
        out[first * hop:last * hop].reshape(-1, hop)[:] += cleaned[:, :hop]
        out[(first + 1) * hop:(last + 1) * hop].reshape(-1, hop)[:] += cleaned[:, hop:]
    return out[hop:hop + len(samples)]


def _suppressed(frames, noise, frame_s, floor):
    """Frames with their steady parts turned down, and the noise learned so far (power per frequency)."""
    from scipy import fft
    from scipy.signal import lfilter

    spectra = fft.rfft(frames, axis=1)
    power = spectra.real ** 2 + spectra.imag ** 2
    keep = np.float32(math.exp(-frame_s / LEARNING_S))
    start = np.zeros_like(power[:1]) if noise is None else noise
    learned, _ = lfilter(np.float32([1 - keep]), np.float32([1, -keep]), power, axis=0, zi=keep * start)
    new = np.maximum(1 - learned / np.maximum(power, np.float32(1e-20)), 0)
    gain = np.clip(np.sqrt(new), np.float32(floor), 1)
    return fft.irfft(spectra * gain, n=frames.shape[1], axis=1), learned[-1:]
