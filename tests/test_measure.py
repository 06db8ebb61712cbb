"""The meters by themselves, on signals made without the simulated recorder."""

import math

import numpy as np
import pytest

from kit.errors import ReadingError
from kit.meters import (
    AES6_POINTS,
    band_level_dbfs,
    correlation,
    drift,
    hum_dbfs,
    level_dbfs,
    mean_speed,
    noise_dbfs,
    power_density,
    response_from_original,
    response_from_steps,
    skew_us,
    speed_trace,
    step_levels_dbfs,
    sweep,
    two_sigma,
    weighted,
    weighting_db,
    wow_and_flutter,
)
from kit.sound import Sound

RATE = 44100


def rng(seed=0):
    return np.random.Generator(np.random.PCG64(seed))


def swinging_tone(tone_hz=3150.0, offset=0.0, swings=(), seconds=20.0, rate=RATE, level=0.5):
    """A tone off speed whose error swings by sines of (peak, rate)."""
    t = np.arange(round(seconds * rate)) / rate
    way = t * (1 + offset) + sum(p / (2 * np.pi * hz) * (1 - np.cos(2 * np.pi * hz * t)) for p, hz in swings)
    return Sound(level * np.sin(2 * np.pi * tone_hz * way), rate)


def test_the_printed_points_of_the_weighting_are_kept_beside_the_filter():
    assert len(AES6_POINTS) == 17
    errors = [abs(float(weighting_db(hz)) - db) for hz, db, _, _ in AES6_POINTS]
    assert max(errors) < 0.45


@pytest.mark.parametrize("rate_hz", [1000, 2100, 4410])
@pytest.mark.parametrize("hz", [0.3, 1, 4, 20, 100])
def test_the_weighting_filter_gives_a_swing_the_weight_it_says(rate_hz, hz):
    swing = np.sin(2 * np.pi * hz * np.arange(round(40 * rate_hz)) / rate_hz)
    out = weighted(swing, rate_hz)[len(swing) // 2:]
    assert 20 * math.log10(np.std(out) / np.std(swing)) == pytest.approx(float(weighting_db(hz)), abs=0.35)


def test_the_weighting_is_settled_from_the_first_value_on():
    swing = np.sin(2 * np.pi * 4 * np.arange(20000) / 2000)
    out = weighted(swing, 2000)
    assert two_sigma(out[:4000]) == pytest.approx(two_sigma(out[10000:]), rel=0.05)


@pytest.mark.parametrize("rate", [11025, 22050, 44100, 48000, 96000])
def test_speed_is_read_at_any_usual_sample_rate(rate):
    trace = speed_trace(swinging_tone(offset=0.012, swings=[(0.002, 4)], rate=rate))
    assert trace.mean_percent == pytest.approx(1.2, abs=0.001)
    assert trace.wow_and_flutter_percent == pytest.approx(0.2 * 0.99692 / 1.012, rel=0.01)


@pytest.mark.parametrize("tone_hz", [1000, 3000, 3150, 5000])
@pytest.mark.parametrize("offset", [-0.2, 0.0, 0.15])
def test_speed_is_read_from_any_steady_tone(tone_hz, offset):
    sound = swinging_tone(tone_hz, offset, [(0.001, 4)])
    assert mean_speed(sound, tone_hz) == pytest.approx(100 * offset, abs=0.002)
    assert wow_and_flutter(sound, tone_hz) == pytest.approx(0.0997 / (1 + offset), abs=0.001)


def test_a_steady_tone_reads_next_to_nothing():
    trace = speed_trace(swinging_tone())
    assert trace.wow_and_flutter_percent < 2e-4
    assert trace.drift_percent < 1e-4
    assert abs(trace.mean_percent) < 1e-4


@pytest.mark.parametrize(("noise_db", "most_percent"), [(-50, 0.02), (-40, 0.05)])
def test_hiss_under_the_tone_adds_little_to_the_reading(noise_db, most_percent):
    sound = swinging_tone(swings=[(0.001, 4)])
    hissing = Sound(sound.samples + 10 ** (noise_db / 20) * rng().standard_normal(sound.frames), RATE)
    assert wow_and_flutter(hissing) == pytest.approx(0.0997, abs=most_percent)


def test_drift_is_half_the_distance_from_the_slowest_to_the_fastest_five_seconds():
    sound = swinging_tone(swings=[(0.005, 1 / 60)], seconds=90)
    assert drift(sound) == pytest.approx(0.5 * np.sinc(5 / 60), abs=0.002)


def test_times_of_a_trace_are_those_of_the_recording():
    """The speed changes at once after 6 s: the trace is half-way there at 6 s."""
    t = np.arange(12 * RATE) / RATE
    way = np.where(t < 6, t, 6 + (t - 6) * 1.01)
    trace = speed_trace(Sound(0.5 * np.sin(2 * np.pi * 3150 * way), RATE))
    half_way = trace.time_s[np.argmax(trace.deviation > 0.005)]
    assert half_way == pytest.approx(6, abs=1 / trace.rate_hz)


def test_speed_may_be_read_from_either_side_and_from_a_file(tmp_path):
    sides = np.stack([swinging_tone(offset=0.01).samples, swinging_tone(offset=-0.02).samples], axis=1)
    path = Sound(sides, RATE).write(tmp_path / "tone.wav")
    recording = Sound.read(path)
    assert speed_trace(recording, side=0).mean_percent == pytest.approx(1, abs=0.001)
    assert speed_trace(recording, side=1).mean_percent == pytest.approx(-2, abs=0.001)


def test_too_short_a_tone_is_refused_with_its_length():
    with pytest.raises(ReadingError, match=r"at least 5 s of tone, got 3\.00 s: record it for longer"):
        wow_and_flutter(swinging_tone(seconds=3))


@pytest.mark.parametrize("sound", [Sound(np.zeros(6 * RATE), RATE), swinging_tone(800, seconds=6),
                                   Sound(0.1 * rng().standard_normal(6 * RATE), RATE)],
                         ids=["silence", "another tone", "noise"])
def test_a_recording_without_the_tone_is_refused(sound):
    with pytest.raises(ReadingError, match="a tone near 3150 Hz must be in the recording, got none"):
        speed_trace(sound)


def test_levels_of_stretches_are_read():
    sound = Sound(np.concatenate([np.zeros(RATE), np.full(RATE, 0.5)]), RATE)
    assert level_dbfs(sound, 0, 1) == -math.inf
    assert level_dbfs(sound, 1) == pytest.approx(-6.02, abs=0.01)


def test_the_density_of_power_adds_up_to_the_mean_square():
    t = np.arange(3 * RATE) / RATE
    samples = 0.1 * rng().standard_normal(len(t)) + 0.3 * np.sin(2 * np.pi * 777 * t)
    hz, density = power_density(Sound(samples, RATE))
    assert density.sum() * hz[1] == pytest.approx(np.mean(samples ** 2), rel=0.01)
    assert hz[np.argmax(density)] == pytest.approx(777, abs=5)


@pytest.mark.parametrize("more", [-1, 0, 1, 5000])
def test_the_density_is_read_whatever_length_the_last_piece_has(more):
    """Pieces are eleven hops of a quarter second at this segment length; the last one may be shorter than a hop."""
    samples = 0.1 * rng().standard_normal(2 * 11 * 11025 + 11025 + more)
    hz, density = power_density(Sound(samples, RATE), segment_s=1.0)
    assert density.sum() * hz[1] == pytest.approx(np.mean(samples ** 2), rel=0.01)


def test_the_level_of_a_band_is_that_of_what_lies_in_it():
    t = np.arange(2 * RATE) / RATE
    two = Sound(0.5 * np.sin(2 * np.pi * 500 * t) + 0.05 * np.sin(2 * np.pi * 5000 * t), RATE)
    assert band_level_dbfs(two, 300, 800) == pytest.approx(-9.03, abs=0.02)
    assert band_level_dbfs(two, 4000, 6000) == pytest.approx(-29.03, abs=0.02)


@pytest.mark.parametrize("rate", [16000, 44100, 96000])
def test_noise_reads_the_same_at_any_sample_rate(rate):
    """White noise of one density: its rms differs, the reading does not."""
    sigma = 0.01 * math.sqrt(rate / 2 / 20_000)
    assert noise_dbfs(Sound(sigma * rng().standard_normal(6 * rate), rate)) == pytest.approx(-40, abs=0.1)
    assert noise_dbfs(Sound(np.zeros(rate), rate)) == -math.inf


def test_hum_is_told_from_hiss():
    t = np.arange(8 * RATE) / RATE
    hum = 0.01 * np.sin(2 * np.pi * 50 * t) + 0.005 * np.sin(2 * np.pi * 150 * t)
    hiss = 0.003 * rng().standard_normal(len(t))
    expected = 10 * math.log10(0.5 * (0.01 ** 2 + 0.005 ** 2))
    assert hum_dbfs(Sound(hum + hiss, RATE)) == pytest.approx(expected, abs=0.2)
    assert hum_dbfs(Sound(hiss, RATE)) < expected - 15


def test_a_spectrum_of_too_short_a_sound_is_refused():
    with pytest.raises(ReadingError, match=r"a spectrum is read from 0.2 s or more, got 0.100 s"):
        noise_dbfs(Sound(np.zeros(4410), RATE))


def test_correlation_tells_alike_opposed_and_unrelated_sides():
    left, right = 0.1 * rng(1).standard_normal((2, RATE))
    for other, expected in ((0.3 * left, 1), (-left, -1), (right, 0), (0 * left, 0)):
        assert correlation(Sound(np.stack([left, other], axis=1), RATE)) == pytest.approx(expected, abs=0.02)
    with pytest.raises(ReadingError, match="two sides are compared, got 1"):
        correlation(Sound(left, RATE))


@pytest.mark.parametrize("delay", [-40, -3, 0, 1, 17])
@pytest.mark.parametrize("sign", [1, -1])
def test_skew_is_read_from_whole_samples_of_delay_whatever_the_polarity(delay, sign):
    wave = 0.1 * rng(2).standard_normal(RATE + 100)
    both = np.stack([wave[50:50 + RATE], sign * wave[50 - delay:50 - delay + RATE]], axis=1)
    assert skew_us(Sound(both, RATE)) == pytest.approx(1e6 * delay / RATE, abs=0.3)


def test_steps_are_read_each_at_its_level():
    t = np.arange(RATE) / RATE
    peaks = {500: 0.5, 1000: 0.25, 4000: 0.125}
    sound = Sound(np.concatenate([peak * np.sin(2 * np.pi * hz * t) for hz, peak in peaks.items()]), RATE)
    assert step_levels_dbfs(sound, list(peaks), 1) == pytest.approx([-9.03, -15.05, -21.07], abs=0.01)
    against_1000 = response_from_steps(sound, list(peaks), 1, reference_hz=1000)
    assert against_1000 == pytest.approx([6.02, 0, -6.02], abs=0.01)
    assert response_from_steps(sound, list(peaks), 1) == pytest.approx([0, -6.02, -12.04], abs=0.01)
    assert step_levels_dbfs(Sound(np.zeros(RATE), RATE), [1000], 1)[0] == -math.inf
    with pytest.raises(ReadingError, match=r"4 steps of 1 s must fit after 0 s, got a recording of 3\.00 s"):
        step_levels_dbfs(sound, [1, 2, 3, 4], 1)


def test_the_response_of_a_known_filter_is_read_from_a_sweep_at_any_delay():
    """A first-order low-pass made by scipy."""
    from scipy.signal import lfilter

    original = sweep(15)
    pole = math.exp(-2 * math.pi * 2000 / RATE)
    filtered = lfilter([1 - pole], [1, -pole], np.concatenate([np.zeros(5000), original.samples]))
    hz, read_db = response_from_original(Sound(filtered, RATE), original)
    expected = 20 * np.log10(np.abs((1 - pole) / (1 - pole * np.exp(-2j * np.pi * hz / RATE))))
    inside = (hz > 60) & (hz < 14_000)
    assert read_db[inside] == pytest.approx(expected[inside], abs=0.2)


def test_an_original_without_sound_gives_no_response():
    with pytest.raises(ReadingError, match="the original must have power in some band, got none"):
        response_from_original(sweep(2), Sound(np.zeros(2 * RATE), RATE))


def test_a_sweep_starts_and_ends_softly_and_covers_its_band():
    sound = sweep(5, low_hz=100, high_hz=8000)
    assert abs(sound.samples[0]) < 1e-3 and abs(sound.samples[-1]) < 1e-3
    assert sound.peak == pytest.approx(0.25, abs=1e-3)
    hz, density = power_density(sound)
    inside = (hz > 90) & (hz < 8500)
    assert density[inside].sum() > 0.99 * density.sum()
