"""What a recorder can carry: its frequency response, and Shannon's limit computed from it."""

import math

import numpy as np

from kit.deck import heads, passes
from kit.deck.pieces import db_to_gain
from kit.deck.tape import HISS_BAND_HZ
from kit.errors import SettingError

__all__ = ["capacity", "response", "shannon"]

STEPS = 4000


def response(deck, frequencies_hz):
    """The frequency response of record and replay together, as far as it is linear and does not change in
    time.

    Coupling, spacing, gap, coating, azimuth and equalisation are in it; gains, saturation, level control and
    noise reduction are not.

    Parameters
    ----------
    deck : Deck
    frequencies_hz : float or array_like
        More than 0, as recorded.

    Returns
    -------
    numpy.ndarray
        In dB, the shape of `frequencies_hz`; 0 is no change.

    Raises
    ------
    SettingError
        A frequency is not above 0.
    """
    hz = np.asarray(frequencies_hz, float)
    if not np.all((hz > 0) & np.isfinite(hz)):
        raise SettingError(f"frequencies_hz must be above 0 Hz, got {frequencies_hz!r}: leave out 0")
    pace = (100 + deck.replay_speed_percent) / (100 + deck.record_speed_percent)
    tilt = deck.replay_azimuth_arcmin - deck.record_azimuth_arcmin
    total = _coupling_db(hz, deck.record_coupling_hz) + _coupling_db(hz * pace, deck.replay_coupling_hz)
    for loss_db, at_hz in ((passes.record_losses(deck), hz), (passes.replay_losses(deck, tilt), hz * pace)):
        total -= 0 if loss_db is None else loss_db(at_hz)
    return total + heads.equalisation_db(hz * pace, deck.record_equalisation_us, deck.replay_equalisation_us)


def _coupling_db(hz, corner_hz):
    return -10 * np.log10(1 + (corner_hz / hz) ** 2)


def shannon(bandwidth_hz, signal_to_noise_db):
    """The most bits per second a channel of one bandwidth and one signal-to-noise ratio can carry without
    error.

    Source: C. E. Shannon, "Communication in the Presence of Noise", Proceedings of the IRE 37(1), 1949.

    Parameters
    ----------
    bandwidth_hz, signal_to_noise_db : float or array_like

    Returns
    -------
    float or numpy.ndarray
        In bit/s.

    Examples
    --------
    >>> round(shannon(3000, 30))
    29902
    """
    return bandwidth_hz * np.log2(1 + 10 ** (np.asarray(signal_to_noise_db) / 10))


def capacity(deck, level_dbfs=-9.03, band_hz=(20.0, 20_000.0)):
    """The most bits per second the deck's tape can carry: ∫ log₂(1 + S(f)/N(f)) df over the band.

    S is the signal's power spread evenly over the band, after the deck's source level and response; N is the
    hiss and the noise of the room. Hum, dropouts, wow and the limits of level are left out, so no real tape
    gets there.

    Parameters
    ----------
    deck : Deck
    level_dbfs : float
        Level (rms) of the signal put in; −9.03 dB is a sine that peaks at 0.5 of full scale.
    band_hz : tuple of float
        From, to.

    Returns
    -------
    float
        In bit/s; inf for a deck without noise.

    Raises
    ------
    SettingError
        The band is none.
    """
    low, high = band_hz
    if not 0 <= low < high < math.inf:
        raise SettingError(f"band_hz must rise from 0 Hz up, got {low} to {high} Hz: (20, 20000) is usual")
    edges = np.linspace(low, high, STEPS + 1)
    middle_hz = (edges[:-1] + edges[1:]) / 2
    density = db_to_gain(2 * (level_dbfs + deck.source_level_db + response(deck, middle_hz))) / (high - low)
    gain = db_to_gain(2 * deck.replay_gain_db)
    noise = (gain * db_to_gain(2 * deck.hiss_dbfs) + db_to_gain(2 * deck.room_noise_dbfs)) / HISS_BAND_HZ
    return float(np.sum(np.log2(1 + gain * density / noise)) * (high - low) / STEPS) if noise else math.inf
