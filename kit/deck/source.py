"""What is plugged in: level, leads that join the two sides wrongly, and a coupling capacitor."""

import numpy as np

from kit.deck.pieces import by_side, convolved, db_to_gain, filtered
from kit.errors import SettingError

__all__ = ["clipping", "coupling", "gain", "inversion", "skew", "wiring"]


def gain(samples, gain_db):
    """The samples, so many dB louder.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    gain_db : float

    Returns
    -------
    numpy.ndarray
        The same object at 0 dB.
    """
    return samples if gain_db == 0 else samples * np.float32(db_to_gain(gain_db))


def inversion(samples, inverted):
    """The samples upside down, if `inverted`; else the same object."""
    return -samples if inverted else samples


def wiring(samples, lead):
    """What a lead makes of the sides.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, 2).
    lead : {"straight", "mono", "left-dead", "right-dead", "opposed"}
        Both sides joined into one at half level, one side without signal, or the right side upside down. A
        mono sound feeds both sides of a lead that treats them differently, so it comes out in stereo.

    Returns
    -------
    numpy.ndarray
        The same object if the lead changes nothing.

    Raises
    ------
    SettingError
        The sound has more than two sides.
    """
    if lead == "straight" or (lead == "mono" and samples.ndim == 1):
        return samples
    if samples.ndim == 2 and samples.shape[1] != 2:
        raise SettingError(f"a lead joins 1 or 2 sides, got {samples.shape[1]}: use two sides of the sound, "
                           "or straight wiring")
    if lead == "mono":
        return np.mean(samples, axis=1, dtype=np.float32)
    both = samples if samples.ndim == 2 else np.stack([samples, samples], axis=1)
    return both * np.array({"left-dead": (0, 1), "right-dead": (1, 0), "opposed": (1, -1)}[lead], np.float32)


def skew(samples, rate, delay_us):
    """The right side later than the left (or earlier, if negative), each by half of it.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels); a mono sound has no skew.
    rate : int
        In Hz.
    delay_us : float

    Returns
    -------
    numpy.ndarray
        Delayed between samples by a windowed sinc; the same object if there is nothing to do.
    """
    if delay_us == 0 or samples.ndim == 1:
        return samples
    out = samples.copy()
    for side, sign in ((0, -0.5), (1, 0.5)):
        out[:, side] = _delayed(np.ascontiguousarray(samples[:, side]), sign * delay_us * 1e-6 * rate)
    return out


def _delayed(samples, delay_samples):
    reach = 32 + int(np.ceil(abs(delay_samples)))
    position = np.arange(-reach, reach + 1) - delay_samples
    window = np.where(np.abs(position) < 32, np.cos(np.pi * np.clip(position, -32, 32) / 64) ** 2, 0)
    return convolved(samples, (np.sinc(position) * window).astype(np.float32), middle=reach)


@by_side
def coupling(samples, rate, corner_hz):
    """A coupling capacitor: a held level decays as exp(−2π·corner·t).

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    corner_hz : float
        Where the level is down by 3 dB; 0 leaves the samples alone (the same object).

    Returns
    -------
    numpy.ndarray
    """
    if corner_hz == 0:
        return samples
    pole = np.exp(-2 * np.pi * corner_hz / rate)
    pass_gain = (1 + pole) / 2  # so that half the sample rate passes at full level
    return filtered(samples, [pass_gain, -pass_gain], [1, -pole])


def clipping(samples, limit_dbfs, lopsided_percent=0.0):
    """What goes beyond a level is cut off.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    limit_dbfs : float
        Level of the positive half; inf never clips.
    lopsided_percent : float
        By how much of it the negative half's level is lower.

    Returns
    -------
    numpy.ndarray
        The same object if nothing is to be cut.
    """
    top = db_to_gain(limit_dbfs)
    bottom = -top * (1 - lopsided_percent / 100)
    if not len(samples) or (samples.max() <= top and samples.min() >= bottom):
        return samples
    return np.clip(samples, np.float32(bottom), np.float32(top))
