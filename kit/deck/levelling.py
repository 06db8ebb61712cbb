"""Automatic level control: the level is followed, and the gain turned down or up."""

import math

import numpy as np

from kit.deck.pieces import by_side, db_to_gain, spans

__all__ = ["envelope", "level_control", "ramped"]

STEP_S = 0.001


@by_side
def level_control(samples, rate, target_dbfs, boost_db, attack_s, release_s):
    """Hold the peak level, as the automatic level of a recorder does.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    target_dbfs : float
        The peak level to hold; inf leaves the samples alone (the same object).
    boost_db : float
        The most that is added to a quiet sound. With 0 the control only turns down.
    attack_s, release_s : float
        Time constants of turning down and of turning up again.

    Returns
    -------
    numpy.ndarray
    """
    if math.isinf(target_dbfs) or not len(samples):
        return samples
    level = envelope(samples, rate, attack_s, release_s)
    least = db_to_gain(target_dbfs - boost_db)
    return ramped(samples, db_to_gain(target_dbfs) / np.maximum(level, least), step_samples(rate))


def step_samples(rate):
    """How many samples one step of level following takes: about a millisecond."""
    return max(1, round(rate * STEP_S))


def envelope(samples, rate, attack_s, release_s):
    """The level as a diode, a capacitor and two resistors follow it.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,).
    rate : int
        In Hz.
    attack_s, release_s : float
        Time constants upwards and downwards.

    Returns
    -------
    numpy.ndarray
        float64, (steps,): the followed peak at the end of each millisecond, from 0 at the beginning.
    """
    step = step_samples(rate)
    peaks = _peaks(samples, step)
    rise = 1 - math.exp(-step / rate / attack_s)
    fall = 1 - math.exp(-step / rate / release_s)
    level, levels = 0.0, []
    for peak in peaks.tolist():
        level += (rise if peak > level else fall) * (peak - level)
        levels.append(level)
    return np.array(levels)


def _peaks(samples, step):
    """The largest absolute value of each step; the last step may be short."""
    whole = len(samples) // step
    table = samples[:whole * step].reshape(whole, step)
    peaks = np.maximum(table.max(axis=1, initial=0), -table.min(axis=1, initial=0))
    rest = samples[whole * step:]
    return np.append(peaks, np.abs(rest).max()) if len(rest) else peaks


def ramped(samples, gains, step):
    """The samples times a gain that moves in a straight line from the end of one step to the end of the next.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,).
    gains : numpy.ndarray
        float64, (steps,), steps · step ≥ frames.
    step : int
        Samples per step.

    Returns
    -------
    numpy.ndarray
        float32, (frames,).
    """
    out = np.empty(len(samples), np.float32)
    ramp = (np.arange(1, step + 1) / step).astype(np.float32)
    before = np.concatenate([gains[:1], gains[:-1]]).astype(np.float32)
    change = gains.astype(np.float32) - before
    steps_per_piece = max(1, (1 << 16) // step)
    for first, last in spans(len(gains), steps_per_piece):
        curve = (before[first:last, None] + change[first:last, None] * ramp).ravel()
        part = slice(first * step, min(last * step, len(samples)))
        np.multiply(samples[part], curve[:part.stop - part.start], out=out[part])
    return out
