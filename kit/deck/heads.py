"""What the heads lose: spacing, gap, coating, azimuth; and an equalisation other than the recording was made
for.

All losses depend on the wavelength on the tape, λ = v/f. They are given as positive dB.

Sources
-------
Spacing, thickness: R. L. Wallace, "The Reproduction of Magnetically Recorded Signals", Bell System Technical
Journal 30(4), 1951. Gap: J. M. Eargle, "Electroacoustical Reference Data", 1994, equation 167.1. Azimuth:
from memory. Equalisation: IEC 60094-1:1981 for the time constants; the formula from memory.
"""

import math

import numpy as np

from kit.deck.pieces import by_side, convolved, db_to_gain

__all__ = ["azimuth_loss_db", "azimuth_skew_us", "equalisation_db", "gap_loss_db", "linear_filter",
           "replay_flux_db", "spacing_loss_db", "thickness_loss_db", "wavelength_um"]

SPACING_DB = 40 * math.pi * math.log10(math.e)  # 54.575 dB for a spacing of one wavelength
EFFECTIVE_GAP = 1.11
LOW_CORNER_US = 3180
DEEPEST_DB = 120.0  # a null is no deeper than this
FILTER_S = 0.012  # half the length of the filter that stands for the losses
GRID = 1 << 14


def wavelength_um(frequency_hz, speed_mm_s=47.625):
    """Length of one cycle on the tape.

    Parameters
    ----------
    frequency_hz : float or array_like
        More than 0.
    speed_mm_s : float

    Returns
    -------
    float or numpy.ndarray
        In micrometres.

    Examples
    --------
    >>> round(wavelength_um(2400), 2)
    19.84
    """
    return 1000 * speed_mm_s / (np.asarray(frequency_hz, float) if np.ndim(frequency_hz) else frequency_hz)


def spacing_loss_db(spacing_um, wavelength_um):
    """Loss through a distance between head and tape: 54.575·d/λ.

    Parameters
    ----------
    spacing_um : float
    wavelength_um : float or array_like

    Returns
    -------
    float or numpy.ndarray
        In dB, positive.
    """
    return SPACING_DB * spacing_um / wavelength_um


def gap_loss_db(gap_um, wavelength_um):
    """Loss through the width of the replay head's gap: −20·lg|sinc(1.11·g/λ)|.

    Parameters
    ----------
    gap_um : float
    wavelength_um : float or array_like

    Returns
    -------
    float or numpy.ndarray
        In dB, positive.
    """
    return _loss_db(np.sinc(EFFECTIVE_GAP * gap_um / wavelength_um))


def thickness_loss_db(coating_um, wavelength_um):
    """Loss because the deeper layers of the coating lie further from the head: −20·lg[(1 − e^(−x))/x], x =
    2πδ/λ.

    Parameters
    ----------
    coating_um : float
    wavelength_um : float or array_like

    Returns
    -------
    float or numpy.ndarray
        In dB, positive.
    """
    x = 2 * np.pi * coating_um / np.asarray(wavelength_um, float)
    safe = np.maximum(x, 1e-12)
    return _loss_db(-np.expm1(-safe) / safe)


def azimuth_loss_db(tilt_arcmin, track_mm, wavelength_um):
    """Loss through a head that stands askew to the recorded lines: −20·lg|sin x/x|, x = πw·tan α/λ.

    Parameters
    ----------
    tilt_arcmin : float
        Angle between the recorded lines and the head's gap.
    track_mm : float
        Width of the track.
    wavelength_um : float or array_like

    Returns
    -------
    float or numpy.ndarray
        In dB, positive.
    """
    return _loss_db(np.sinc(1000 * track_mm * _tangent(tilt_arcmin) / wavelength_um))


def azimuth_skew_us(tilt_arcmin, pitch_mm, speed_mm_s):
    """How much later one track of a stereo pair is read than the other, in microseconds.

    Parameters
    ----------
    tilt_arcmin, pitch_mm, speed_mm_s : float
        Angle, distance between the middles of the tracks, speed of the tape.

    Returns
    -------
    float
    """
    return 1e6 * pitch_mm * _tangent(tilt_arcmin) / speed_mm_s


def _tangent(arcmin):
    return math.tan(math.radians(arcmin / 60))


def _loss_db(factor):
    return -20 * np.log10(np.maximum(np.abs(factor), db_to_gain(-DEEPEST_DB)))


def replay_flux_db(frequency_hz, time_constant_us):
    """Level of the flux on a tape recorded to the standard: 10·lg(1 + 1/(ωT₂)²) − 10·lg(1 + (ωT₁)²), T₂ =
    3180 µs.

    Parameters
    ----------
    frequency_hz : float or array_like
        More than 0.
    time_constant_us : float
        T₁: 120 for ordinary tape, 70 for chrome and metal.

    Returns
    -------
    float or numpy.ndarray
        In dB.
    """
    omega = 2e-6 * np.pi * np.asarray(frequency_hz, float)
    lift, fall = (omega * LOW_CORNER_US) ** -2, (omega * time_constant_us) ** 2
    return 10 * np.log10(1 + lift) - 10 * np.log10(1 + fall)


def equalisation_db(frequency_hz, record_us, replay_us):
    """Error of replaying with another time constant than the recording was made for.

    Parameters
    ----------
    frequency_hz : float or array_like
        More than 0.
    record_us, replay_us : float

    Returns
    -------
    float or numpy.ndarray
        In dB; positive where replay is too bright (a 120 µs replay of a 70 µs tape).
    """
    return replay_flux_db(frequency_hz, record_us) - replay_flux_db(frequency_hz, replay_us)


@by_side
def linear_filter(samples, rate, loss_db, record_us=120.0, replay_us=120.0):
    """All that heads and equalisation do to a sound, in one filter.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    loss_db : callable or None
        From frequencies in Hz, float64 (n,), all above 0, to losses in dB: they delay no frequency. None: no
        loss.
    record_us, replay_us : float
        Time constants of the equalisation: these do turn the phase, as one resistor and one capacitor do.

    Returns
    -------
    numpy.ndarray
        The same object if there is no loss and the time constants agree.
    """
    if (loss_db is None and record_us == replay_us) or not len(samples):
        return samples
    frequency_hz = np.linspace(0, rate / 2, GRID + 1)
    frequency_hz[0] = frequency_hz[1] / 1000
    factor = (1 + 2e-6j * np.pi * frequency_hz * replay_us) / (1 + 2e-6j * np.pi * frequency_hz * record_us)
    if loss_db is not None:
        factor *= db_to_gain(-loss_db(frequency_hz))
    response = np.fft.fftshift(np.fft.irfft(factor))
    reach = min(max(8, round(FILTER_S * rate)), GRID - 1)
    taps = response[GRID - reach:GRID + reach + 1] * np.hanning(2 * reach + 3)[1:-1] ** 0.25
    taps *= factor[0].real / taps.sum()
    return convolved(samples, taps.astype(np.float32), middle=reach)
