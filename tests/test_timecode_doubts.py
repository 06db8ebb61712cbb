"""Time code that is not as it should be, and in which frames it is doubted for that."""

import numpy as np
from timecode_cases import COUNT, START, said, wanted

from kit.timecode import TimecodeFrame, decode_timecode, encode_frames, encode_timecode


def flipped(bits, *places):
    bits = bits.copy()
    bits[list(places)] ^= 1
    return bits


class Spelt:
    """A frame that spells any bits, for what no honest frame says."""

    real_fps = 25.0

    def __init__(self, bits):
        self.bits = bits

    def pack(self):
        return self.bits


def doubts_of(places, number=30):
    rows = [frame.pack() for frame in wanted()]
    rows[number] = flipped(rows[number], *places)
    found = decode_timecode(encode_frames(map(Spelt, rows)))
    assert len(found) == COUNT
    assert all(each.sure for k, each in enumerate(found) if k != number)
    assert np.array_equal(found[number].bits, rows[number])
    return found[number]


def test_a_digit_out_of_range_is_said():
    """Frame 30 is 10:00:00:00; of its hours the units become 8 + 4 + 0."""
    each = doubts_of([50, 51])
    assert each.frame is None and each.doubts == ("there is no such time",) and each.speed is None
    assert "??:??:??:??" in str(each)


def test_a_frame_that_does_not_count_on_is_said():
    """Its minutes become 3: a good time, but not this one's."""
    each = doubts_of([32, 33])
    assert str(each.frame) == "10:03:00:00" and each.doubts == ("it does not count on",) and each.follows is False


def test_a_polarity_bit_that_disagrees_is_said():
    """Where it is the one that is wrong; or a user bit is, and then the frame is also alone with its user bits."""
    assert doubts_of([59]).doubts == ("its polarity bit disagrees",)
    each = doubts_of([4])
    assert each.doubts[0] == "its polarity bit disagrees" and not each.polarity_agrees and len(each.doubts) == 2


def test_user_bits_that_are_those_of_no_other_are_said():
    """Two bits of a group are wrong, so that polarity does not show it."""
    assert doubts_of([4, 5]).doubts == ("its user bits or flags are like no other's near it",)


def test_user_bits_may_change_from_frame_to_frame():
    rng = np.random.default_rng(3)
    frames = [TimecodeFrame.of("08:00:00:00", user_groups=tuple(groups)).later(number)
              for number, groups in enumerate(rng.integers(0, 16, (COUNT, 8)).tolist())]
    found = decode_timecode(encode_frames(frames))
    assert said(found) == frames and all(each.sure for each in found)


def test_polarity_bits_are_not_heeded_where_the_writer_never_set_them():
    rows = [flipped(frame.pack(), 59) if number % 2 else frame.pack() for number, frame in enumerate(wanted())]
    found = decode_timecode(encode_frames(map(Spelt, rows)))
    assert [each.polarity_agrees for each in found] == [number % 2 == 0 for number in range(COUNT)]
    assert said(found) == wanted() and all(each.sure for each in found)


def test_a_lone_frame_has_none_to_count_with():
    (found,) = decode_timecode(encode_timecode(START, count=1))
    assert found.frame == START and found.doubts == ("there is no other to count with",)


def test_where_a_tape_was_cut_and_joined_the_first_frame_after_it_does_not_follow():
    """But it is not in doubt: those behind it count on from it."""
    frames = wanted(0, 20) + wanted(40, 60)
    found = decode_timecode(encode_frames(frames))
    assert said(found) == frames and all(each.sure for each in found)
    assert [number for number, each in enumerate(found) if each.follows is False] == [20]
