"""Frames: bytes to bits and back, for every setting."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import SettingError
from kit.frames import ORDERS, PARITIES, Frame, parity_bits

extra_bits = st.text("01", max_size=5)
frames = st.builds(Frame, order=st.sampled_from(ORDERS), start_bits=extra_bits, stop_bits=extra_bits,
                   parity=st.sampled_from(PARITIES))
framed = frames.filter(lambda frame: frame.bits_per_byte > 8)


def expected_bits(frame, byte):
    """One byte's frame written out as text, independently of numpy."""
    data = f"{byte:08b}"
    parity = {"none": "", "mark": "1", "space": "0", "even": str(data.count("1") % 2),
              "odd": str(1 - data.count("1") % 2)}[frame.parity]
    return frame.start_bits + (data if frame.order == "msb" else data[::-1]) + parity + frame.stop_bits


@given(frames, st.binary(max_size=40))
@settings(max_examples=200, deadline=None)
def test_bytes_survive_the_way_to_bits_and_back(frame, data):
    """Every frame gives the bytes back, and none is in doubt."""
    bits = frame.to_bits(data)
    assert bits.dtype == np.uint8
    assert bits.shape == (len(data) * frame.bits_per_byte,)
    back, doubt = frame.to_bytes(bits)
    assert bytes(back) == data
    assert doubt.dtype == bool
    assert doubt.shape == (len(data),)
    assert not doubt.any()


@given(frames, st.binary(min_size=1, max_size=10))
@settings(deadline=None)
def test_bits_stand_in_the_order_of_time(frame, data):
    """Start bits, data bits in the order asked for, parity, stop bits."""
    assert "".join(map(str, frame.to_bits(data))) == "".join(expected_bits(frame, byte) for byte in data)


@given(framed, st.binary(min_size=1, max_size=10), st.data())
@settings(max_examples=200, deadline=None)
def test_a_flipped_extra_bit_puts_its_byte_in_doubt_and_no_other(frame, data, draw):
    """A wrong start, parity or stop bit is reported where it is; the data are still given."""
    places = [*range(len(frame.start_bits)), *range(len(frame.start_bits) + 8, frame.bits_per_byte)]
    byte = draw.draw(st.integers(0, len(data) - 1))
    bits = frame.to_bits(data)
    bits[byte * frame.bits_per_byte + draw.draw(st.sampled_from(places))] ^= 1
    back, doubt = frame.to_bytes(bits)
    assert bytes(back) == data
    assert list(np.flatnonzero(doubt)) == [byte]


@given(st.sampled_from(["even", "odd"]), st.sampled_from(ORDERS), st.binary(min_size=1), st.data())
@settings(deadline=None)
def test_parity_sees_one_flipped_data_bit_and_misses_two(parity, order, data, draw):
    """The point of the parity bit, and its limit."""
    frame = Frame(order=order, parity=parity)
    first, second = draw.draw(st.lists(st.integers(0, 7), min_size=2, max_size=2, unique=True))
    bits = frame.to_bits(data)
    bits[first] ^= 1
    assert list(np.flatnonzero(frame.to_bytes(bits)[1])) == [0]
    bits[second] ^= 1
    back, doubt = frame.to_bytes(bits)
    assert not doubt.any()
    assert bytes(back) != data


@given(frames, st.binary(max_size=5), st.data())
@settings(deadline=None)
def test_an_incomplete_last_frame_is_left_out(frame, data, draw):
    """Bits too few for a frame make no byte."""
    rest = draw.draw(st.lists(st.integers(0, 1), max_size=frame.bits_per_byte - 1))
    back, doubt = frame.to_bytes(np.concatenate([frame.to_bits(data), np.array(rest, np.uint8)]))
    assert bytes(back) == data
    assert len(doubt) == len(data)


def test_the_default_is_eight_bits_most_significant_first():
    """No extras unless asked for."""
    assert Frame().bits_per_byte == 8
    assert list(Frame().to_bits(b"\x80\x01")) == [1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1]


def test_eleven_bit_frame_by_hand():
    """One start bit 0, least significant bit first, two stop bits 1 (1976 provisional standard: 11 bits)."""
    frame = Frame(order="lsb", start_bits="0", stop_bits="11")
    assert frame.bits_per_byte == 11
    assert "".join(map(str, frame.to_bits(b"K"))) == "0" + "11010010" + "11"  # K is 4B, 0100 1011


@pytest.mark.parametrize("parity", ["even", "odd"])
def test_parity_of_all_bytes_agrees_with_counting(parity):
    """The folded exclusive or is the count of ones, modulo 2."""
    counted = [bin(byte).count("1") % 2 ^ (parity == "odd") for byte in range(256)]
    assert list(parity_bits(np.arange(256, dtype=np.uint8), parity)) == counted


@pytest.mark.parametrize("data", [bytearray(b"ab"), memoryview(b"ab"), np.frombuffer(b"ab", np.uint8)])
def test_any_kind_of_bytes_will_do(data):
    """Bytes, bytearray, memoryview and arrays of uint8 give the same bits."""
    assert np.array_equal(Frame().to_bits(data), Frame().to_bits(b"ab"))


@pytest.mark.parametrize("bits", [[0, 1, 0, 0, 0, 0, 0, 1], np.array([0, 1, 0, 0, 0, 0, 0, 1], bool),
                                  np.array([0, 1, 0, 0, 0, 0, 0, 1], np.int64)])
def test_any_kind_of_bits_will_do(bits):
    """Lists, booleans and whole numbers are read alike."""
    assert bytes(Frame().to_bytes(bits)[0]) == b"A"


def test_no_bits_make_no_bytes():
    """An empty stream is not an error."""
    data, doubt = Frame(start_bits="0").to_bytes([])
    assert len(data) == len(doubt) == 0


@pytest.mark.parametrize(("setting", "named"), [
    ({"order": "middle"}, "msb, lsb"), ({"parity": "strange"}, "even"), ({"parity": None}, "even"),
    ({"start_bits": "012"}, "start_bits"), ({"start_bits": 0}, "start_bits"), ({"stop_bits": "1" * 17}, "16"),
])
def test_a_wrong_setting_is_refused_with_what_would_be_right(setting, named):
    """One line that names what may stand there and what was got."""
    with pytest.raises(SettingError, match=named) as caught:
        Frame(**setting)
    assert repr(next(iter(setting.values()))) in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("bits", [[0, 2], [0.0, 1.0], [[0, 1]], ["0", "1"], [-1, 0]])
def test_what_is_not_a_row_of_bits_is_refused(bits):
    """Soft values must be decided before they are framed."""
    with pytest.raises(SettingError, match="0 "):
        Frame().to_bytes(bits)


@pytest.mark.parametrize("data", ["text", 5, None, np.zeros(3), np.zeros((2, 2), np.uint8)])
def test_what_is_not_bytes_is_refused(data):
    """Text must be encoded first."""
    with pytest.raises(SettingError, match="data must be bytes"):
        Frame().to_bits(data)
