"""Time code against the standard: what is packed, and what the wave looks like, measured without the kit.

Source
------
SMPTE 12M / IEC 60461, seen in secondary copies; tones and reversed sync word follow by calculation.
"""

import numpy as np
import pytest
from scipy.signal import periodogram

from kit.timecode import SYNC_WORD, TimecodeFrame, encode_frames, encode_timecode, has_even_zeros

RATE = 48000
POLARITY_BITS = {24: 27, 25: 59, 30: 27}


def spelt(bits):
    return "".join(str(int(bit)) for bit in bits)


def some_frames(fps, count=200, seed=0):
    """Frames of any time, flags and user bits."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        time = (int(rng.integers(stop)) for stop in (24, 60, 60, fps))
        yield TimecodeFrame(*time, fps=fps, colour_frame=bool(rng.integers(2)),
                            user_groups=tuple(rng.integers(0, 16, 8).tolist()),
                            binary_group_flags=tuple(rng.integers(0, 2, 3).tolist()))


def crossings(samples):
    """Times in samples at which a wave crosses zero, and whether it rises there."""
    signs = np.signbit(samples)
    at = np.flatnonzero(signs[1:] != signs[:-1])
    before, after = samples[at].astype(float), samples[at + 1].astype(float)
    return at + before / (before - after) + 0.5, after > before


def test_the_sync_word_is_that_of_the_standard():
    assert spelt(SYNC_WORD) == "0011" "1111" "1111" "1101"
    assert all(spelt(frame.pack()[64:80]) == "0011111111111101" for frame in some_frames(25))


def test_the_sync_word_read_backwards_is_another_one():
    assert spelt(TimecodeFrame().pack()[::-1][:16]) == "1011" "1111" "1111" "1100"


@pytest.mark.parametrize("fps", POLARITY_BITS)
def test_no_data_holds_as_many_ones_in_a_row_as_the_sync_word(fps):
    """So no frame has a second sync word, in either direction: 12 ones lie between zeros there alone."""
    for frame in some_frames(fps):
        word = spelt(np.concatenate((frame.pack(), frame.next_frame().pack())))
        assert [word.find("1" * 12, start) for start in (0, 67, 147)] == [66, 146, -1]


@pytest.mark.parametrize("fps, place", POLARITY_BITS.items())
def test_the_polarity_bit_lies_where_the_standard_has_it_and_makes_zeros_even(fps, place):
    for frame in some_frames(fps):
        bits = frame.pack()
        assert np.count_nonzero(bits == 0) % 2 == 0 and has_even_zeros(bits)
        others = np.delete(bits, place)
        assert (bits[place] == 0) == (np.count_nonzero(others == 0) % 2 == 1)
        bits[place] ^= 1
        assert not has_even_zeros(bits) and TimecodeFrame.unpack(bits, fps) == frame


def test_digits_are_binary_coded_decimals_least_significant_bit_first():
    """Units and tens of frames, seconds, minutes and hours, each where the standard has it."""
    bits = TimecodeFrame(hours=19, minutes=48, seconds=36, frames=27, fps=30).pack()
    fields = {0: "1110", 8: "01", 16: "0110", 24: "110", 32: "0001", 40: "001", 48: "1001", 56: "10"}
    for first, digits in fields.items():
        assert spelt(bits[first : first + len(digits)]) == digits, first


def test_the_users_groups_lie_between_the_digits():
    for group in range(8):
        groups = tuple(0b1101 if each == group else 0 for each in range(8))
        changed = np.flatnonzero(TimecodeFrame(user_groups=groups).pack() != TimecodeFrame().pack())
        first = 8 * group + 4
        assert set(changed) - {59} == {first, first + 2, first + 3}


def test_the_drop_frame_flag_is_bit_10_and_the_colour_frame_flag_bit_11():
    plain = TimecodeFrame(fps=30).pack()
    assert set(np.flatnonzero(TimecodeFrame(fps=30, drop_frame=True).pack() != plain)) - {27} == {10}
    assert set(np.flatnonzero(TimecodeFrame(fps=30, colour_frame=True).pack() != plain)) - {27} == {11}


@pytest.mark.parametrize("fps, zeros_hz, ones_hz", [(25, 1000, 2000), (30, 1200, 2400), (24, 960, 1920)])
def test_zeros_and_ones_are_the_tones_of_the_standard(fps, zeros_hz, ones_hz):
    """Of midnight nearly all bits but the sync word's are zeros; twelve ones in a row lie in each sync word."""
    samples = encode_timecode(TimecodeFrame(fps=fps), count=1, rate=RATE).samples
    cell = RATE / (80 * fps)
    for first, stop, tone_hz in ((12, 24, zeros_hz), (67, 79, ones_hz)):
        begin, end = (round((1 + bit) * cell) for bit in (first, stop))  # one bit lies before the frame
        power_at, power = periodogram(samples[begin:end], RATE, nfft=1 << 16, window="hann")
        assert power_at[np.argmax(power)] == pytest.approx(tone_hz, abs=tone_hz * 0.01)


@pytest.mark.parametrize("fps, bit_rate", [(25, 2000), (30, 2400), (24, 1920)])
def test_the_bit_rate_is_eighty_bits_a_frame(fps, bit_rate):
    """There is an edge wherever a bit begins, and the next frame begins 80 bits later."""
    frames = list(some_frames(fps, count=20))
    times, _ = crossings(encode_frames(frames, rate=RATE).samples)
    borders = (1 + np.arange(20 * 80 + 1)) * RATE / bit_rate
    nearest = np.abs(times[None, :] - borders[:, None]).min(axis=1)
    assert nearest.max() < 0.01


def test_drop_frame_code_is_slower_by_one_part_in_1001():
    sounds = [encode_timecode(TimecodeFrame(fps=30, drop_frame=drop), count=300, rate=RATE) for drop in (0, 1)]
    last = [crossings(sound.samples)[0][-1] for sound in sounds]
    assert last[1] / last[0] == pytest.approx(1.001, abs=1e-6)


@pytest.mark.parametrize("fps", POLARITY_BITS)
def test_every_frame_begins_with_the_same_edge(fps):
    """What the polarity bit is for: of any frames, all begin with a rise, whatever their bits."""
    frames = list(some_frames(fps, count=50))
    times, rising = crossings(encode_frames(frames, rate=RATE).samples)
    begins = (1 + 80 * np.arange(51)) * RATE / (80 * fps)
    nearest = np.abs(times[None, :] - begins[:, None]).argmin(axis=1)
    assert np.abs(times[nearest] - begins).max() < 0.01 and rising[nearest].all()


def test_a_one_has_an_edge_in_its_middle_and_a_zero_has_none():
    frame = TimecodeFrame.of("19:48:36:17", user_groups=(1, 2, 4, 8, 15, 7, 9, 6))
    times, _ = crossings(encode_timecode(frame, count=1, rate=RATE).samples)
    cell = RATE / 2000
    middles = (1.5 + np.arange(80)) * cell
    edge_there = np.abs(times[None, :] - middles[:, None]).min(axis=1) < 0.01
    assert np.array_equal(edge_there, frame.pack() == 1)


def test_an_hour_of_drop_frame_counting_is_an_hour_of_its_frames():
    """108 numbers are left out of an hour's 108000: the count keeps up with 30000/1001 a second within a frame.

    Source: from memory of SMPTE 12M; the sum itself is calculated here.
    """
    frame, left_out = TimecodeFrame.of("00:00:00;00", fps=30), 0
    hour = TimecodeFrame.of("01:00:00;00", fps=30)
    numbers = [(m, s, f) for m in range(60) for s in range(60) for f in range(30)]
    left_out = sum(s == 0 and f < 2 and m % 10 != 0 for m, s, f in numbers)
    assert left_out == 108 and hour.count - frame.count == 108000 - 108
    assert abs(hour.count - 3600 * 30000 / 1001) < 1
