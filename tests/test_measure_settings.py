"""What you measure is what you set: speed, level and noise of a deck, read back by the meters from what it played.

The meters know nothing of the model. How far a reading may be off stands in the name of a test or beside it.
"""

import numpy as np
import pytest
from played_cases import played, silence, tone

from kit.meters import drift, hum_dbfs, level_dbfs, mean_speed, noise_dbfs, speed_trace, step_levels_dbfs

SINE_DB = 10 * np.log10(0.5)  # a sine's rms below its peak


# -- speed ----------------------------------------------------------------------------------------------


TEST_TONE = tone(3150, 20)


@pytest.mark.parametrize("which", ["record", "replay"])
@pytest.mark.parametrize("percent", [-3.0, -0.4, 1.0, 8.0])
def test_the_mean_speed_read_is_the_speed_set_within_a_thousandth_of_a_percent(which, percent):
    heard = percent if which == "replay" else 100 / (1 + percent / 100) - 100
    result = played({f"{which}_speed_percent": percent}, TEST_TONE)
    assert mean_speed(result) == pytest.approx(heard, abs=0.001)


@pytest.mark.parametrize("which", ["record", "replay"])
@pytest.mark.parametrize(("kind", "percent", "rate_hz", "weight_db"), [
    ("wow", 0.1, 4.0, 0.0), ("wow", 0.3, 0.8, -6.0), ("flutter", 0.1, 20.0, -5.9),
    ("flutter", 0.2, 10.0, -2.1)])
def test_wow_and_flutter_read_are_those_set_within_two_percent(which, kind, percent, rate_hz, weight_db):
    settings = {f"{which}_{kind}_percent": percent, f"{which}_{kind}_hz": rate_hz}
    trace = speed_trace(played(settings, TEST_TONE, seed=3))
    expected = 0.99692 * percent * 10 ** (weight_db / 20)
    assert trace.wow_and_flutter_percent == pytest.approx(expected, rel=0.02)
    assert trace.unweighted_percent == pytest.approx(0.99692 * percent, rel=0.01)


@pytest.mark.parametrize("which", ["record", "replay"])
def test_the_rate_of_the_wow_is_the_one_set(which):
    trace = speed_trace(played({f"{which}_wow_percent": 0.2, f"{which}_wow_hz": 2.5}, TEST_TONE))
    swing = trace.deviation - trace.deviation.mean()
    spectrum = np.abs(np.fft.rfft(swing * np.hanning(len(swing))))
    assert np.argmax(spectrum) * trace.rate_hz / len(trace.deviation) == pytest.approx(2.5, abs=0.05)


@pytest.mark.parametrize("which", ["record", "replay"])
def test_the_drift_read_is_the_drift_set_less_what_five_seconds_average_out(which):
    """Averaged over 5 s, a swing of 40 s loses sinc(5/40), or 2.6 %."""
    settings = {f"{which}_drift_percent": 1.0, f"{which}_drift_period_s": 40}
    assert drift(played(settings, tone(3150, 80))) == pytest.approx(np.sinc(5 / 40), abs=0.01)


@pytest.mark.parametrize("which", ["record", "replay"])
def test_a_motor_started_reaches_63_percent_of_its_speed_in_its_time(which):
    """From a tenth of its speed; the meter follows the glide of a tone from 0.15 s on."""
    sound = played({f"{which}_motor_start_s": 0.4}, tone(1000, 8))
    trace = speed_trace(sound, tone_hz=1000)
    late = trace.deviation[(trace.time_s > 1.2) & (trace.time_s < 2.4)]
    speed = 1 + late if which == "replay" else 1 / (1 + late)
    missing = np.log(1 - speed)
    slope = np.polyfit(np.arange(len(late)) / trace.rate_hz, missing, 1)[0]
    # on the tape of a recording, time is the tape's own, which runs behind while the motor starts
    assert -1 / slope == pytest.approx(0.4, rel=0.03)


# -- level and noise ------------------------------------------------------------------------------------


LEVELS = {
    "source_level_db": ({"source_level_db": -7}, tone(1000, 2), -6.02 + SINE_DB - 7, 0.01),
    "replay_gain_db": ({"replay_gain_db": 4}, tone(1000, 2), -6.02 + SINE_DB + 4, 0.01),
    "record_level_control_dbfs": (
        {"record_level_control_dbfs": -20, "record_release_s": 0.2}, tone(1000, 4), -20 + SINE_DB, 0.3),
    "replay_level_control_dbfs": (
        {"replay_level_control_dbfs": -20, "replay_release_s": 0.2}, tone(1000, 4), -20 + SINE_DB, 0.3),
    "record_level_boost_db": (
        {"record_level_control_dbfs": 0, "record_level_boost_db": 15}, tone(1000, 4, 0.01), -28.01, 0.1),
    "replay_level_boost_db": (
        {"replay_level_control_dbfs": 0, "replay_level_boost_db": 15}, tone(1000, 4, 0.01), -28.01, 0.1),
}


@pytest.mark.parametrize("name", LEVELS)
def test_the_level_read_is_the_one_set(name):
    settings, sound, expected, tolerance = LEVELS[name]
    result = played(settings, sound)
    assert level_dbfs(result, result.seconds / 2) == pytest.approx(expected, abs=tolerance)


def test_the_level_of_an_old_recording_is_the_one_set():
    assert level_dbfs(played({"old_recording_dbfs": -35}, silence(4))) == pytest.approx(-35, abs=0.01)


@pytest.mark.parametrize("name", ["hiss_dbfs", "room_noise_dbfs"])
@pytest.mark.parametrize("level", [-60, -35])
def test_the_noise_read_is_the_noise_set_within_a_tenth_of_a_decibel(name, level):
    assert noise_dbfs(played({name: level}, silence(8))) == pytest.approx(level, abs=0.1)


@pytest.mark.parametrize("hum_hz", [50, 60])
def test_the_hum_read_is_the_hum_set_even_under_hiss(hum_hz):
    result = played({"hum_dbfs": -50, "hum_hz": hum_hz, "hiss_dbfs": -50}, silence(10))
    assert hum_dbfs(result, hum_hz) == pytest.approx(-50, abs=0.2)
    assert noise_dbfs(result) == pytest.approx(-50, abs=0.1)
    assert hum_dbfs(result, 73) < -60


@pytest.mark.parametrize("name", ["input", "output"])
def test_the_peaks_read_are_those_set_for_clipping(name):
    result = played({f"{name}_clip_dbfs": -9, f"{name}_lopsided_percent": 30}, tone(440, 1))
    top = 10 ** (-9 / 20)
    assert (result.samples.max(), result.samples.min()) == pytest.approx((top, -0.7 * top), rel=1e-5)


def test_the_most_that_comes_off_a_saturated_tape_is_the_level_set():
    settings = {"saturation_dbfs": -10, "saturation_corner_hz": 5000, "source_level_db": 60}
    result = played(settings, tone(80, 1))
    assert result.peak_dbfs == pytest.approx(-10, abs=0.05)


@pytest.mark.parametrize("corner_hz", [2000, 6000])
def test_the_corner_above_which_the_tape_holds_less_is_the_one_set(corner_hz):
    """At the corner a hard-driven tone holds 3 dB less than a very low one, within 0.5 dB."""
    settings = {"saturation_dbfs": 0, "saturation_corner_hz": corner_hz, "source_level_db": 60}
    low, high = (step_levels_dbfs(played(settings, tone(hz, 1)), [hz], 1)[0] for hz in (60, corner_hz))
    assert low - high == pytest.approx(3.01, abs=0.5)
