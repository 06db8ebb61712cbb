"""Noise reduction left on in one pass only: treble that depends on the level.

In recording such a system lifts the treble of quiet sounds, in replay it lowers it again by as much, and the
hiss with it. Used on both sides it changes little; left on on one side it makes quiet treble too loud, or
dull.
"""

import numpy as np

from kit.deck.levelling import envelope, ramped, step_samples
from kit.deck.pieces import by_side, db_to_gain, filtered

__all__ = ["noise_reduction_in_recording", "noise_reduction_in_replay"]

CORNER_HZ = 1500  # from memory: such systems work above one to two kilohertz
LOUD = db_to_gain(-10)  # treble above this level is left alone (assumption)
QUIET = db_to_gain(-40)  # treble below this level is changed in full (assumption)
ATTACK_S, RELEASE_S = 0.005, 0.05
LOWERINGS = 4  # fixed filters to blend in replay, from no lowering to the most


@by_side
def noise_reduction_in_recording(samples, rate, most_db):
    """Lift quiet treble by up to `most_db`.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    most_db : float
        0 leaves the samples alone (the same object).

    Returns
    -------
    numpy.ndarray
    """
    if most_db == 0 or not len(samples):
        return samples
    treble = _treble(samples, rate)
    lift_db = most_db * _quietness(envelope(treble, rate, ATTACK_S, RELEASE_S))
    return samples + ramped(treble, db_to_gain(lift_db) - 1, step_samples(rate))


@by_side
def noise_reduction_in_replay(samples, rate, most_db):
    """Lower quiet treble by up to `most_db`.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    most_db : float
        0 leaves the samples alone (the same object).

    Returns
    -------
    numpy.ndarray
    """
    if most_db == 0 or not len(samples):
        return samples
    level = envelope(_treble(samples, rate), rate, ATTACK_S, RELEASE_S)
    # What is heard is louder than it was by the very lift that is to be undone: look the lift up backwards.
    original = np.geomspace(1e-6, 10, 2000)
    lift_db = most_db * _quietness(original)
    lowering_db = np.interp(level, original * db_to_gain(lift_db), lift_db)
    return _lowered(samples, rate, lowering_db, np.linspace(0, most_db, LOWERINGS))


def _lowered(samples, rate, lowering_db, fixed_db):
    """Blend a few fixed filters, each of which undoes one lift exactly, as the lowering asks for."""
    out = np.zeros(len(samples), np.float32)
    for fixed in fixed_db:
        share = np.clip(1 - np.abs(lowering_db - fixed) / fixed_db[1], 0, 1)
        if share.any():
            out += ramped(_undone(samples, rate, fixed), share, step_samples(rate))
    return out


def _undone(samples, rate, lift_db):
    """The filter that undoes `samples + (lift − 1)·treble`."""
    pole = np.exp(-2 * np.pi * CORNER_HZ / rate)
    added = (db_to_gain(lift_db) - 1) * (1 + pole) / 2
    return filtered(samples, [1, -pole], [1 + added, -(pole + added)]) if lift_db else samples


def _treble(samples, rate):
    pole = np.exp(-2 * np.pi * CORNER_HZ / rate)
    return filtered(samples, [(1 + pole) / 2, -(1 + pole) / 2], [1, -pole])


def _quietness(level):
    """0 for a loud sound, 1 for a quiet one, in a straight line over the level in dB."""
    place = np.log(np.maximum(level, QUIET) / LOUD) / np.log(QUIET / LOUD)
    return np.clip(place, 0, 1)
