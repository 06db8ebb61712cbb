"""A tone read against a pilot, on signals made without the simulated recorder."""

import numpy as np
import pytest

from kit.errors import ReadingError
from kit.meters import tone_against_pilot
from kit.sound import Sound

RATE = 44100


def both_tones(tone_hz, tone=0.03, pilot=0.1, swings=(), seconds=0.8, gain=1.0, noise=0.0):
    t = np.arange(round(seconds * RATE)) / RATE
    way = t + sum(p / (2 * np.pi * hz) * (1 - np.cos(2 * np.pi * hz * t)) for p, hz in swings)
    wave = pilot * np.sin(2 * np.pi * 1000 * way) + tone * np.sin(2 * np.pi * tone_hz * way + 0.7)
    return Sound(gain * wave + noise * np.random.default_rng(3).standard_normal(len(t)), RATE)


@pytest.mark.parametrize("tone_hz", [63, 430, 2430, 9840, 16340])
@pytest.mark.parametrize("swings", [(), [(0.01, 0.8), (0.005, 12)]], ids=["steady", "swinging"])
def test_the_level_is_that_of_the_tone_over_the_pilot_whatever_the_speed_does(tone_hz, swings):
    level, floor = tone_against_pilot(both_tones(tone_hz, swings=swings), tone_hz, 1000)
    assert level == pytest.approx(20 * np.log10(0.3), abs=0.1)
    assert floor < level - 20


def test_a_gain_that_changes_drops_out():
    time_s = np.arange(round(0.8 * RATE)) / RATE
    level, _ = tone_against_pilot(both_tones(2430, gain=1 + time_s), 2430, 1000)
    assert level == pytest.approx(20 * np.log10(0.3), abs=0.1)


def test_a_tone_far_below_the_noise_of_the_whole_band_is_read():
    """The tone lies 26 dB below the pilot and 6 dB below white noise."""
    level, floor = tone_against_pilot(both_tones(2430, tone=0.005, noise=0.007), 2430, 1000)
    assert level == pytest.approx(-26.02, abs=0.5)
    assert floor < level - 15


def test_without_a_tone_the_level_is_no_more_than_the_floor():
    level, floor = tone_against_pilot(both_tones(2430, tone=0, noise=0.007), 2430, 1000)
    assert level < floor + 8


def test_off_speed_the_pilot_is_found_by_its_pace():
    fast = both_tones(2430 * 1.12, swings=())
    t = np.arange(fast.frames) / RATE
    wave = 0.1 * np.sin(2 * np.pi * 1120 * t) + 0.03 * np.sin(2 * np.pi * 2430 * 1.12 * t)
    level, _ = tone_against_pilot(Sound(wave, RATE), 2430, 1000, pace=1.12)
    assert level == pytest.approx(20 * np.log10(0.3), abs=0.1)


def test_too_short_a_sound_or_too_high_a_tone_is_refused():
    with pytest.raises(ReadingError, match=r"read from 0\.2 s or more .* got 0\.100 s at 44100 Hz"):
        tone_against_pilot(both_tones(430, seconds=0.1), 430, 1000)
    with pytest.raises(ReadingError, match="a rate above 45833 Hz"):
        tone_against_pilot(both_tones(430), 22000, 1000)
