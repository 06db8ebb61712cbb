"""Chance that repeats: each stage has its own stream, so switching one on leaves the others alone."""

import operator

import numpy as np

from kit.errors import SettingError

__all__ = ["STREAMS", "checked_seed", "stream"]

# The position is part of a stream's name: add new ones at the end, or every recording changes.
STREAMS = ("record transport", "replay transport", "dropouts", "old recording", "hiss", "hum",
           "reverberation", "room noise")


def stream(seed, stage, generation=0):
    """The random stream of one stage.

    Parameters
    ----------
    seed : int
        0 or more.
    stage : str
        One of `STREAMS`.
    generation : int
        Which copy of a copy, from 0.

    Returns
    -------
    numpy.random.Generator
        PCG64, so that the same numbers come out wherever the same major version of numpy runs.

    Raises
    ------
    SettingError
        The seed is not a whole number of 0 or more.
    """
    key = (generation, STREAMS.index(stage))
    return np.random.Generator(np.random.PCG64(np.random.SeedSequence(checked_seed(seed), spawn_key=key)))


def checked_seed(seed):
    """The seed as an int, or a `SettingError`."""
    try:
        number = operator.index(seed)
    except TypeError:
        number = -1
    if number < 0:
        raise SettingError(f"seed must be a whole number of 0 or more, got {seed!r}: 0 is usual")
    return number
