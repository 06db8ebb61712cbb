"""Frames of time code: their settings, their bits, and how they count."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import kit
from kit.errors import ReadingError, SettingError
from kit.timecode import FRAME_RATES, TimecodeFrame, encode_frames, encode_timecode


@st.composite
def frames(draw):
    fps = draw(st.sampled_from(FRAME_RATES))
    drop_frame = fps == 30 and draw(st.booleans())
    whole = {name: draw(st.integers(0, stop - 1)) for name, stop in
             (("hours", 24), ("minutes", 60), ("seconds", 60), ("frames", fps))}
    if drop_frame and whole["minutes"] % 10 and not whole["seconds"]:
        whole["frames"] = max(2, whole["frames"])
    groups = draw(st.tuples(*[st.integers(0, 15)] * 8))
    flags = draw(st.tuples(*[st.booleans()] * 3))
    return TimecodeFrame(**whole, fps=fps, drop_frame=drop_frame, colour_frame=draw(st.booleans()),
                         user_groups=groups, binary_group_flags=flags)


@given(frames())
@settings(max_examples=200, deadline=None, derandomize=True)
def test_every_frame_comes_back_from_its_bits(frame):
    bits = frame.pack()
    assert bits.dtype == np.uint8 and bits.shape == (80,)
    assert TimecodeFrame.unpack(bits, frame.fps) == frame


@given(frames(), st.integers(-3_000_000, 3_000_000))
@settings(max_examples=200, deadline=None, derandomize=True)
def test_counting_on_and_back_is_where_it_was(frame, steps):
    later = frame.later(steps)
    assert later.later(-steps) == frame
    assert (later.count - frame.count - steps) % frame.frames_a_day == 0
    assert later.user_groups == frame.user_groups


@given(frames())
@settings(max_examples=100, deadline=None, derandomize=True)
def test_a_frame_is_written_in_words_as_it_is_read_from_words(frame):
    again = TimecodeFrame.of(str(frame), fps=frame.fps)
    assert str(again) == str(frame) and again.count == frame.count


@pytest.mark.parametrize("drop_frame", [False, True])
def test_counting_frame_by_frame_goes_through_all_numbers_that_there_are(drop_frame):
    """Of twelve minutes, against a list of all numbers with those left out struck off."""
    numbers = [(5, m, s, f) for m in range(12) for s in range(60) for f in range(30)
               if not (drop_frame and f < 2 and s == 0 and m not in (0, 10))]
    made = [TimecodeFrame(*number, fps=30, drop_frame=drop_frame) for number in numbers]
    assert [frame.next_frame() for frame in made[:-1]] == made[1:]
    assert [frame.previous_frame() for frame in made[1:]] == made[:-1]
    assert [frame.count - made[0].count for frame in made] == list(range(len(made)))


def test_a_day_ends_at_midnight():
    last = TimecodeFrame.of("23:59:59:24")
    assert str(last.next_frame()) == "00:00:00:00" and last.count == last.frames_a_day - 1 == 24 * 3600 * 25 - 1
    assert str(TimecodeFrame.of("00:00:00;00", fps=30).previous_frame()) == "23:59:59;29"


@pytest.mark.parametrize("wrong, message", [
    ({"hours": 24}, "hours must be a whole number from 0 to 23, got 24"),
    ({"minutes": -1}, "minutes must be a whole number from 0 to 59, got -1"),
    ({"seconds": 7.5}, "seconds must be a whole number from 0 to 59, got 7.5"),
    ({"frames": 25}, "frames must be a whole number from 0 to 24, got 25"),
    ({"frames": True}, "frames must be a whole number"),
    ({"fps": 29.97}, "fps must be one of 24, 25, 30, got 29.97"),
    ({"drop_frame": True}, "drop-frame counting must have 30 fps, got 25"),
    ({"fps": 30, "drop_frame": True, "minutes": 1}, "00 and 01 of each minute but every tenth, got 00:01:00;00"),
    ({"user_groups": (1, 2)}, "user_groups must be 8 whole numbers"),
    ({"user_groups": (16,) * 8}, "user_groups must be 8 whole numbers"),
    ({"user_groups": 5}, "user_groups must be 8 whole numbers from 0 to 15, got 5"),
    ({"binary_group_flags": "yes"}, "binary_group_flags must be three of True or False, got 'yes'"),
])
def test_a_frame_that_cannot_be_is_refused_in_one_line(wrong, message):
    with pytest.raises(SettingError) as refused:
        TimecodeFrame(**wrong)
    assert message in str(refused.value) and "\n" not in str(refused.value)


@pytest.mark.parametrize("text", ["", "10:00", "1:2:3:4:5", "aa:00:00:00", "10:00:00:-1", "100:00:00:00", None])
def test_a_time_in_words_that_is_none_is_refused(text):
    with pytest.raises(SettingError, match="hh:mm:ss:ff"):
        TimecodeFrame.of(text)


def changed(bits, place, value):
    bits = bits.copy()
    bits[place] = value
    return bits


@pytest.mark.parametrize("place, value, message", [
    (slice(0, 4), [0, 1, 0, 1], "units of frames must be a digit, got 10"),
    (slice(48, 52), [1, 1, 1, 1], "units of hours must be a digit, got 15"),
    (slice(56, 58), [1, 1], "hours must be a whole number from 0 to 23, got 30"),
    (slice(24, 27), [0, 1, 1], "seconds must be a whole number from 0 to 59, got 60"),
    (10, 1, "drop-frame counting must have 30 fps"),
    (64, 1, "bits 64 to 79 must be the sync word, got 1011111111111101"),
    (slice(64, 80), list(map(int, "1011111111111100")), "bits 64 to 79 must be the sync word"),
])
def test_bits_that_are_no_frame_are_not_made_one(place, value, message):
    with pytest.raises(ReadingError, match=message):
        TimecodeFrame.unpack(changed(TimecodeFrame().pack(), place, value), 25)


@pytest.mark.parametrize("bits", [np.zeros(79), np.full(80, 2), [], "01" * 40])
def test_what_is_not_eighty_bits_is_refused(bits):
    with pytest.raises(SettingError, match="80 bits"):
        TimecodeFrame.unpack(bits, 25)


# -- writing --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("options, message", [
    ({}, "either count or seconds"),
    ({"count": 5, "seconds": 5}, "either count or seconds"),
    ({"count": 0}, "count must be 1 to 2160000 frames, got 0"),
    ({"count": 2.5}, "count must be 1 to"),
    ({"seconds": 0.01}, "count must be 1 to"),
    ({"seconds": float("nan")}, "seconds must be a finite number"),
    ({"seconds": 1e9}, "seconds must lie above 0"),
    ({"count": 5, "speed": 0}, "speed must lie above 0"),
    ({"count": 5, "speed": -1}, "speed must lie above 0"),
    ({"count": 5, "rate": 5000}, "rate must be at least 6000 Hz for this speed, got 5000 Hz"),
    ({"count": 5, "peak": 2}, "peak must lie above 0"),
])
def test_what_cannot_be_written_is_refused_in_one_line(options, message):
    with pytest.raises(SettingError) as refused:
        encode_timecode(TimecodeFrame(), **options)
    assert message in str(refused.value) and "\n" not in str(refused.value)


def test_a_start_must_be_a_frame_and_frames_must_be_of_one_rate():
    with pytest.raises(SettingError, match="start must be a TimecodeFrame"):
        encode_timecode("10:00:00:00", count=1)
    with pytest.raises(SettingError, match="one frame at least"):
        encode_frames([])
    with pytest.raises(SettingError, match="one rate"):
        encode_frames([TimecodeFrame(), TimecodeFrame(fps=30)])


@pytest.mark.parametrize("speed", [0.5, 1, 3])
def test_seconds_hold_as_many_frames_as_fit(speed):
    """And one bit more at each end."""
    sound = encode_timecode(TimecodeFrame(fps=24), seconds=2.0, speed=speed)
    frame_s = 1 / (24 * speed)
    assert sound.seconds == pytest.approx(round(2.0 / frame_s) * frame_s + 2 * frame_s / 80, abs=2 / sound.rate)


def test_many_frames_are_drawn_as_one_wave():
    """They are drawn in batches; where one ends nothing shows."""
    whole = encode_timecode(TimecodeFrame(), count=600, rate=11025)
    part = encode_timecode(TimecodeFrame().later(250), count=20, rate=11025)
    begin = 250 * 11025 / 25
    assert begin == int(begin)
    same = slice(20, part.frames - 20)
    assert np.allclose(whole.samples[int(begin) :][same], part.samples[same], atol=1e-5)


def test_time_code_is_there_once_the_kit_is_imported():
    assert kit.timecode.TimecodeFrame is TimecodeFrame
