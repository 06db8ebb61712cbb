"""How the two sides of a stereo recording compare."""

from dataclasses import dataclass

import numpy as np

from kit.meters import correlation, skew_us
from kit.sound import Sound

__all__ = ["Sides", "compare_sides"]

LOOKED_S = 4.0
LEAST_FRAMES = 256


@dataclass(frozen=True)
class Sides:
    """The two sides.

    Attributes
    ----------
    left_dbfs, right_dbfs : float
        Level (rms) of the signal on each.
    alike : float
        Their correlation with the skew taken out: 1 the same, −1 upside down.
    skew_us : float
        How much later the right side comes.
    sum_loss_db : float
        What the sum of both loses at the shortest cycles, against the better side.
    """

    left_dbfs: float
    right_dbfs: float
    alike: float
    skew_us: float
    sum_loss_db: float


def compare_sides(sound, start_s, shortest_hz):
    """Compare the sides in a stretch with data.

    Parameters
    ----------
    sound : Sound
        Stereo.
    start_s : float
        Where the stretch begins.
    shortest_hz : float
        Frequency of the shortest cycles.

    Returns
    -------
    Sides or None
        None where there is too little to compare.
    """
    part = sound.part(start_s, start_s + LOOKED_S)
    if part.frames < LEAST_FRAMES:
        return None
    table = part.samples - part.samples.mean(axis=0)
    left, right = (20 * np.log10(max(float(np.sqrt(np.mean(s.astype(float) ** 2))), 1e-9)) for s in table.T)
    level = Sound(table, part.rate)  # a held level is alike at any skew
    late_us = skew_us(level) if min(left, right) > -80 and abs(left - right) < 30 else 0.0
    shifted = _aligned(level, late_us)
    alike = correlation(shifted)
    apart = abs(np.cos(np.pi * shortest_hz * late_us * 1e-6)) if alike >= 0 else 0.0
    return Sides(left, right, alike, late_us, float(-20 * np.log10(max(apart, 1e-3))))


def _aligned(part, late_us):
    """The part with the skew taken out, to the nearest sample."""
    shift = round(late_us * 1e-6 * part.rate)
    left, right = part.samples[:, 0], part.samples[:, 1]
    left, right = (left[: len(left) - shift], right[shift:]) if shift >= 0 else (left[-shift:], right[:shift])
    return Sound(np.stack([left - left.mean(), right - right.mean()], axis=1), part.rate)
