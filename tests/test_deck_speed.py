"""Speed: the warp of time is clean and goes where it should, at a steady, a swinging and a starting speed."""

import numpy as np
import pytest

from kit.deck import Deck, transport
from kit.deck.transport import SpeedLaw, speed_in_recording, speed_in_replay
from kit.sound import Sound

RATE = 44100
SWINGING = SpeedLaw(0.01, ((0.004, 1.3, 0.2), (0.002, 40.0, 0.7)))


def tone(frequency_hz, frames, rate=RATE):
    return np.sin(2 * np.pi * frequency_hz * np.arange(frames) / rate).astype(np.float32)


def spectrum_db(samples, rate=RATE, frames=1 << 15):
    """Frequencies, and the level of each relative to the strongest; leaks less than −160 dB."""
    start = (len(samples) - frames) // 2
    power = np.abs(np.fft.rfft(samples[start:start + frames] * np.kaiser(frames, 25))) ** 2
    return np.fft.rfftfreq(frames, 1 / rate), 10 * np.log10(np.maximum(power / power.max(), 1e-20))


@pytest.mark.parametrize("percent", [-50, -7.3, -0.1, 0.37, 3, 20, 80])
@pytest.mark.parametrize("hz", [100, 1000, 10_000])
def test_a_tone_at_speed_s_comes_out_at_s_times_its_frequency(percent, hz):
    played = speed_in_replay(tone(hz, 1 << 18), RATE, SpeedLaw(percent / 100))
    expected = hz * (1 + percent / 100)
    n = np.arange(len(played))
    # phase against a tone of the expected frequency, early and late: it must not run away
    base = played * np.exp(-2j * np.pi * expected * n / RATE)
    early, late = (np.sum(base[a:a + 8192] * np.hanning(8192)) for a in (8192, len(n) - 16384))
    turns = np.angle(late / early) / (2 * np.pi)
    assert abs(turns / (expected * (len(n) - 24576) / RATE)) < 1e-6
    assert abs(early) == pytest.approx(0.5 * np.hanning(8192).sum(), rel=0.01)


@pytest.mark.parametrize("percent", [-30, -2, 0.5, 4, 25, 60])
@pytest.mark.parametrize("rate", [44100, 48000])
def test_images_and_aliases_of_a_10_khz_tone_lie_below_minus_100_db(percent, rate):
    """The goal is −60 dB."""
    played = speed_in_replay(tone(10_000, 1 << 18, rate), rate, SpeedLaw(percent / 100))
    hz, level_db = spectrum_db(played, rate)
    others = np.abs(hz - 10_000 * (1 + percent / 100)) > 200
    assert level_db[others].max() < -100


@pytest.mark.parametrize("percent", [30, 100, 150])
def test_what_a_fast_replay_would_fold_back_is_filtered_out(percent):
    """A tone that would land above half the sample rate is gone, not folded."""
    hz = 1.15 * RATE / 2 / (1 + percent / 100)
    played = speed_in_replay(tone(hz, 1 << 17), RATE, SpeedLaw(percent / 100))
    middle = played[len(played) // 4:-len(played) // 4]
    assert np.abs(middle).max() < 1e-3


@pytest.mark.parametrize("hz", [50, 1000, 5000, 15_000, 19_000])
def test_the_warp_lets_the_whole_band_through_at_its_level(hz):
    played = speed_in_replay(tone(hz, 1 << 16), RATE, SpeedLaw(0.002))
    assert np.std(played[5000:-5000].astype(float)) == pytest.approx(np.sqrt(0.5), rel=2e-3)


def test_replay_follows_the_integral_of_the_speed():
    """Against the closed form of the integral, for wow and flutter together."""
    played = speed_in_replay(tone(3000, 1 << 18), RATE, SWINGING)
    t = np.arange(len(played)) / RATE
    way = t + sum(peak / (2 * np.pi * hz) * (np.cos(2 * np.pi * start) - np.cos(2 * np.pi * (hz * t + start)))
                  for peak, hz, start in SWINGING.swings)
    expected = np.sin(2 * np.pi * 3000 * 1.01 * way)
    assert played[300:-300] == pytest.approx(expected[300:-300], abs=1e-3)


def test_recording_undoes_what_the_same_law_does_in_replay():
    sound = tone(3000, 1 << 18)
    back = speed_in_replay(speed_in_recording(sound, RATE, SWINGING), RATE, SWINGING)
    assert len(back) == pytest.approx(len(sound), abs=1)
    shared = min(len(back), len(sound)) - 300
    assert back[300:shared] == pytest.approx(sound[300:shared], abs=2e-3)


@pytest.mark.parametrize("frames", [1, 2, 31, 32, 33, 1000, 32768, 40_001])
@pytest.mark.parametrize("percent", [-20, 0.1, 30])
def test_the_length_is_what_the_speed_says(frames, percent):
    samples = np.ones(frames, np.float32)
    pace = 1 + percent / 100
    assert len(speed_in_replay(samples, RATE, SpeedLaw(percent / 100))) == max(1, round(frames / pace))
    assert len(speed_in_recording(samples, RATE, SpeedLaw(percent / 100))) == max(1, round(frames * pace))


def test_a_motor_that_starts_slowly_glides_up_in_replay_and_down_in_what_it_recorded():
    law = SpeedLaw(motor_start_s=0.2)
    samples = tone(2000, 4 * RATE)
    for warp, slower_first in ((speed_in_replay, True), (speed_in_recording, False)):
        played = warp(samples, RATE, law)
        crossings = np.flatnonzero(np.diff(np.sign(played[100:])) > 0)
        first, last = 1 / np.diff(crossings[:20]).mean(), 1 / np.diff(crossings[-200:]).mean()
        assert last * RATE == pytest.approx(2000, rel=0.01)
        assert (first < 0.7 * last) if slower_first else (first > 1.3 * last)
    lag_s = 0.9 * 0.2  # the integral of what is missing while it starts: 90 % of the speed, dying away
    assert len(speed_in_replay(samples, RATE, law)) / RATE == pytest.approx(4 + lag_s, abs=0.001)


def test_sides_of_a_stereo_sound_stay_together():
    both = np.stack([tone(1000, RATE), 0.5 * tone(1000, RATE)], axis=1)
    played = speed_in_replay(both, RATE, SWINGING)
    assert played[:, 1] == pytest.approx(0.5 * played[:, 0], abs=1e-6)


def test_pieces_meet_without_a_seam():
    """A long wave is warped in pieces of 0.7 s: a slow ramp shows no step at their borders."""
    ramp = np.linspace(0, 1, 5 * RATE).astype(np.float32)
    for law in (SWINGING, SpeedLaw(0.3), SpeedLaw(-0.3)):
        steps = np.diff(speed_in_replay(ramp, RATE, law).astype(float))[100:-100]
        assert np.abs(steps - (1 + law.offset) / (5 * RATE)).max() < 1e-5


def test_the_phases_of_wow_differ_from_pass_to_pass_and_from_seed_to_seed():
    deck = Deck(record_wow_percent=0.5, replay_wow_percent=0.5)
    sound = Sound(tone(1000, RATE), RATE)
    recorded, replayed = deck.record(sound, seed=1).samples, deck.replay(sound, seed=1).samples
    shared = min(len(recorded), len(replayed)) - 100
    assert np.abs(recorded[:shared] - replayed[:shared]).max() > 0.01
    assert np.abs(deck.record(sound, seed=2).samples[:shared] - recorded[:shared]).max() > 0.01


def test_the_clock_adds_the_speed_up_exactly():
    clock = transport.run(SpeedLaw(swings=((0.01, 100.0, 0.0),)), 2.0)
    expected = clock.time_s + 0.01 / (200 * np.pi) * (1 - np.cos(200 * np.pi * clock.time_s))
    assert np.abs(clock.way_s - expected).max() < 1e-11


def test_a_motor_s_start_takes_treble_only_while_it_presses_it_above_the_band():
    """What was recorded at half speed plays at twice its pitch: from there on 6 kHz, then at 12, are all there."""
    from scipy.signal import hilbert

    law = SpeedLaw(motor_start_s=0.2)  # speed 1 − 0.9 exp(−t/0.2)
    half_s = 0.2 * np.log(0.9 / 0.5)
    passed_s = half_s - 0.9 * 0.2 * (1 - np.exp(-half_s / 0.2))  # tape that has run by then: the speed's integral
    wave = hilbert(speed_in_recording(tone(6000, 3 * RATE), RATE, law).astype(float))[round(passed_s * RATE) : -300]
    hz = np.diff(np.unwrap(np.angle(wave))) * RATE / (2 * np.pi)
    assert hz[:50].mean() == pytest.approx(12_000, rel=0.02)
    assert np.abs(wave) == pytest.approx(1, abs=0.02)
