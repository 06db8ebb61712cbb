"""Blocks: headers and data laid out byte by byte as written down, lengths stated by first bytes, names that fit."""

import string
import struct
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.blocks import (
    CONTENTS,
    DATA,
    HEADER,
    LARGEST,
    PARITY,
    SMALLEST,
    DataPart,
    Header,
    fit_name,
    inverted,
    length_of,
    upright,
)
from kit.errors import SettingError

LOG = b"wind west 5, sea 4, rain since noon\n"
# (name, its extension): scripts of one to four bytes a character, and accents of their own.
NAMES = [
    ("log-of-the-weather-station-on-the-island.txt", ".txt"),
    ("überfälliger-wetterbericht-für-süderöög.csv", ".csv"),
    ("журнал-метеостанции-на-острове.txt", ".txt"),
    ("ημερολόγιο-του-μετεωρολογικού-σταθμού.md", ".md"),
    ("島の気象観測所の毎日の記録.pgm", ".pgm"),
    ("섬-기상-관측소의-매일-기록.txt", ".txt"),
    ("سجل-محطة-الطقس-في-الجزيرة.txt", ".txt"),
    ("द्वीप-के-मौसम-केंद्र-का-दैनिक-लेख.txt", ".txt"),
    ("🌧🌦⛅🌤☀🌊🌬🌫⛈🌩.pbm", ".pbm"),
    ("e\u0301" * 20 + ".txt", ".txt"),
    ("no-extension-at-all-but-a-long-name-anyway", ""),
    ("ends-with.an-extension-too-long-to-be-one", ""),
]

any_text = st.text(st.characters(exclude_categories=("Cs",)), max_size=60)
plain_text = st.text(string.ascii_letters + string.digits + "-_ éж島🌧", min_size=1, max_size=24)


# -- header --------------------------------------------------------------------------------------------


def test_a_header_is_laid_out_byte_for_byte_as_written_down():
    """48 bytes, big-endian: layout, CRC-32, length, block bytes, content, address, name; each in its place."""
    packed = Header.of("log.txt", LOG, block_bytes=512, content="text", address=0xC0FFEE01).pack()
    assert len(packed) == 48
    assert packed[0] == 1
    assert struct.unpack(">I", packed[1:5]) == (zlib.crc32(LOG),)
    assert struct.unpack(">I", packed[5:9]) == (len(LOG),)
    assert struct.unpack(">H", packed[9:11]) == (512,)
    assert packed[11] == 1
    assert packed[12:16] == bytes([0xC0, 0xFF, 0xEE, 0x01])
    assert packed[16:] == b"log.txt" + bytes(25)


@pytest.mark.parametrize(("content", "number"), [("bytes", 0), ("text", 1), ("picture", 2), ("code", 3)])
def test_what_a_file_holds_is_a_number_in_the_header(content, number):
    """Four kinds, in this order."""
    assert Header("x", 0, 0, content=content).pack()[11] == number
    assert CONTENTS[number] == content


headers = st.builds(
    Header, any_text.filter(lambda t: len(t.encode()) <= 32 and not t.endswith("\0")),
    st.integers(0, 2**32 - 1), st.integers(0, 2**32 - 1), block_bytes=st.integers(SMALLEST, LARGEST),
    content=st.sampled_from(CONTENTS), address=st.integers(0, 2**32 - 1),
)


@given(headers)
@settings(derandomize=True, deadline=None)
def test_a_header_survives_the_way_to_bytes_and_back(header):
    """Every field, and what follows from them."""
    back = Header.unpack(header.pack())
    assert back == header
    assert back.tag == int.from_bytes(header.pack()[3:5], "big")
    assert back.blocks == (header.length + header.block_bytes - 1) // header.block_bytes


@given(st.binary(max_size=60))
@settings(derandomize=True, max_examples=300, deadline=None)
def test_any_bytes_make_a_header_or_none(payload):
    """Never an exception: what comes off a tape is not to be trusted."""
    header = Header.unpack(payload)
    assert header is None or len(payload) == 48


@pytest.mark.parametrize(("offset", "value"), [
    (0, b"\0"), (0, b"\2"), (11, b"\4"), (11, b"\xff"), (9, b"\0\x0f"), (9, b"\x0f\xf1"), (9, b"\0\0"),
])
def test_a_header_of_another_layout_or_with_impossible_numbers_is_none(offset, value):
    """Layout 1, content 0 to 3, 16 to 4080 bytes a block."""
    packed = bytearray(Header.of("x", LOG).pack())
    assert Header.unpack(bytes(packed)) is not None
    packed[offset : offset + len(value)] = value
    assert Header.unpack(bytes(packed)) is None


def test_a_name_that_is_no_utf_8_is_still_read():
    """What cannot be read shows as a mark, nothing fails."""
    packed = Header.of("", LOG).pack()[:16] + b"log\xff\xfe.txt".ljust(32, b"\0")
    assert Header.unpack(packed).name == "log\ufffd\ufffd.txt"


@pytest.mark.parametrize(("settings", "said"), [
    ({"content": "music"}, "bytes, text, picture, code, got 'music'"),
    ({"block_bytes": 15}, "16 to 4080 bytes, got 15"), ({"block_bytes": 4081}, "16 to 4080 bytes, got 4081"),
    ({"address": 2**32}, "address must lie in 0 to 4294967295, got 4294967296"), ({"address": -1}, "got -1"),
])
def test_a_header_with_a_wrong_setting_is_refused(settings, said):
    """In one line that names the range and the value."""
    with pytest.raises(SettingError, match=said):
        Header.of("x", LOG, **settings)


def test_a_name_too_long_for_the_header_is_refused_when_packed():
    """33 bytes of UTF-8."""
    with pytest.raises(SettingError, match="32 bytes of UTF-8, got 33: shorten it"):
        Header.of("é" * 16 + "x", LOG).pack()


# -- data ----------------------------------------------------------------------------------------------


@given(st.integers(0, 65535), st.integers(0, 65535), st.binary(max_size=300))
@settings(derandomize=True, deadline=None)
def test_a_data_part_is_tag_number_length_and_data(tag, number, data):
    """Each number of two bytes, big-endian; and back."""
    packed = DataPart(tag, number, data).pack()
    assert packed == struct.pack(">HHH", tag, number, len(data)) + data
    assert DataPart.unpack(packed) == DataPart(tag, number, data)
    assert DataPart.unpack(packed + b"x") is None
    assert DataPart.unpack(packed[:-1]) is None


@given(st.one_of(st.binary(max_size=12), st.binary(max_size=9).map(lambda rest: bytes([DATA]) + rest)))
@settings(derandomize=True, max_examples=300, deadline=None)
def test_the_length_of_any_beginning_is_stated_possible_or_unknown(start):
    """A header has 49 bytes; data and parity have 7 more than they say, at most 4087; all else is unknown.

    A copy with every bit inverted has kind byte 0xFE, 0xFD or 0xFC, and states its length inverted too.
    """
    if start[:1] in (b"\xfe", b"\xfd", b"\xfc"):
        start = bytes(255 - byte for byte in start)
    length = length_of(start)
    if start[:1] == b"\1":
        assert length == 49
    elif start[:1] in (b"\2", b"\3") and len(start) >= 7 and start[5] * 256 + start[6] <= 4080:
        assert length == 7 + start[5] * 256 + start[6]
    else:
        assert length is None


@given(st.binary(min_size=7, max_size=12), st.sampled_from([HEADER, DATA, PARITY]))
@settings(derandomize=True, deadline=None)
def test_an_inverted_copy_is_turned_upright_and_is_as_long_as_its_block(rest, kind):
    """Each byte b as 255 - b; what is upright already stays as it is."""
    block = bytes([kind]) + rest
    copy = bytes(255 - byte for byte in block)
    assert inverted(block) == copy
    assert upright(copy) == (block, True) and upright(block) == (block, False)
    assert length_of(copy) == length_of(block)


@pytest.mark.parametrize("size", [0, 1, 255, 256, 4080])
def test_the_length_of_a_block_follows_from_its_first_seven_bytes(size):
    """Kind byte and payload, without the check."""
    body = bytes([DATA]) + DataPart(7, 9, bytes(size)).pack()
    assert length_of(body[:7]) == len(body)
    assert length_of(body[:6]) is None


def test_a_length_beyond_what_a_block_may_hold_is_no_length():
    """It is a claim to check, never a size to reserve."""
    assert length_of(bytes([DATA, 0, 0, 0, 0, 0x0F, 0xF1])) is None  # 4081
    assert length_of(bytes([HEADER])) == 1 + 48


# -- names ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "extension"), NAMES)
def test_a_long_name_in_any_script_is_cut_at_a_character_with_its_extension_kept(name, extension):
    """As many characters as fit in 32 bytes, none of them in part."""
    fitted = fit_name(name)
    assert len(fitted.encode("utf-8")) <= 32
    assert fitted.endswith(extension)
    stem, whole = fitted[: len(fitted) - len(extension)], name[: len(name) - len(extension)]
    assert whole.startswith(stem)
    next_character = whole[len(stem)]
    assert len((stem + next_character + extension).encode("utf-8")) > 32


@pytest.mark.parametrize(("name", "extension"), NAMES)
def test_equal_names_are_numbered_and_still_fit(name, extension):
    """Twelve of them: all differ, all keep the extension, and the number is told."""
    taken = set()
    for number in range(1, 13):
        fitted = fit_name(name, taken)
        assert fitted not in taken and len(fitted.encode("utf-8")) <= 32
        assert fitted.endswith((f" ({number})" if number > 1 else "") + extension)
        taken.add(fitted)


@given(plain_text, st.sampled_from(["", ".txt", ".pgm", ".tar"]))
@settings(derandomize=True, deadline=None)
def test_a_name_that_fits_is_left_alone(stem, extension):
    """Nothing is changed without need."""
    name = stem + extension
    if len(name.encode("utf-8")) <= 32:
        assert fit_name(name) == name


@given(st.text(max_size=60), st.integers(0, 12))
@settings(derandomize=True, max_examples=300, deadline=None)
def test_any_name_can_be_made_to_fit_and_to_differ(name, others):
    """Also with half a surrogate pair in it, also after others of that name."""
    taken = set()
    for _ in range(others):
        taken.add(fit_name(name, taken))
    fitted = fit_name(name, taken)
    assert len(taken) == others and fitted not in taken
    assert len(fitted.encode("utf-8")) <= 32
    assert fit_name(fitted) == fitted or "/" in name


def test_a_name_that_ends_with_a_slash_is_left_alone():
    """It fits, so there is nothing to change."""
    assert fit_name("log.txt/") == "log.txt/"
