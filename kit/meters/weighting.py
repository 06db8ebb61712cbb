"""The AES6 weighting of wow and flutter, and its two-sigma reading.

Source: AES6-2008 (the same requirements as IEC 60386:1972 + A1:1988): the weighting of table 1, the reading
exceeded 5 % of the time. The table gives points, no circuit: the filter's corners were fitted to them and lie
within 0.45 dB of each, where the narrowest tolerance is 2 dB.
"""

import numpy as np

__all__ = ["AES6_POINTS", "two_sigma", "weighted", "weighting_db"]

AES6_POINTS = (
    (0.1, -48.0, 10, 4), (0.2, -30.6, 10, 4), (0.315, -19.7, 4, 4), (0.4, -15.0, 4, 4), (0.63, -8.4, 2, 2),
    (0.8, -6.0, 2, 2), (1.0, -4.2, 2, 2), (1.6, -1.8, 2, 2), (2.0, -0.9, 2, 2), (4.0, 0.0, 0, 0),
    (6.3, -0.9, 2, 2), (10.0, -2.1, 2, 2), (20.0, -5.9, 2, 2),
    (40.0, -10.4, 2, 2), (63.0, -14.2, 4, 4), (100.0, -17.3, 4, 4),
    (200.0, -23.0, 4, 4))
"""Tuples of frequency (Hz), weight (dB), tolerance upwards and downwards (dB)."""

REFERENCE_HZ = 4.0
PAIR_HZ, PAIR_Q = 0.43872, 0.66348  # a resonant pair of poles
POLES_HZ = (8.7544, 1.5273, 41.124)
ZEROS_HZ = (0.0, 0.0, 0.0, 30.066)
LEAD_IN_S = 4.0  # what the filter hears first, so that it has settled when the reading begins


def _analogue():
    """Zeros, poles (rad/s) and gain of the weighting: 0 dB at 4 Hz."""
    pair = np.roots([1, PAIR_HZ / PAIR_Q, PAIR_HZ ** 2])
    zeros = -2 * np.pi * np.array(ZEROS_HZ)
    poles = 2 * np.pi * np.concatenate([pair, -np.array(POLES_HZ)])
    s = 2j * np.pi * REFERENCE_HZ
    return zeros, poles, abs(np.prod(s - poles) / np.prod(s - zeros))


def weighting_db(frequency_hz):
    """Weight of a speed error that repeats at some rate.

    Parameters
    ----------
    frequency_hz : float or array_like
        More than 0.

    Returns
    -------
    numpy.ndarray
        In dB; 0 at 4 Hz.
    """
    zeros, poles, gain = _analogue()
    s = 2j * np.pi * np.asarray(frequency_hz, float)[..., None]
    return 20 * np.log10(np.abs(gain * np.prod(s - zeros, axis=-1) / np.prod(s - poles, axis=-1)))


def weighted(deviation, rate_hz):
    """Speed errors as the meter weighs them.

    Parameters
    ----------
    deviation : numpy.ndarray
        float64, (n,): relative speed error over time.
    rate_hz : float
        How many values per second; at least 1000, so that 200 Hz comes out right.

    Returns
    -------
    numpy.ndarray
        float64, (n,).
    """
    from scipy.signal import bilinear_zpk, sosfilt, zpk2sos

    zeros, poles, gain = bilinear_zpk(*_analogue(), rate_hz)
    lead_in = min(len(deviation) - 1, round(LEAD_IN_S * rate_hz))
    heard = np.pad(deviation - np.mean(deviation), (lead_in, 0), mode="reflect", reflect_type="even")
    return sosfilt(zpk2sos(zeros, poles, gain), heard)[lead_in:]


def two_sigma(values):
    """The magnitude exceeded 5 % of the time.

    Parameters
    ----------
    values : array_like
        (n,)

    Returns
    -------
    float
        0.99692·p for a sine of peak p; 1.96·σ for Gaussian values.
    """
    return float(np.quantile(np.abs(values), 0.95))
