"""A tone's level against a pilot tone that sounds with it: what a level control does to both drops out.

The tone is followed through wow and flutter by the pilot's phase, so that a narrow band suffices, and tones far
below the noise of the whole band are still read.
"""

import numpy as np

from kit.errors import ReadingError

__all__ = ["tone_against_pilot"]

HALF_BAND_HZ = 60.0  # wow and flutter of the pilot are followed this far
FLOOR_HZ = np.concatenate([np.arange(-34.0, -9.0, 4.0), np.arange(10.0, 35.0, 4.0)])  # beside the tone
LEAST_S = 0.2


def tone_against_pilot(sound, tone_hz, pilot_hz, pace=1.0, side=0):
    """How strong a tone is, relative to the pilot that sounds with it.

    Parameters
    ----------
    sound : Sound
        The two tones, from beginning to end; at least 0.2 s.
    tone_hz, pilot_hz : float
        Nominal frequencies; no multiples of each other, at least 150 Hz apart.
    pace : float
        About how fast the recording runs: the pilot is looked for within ±5 % of it.
    side : int

    Returns
    -------
    level_db : float
        Of the tone relative to the pilot.
    floor_db : float
        What noise alone reads there. A level less than some 6 dB above it is no level.

    Raises
    ------
    ReadingError
        The sound is too short, or its rate too low for the tone.
    """
    if sound.seconds < LEAST_S or tone_hz * pace > 0.48 * sound.rate:
        least_hz = tone_hz * pace / 0.48
        raise ReadingError(
            f"a tone of {tone_hz:g} Hz is read from {LEAST_S:g} s or more at a rate above {least_hz:.0f} Hz, "
            f"got {sound.seconds:.3f} s at {sound.rate} Hz: leave it out"
        )
    wave = (sound.samples if sound.channels == 1 else sound.samples[:, side]).astype(np.float64)
    turns, pilots, first = _followed(wave, sound.rate, pilot_hz * pace)
    wave = wave[first : first + len(turns)]
    window = np.hanning(len(wave) + 2)[1:-1]
    window /= window.sum()
    pilot = 2 * float(np.abs(pilots) @ window)
    turned = wave * np.exp(-2j * np.pi * turns * (tone_hz / pilot_hz)) * window
    beside = np.exp(-2j * np.pi * np.outer(FLOOR_HZ, np.arange(len(wave)) / sound.rate)) @ turned
    floor = np.sqrt(np.mean(np.abs(beside) ** 2))
    return _db(2 * np.abs(turned.sum()) / pilot), _db(2 * floor / pilot)


def _followed(wave, rate, expected_hz):
    """The pilot's phase in turns, its half amplitude (complex), and which sample they begin at."""
    from scipy.signal import fftconvolve, firwin

    hz = _strongest_near(wave, rate, expected_hz)
    count = round(2.0 * rate / HALF_BAND_HZ) | 1
    taps = firwin(min(count, len(wave) // 3 | 1), HALF_BAND_HZ, fs=rate)
    carrier = hz / rate * np.arange(len(wave))
    base = fftconvolve(wave * np.exp(-2j * np.pi * carrier), taps, mode="valid")
    first = (len(wave) - len(base)) // 2
    turns = carrier[first : first + len(base)] + np.unwrap(np.angle(base)) / (2 * np.pi)
    return turns, base, first


def _strongest_near(wave, rate, expected_hz):
    power = np.abs(np.fft.rfft(wave * np.hanning(len(wave)), 2 * len(wave)))
    hz = np.arange(len(power)) * rate / (2 * len(wave))
    near = np.flatnonzero(np.abs(hz / expected_hz - 1) < 0.05)
    return float(hz[near[np.argmax(power[near])]])


def _db(ratio):
    return 20 * np.log10(ratio) if ratio > 0 else -np.inf
