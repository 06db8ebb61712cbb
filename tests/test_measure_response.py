"""What you measure is what you set: response, tape, leads and room of a deck, read back by the meters.

The meters know nothing of the model. How far a reading may be off stands in the name of a test or beside it.
"""

import numpy as np
import pytest
from played_cases import RATE, click, noise, played, tone

from kit.deck import Deck, heads
from kit.meters import correlation, level_dbfs, response_from_original, response_from_steps, skew_us, sweep
from kit.sound import Sound

# -- response -------------------------------------------------------------------------------------------


STEPS_HZ = (400, 1200, 2400, 4800, 10_000)
STEPS = Sound(np.concatenate([tone(hz, 1, 0.2).samples for hz in STEPS_HZ]), RATE)
LENGTHS_UM = heads.wavelength_um(np.array(STEPS_HZ, float))

RESPONSES = {
    "record_spacing_um": ({"record_spacing_um": 1.5}, heads.spacing_loss_db(1.5, LENGTHS_UM)),
    "replay_spacing_um": ({"replay_spacing_um": 0.8}, heads.spacing_loss_db(0.8, LENGTHS_UM)),
    "replay_gap_um": ({"replay_gap_um": 2.5}, heads.gap_loss_db(2.5, LENGTHS_UM)),
    "coating_um": ({"coating_um": 5}, heads.thickness_loss_db(5, LENGTHS_UM)),
    "replay_azimuth_arcmin": ({"replay_azimuth_arcmin": 10}, heads.azimuth_loss_db(10, 1.5, LENGTHS_UM)),
    "record_azimuth_arcmin": ({"record_azimuth_arcmin": -10}, heads.azimuth_loss_db(10, 1.5, LENGTHS_UM)),
    "track_mm": ({"replay_azimuth_arcmin": 20, "track_mm": 0.6}, heads.azimuth_loss_db(20, 0.6, LENGTHS_UM)),
    "tape_speed_mm_s": ({"tape_speed_mm_s": 95.25, "replay_spacing_um": 2},
                        heads.spacing_loss_db(2, 2 * LENGTHS_UM)),
    "record_equalisation_us": ({"record_equalisation_us": 70}, -heads.equalisation_db(STEPS_HZ, 70, 120)),
    "replay_equalisation_us": ({"replay_equalisation_us": 70}, -heads.equalisation_db(STEPS_HZ, 120, 70)),
}


@pytest.mark.parametrize("name", RESPONSES)
def test_the_response_read_from_steps_is_that_of_the_loss_set_within_a_twentieth_of_a_decibel(name):
    settings, loss_db = RESPONSES[name]
    read = response_from_steps(played(settings, STEPS), STEPS_HZ, 1, reference_hz=400)
    assert read == pytest.approx(loss_db[0] - loss_db, abs=0.05)
    assert Deck(**settings).response(STEPS_HZ) == pytest.approx(-loss_db, abs=1e-6)


@pytest.mark.parametrize("which", ["record", "replay"])
def test_the_corner_of_the_coupling_read_is_the_one_set(which):
    """At the corner the level is 3.01 dB down, an octave below 6.99 dB."""
    lows_hz = (6000, 100, 50)
    sound = Sound(np.concatenate([tone(hz, 2, 0.2).samples for hz in lows_hz]), RATE)
    read = response_from_steps(played({f"{which}_coupling_hz": 100}, sound), lows_hz, 2)
    assert read == pytest.approx([0, -3.01, -6.99], abs=0.02)


@pytest.mark.parametrize("settings", [
    {"record_spacing_um": 1.0, "replay_gap_um": 2.0, "record_coupling_hz": 60},
    {"replay_spacing_um": 0.5, "replay_coupling_hz": 30, "replay_equalisation_us": 70, "coating_um": 2}])
def test_the_response_read_from_a_sweep_is_that_of_the_deck_within_three_tenths_of_a_decibel(settings):
    original = sweep(20)
    hz, read_db = response_from_original(played(settings, original), original, bands_per_octave=12)
    inside = (hz > 60) & (hz < 15_000)
    assert inside.sum() > 60
    assert read_db[inside] == pytest.approx(Deck(**settings).response(hz[inside]), abs=0.3)


def test_a_response_read_on_a_machine_off_speed_is_still_right():
    settings = {"replay_speed_percent": 3.0, "replay_spacing_um": 1.0}
    sound = Sound(np.concatenate([tone(hz, 2, 0.2).samples for hz in STEPS_HZ]), RATE)
    read = response_from_steps(played(settings, sound), STEPS_HZ, 2 / 1.03, reference_hz=400)
    expected = Deck(**settings).response(STEPS_HZ)
    assert read == pytest.approx(expected - expected[0], abs=0.05)


@pytest.mark.parametrize(("name", "sign"), [("record", 1), ("replay", -1)])
def test_the_treble_of_a_quiet_tone_shows_the_noise_reduction_left_on(name, sign):
    quiet = tone(10_000, 2, 0.001)
    result = played({f"{name}_noise_reduction_db": 8}, quiet)
    assert level_dbfs(result, 1) - level_dbfs(quiet) == pytest.approx(sign * 8, abs=0.3)


# -- tape, leads, air -----------------------------------------------------------------------------------


def test_dropouts_read_from_the_envelope_are_as_set():
    settings = {"dropouts_per_minute": 60, "dropout_depth_db": 14, "dropout_length_s": 0.1,
                "dropout_fade_s": 0.02}
    result = played(settings, tone(3000, 120))
    envelope = np.abs(result.samples.reshape(-1, 147)).max(axis=1) / 0.5  # every 3⅓ ms, ten cycles
    low = np.diff((envelope < 0.9).astype(int))
    starts, stops = np.flatnonzero(low == 1), np.flatnonzero(low == -1)
    assert len(starts) == pytest.approx(120, abs=33)  # three standard deviations of a Poisson number
    assert np.median(stops[:len(starts)] - starts[:len(stops)]) / 300 == pytest.approx(0.1, abs=0.007)
    assert 20 * np.log10(envelope.min()) == pytest.approx(-14, abs=0.1)
    at_floor = np.flatnonzero(envelope < 10 ** (-13.8 / 20))
    falls = [at_floor[at_floor >= start][0] / 300 - start / 300 for start in starts[:-1]]
    assert np.median(falls) == pytest.approx(0.02 * 0.87, abs=0.005)


def test_print_through_read_from_a_click_is_as_set():
    result = played({"print_through_db": -30, "print_through_s": 1.2}, click(5, at_s=2))
    echoes = np.flatnonzero(np.abs(result.samples) > 1e-4) / RATE
    assert echoes == pytest.approx([0.8, 2.0, 3.2], abs=1e-4)
    assert 20 * np.log10(result.samples[round(3.2 * RATE)] / 0.5) == pytest.approx(-30, abs=0.01)


@pytest.mark.parametrize("wanted_us", [-400.0, -12.5, 3.0, 100.0])
def test_the_skew_read_is_the_skew_set_within_half_a_microsecond(wanted_us):
    both = Sound(np.stack([noise(2).samples] * 2, axis=1), RATE)
    assert skew_us(played({"source_skew_us": wanted_us}, both)) == pytest.approx(wanted_us, abs=0.5)


def test_the_skew_of_a_tilted_head_is_pitch_times_tangent_over_speed():
    both = Sound(np.stack([noise(2).samples] * 2, axis=1), RATE)
    settings = {"replay_azimuth_arcmin": 10, "track_mm": 0.6, "track_pitch_mm": 1.2}
    expected = 1.2 * np.tan(np.radians(10 / 60)) / 47.625 * 1e6
    assert skew_us(played(settings, both)) == pytest.approx(expected, abs=0.5)


@pytest.mark.parametrize("name", ["source", "output"])
def test_leads_read_from_the_two_sides_are_as_set(name):
    both = noise(1, channels=2)
    same = Sound(np.stack([noise(1).samples] * 2, axis=1), RATE)
    assert correlation(played({f"{name}_wiring": "opposed"}, same)) == pytest.approx(-1)
    assert correlation(played({f"{name}_wiring": "straight"}, same)) == pytest.approx(1)
    dead = played({f"{name}_wiring": "left-dead"}, both)
    assert correlation(dead) == 0 and not dead.samples[:, 0].any() and dead.samples[:, 1].any()
    assert played({f"{name}_wiring": "mono"}, both).channels == 1
    joined = played({f"{name}_wiring": "mono"}, both)
    assert level_dbfs(joined) == pytest.approx(level_dbfs(both) - 3.01, abs=0.1)
    assert np.array_equal(played({f"{name}_inverted": True}, both).samples, -both.samples)


@pytest.mark.parametrize("which", ["record", "replay"])
def test_attack_and_release_read_from_a_step_are_those_set(which):
    settings = {f"{which}_level_control_dbfs": -20, f"{which}_attack_s": 0.1, f"{which}_release_s": 0.5}
    sound = Sound(np.concatenate([tone(3000, 2, 0.2).samples, tone(3000, 2, 0.8).samples,
                                  tone(3000, 4, 0.2).samples]), RATE)
    result = played(settings, sound).samples
    gain = np.abs(result).reshape(-1, 147).max(axis=1) / np.abs(sound.samples).reshape(-1, 147).max(axis=1)
    followed = 0.1 / gain  # the level the control believes in; three hundred values a second
    rising = (followed[600 + 30] - 0.2) / (0.8 - 0.2)
    assert rising == pytest.approx(1 - np.exp(-1), abs=0.03)  # one attack time after the step
    falling = (followed[1200 + 150] - 0.2) / (0.8 - 0.2)
    assert falling == pytest.approx(np.exp(-1), abs=0.03)  # one release time after the step back


def test_the_room_read_from_a_click_is_as_set():
    settings = {"room_distance_m": 6.86, "room_reverberation_s": 0.8, "room_reverberation_db": -3}
    heard = played(settings, click(3, at_s=0.5)).samples.astype(float)
    arrived = int(np.argmax(np.abs(heard)))
    assert arrived / RATE - 0.5 == pytest.approx(0.02, abs=1e-4)
    tail = heard[arrived + 1:] / 0.5
    assert 10 * np.log10(np.sum(tail ** 2)) == pytest.approx(-3, abs=0.05)
    # Schroeder's backward integral falls by 60 dB in the reverberation time
    decay_db = 10 * np.log10(np.cumsum(tail[::-1] ** 2)[::-1][:round(0.5 * RATE)])
    slope = np.polyfit(np.arange(len(decay_db)) / RATE, decay_db, 1)[0]
    assert -60 / slope == pytest.approx(0.8, rel=0.05)


def test_noise_suppression_read_from_a_long_tone_is_as_set():
    result = played({"noise_suppression_db": 15}, tone(1000, 8))
    assert level_dbfs(result, 6, 7.9) - level_dbfs(tone(1000, 1)) == pytest.approx(-15, abs=0.5)
