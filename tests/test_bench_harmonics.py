"""The bench of harmonics against theory worked out otherwise."""

import numpy as np
import pytest
from scipy import signal

from kit.bench.harmonics import HARMONICS, HarmonicsState, draw, find, passing, sound
from kit.bench.model import Model

WIDE = {"cutoff_hz": 20000, "tone_hz": 600}


def test_the_fundamental_alone_misses_what_its_share_of_the_power_leaves():
    """8 / π² = 81.06 % of the power is in the fundamental (published; computed): √(1 − 0.8106) = 43.5 %."""
    result = find(HarmonicsState(sines=1, **WIDE))
    assert result.error_percent == pytest.approx(100 * np.sqrt(1 - 0.8106), abs=0.02)
    assert dict(result.figures)["difference from the square"] == "43.5 %"


@pytest.mark.parametrize("state", [HarmonicsState(), HarmonicsState(sines=25, cutoff_hz=2000),
                                   HarmonicsState(sines=9, cutoff_hz=4800, tone_hz=2400)])
def test_the_error_by_parseval_is_that_of_the_samples(state):
    result = find(state)
    of_samples = 100 * np.sqrt(np.mean((result.wave - result.square) ** 2))
    assert result.error_percent == pytest.approx(of_samples, abs=0.05)


def test_many_sines_overshoot_by_the_gibbs_peak():
    """The overshoot of a square wave of ±1 goes to 1.178980 (published; computed)."""
    result = find(HarmonicsState(sines=10, **WIDE))
    assert np.abs(result.wave).max() == pytest.approx(1.179, abs=0.01)


def test_the_filter_is_scipys_butterworth_without_its_delay():
    b, a = signal.butter(4, 2 * np.pi * 2000, analog=True)
    hz = np.geomspace(50, 20000, 40)
    _, gain = signal.freqs(b, a, 2 * np.pi * hz)
    assert passing(hz, 2000) == pytest.approx(np.abs(gain), abs=1e-9)


def test_a_square_wave_of_1200_hz_through_2_khz_is_a_smooth_wave_that_crosses_at_the_same_places():
    """What lesson 2 lets people predict."""
    result = find(HarmonicsState(sines=25, cutoff_hz=2000, tone_hz=1200))
    assert result.passed[1] < 0.05 * result.passed[0]
    assert "smooth" in result.text and "still crosses zero just where" in result.text
    assert "only 1 of them" in result.text


def test_the_cut_off_that_lesson_2_asks_about_is_a_step_of_the_control():
    assert HarmonicsState(cutoff_hz=2000).cutoff_hz == 2000


def test_a_filter_below_the_fundamental_leaves_little_and_says_so():
    result = find(HarmonicsState(cutoff_hz=300, tone_hz=2400))
    assert "more than half of every sine" in result.text and np.abs(result.wave).max() < 0.01


def test_more_sines_are_never_worse_and_the_text_says_what_changed():
    model = Model(HARMONICS)
    errors = [find(HarmonicsState(sines=count, **WIDE)).error_percent for count in range(1, 26)]
    assert np.all(np.diff(errors) < 0)
    model.change(sines=8)
    assert "sines added from 3 to 8" in model.outcome.changed and "25.9 % to 15.9 %" in model.outcome.changed


def test_what_is_heard_has_the_spectrum_that_is_shown():
    state = HarmonicsState(sines=4)
    result = find(state)
    tone = sound(state, result)
    sizes = np.abs(np.fft.rfft(tone.samples)) / (tone.frames / 2)
    assert sizes[result.harmonics_hz.astype(int)] == pytest.approx(0.25 * result.passed, abs=1e-3)


def test_the_picture_says_in_words_what_it_shows():
    text = draw(HarmonicsState(), find(HarmonicsState())).text
    assert "1200 Hz" in text and "3 sines" in text and "20000 Hz" in text
