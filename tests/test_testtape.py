"""The test tape: what is on it, and that it is found in any recording of it."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from scipy.signal import resample_poly
from testtape_cases import the_tape

import kit
from kit.deck import Deck
from kit.errors import ReadingError, SettingError
from kit.sound import Sound
from kit.testtape import level_tone, plan
from kit.testtape.find import find_programme
from kit.testtape.noise import read_noise
from kit.testtape.speeds import read_speeds
from kit.testtape.wiring import read_wiring

RATE = 44100


def with_samples(samples, rate=RATE):
    return Sound(np.ascontiguousarray(samples, dtype=np.float32), rate)


def noise(frames, level=0.001, seed=0):
    return level * np.random.default_rng(seed).standard_normal((frames, 2))


# -- what is on it ---------------------------------------------------------------------------------------


def test_the_tape_plays_about_two_minutes_in_stereo_and_never_beyond_half_of_full_scale():
    tape = the_tape()
    assert (tape.channels, tape.rate) == (2, RATE)
    assert 110 < tape.seconds < 130
    assert tape.peak == pytest.approx(0.5, abs=1e-6)


def test_sections_follow_one_another_without_touching_and_marks_lie_between_them():
    whole = plan.programme()
    spans = [(s.start_s, s.stop_s) for s in whole.sections]
    spans += [(mark_s, mark_s + plan.MARK.seconds) for mark_s in whole.marks_s]
    spans.sort()
    gaps = [later[0] - earlier[1] for earlier, later in pairwise(spans)]
    assert min(gaps) > 0.1
    assert spans[0][0] > 1 and whole.seconds - spans[-1][1] > 1


def test_the_steady_tone_is_3150_hz_for_far_longer_than_aes6_asks():
    """AES6-2008: 3150 Hz, at least 5 s."""
    for section in plan.programme().of("tone"):
        assert section.seconds >= 10
        part = the_tape().part(section.start_s + 0.1, section.stop_s - 0.1).samples[:, 0]
        hz = np.fft.rfftfreq(len(part), 1 / RATE)
        assert hz[np.argmax(np.abs(np.fft.rfft(part * np.hanning(len(part)))))] == pytest.approx(3150, abs=0.1)


def test_nothing_at_all_is_on_the_quiet_part():
    (quiet,) = plan.programme().of("quiet")
    assert the_tape().part(quiet.start_s, quiet.stop_s).peak == 0


def test_left_right_both_and_opposed_are_what_they_say():
    sides = [the_tape().part(s.start_s, s.stop_s).samples for s in plan.programme().of("wiring")]
    left, right, both, opposed = sides
    assert np.abs(left[:, 0]).max() > 0.2 and not left[:, 1].any()
    assert np.abs(right[:, 1]).max() > 0.2 and not right[:, 0].any()
    assert np.array_equal(both[:, 0], both[:, 1]) and both.any()
    assert np.array_equal(opposed[:, 0], -opposed[:, 1]) and opposed.any()


@pytest.mark.parametrize("kind", ["stair", "rung"])
def test_each_stair_and_rung_decodes_to_blocks_of_its_own_at_its_own_speed(kind):
    """Through the kit's ordinary reader; each block has its check, and no two hold the same bytes."""
    known = set()
    for section in plan.programme().of(kind):
        part = the_tape().part(section.start_s - 0.05, section.stop_s + 0.05)
        reading = kit.decode(part, format="house")
        assert [b.verdict for b in reading.blocks] == ["checked"] * len(plan.parts_of(kind, section.number))
        assert {b.part.data for b in reading.blocks} == {p.data for p in plan.parts_of(kind, section.number)}
        assert reading.speed == pytest.approx(plan.speed_of(kind, section.number), rel=0.01)
        assert not known & {b.part.data for b in reading.blocks}
        known |= {b.part.data for b in reading.blocks}


def test_stairs_rise_by_six_decibels_and_the_last_is_as_loud_as_any_tape():
    levels = [the_tape().part(s.start_s, s.stop_s).peak for s in plan.programme().of("stair")]
    assert levels[-1] == pytest.approx(kit.encode(b"wind", lead_in_s=0.5).peak, abs=1e-6)
    assert 20 * np.log10(np.array(levels) / 0.5) == pytest.approx(list(plan.STAIRS_DB), abs=0.01)


def test_no_step_is_a_multiple_of_the_pilot_or_too_near_to_it():
    """Distortion of the pilot falls on its multiples, and with a step's on sums and differences."""
    steps = np.array(plan.STEPS_HZ)
    for order in range(1, 40):
        assert np.all(np.abs(steps - order * plan.PILOT_HZ / 2) > 20)
    assert np.all(np.abs(steps - plan.PILOT_HZ) > 150)


def test_the_tone_to_set_a_level_by_is_as_loud_as_data_and_lasts_twenty_seconds():
    tone = level_tone()
    assert tone.seconds == pytest.approx(20, abs=0.01)
    assert tone.peak == pytest.approx(0.5, abs=1e-6)
    leader = kit.encode(b"wind", lead_in_s=3).part(1, 2)
    assert tone.part(1, 2).rms == pytest.approx(leader.rms, rel=0.001)


@pytest.mark.parametrize("rate", [8000, 22050, 44100.5, "fast", None])
def test_a_rate_that_does_not_carry_the_ladder_is_refused(rate):
    with pytest.raises(SettingError, match=r"rate must be one of 44100, 48000, .* for a test tape, got"):
        kit.test_tape(rate)


def test_a_higher_rate_holds_the_same_programme():
    other = the_tape(48000)
    assert other.seconds == pytest.approx(the_tape().seconds, abs=0.001)
    place = find_programme(other)
    assert place.heard_s == pytest.approx(place.planned_s, abs=1e-3)


# -- found in any recording ------------------------------------------------------------------------------


@cache
def hissing():
    """The tape with a little hiss: what the next tests cut, turn and bend."""
    return with_samples(the_tape().samples + noise(the_tape().frames))


def seven_marks(place, late_s=0.0, pace=1.0):
    assert len(place.planned_s) == 7
    assert place.heard_s == pytest.approx(place.planned_s / pace + late_s - place.offset_s, abs=0.004)
    return True


def test_it_is_found_after_silence_and_with_silence_behind_it():
    silence = np.zeros((round(37.3 * RATE), 2))
    place = find_programme(with_samples(np.concatenate([silence, hissing().samples, silence])))
    assert seven_marks(place, 37.3)


def test_it_is_found_after_music_and_another_steady_tone():
    """A tune of wandering tones, and eight seconds of 2900 Hz without any marks."""
    time_s = np.arange(20 * RATE) / RATE
    tune = 0.3 * np.sin(2 * np.pi * (500 * time_s + 200 * np.sin(3 * time_s)))
    other = 0.4 * np.sin(2 * np.pi * 2900 * np.arange(8 * RATE) / RATE)
    before = np.concatenate([tune, other])
    place = find_programme(with_samples(np.concatenate([np.stack([before] * 2, axis=1), hissing().samples])))
    assert seven_marks(place, 28.0)


@pytest.mark.parametrize("percent", [-15, -7.3, 4, 15])
def test_it_is_found_fifteen_percent_off_speed(percent):
    place = find_programme(Deck(replay_speed_percent=percent).replay(hissing()))
    assert seven_marks(place, pace=1 + percent / 100)
    assert read_speeds(place).difference.value == pytest.approx(percent, abs=0.01)


@pytest.mark.parametrize("gain", [-1.0, 0.01, -0.05, 1.9])
def test_level_and_polarity_do_not_matter(gain):
    place = find_programme(hissing().scaled(gain))
    assert seven_marks(place)
    assert read_wiring(place).inverted == (gain < 0)


@pytest.mark.parametrize("up, down", [(1, 2), (160, 147), (80, 441), (160, 441)])
def test_it_is_found_at_other_rates(up, down):
    """22050, 48000, 8000 and 16000 Hz, made by scipy's resampler."""
    samples = resample_poly(hissing().samples, up, down, axis=0)
    place = find_programme(with_samples(samples, RATE * up // down))
    assert seven_marks(place)
    assert read_speeds(place).difference.value == pytest.approx(0, abs=0.005)


@pytest.mark.parametrize("name", ["tape.flac", "tape.ogg", "tape.mp3"])
def test_it_is_found_in_other_types_of_file(name, tmp_path):
    place = find_programme(Sound.read(hissing().write(tmp_path / name)))
    assert len(place.planned_s) == 7
    assert read_speeds(place).difference.value == pytest.approx(0, abs=0.01)


def test_one_channel_is_enough():
    place = find_programme(with_samples(hissing().samples.mean(axis=1)))
    assert seven_marks(place) and read_wiring(place).name == "joined"


CUTS = [(20, 124, 6), (60, 124, 4), (0, 50, 2), (0, 100, 5), (90, 124, 2)]


@pytest.mark.parametrize("start_s, stop_s, marks", CUTS)
def test_a_cut_recording_is_laid_out_by_the_marks_that_are_there(start_s, stop_s, marks):
    place = find_programme(hissing().part(start_s, stop_s))
    assert len(place.planned_s) == marks
    assert place.heard_s == pytest.approx(place.planned_s - start_s, abs=0.002)
    states = {section: place.presence(section) for section in plan.programme().sections}
    for section, state in states.items():
        inside = start_s <= section.start_s and section.stop_s <= min(stop_s, hissing().seconds)
        assert (state == "whole") == inside


def test_what_lies_outside_a_cut_recording_is_not_made_up():
    place = find_programme(hissing().part(50, 124))
    assert place.presence(plan.programme().of("quiet")[0]) == "missing"
    noise_found = read_noise(place)
    assert not any(figure.known for figure in noise_found.level)
    assert "not in the recording" in noise_found.level[0].unknown


# -- what is no test tape --------------------------------------------------------------------------------


def refused(sound):
    with pytest.raises(ReadingError) as caught:
        kit.measure(sound)
    message = str(caught.value)
    assert "\n" not in message and len(message) < 260
    return message


def test_silence_is_called_silence():
    assert "got 30.0 s of silence" in refused(with_samples(np.zeros((30 * RATE, 2))))
    assert "volume down" in refused(with_samples(np.zeros((RATE, 1))))


def test_another_tape_noise_or_a_bare_tone_is_no_test_tape():
    tone = 0.3 * np.sin(2 * np.pi * 3150 * np.arange(20 * RATE) / RATE)
    assert "got 1 without its marks" in refused(with_samples(tone[:, None]))
    assert "got none that stands out" in refused(kit.encode(b"wind west 5" * 90, name="log.txt"))
    assert "got none that stands out" in refused(with_samples(noise(20 * RATE, 0.1)))
    assert "got none that stands out" in refused(level_tone())


@pytest.mark.parametrize("frames", [0, 1, 100, 5000])
def test_next_to_nothing_is_refused_in_one_line(frames):
    assert "must hold the test tape" in refused(with_samples(noise(frames, 0.1)))


def test_too_low_a_rate_and_too_many_channels_are_refused():
    assert "got 1 at 4000 Hz" in refused(Sound(np.zeros(4000), 4000))
    assert "got 3 at 44100 Hz" in refused(Sound(np.zeros((4000, 3)), RATE))


def test_what_is_no_recording_is_refused():
    with pytest.raises(SettingError, match="recording must be a Sound or a file's name, got int"):
        kit.measure(7)


def test_a_tone_of_many_minutes_is_refused_without_being_loaded(tmp_path, monkeypatch):
    """Only its pieces are looked at: no stretch of it is taken into memory."""
    second = 0.3 * np.sin(2 * np.pi * 3150 * np.arange(8000) / 8000)
    path = with_samples(np.tile(second, 1800)[:, None], 8000).write(tmp_path / "tone.flac")
    monkeypatch.setattr(Sound, "part", None)
    assert "got 1 without its marks" in refused(Sound.read(path))
