"""Time code read from sounds: at any speed, in either direction, and through whatever a tape suffers."""

import numpy as np
import pytest
from timecode_cases import COUNT, START, said, wanted

from kit import Sound
from kit.errors import SettingError
from kit.timecode import TimecodeFrame, decode_timecode, encode_frames, encode_timecode

FRAME_S, BIT_S = 1 / 25, 1 / 2000


@pytest.fixture(scope="module")
def tape():
    return encode_timecode(START, count=COUNT)


def number_at(each, speed=1.0):
    """Which of the frames written lies where one was found."""
    return round((each.start_s * speed - BIT_S) / FRAME_S)


def assert_never_wrong(found, speed=1.0):
    """Each frame that is not in doubt is the one that was written there, with all its bits."""
    for each in found:
        if each.sure:
            assert each.frame == START.later(number_at(each, speed)), each


def test_each_frame_says_where_it_lies(tape):
    found = decode_timecode(tape)
    assert said(found) == wanted() and all(each.sure for each in found)
    spans = np.array([(each.start_s, each.stop_s) for each in found])
    begins = BIT_S + FRAME_S * np.arange(COUNT)
    assert np.allclose(spans, np.stack((begins, begins + FRAME_S), axis=1), atol=2e-5)
    assert [each.follows for each in found] == [None] + [True] * (COUNT - 1)
    assert all(each.margin > 0.9 and each.polarity_agrees and not each.missing for each in found)
    assert str(found[0]) == "0.001 to 0.041 s, forwards: 09:59:58:20"


@pytest.mark.parametrize("speed", [0.25, 0.4, 0.9, 1.1, 2.0, 4.0])
@pytest.mark.parametrize("turned", [False, True], ids=["forwards", "backwards"])
def test_any_speed_in_either_direction_is_read(speed, turned):
    sound = encode_timecode(START, count=COUNT, speed=speed)
    found = decode_timecode(Sound(sound.samples[::-1] if turned else sound.samples, sound.rate))
    assert said(found) == (wanted()[::-1] if turned else wanted())
    assert all(each.sure and each.backwards == turned for each in found)
    assert found[5].direction == ("backwards" if turned else "forwards")
    assert np.allclose([each.speed for each in found], speed, rtol=0.01)


def test_a_tape_that_is_wound_while_it_plays_is_read_from_a_fifth_to_nearly_twice_its_speed(tape):
    """The speed rises by a factor of nine within 2.4 seconds."""
    time = np.linspace(0, 1, tape.frames - 1)
    places = (0.2 * time + 0.8 * time**2) * (tape.frames - 1)
    wound = np.interp(places, np.arange(tape.frames), tape.samples)
    found = decode_timecode(Sound(wound, tape.rate))
    assert said(found) == wanted() and all(each.sure for each in found)


def test_a_tape_that_turns_round_is_read_both_ways(tape):
    """Forwards to the end, then back: what is heard says which way it goes."""
    both = Sound(np.concatenate((tape.samples, tape.samples[::-1])), tape.rate)
    found = decode_timecode(both)
    assert said(found) == wanted() + wanted()[::-1] and all(each.sure for each in found)
    assert [each.backwards for each in found] == [False] * COUNT + [True] * COUNT
    assert found[COUNT].follows is None


@pytest.mark.parametrize("gain", [-1, 0.004, 2.0])
def test_neither_polarity_nor_level_matters(tape, gain):
    assert said(decode_timecode(tape.scaled(gain))) == wanted()


def test_a_held_level_and_hum_do_not_matter(tape):
    hum = 0.3 + 0.3 * np.sin(2 * np.pi * 50 * np.arange(tape.frames) / tape.rate)
    found = decode_timecode(Sound(0.5 * tape.samples + hum, tape.rate))
    assert [each.frame for each in found if each.sure] == wanted()


@pytest.mark.parametrize("start_s", [0.0003, 0.0137, 0.0239, 0.0391])
def test_a_recording_that_starts_in_mid_frame_gives_the_next_one(tape, start_s):
    found = decode_timecode(tape.part(start_s, tape.seconds))
    assert said(found)[-(COUNT - 1) :] == wanted(1) and all(each.sure for each in found)


@pytest.mark.parametrize("rate", [8000, 11025, 22050, 44100, 96000])
def test_any_rate_that_carries_it_is_read(rate):
    assert said(decode_timecode(encode_timecode(START, count=COUNT, rate=rate))) == wanted()


@pytest.mark.parametrize("start, rate_hz", [("23:59:59:10", 24), ("10:00:59:20", 30), ("10:00:59;20", 30)])
def test_how_many_frames_a_second_has_is_told_from_where_the_seconds_change(start, rate_hz):
    """Played at the speed at which any of them would look like 25 a second, over four full seconds."""
    first = TimecodeFrame.of(start, fps=rate_hz)
    sound = encode_timecode(first, count=2 * COUNT, speed=25 / rate_hz)
    found = decode_timecode(sound)
    assert said(found) == [first.later(number) for number in range(2 * COUNT)] and all(each.sure for each in found)


def test_in_a_short_recording_the_rate_is_told_from_the_speed_or_by_hand():
    first = TimecodeFrame.of("10:00:00:05", fps=30, binary_group_flags=(True, False, False))
    sound = encode_timecode(first, count=5)
    assert {each.frame.fps for each in decode_timecode(sound)} == {30}
    slower = encode_timecode(first, count=5, speed=25 / 30)
    assert {each.frame.fps for each in decode_timecode(slower)} == {25}
    assert said(decode_timecode(slower, fps=30)) == [first.later(number) for number in range(5)]


# -- damage ---------------------------------------------------------------------------------------------


def with_noise(sound, snr_db, seed=0):
    """Noise over the whole band, so many dB below the wave (its level is its peak)."""
    noise = np.random.default_rng(seed).normal(0, 0.5 * 10 ** (-snr_db / 20), sound.frames)
    return Sound(sound.samples + noise, sound.rate)


@pytest.mark.parametrize("seed", range(3))
def test_noise_of_half_the_wave_takes_nothing(tape, seed):
    found = decode_timecode(with_noise(tape, 6, seed))
    assert said(found) == wanted() and all(each.sure for each in found)


@pytest.mark.parametrize("snr_db, least", [(1, 0.9), (-1, 0.5), (-4, 0)])
def test_in_louder_noise_no_frame_is_wrong_without_a_word(tape, snr_db, least):
    found = decode_timecode(with_noise(tape, snr_db))
    assert_never_wrong(found)
    assert sum(each.sure for each in found) >= least * COUNT


def test_noise_alone_and_silence_hold_no_frame():
    noise = np.random.default_rng(1).normal(0, 0.2, 48000 * 3)
    assert decode_timecode(Sound(noise, 48000)) == []
    assert decode_timecode(Sound(np.zeros(48000), 48000)) == []
    assert decode_timecode(Sound(np.zeros(0), 48000)) == []


def test_after_a_dropout_frames_are_read_from_the_next_sync_word_on(tape):
    """0.1 s are gone, from within frame 20 into frame 22 or 23; that frames are missing is said."""
    found = decode_timecode(tape.scratch(0.82, 0.1))
    assert_never_wrong(found)
    sure = [number_at(each) for each in found if each.sure]
    assert sure == [*range(20), *range(23, COUNT)]
    after = next(each for each in found if number_at(each) == 23)
    assert after.follows and after.missing in (2, 3)


def test_a_frame_whose_sync_word_is_gone_is_given_with_a_doubt(tape):
    sync_s = BIT_S + 30 * FRAME_S + 72 * BIT_S
    found = decode_timecode(tape.scratch(sync_s, 3 * BIT_S))
    doubtful = [each for each in found if not each.sure]
    assert [number_at(each) for each in doubtful] == [30]
    assert doubtful[0].frame == START.later(30) and doubtful[0].doubts == ("its sync word is damaged",)


@pytest.mark.parametrize("seed", range(3))
def test_many_scratches_and_cuts_make_no_frame_wrong_without_a_word(tape, seed):
    rng, sound = np.random.default_rng(seed), tape
    for _ in range(25):
        sound = sound.scratch(rng.uniform(0, 2.3), rng.uniform(0.0003, 0.02), seed=int(rng.integers(1000)))
    found = decode_timecode(sound)
    assert_never_wrong(found)
    assert sum(each.sure for each in found) > COUNT / 3


@pytest.mark.parametrize("seed", range(3))
def test_a_tape_cut_and_joined_in_many_places_has_no_frame_that_was_never_written(seed):
    """Nor is its rate mistaken, though some joints make it count on by chance at another."""
    rng, written = np.random.default_rng(seed), [START.later(number) for number in range(100)]
    samples = encode_frames(written).samples
    for _ in range(25):
        begin = int(rng.integers(len(samples) - 3000))
        samples = np.delete(samples, slice(begin, begin + int(rng.integers(5, 2000))))
    sure = [each for each in decode_timecode(Sound(samples, 48000)) if each.sure]
    assert len(sure) > 30 and {each.frame for each in sure} <= set(written)


# -- sides and long recordings --------------------------------------------------------------------------


def test_of_two_sides_the_one_with_time_code_is_read(tape):
    music = np.random.default_rng(2).normal(0, 0.2, tape.frames)
    both = Sound(np.stack((music, tape.samples), axis=1), tape.rate)
    found = decode_timecode(both)
    assert said(found) == wanted() and {each.side for each in found} == {"right"}
    assert decode_timecode(both, side="left") == []


def test_a_side_that_fades_hands_over_to_the_other(tape):
    left, right = tape.samples.copy(), tape.samples.copy()
    left[: tape.frames // 2], right[tape.frames // 2 :] = 0, 0
    found = decode_timecode(Sound(np.stack((left, right), axis=1), tape.rate))
    sure = {number_at(each): each.side for each in found if each.sure}
    assert set(sure) >= set(range(COUNT)) - {29, 30} and sure[0] == "right" and sure[COUNT - 1] == "left"
    assert_never_wrong(found)


def test_sides_with_different_codes_are_read_one_by_one(tape):
    other = encode_timecode(TimecodeFrame.of("20:00:00:00"), count=COUNT)
    both = Sound(np.stack((tape.samples, other.samples), axis=1), tape.rate)
    assert said(decode_timecode(both, side="left")) == wanted()
    assert str(decode_timecode(both, side="right")[0].frame) == "20:00:00:00"


def test_a_recording_of_several_stretches_has_no_seams(tmp_path):
    """It is read in stretches of 20 s: no frame is lost or comes twice where they meet, also from a file."""
    frames = [START.later(number) for number in range(25 * 45)]
    path = encode_frames(frames, rate=8000).write(tmp_path / "long.wav")
    found = decode_timecode(Sound.read(path))
    assert said(found) == frames and all(each.sure for each in found)


@pytest.mark.parametrize("arguments, message", [
    ({"fps": 29.97}, "fps must be one of 24, 25, 30, got 29.97"),
    ({"side": "top"}, "side must be one of mono, got 'top'"),
])
def test_what_cannot_be_read_is_refused_in_one_line(tape, arguments, message):
    with pytest.raises(SettingError, match=message):
        decode_timecode(tape, **arguments)


def test_only_a_sound_is_read():
    with pytest.raises(SettingError, match="sound must be a Sound, got str"):
        decode_timecode("tape.wav")
