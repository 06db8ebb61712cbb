"""Time code exchanged both ways with a general, independent library for it: Debian's libltc11."""

import numpy as np
import pytest
import time_code_library as peer

from kit import Sound
from kit.timecode import TimecodeFrame, decode_timecode, encode_frames, encode_timecode, has_even_zeros

COUNT = 40
KINDS = {"24": (24, False), "25": (25, False), "30": (30, False), "30 drop-frame": (30, True)}
RATES = {0.25: 22050, 0.5: 44100, 1.0: 48000, 2.0: 44100, 4.0: 96000}  # at each speed another


@pytest.fixture(scope="module")
def library():
    return peer.loaded()


def first_frame(kind, seed=0):
    """A frame just before a full minute, with user bits and flags drawn from a seed."""
    fps, drop_frame = KINDS[kind]
    groups = tuple(np.random.default_rng(seed).integers(0, 16, 8).tolist())
    time = dict(hours=9, minutes=58, seconds=59, frames=5, fps=fps, drop_frame=drop_frame)
    return TimecodeFrame(**time, colour_frame=True, user_groups=groups, binary_group_flags=(True, False, True))


def rows_from(start):
    return np.array([start.later(number).pack() for number in range(COUNT)])


def heard_by_peer(library, samples, rate, start, speed=1.0):
    return peer.heard(library, samples, rate / (start.real_fps * speed))


# -- bits -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("fps", [24, 25, 30])
def test_a_time_is_packed_into_the_bits_that_the_library_packs_it_into(library, fps):
    for time in [(0, 0, 0, 0), (23, 59, 59, fps - 1), (10, 20, 30, 11), (19, 47, 8, 9), (1, 2, 3, 4)]:
        theirs = peer.bits_of(peer.raw_at(library, *time, fps))
        assert np.array_equal(TimecodeFrame(*time, fps=fps).pack(), theirs), time


@pytest.mark.parametrize("kind", KINDS)
def test_the_library_sets_the_same_polarity_bit_and_finds_the_same_user_bits_and_flags(library, kind):
    start = first_frame(kind)
    for number, bits in enumerate(rows_from(start)):
        raw, frame = peer.raw_of(bits), start.later(number)
        assert library.ltc_frame_get_user_bits(raw) == sum(g << 4 * k for k, g in enumerate(frame.user_groups))
        flags = library.ltc_frame_parse_bcg_flags(raw, peer.STANDARDS[frame.fps])
        assert flags == sum(flag << k for k, flag in enumerate(frame.binary_group_flags))
        library.ltc_frame_set_parity(raw, peer.STANDARDS[frame.fps])
        assert np.array_equal(peer.bits_of(raw), bits) and has_even_zeros(bits)


@pytest.mark.parametrize("text, kind", [
    ("10:00:59:20", "24"), ("00:59:59:20", "25"), ("23:59:59:20", "30"),
    ("10:00:59;20", "30 drop-frame"), ("10:09:59;20", "30 drop-frame"), ("23:59:59;20", "30 drop-frame"),
])
def test_the_library_counts_on_and_back_as_the_kit_does(library, text, kind):
    """Over a full minute, a tenth one, and midnight."""
    fps, _ = KINDS[kind]
    frame = TimecodeFrame.of(text, fps=fps)
    raw = peer.raw_of(frame.pack())
    for _ in range(30):
        library.ltc_frame_increment(raw, fps, peer.STANDARDS[fps], 0)
        frame = frame.next_frame()
        assert TimecodeFrame.unpack(peer.bits_of(raw), fps) == frame
        assert np.array_equal(peer.bits_of(raw), frame.pack())
    for _ in range(30):
        library.ltc_frame_decrement(raw, fps, peer.STANDARDS[fps], 0)
        frame = frame.previous_frame()
        assert np.array_equal(peer.bits_of(raw), frame.pack())


# -- the kit writes, the library reads ------------------------------------------------------------------


@pytest.mark.parametrize("polarity", [1, -1], ids=["as it is", "inverted"])
@pytest.mark.parametrize("speed", RATES)
@pytest.mark.parametrize("kind", KINDS)
def test_the_library_reads_every_frame_that_the_kit_writes(library, kind, speed, polarity):
    start, rate = first_frame(kind), RATES[speed]
    sound = encode_timecode(start, count=COUNT, speed=speed, rate=rate)
    heard = heard_by_peer(library, polarity * sound.samples, rate, start, speed)
    assert np.array_equal([bits for bits, *_ in heard], rows_from(start))
    assert not any(reverse for _, reverse, *_ in heard)


@pytest.mark.parametrize("speed", RATES)
@pytest.mark.parametrize("kind", KINDS)
def test_the_library_reads_every_frame_that_the_kit_writes_played_backwards(library, kind, speed):
    """It hears a frame only once the sync word of the next is there, so the last played is one too many for it.

    It keeps the two bytes of a sync word that was played backwards in the other order.
    """
    start, rate = first_frame(kind), RATES[speed]
    sound = encode_timecode(start.previous_frame(), count=COUNT + 1, speed=speed, rate=rate)
    heard = heard_by_peer(library, sound.samples[::-1], rate, start, speed)
    bits = np.array([bits for bits, *_ in heard])
    assert np.array_equal(bits[:, :64], rows_from(start)[::-1, :64])
    assert np.array_equal(np.roll(bits[:, 64:], 8, axis=1), rows_from(start)[:, 64:])
    assert all(reverse for _, reverse, *_ in heard)


def test_the_library_reads_user_bits_that_change_with_every_frame(library):
    rng = np.random.default_rng(5)
    frames = [TimecodeFrame.of("07:00:00:00", user_groups=tuple(groups)).later(number)
              for number, groups in enumerate(rng.integers(0, 16, (COUNT, 8)).tolist())]
    sound = encode_frames(frames)
    heard = heard_by_peer(library, sound.samples, sound.rate, frames[0])
    assert np.array_equal([bits for bits, *_ in heard], [frame.pack() for frame in frames])


# -- the library writes, the kit reads ------------------------------------------------------------------


def assert_all_read(found, rows, backwards):
    assert np.array_equal([each.bits for each in found], rows)
    assert all(each.sure and each.backwards == backwards and each.polarity_agrees for each in found)


@pytest.mark.parametrize("polarity", [1, -1], ids=["as it is", "inverted"])
@pytest.mark.parametrize("speed", RATES)
@pytest.mark.parametrize("kind", KINDS)
def test_the_kit_reads_every_frame_that_the_library_writes(library, kind, speed, polarity):
    start, rate = first_frame(kind, seed=1), RATES[speed]
    samples = peer.written(library, rows_from(start), rate, start.real_fps, start.fps, 1 / speed)
    found = decode_timecode(Sound(polarity * samples, rate))
    assert_all_read(found, rows_from(start), backwards=False)
    assert [each.frame for each in found] == [start.later(number) for number in range(COUNT)]
    assert np.allclose([each.speed for each in found], speed, rtol=0.01)


@pytest.mark.parametrize("speed", RATES)
@pytest.mark.parametrize("kind", KINDS)
def test_the_kit_reads_every_frame_that_the_library_writes_from_end_to_start(library, kind, speed):
    start, rate = first_frame(kind, seed=2), RATES[speed]
    rows = rows_from(start)[::-1]
    samples = peer.written(library, rows, rate, start.real_fps, start.fps, -1 / speed)
    assert_all_read(decode_timecode(Sound(samples, rate)), rows, backwards=True)


def test_the_kit_reads_frames_counted_by_the_library_itself(library):
    """Its own encoder counts here, over midnight; the kit only listens."""
    raw = peer.raw_at(library, 23, 59, 59, 10, 25)
    rows = []
    for _ in range(COUNT):
        rows.append(peer.bits_of(raw))
        library.ltc_frame_increment(raw, 25, peer.TV_625_50, 0)
    samples = peer.written(library, rows, 48000, 25.0, 25)
    found = decode_timecode(Sound(samples, 48000))
    assert_all_read(found, rows, backwards=False)
    assert [str(each.frame) for each in found[14:16]] == ["23:59:59:24", "00:00:00:00"]
    assert all(each.follows for each in found[1:])
