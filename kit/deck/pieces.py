"""How the stages work: one side at a time, in pieces, so that a long sound needs little memory besides."""

import functools

import numpy as np

__all__ = ["by_side", "convolved", "db_to_gain", "filtered", "spans"]

PIECE_FRAMES = 1 << 16  # small enough to stay in a processor's cache


def db_to_gain(db):
    """Amplitude ratio of a level in dB; 0 for −inf.

    Parameters
    ----------
    db : float or array_like

    Returns
    -------
    float or numpy.ndarray
    """
    return 10 ** (np.asarray(db, float) / 20) if np.ndim(db) else 10 ** (db / 20)


def spans(frames, step=PIECE_FRAMES):
    """Start and end of each piece, in order: `[start, stop)`.

    Parameters
    ----------
    frames, step : int

    Yields
    ------
    tuple of int
    """
    for start in range(0, frames, step):
        yield start, min(start + step, frames)


def by_side(stage):
    """Let a stage written for one side, (frames,), take (frames, channels) too.

    Parameters
    ----------
    stage : callable
        Its first argument is a float32 array (frames,); it returns one, or the very same object when neutral.

    Returns
    -------
    callable
        Sides go through one after the other; nothing is copied if every side came back untouched.
    """
    @functools.wraps(stage)
    def both(samples, *arguments, **settings):
        if samples.ndim == 1:
            return stage(samples, *arguments, **settings)
        sides = [np.ascontiguousarray(samples[:, side]) for side in range(samples.shape[1])]
        done = [stage(side, *arguments, **settings) for side in sides]
        untouched = all(after is before for after, before in zip(done, sides, strict=True))
        return samples if untouched else np.stack(done, axis=1)

    return both


def filtered(samples, numerator, denominator):
    """A recursive filter from rest, computed in double precision.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,).
    numerator, denominator : array_like
        Coefficients of z⁰, z⁻¹, …

    Returns
    -------
    numpy.ndarray
        float32, (frames,).
    """
    from scipy.signal import lfilter

    out = np.empty(len(samples), np.float32)
    state = np.zeros(max(len(numerator), len(denominator)) - 1)
    for start, stop in spans(len(samples)):
        piece = samples[start:stop].astype(np.float64)
        out[start:stop], state = lfilter(numerator, denominator, piece, zi=state)
    return out


def convolved(samples, taps, middle=0):
    """The samples convolved with a finite response, piece by piece.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,).
    taps : numpy.ndarray
        float32, (taps,).
    middle : int
        Index of the tap that stands for no delay.

    Returns
    -------
    numpy.ndarray
        float32, (frames,): as long as the samples.
    """
    from scipy.signal import oaconvolve

    out = np.zeros(len(samples) + len(taps) - 1, np.float32)
    for start, stop in spans(len(samples), max(PIECE_FRAMES, 8 * len(taps))):
        out[start:stop + len(taps) - 1] += oaconvolve(samples[start:stop], taps)
    return out[middle:middle + len(samples)]
