"""Each stage of the signal path by itself: untouched when neutral, and what it does when it is not."""

import math

import numpy as np
import pytest

from kit.deck import air, codec, heads, leftovers, levelling, noise_reduction, source, tape, transport

RATE = 44100
INF = math.inf


def rng(seed=0):
    return np.random.Generator(np.random.PCG64(seed))


def tone(frequency_hz, seconds=1.0, level=0.5):
    t = np.arange(round(seconds * RATE)) / RATE
    return (level * np.sin(2 * np.pi * frequency_hz * t)).astype(np.float32)


def level_db(samples):
    """rms of the middle, in dB."""
    middle = samples[len(samples) // 4:-len(samples) // 4].astype(float)
    return 10 * math.log10(np.mean(middle ** 2))


def part_db(samples, frequency_hz):
    """Level of one frequency in the middle of a sound, in dB: peak of a sine."""
    middle = samples[len(samples) // 4:][:RATE // 4].astype(float)
    window = np.hanning(len(middle))
    turns = np.exp(-2j * np.pi * frequency_hz * np.arange(len(middle)) / RATE)
    return 20 * math.log10(2 * abs(np.sum(middle * window * turns)) / window.sum())


NEUTRAL = {
    "gain": lambda y: source.gain(y, 0),
    "inversion": lambda y: source.inversion(y, False),
    "wiring": lambda y: source.wiring(y, "straight"),
    "skew": lambda y: source.skew(y, RATE, 0),
    "coupling": lambda y: source.coupling(y, RATE, 0),
    "clipping": lambda y: source.clipping(y, INF),
    "level control": lambda y: levelling.level_control(y, RATE, INF, 20, 0.01, 1),
    "noise reduction in recording": lambda y: noise_reduction.noise_reduction_in_recording(y, RATE, 0),
    "noise reduction in replay": lambda y: noise_reduction.noise_reduction_in_replay(y, RATE, 0),
    "saturation": lambda y: tape.saturation(y, RATE, INF, 4000),
    "speed in recording": lambda y: transport.speed_in_recording(y, RATE, transport.SpeedLaw()),
    "speed in replay": lambda y: transport.speed_in_replay(y, RATE, transport.SpeedLaw()),
    "heads": lambda y: heads.linear_filter(y, RATE, None),
    "dropouts": lambda y: tape.dropouts(y, RATE, 0, 20, 0.02, 0.003, rng()),
    "old recording": lambda y: leftovers.old_recording(y, RATE, -INF, rng()),
    "print-through": lambda y: tape.print_through(y, RATE, -INF, 1.8),
    "hiss": lambda y: tape.hiss(y, RATE, -INF, rng()),
    "hum": lambda y: tape.hum(y, RATE, -INF, 50, rng()),
    "room": lambda y: air.room(y, RATE, 0, 0, -6, -INF, rng(), rng()),
    "noise suppression": lambda y: air.noise_suppression(y, RATE, 0),
    "codec": lambda y: codec.codec_round_trip(y, RATE, "none"),
}


@pytest.mark.parametrize("name", NEUTRAL)
@pytest.mark.parametrize("channels", [1, 2])
def test_a_neutral_stage_returns_the_very_array(name, channels):
    samples = tone(1000, 0.1) if channels == 1 else np.stack([tone(1000, 0.1)] * 2, axis=1)
    assert NEUTRAL[name](samples) is samples


def test_wirings_do_what_they_say():
    left, right = tone(500, 0.1), tone(700, 0.1)
    both = np.stack([left, right], axis=1)
    assert source.wiring(both, "mono") == pytest.approx((left + right) / 2, abs=1e-7)
    assert np.array_equal(source.wiring(both, "left-dead"), np.stack([0 * left, right], axis=1))
    assert np.array_equal(source.wiring(both, "right-dead"), np.stack([left, 0 * right], axis=1))
    assert np.array_equal(source.wiring(both, "opposed"), np.stack([left, -right], axis=1))
    assert np.array_equal(source.wiring(left, "left-dead"), np.stack([0 * left, left], axis=1))
    assert source.wiring(left, "mono") is left


def test_opposed_sides_of_one_sound_cancel_when_they_are_joined():
    opposed = source.wiring(tone(500, 0.1), "opposed")
    assert np.abs(source.wiring(opposed, "mono")).max() == 0


def test_inversion_twice_is_no_inversion():
    samples = tone(500, 0.1)
    assert np.array_equal(source.inversion(source.inversion(samples, True), True), samples)
    assert np.array_equal(source.inversion(samples, True), -samples)


def test_a_skew_shifts_the_right_side_against_the_left_between_samples():
    both = np.stack([tone(3000)] * 2, axis=1)
    skewed = source.skew(both, RATE, 30)
    t = np.arange(RATE) / RATE
    inside = slice(200, -200)
    for side, sign in ((0, 1), (1, -1)):
        expected = 0.5 * np.sin(2 * np.pi * 3000 * (t + sign * 15e-6))
        assert skewed[inside, side] == pytest.approx(expected[inside], abs=2e-4)


def test_clipping_is_lopsided_if_asked():
    clipped = source.clipping(tone(500, 0.1, level=1), -6.0206, lopsided_percent=50)
    assert clipped.max() == pytest.approx(0.5, abs=1e-5)
    assert clipped.min() == pytest.approx(-0.25, abs=1e-5)


def test_lopsided_clipping_behind_a_capacitor_moves_the_crossings():
    """A wave whose halves were equal spends unequal times above and below zero."""
    t = np.arange(RATE) / RATE
    rounded = np.sin(2 * np.pi * 500 * t).astype(np.float32)
    moved = source.coupling(source.clipping(rounded, -6, 60), RATE, 20)[RATE // 2:]
    assert abs(np.mean(rounded > 0) - 0.5) < 0.01
    assert np.mean(moved > 0) < 0.48


def test_saturation_leaves_quiet_sounds_alone_and_never_exceeds_its_level():
    quiet = tone(1000, level=0.01)
    assert np.abs(tape.saturation(quiet, RATE, 0, 4000) - quiet).max() < 1e-5
    assert np.abs(tape.saturation(tone(300, level=30.0), RATE, -3, 4000)).max() <= 10 ** (-3 / 20)


def test_saturation_eats_the_highs_of_a_loud_wave_where_clipping_would_keep_them():
    """Drive a square wave: its ninth harmonic falls against the first. Clipped, it would stay."""
    t = np.arange(RATE) / RATE
    square = np.sign(np.sin(2 * np.pi * 1000.1 * t)).astype(np.float32)

    def highs(y):
        return part_db(y, 9000.9) - part_db(y, 1000.1)

    soft, hard = (tape.saturation(square * np.float32(drive), RATE, 0, 4000) for drive in (0.02, 10.0))
    clipped = source.clipping(square * 10, 0)
    assert highs(soft) == pytest.approx(20 * math.log10(1 / 9), abs=1)
    assert highs(clipped) == pytest.approx(20 * math.log10(1 / 9), abs=1)
    assert highs(hard) < highs(soft) - 5


def test_the_highest_level_of_a_high_tone_lies_below_that_of_a_low_one():
    low, high = (part_db(tape.saturation(tone(hz, level=100.0), RATE, 0, 4000), hz) for hz in (315, 10_000))
    assert low - high == pytest.approx(20 * math.log10(math.hypot(1, 10 / 4)), abs=2)


def test_automatic_level_holds_a_loud_sound_and_lifts_a_quiet_one():
    for level, gained in ((0.9, -6.02), (0.1, -6.02), (0.004, 20 + 20 * math.log10(0.004))):
        held = levelling.level_control(tone(1000, 4, level), RATE, -6.0206, 20, 0.01, 0.2)
        assert 20 * math.log10(np.abs(held[3 * RATE:]).max()) == pytest.approx(gained, abs=0.5)


def test_automatic_level_takes_its_attack_and_release_times():
    step = np.concatenate([tone(1000, 2, 0.05), tone(1000, 2, 0.5), tone(1000, 4, 0.05)])
    gains = levelling.level_control(step, RATE, -6.0206, 40, 0.05, 0.5)
    envelope = np.abs(gains[:len(gains) // 441 * 441]).reshape(-1, 441).max(axis=1)  # every 10 ms
    assert envelope[198] == pytest.approx(0.5, rel=0.05)
    assert envelope[201] > 1.5  # the loud part comes before the control has turned down
    assert envelope[215] == pytest.approx(0.5, rel=0.12)  # three attack times later
    assert envelope[402] == pytest.approx(0.05, rel=0.1)  # and up again, slowly
    assert 0.05 * 2 < envelope[450] < 0.2
    assert envelope[780] == pytest.approx(0.5, rel=0.1)


def test_a_constant_envelope_is_followed_exactly():
    followed = levelling.envelope(np.full(RATE, 0.3, np.float32), RATE, 0.01, 1)
    step_s = levelling.step_samples(RATE) / RATE
    expected = 0.3 * (1 - np.exp(-np.arange(1, len(followed) + 1) * step_s / 0.01))
    assert followed == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("hz", "level", "change_db"), [
    (10_000, 0.001, 10), (10_000, 0.9, 0), (100, 0.001, 0)])
def test_noise_reduction_changes_quiet_treble_only(hz, level, change_db):
    quiet = tone(hz, level=level)
    up = noise_reduction.noise_reduction_in_recording(quiet, RATE, 10)
    down = noise_reduction.noise_reduction_in_replay(quiet, RATE, 10)
    assert level_db(up) - level_db(quiet) == pytest.approx(change_db, abs=0.6)
    assert level_db(down) - level_db(quiet) == pytest.approx(-change_db, abs=0.6)


@pytest.mark.parametrize("level", [0.001, 0.01, 0.03, 0.1, 0.5])
@pytest.mark.parametrize("hz", [300, 2000, 6000])
def test_noise_reduction_used_on_both_sides_changes_little(hz, level):
    there = noise_reduction.noise_reduction_in_recording(tone(hz, level=level), RATE, 10)
    back = noise_reduction.noise_reduction_in_replay(there, RATE, 10)
    assert level_db(back) == pytest.approx(level_db(tone(hz, level=level)), abs=2)


def test_dropouts_are_as_many_as_long_and_as_deep_as_set():
    ones = np.ones(600 * 8000, np.float32)
    dipped = tape.dropouts(ones, 8000, 30, 20, 0.05, 0.01, rng(1))
    inside = dipped < 1
    starts = np.flatnonzero(np.diff(inside.astype(int)) == 1)
    assert len(starts) == pytest.approx(300, abs=4 * math.sqrt(300))
    lengths = np.flatnonzero(np.diff(inside.astype(int)) == -1)[:len(starts)] - starts
    assert np.median(lengths) == pytest.approx(0.05 * 8000, abs=2)
    assert dipped.min() == pytest.approx(0.1, rel=1e-4)
    assert np.median([np.mean(dipped[s:s + 400] < 0.1001) for s in starts]) == pytest.approx(0.6, abs=0.05)


def test_the_sides_have_dropouts_of_their_own():
    dipped = tape.dropouts(np.ones((60 * 8000, 2), np.float32), 8000, 60, 20, 0.05, 0.01, rng(1))
    assert (dipped[:, 0] < 0.5).any() and (dipped[:, 1] < 0.5).any()
    assert not np.array_equal(dipped[:, 0], dipped[:, 1])


def test_print_through_echoes_before_and_after():
    click = np.zeros(5 * RATE, np.float32)
    click[2 * RATE] = 1
    printed = tape.print_through(click, RATE, -40, 1.5)
    assert set(np.flatnonzero(printed)) == {RATE // 2, 2 * RATE, 7 * RATE // 2}
    assert printed[[RATE // 2, 7 * RATE // 2]] == pytest.approx([0.01, 0.01], rel=1e-5)


@pytest.mark.parametrize("rate", [16000, 44100, 96000])
def test_hiss_has_its_level_in_20_khz_whatever_the_sample_rate(rate):
    noise = tape.hiss(np.zeros(5 * rate, np.float32), rate, -40, rng())
    density = np.mean(noise.astype(float) ** 2) / (rate / 2)
    assert 10 * math.log10(density * 20_000) == pytest.approx(-40, abs=0.1)


def test_hum_is_the_mains_and_two_harmonics_and_nothing_else():
    humming = tape.hum(np.zeros(4 * RATE, np.float32), RATE, -30, 60, rng())
    spectrum = np.abs(np.fft.rfft(humming)) ** 2
    hz = np.fft.rfftfreq(len(humming), 1 / RATE)
    lines = np.isin(np.round(hz, 6), [60, 120, 180])
    assert level_db(humming) == pytest.approx(-30, abs=0.05)
    assert spectrum[~lines].sum() < 1e-8 * spectrum.sum()


def test_an_old_recording_lies_in_the_band_of_speech():
    old = leftovers.old_recording(np.zeros(10 * RATE, np.float32), RATE, -40, rng())
    power = np.abs(np.fft.rfft(old)) ** 2
    hz = np.fft.rfftfreq(len(old), 1 / RATE)
    assert 10 * math.log10(np.mean(old.astype(float) ** 2)) == pytest.approx(-40, abs=0.01)
    assert power[(hz > 100) & (hz < 4000)].sum() > 0.9 * power.sum()


def test_a_room_delays_reverberates_and_adds_its_noise():
    click = np.zeros(2 * RATE, np.float32)
    click[1000] = 1
    heard = air.room(click, RATE, 3.43, 0.5, -6, -INF, rng(1), rng(2))
    assert len(heard) == len(click) + 441
    assert np.argmax(np.abs(heard)) == 1441
    tail = heard[1442:].astype(float)
    assert 10 * math.log10(np.sum(tail ** 2)) == pytest.approx(-6, abs=0.01)
    early, late = (10 * math.log10(np.sum(tail[a:a + 4410] ** 2)) for a in (2205, 2205 + 11025))
    assert early - late == pytest.approx(30, abs=1.5)  # 60 dB in half a second
    noise = air.room(np.zeros(RATE, np.float32), RATE, 0, 0, -6, -40, rng(1), rng(2))
    assert level_db(noise) == pytest.approx(-40 + 10 * math.log10(RATE / 40_000), abs=0.1)


def test_noise_suppression_turns_a_steady_tone_down_and_lets_the_changing_through():
    steady = tone(1000, 6)
    quieter = air.noise_suppression(steady, RATE, 20)
    assert len(quieter) == len(steady)
    assert part_db(quieter[:RATE // 2], 1000) - part_db(steady[:RATE // 2], 1000) > -6
    assert level_db(quieter[4 * RATE:]) - level_db(steady[4 * RATE:]) == pytest.approx(-20, abs=0.5)
    hopping = np.concatenate([tone(400 * (1 + k % 7), 0.25) for k in range(24)])
    assert level_db(air.noise_suppression(hopping, RATE, 20)) > level_db(hopping) - 3


def test_the_filter_of_the_heads_delays_nothing():
    click = np.zeros(4001, np.float32)
    click[2000] = 1
    smeared = heads.linear_filter(click, RATE, lambda hz: heads.spacing_loss_db(2, heads.wavelength_um(hz)))
    assert np.argmax(smeared) == 2000
    assert smeared == pytest.approx(smeared[::-1], abs=1e-6)
    assert smeared.sum() == pytest.approx(1, abs=0.02)


def test_no_loss_is_deeper_than_its_floor():
    null_um = heads.wavelength_um(10_000) / heads.EFFECTIVE_GAP
    assert heads.gap_loss_db(null_um, heads.wavelength_um(10_000)) == 120
    assert np.isfinite(heads.thickness_loss_db(5, [1e-6, 1, 1e9])).all()
    assert heads.thickness_loss_db(0, 5.0) == pytest.approx(0, abs=1e-9)


def test_azimuth_delays_one_track_of_a_pair():
    """0.9 mm times the tangent of 15 minutes of arc, at 47.625 mm/s (computed by hand)."""
    assert heads.azimuth_skew_us(15, 0.9, 47.625) == pytest.approx(0.9 * 0.00436335 / 47.625 * 1e6, rel=1e-5)
    assert heads.azimuth_skew_us(-15, 0.9, 47.625) == -heads.azimuth_skew_us(15, 0.9, 47.625)
