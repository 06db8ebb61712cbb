"""The bytes of a WAV file as the kit writes it, taken apart by hand.

Sources: Microsoft, Resource Interchange File Format (multimedia API), for chunks; RFC 2361 for tags.
"""

import struct

import numpy as np
import pytest

from kit.sound import Sound

RATE = 22050


def chunks_of(file_bytes):
    """The chunks of a RIFF/WAVE file as (id, data); every size and pad byte is checked on the way."""
    riff, size, form = struct.unpack_from("<4sI4s", file_bytes)
    assert (riff, form) == (b"RIFF", b"WAVE")
    assert size == len(file_bytes) - 8
    place, chunks = 12, []
    while place < len(file_bytes):
        name, size = struct.unpack_from("<4sI", file_bytes, place)
        data = file_bytes[place + 8:place + 8 + size]
        assert len(data) == size
        place += 8 + size
        if size % 2:
            assert file_bytes[place] == 0  # the pad byte, which the size leaves out
            place += 1
        chunks.append((name, data))
    assert place == len(file_bytes)
    return chunks


def written(tmp_path, samples, bits):
    """The chunks of a file with these samples, by name."""
    chunks = chunks_of(Sound(samples, RATE).write(tmp_path / "log.wav", bits=bits).read_bytes())
    names = [name for name, _ in chunks]
    assert names.count(b"fmt ") == names.count(b"data") == 1
    assert names.index(b"fmt ") < names.index(b"data")
    return dict(chunks)


@pytest.mark.parametrize("bits", [8, 16, 24])
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("frames", [0, 1, 2, 7, 1001])
def test_the_format_chunk_says_what_was_written(tmp_path, bits, channels, frames):
    """PCM is tag 1; block align and bytes a second follow from channels, width and rate."""
    chunks = written(tmp_path, np.zeros((frames, channels)), bits)
    tag, count, rate, bytes_per_s, align, width = struct.unpack_from("<HHIIHH", chunks[b"fmt "])
    assert (tag, count, rate, width) == (1, channels, RATE, bits)
    assert align == channels * bits // 8
    assert bytes_per_s == RATE * align
    assert len(chunks[b"data"]) == frames * align


def test_an_odd_number_of_bytes_is_padded(tmp_path):
    """Seven 8-bit samples: the chunk says 7, the file has 8, and its length is even."""
    path = Sound(np.zeros(7), RATE).write(tmp_path / "odd.wav", bits=8)
    assert path.stat().st_size % 2 == 0
    assert len(dict(chunks_of(path.read_bytes()))[b"data"]) == 7


def test_8_bit_samples_are_unsigned_and_silence_is_128(tmp_path):
    """0 is 80h, the lowest is 00h, the highest FFh; half of full scale is 64 steps."""
    data = written(tmp_path, np.array([0, -1, 1, 0.5, -0.5, 1 / 128]), 8)[b"data"]
    assert list(data) == [0x80, 0x00, 0xFF, 0xC0, 0x40, 0x81]


def test_16_bit_samples_are_signed_and_little_endian(tmp_path):
    """Silence is 0000h; full scale is 32768 steps, of which the highest is left out."""
    data = written(tmp_path, np.array([0, -1, 1, 0.5, -0.5, 1 / 32768]), 16)[b"data"]
    assert struct.unpack("<6h", data) == (0, -32768, 32767, 16384, -16384, 1)


def test_24_bit_samples_are_three_bytes_little_endian(tmp_path):
    """The lowest byte first, as two's complement."""
    data = written(tmp_path, np.array([0, -1, 1, 0.5, -(2.0**-23)]), 24)[b"data"]
    values = [int.from_bytes(data[at:at + 3], "little", signed=True) for at in range(0, len(data), 3)]
    assert values == [0, -(2**23), 2**23 - 1, 2**22, -1]


def test_float_samples_carry_tag_3(tmp_path):
    """IEEE floats of 32 bits; other chunks may stand beside them and are skipped."""
    samples = np.array([0, -1, 1, 0.1], np.float32)
    chunks = written(tmp_path, samples, "float")
    assert struct.unpack_from("<HHIIHH", chunks[b"fmt "]) == (3, 1, RATE, 4 * RATE, 4, 32)
    assert np.array_equal(np.frombuffer(chunks[b"data"], "<f4"), samples)


def test_stereo_samples_alternate_left_and_right(tmp_path):
    """One frame after the other, each left then right."""
    data = written(tmp_path, np.array([[0.25, -0.25], [0.5, -0.5]]), 16)[b"data"]
    assert struct.unpack("<4h", data) == (8192, -8192, 16384, -16384)


@pytest.mark.parametrize("bits", [8, 16, 24])
def test_values_beyond_full_scale_are_held_there_and_never_wrap(tmp_path, bits):
    """Too loud is flat, not inside out."""
    loud = written(tmp_path, np.array([1.5, -1.5, 1e30, -1e30]), bits)[b"data"]
    full = written(tmp_path, np.array([1.0, -1.0, 1.0, -1.0]), bits)[b"data"]
    assert loud == full
