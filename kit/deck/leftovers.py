"""Incomplete erasure: an older recording still heard under the new one."""

import math

import numpy as np

from kit.deck.pieces import by_side, db_to_gain, filtered, spans
from kit.errors import SettingError

__all__ = ["old_recording"]


@by_side
def old_recording(samples, rate, level_dbfs, rng, under=None):
    """An older recording, not quite erased.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    level_dbfs : float
        Its rms over the whole length; −inf leaves the samples alone (the same object).
    rng : numpy.random.Generator
        For a made-up one: murmur in the band of speech, rising and falling as syllables do.
    under : numpy.ndarray or None
        float32, (frames,): what was on the tape before, at the same rate, instead of a made-up one.

    Returns
    -------
    numpy.ndarray
    """
    if math.isinf(level_dbfs) or not len(samples):
        return samples
    old = _murmur(len(samples), rate, rng) if under is None else under[:len(samples)]
    rms = math.sqrt(np.dot(old, old) / max(len(old), 1))
    if rms == 0:
        return samples
    out = samples.copy()
    out[:len(old)] += np.float32(db_to_gain(level_dbfs) / rms) * old
    return out


def _murmur(frames, rate, rng):
    noise = rng.standard_normal(frames, dtype=np.float32)
    for corner_hz, keep_low in ((300, False), (1000, True), (min(3000, 0.4 * rate), True)):
        pole = math.exp(-2 * math.pi * corner_hz / rate)
        noise = filtered(noise, [1 - pole], [1, -pole]) if keep_low else filtered(noise, [1, -1], [1, -pole])
    knots = rng.random(int(4 * frames / rate) + 2) ** 2
    for start, stop in spans(frames):
        noise[start:stop] *= np.interp(np.arange(start, stop) * (4 / rate), np.arange(len(knots)), knots)
    return noise


def checked_under(under, rate):
    """One side of an older recording's samples, or a `SettingError` if its rate is another one.

    Parameters
    ----------
    under : Sound or None
    rate : int
        In Hz.

    Returns
    -------
    numpy.ndarray or None
        float32, (frames,).
    """
    if under is None:
        return None
    if under.rate != rate:
        raise SettingError(f"the older recording must have the new one's {rate} Hz, got {under.rate} Hz: "
                           "make both at one rate")
    return under.samples if under.samples.ndim == 1 else np.mean(under.samples, axis=1, dtype=np.float32)
