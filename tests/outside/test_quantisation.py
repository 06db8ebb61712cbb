"""Rounding to N bits leaves noise of 6.02·N + 1.76 dB below a full-scale sine.

Source: W. R. Bennett, "Spectra of Quantized Signals", Bell System Technical Journal 27 (1948); the figure follows
from an error spread evenly over one step (computed). A sine of amplitude A lies 20·lg A dB nearer to the noise.
What a file holds is read back with soundfile alone.
"""

import numpy as np
import pytest
import soundfile

from kit.sound import Sound

RATE = 48000
SECONDS = 4
HZ = 997.0 / 1.0001  # shares no short pattern with the rate, so that every part of a step is met


def _sine(amplitude):
    return amplitude * np.sin(2 * np.pi * HZ * np.arange(RATE * SECONDS) / RATE)


def _noise_below_signal_db(folder, bits, amplitude, ending=".wav"):
    """Power of the sine over that of all that writing changed in it, in dB."""
    wanted = _sine(amplitude)
    path = Sound(wanted, RATE).write(folder / f"sine{ending}", bits=bits)
    held, rate = soundfile.read(path, dtype="float64")
    assert rate == RATE
    assert len(held) == len(wanted)
    return 10 * np.log10(np.mean(wanted**2) / np.mean((held - wanted) ** 2))


@pytest.mark.parametrize("ending", [".wav", ".flac"])
@pytest.mark.parametrize("bits", [8, 16])
def test_a_full_scale_sine_lies_602_n_plus_176_db_above_the_noise(tmp_path, bits, ending):
    amplitude = 1 - 2.0 ** (1 - bits)  # the largest that the file can hold on both sides
    measured = _noise_below_signal_db(tmp_path, bits, amplitude, ending)
    assert measured == pytest.approx(6.02 * bits + 1.76 + 20 * np.log10(amplitude), abs=0.3)


@pytest.mark.parametrize("ending", [".wav", ".flac"])
def test_24_bits_are_all_there_for_a_sine_that_float32_can_hold(tmp_path, ending):
    """A `Sound` holds float32, which has 24 bits of its own: 1/64 of full scale leaves six of them to spare."""
    measured = _noise_below_signal_db(tmp_path, 24, 1 / 64, ending)
    assert measured == pytest.approx(6.02 * 24 + 1.76 + 20 * np.log10(1 / 64), abs=0.3)


def test_at_full_scale_24_bits_are_limited_by_float32(tmp_path):
    """Above 1/2 float32 has steps of half a 24-bit step: rounding twice leaves 1 to 3 dB more noise."""
    measured = _noise_below_signal_db(tmp_path, 24, 0.999)
    assert 1.0 < 6.02 * 24 + 1.76 - measured < 3.0


@pytest.mark.parametrize(("bits", "level_db"), [(16, -6.02), (16, -20.0), (8, -6.02)])
def test_every_db_of_level_given_away_is_a_db_nearer_to_the_noise(tmp_path, bits, level_db):
    measured = _noise_below_signal_db(tmp_path, bits, 10 ** (level_db / 20))
    assert measured == pytest.approx(6.02 * bits + 1.76 + level_db, abs=0.3)
