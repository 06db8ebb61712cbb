"""Whatever a tape claims, decode stays in its folder, obeys no name, and takes no more memory than the tape."""

import json
import struct
import tracemalloc

import numpy as np
import pytest
import soundfile
from crafted import RATE, claim, header, part, samples_of, small_file

from kit.blocks import HEADER
from kit.names import free_name, safe_name

pytest_plugins = ["commandline_fixtures"]

MOST_MEMORY_BYTES = 64e6  # a tape of seconds must not take more, whatever it claims

# -- names ---------------------------------------------------------------------------------------------

NAMES = [
    "../../x", "..\\..\\x", "/etc/motd", "C:\\x", "//host/share/x", "~/x", "a/../../b", "..", ".", "...", "",
    " ", "CON", "con.txt", "LPT1.log", "aux .txt", "nul", "<script>alert(1)</script>", "a|b>c*d?.txt",
    "name:stream", "\x1b[2J\x1b]0;hi\x07", "two\nlines\r.txt", "\u202egpj.exe", "\ufeff\u200b", ".hidden",
    "-rf", "ends. . .", "x" * 32, "é" * 16, b"\xff\xfe\x80bad", b"\xf0\x9f\x98", b"a\0b\0c", "\u2028\u2029",
    "%2e%2e%2fx", "$(x)`y`",
]  # fmt: skip


def test_no_name_leads_out_of_the_folder(tmp_path, put, hear):
    """Each of many hostile names becomes one plain file in the folder, with its own data."""
    files = [(name, f"data of file {k}".encode()) for k, name in enumerate(NAMES)]
    status, out, _ = hear(put([body for name, data in files for body in small_file(name, data)]), "--json")
    found = json.loads(out)["files"]
    folder = tmp_path / "deep" / "deeper" / "out"
    assert status == 0 and len(found) == len(NAMES) == len(list(folder.iterdir()))
    for file, (_, data) in zip(found, files, strict=True):
        name = file["name"]
        assert (folder / name).is_file() and (folder / name).read_bytes() == data
        assert name.isprintable() and not set(name) & set('/\\:*?"<>|') and not name.startswith(".")
        assert name == name.strip(" ").rstrip(".") and len(name.encode()) <= 255
        assert name.split(".")[0].strip().casefold() not in {"con", "aux", "nul", "lpt1"}


def test_hostile_names_are_told_without_being_obeyed(put, hear):
    """In words too, every name comes out in printable letters (as `hear` checks), as the tape said it."""
    _, out, _ = hear(put([body for name in NAMES[:24] for body in small_file(name, repr(name).encode())]))
    assert "the tape says '../../x'" in out and "\\x1b[2J" in out


@pytest.mark.parametrize("length", [199, 200, 201, 5000])
@pytest.mark.parametrize("letter", ["x", "é", ". ", "橋", "\U0001f30a"])
def test_safe_names_stay_safe_wherever_they_are_cut(length, letter):
    """Cut to 200 bytes, a name still ends in neither a space nor a dot, and is the same made safe again."""
    name = safe_name("a" + letter * length + ".txt")
    assert len(name.encode()) <= 200 and name == name.rstrip(". ") and safe_name(name) == name
    assert len(free_name(name, {name.casefold()}).encode()) <= 255


def test_equal_names_are_numbered_and_nothing_is_overwritten(tmp_path, put, hear):
    """Files of one name, also but for case or what had to go from it, all stay."""
    names = ["log.txt", "log.txt", "LOG.TXT", "log.txt\x07", "log (2).txt"]
    folder = tmp_path / "deep" / "deeper" / "out"
    folder.mkdir(parents=True)
    (folder / "log.txt").write_bytes(b"kept")
    path = put([body for k, name in enumerate(names) for body in small_file(name, bytes([k]) * 20)])
    status, _, _ = hear(path)
    contents = sorted(p.read_bytes() for p in folder.iterdir())
    assert status == 0 and contents == sorted([b"kept", *(bytes([k]) * 20 for k in range(5))])
    assert len({p.name.casefold() for p in folder.iterdir()}) == 6


# -- blocks that lie -----------------------------------------------------------------------------------

DATA_20 = bytes(range(20))
LIES = {
    "a length of 10**9 and no data": [claim(10**9)],
    "a length of 10**9 and one block": [claim(10**9), part(0x5678, 0, DATA_20)],
    "the greatest length": [claim(2**32 - 1, 4080), part(0x5678, 65535, DATA_20)],
    "the greatest length in the smallest blocks": [claim(2**32 - 1, 16), part(0x5678, 65535, DATA_20[:16])],
    "far blocks and no header": [part(7, 65535, bytes(4080)), part(7, 0, DATA_20)],
    "a far block alone": [part(7, 65535, DATA_20)],
    "blocks beyond the stated end": [claim(10), part(0x5678, 0, DATA_20), part(0x5678, 9, DATA_20)],
    "a block longer than the header says": [claim(100, 16), part(0x5678, 1, DATA_20 * 50)],
    "blocks shorter than it says": [claim(5000, 4080), part(0x5678, 0, DATA_20), part(0x5678, 1, b"")],
    "a length field beyond the end": [b"\x02\0\0\0\0\x0f\xf0" + DATA_20],
    "a length field that cannot be": [b"\x02\0\0\0\0\xff\xff" + DATA_20],
    "a data block of nothing": [part(7, 0, b"")],
    "a block size of 0": [header("x", b"calm")[:10] + b"\0\0" + header("x", b"calm")[12:]],
    "a block size of 65535": [header("x", b"calm")[:10] + b"\xff\xff" + header("x", b"calm")[12:]],
    "another layout": [b"\x01\x02" + header("x", b"calm")[2:]],
    "an unknown content": [header("x", b"calm")[:12] + b"\xc8" + header("x", b"calm")[13:]],
    "a header cut short": [header("x", b"calm")[:20]],
    "a header too long": [header("x", b"calm") + bytes(40)],
    "a wrong CRC-32": [claim(20, 1024, 0x5678), part(0x5678, 0, DATA_20)],
    "two files of one tag": [claim(20, 1024, 0x15678), claim(30, 1024, 0x25678), part(0x5678, 0, DATA_20)],
    "one block number twice": [claim(20, 16), part(0x5678, 0, bytes(16)), part(0x5678, 0, DATA_20[:16])],
}


@pytest.mark.parametrize("name", LIES)
def test_a_lie_with_a_good_check_is_no_more_than_damage(put, hear, name):
    """Whatever a block claims: a result, status 1, and memory that follows what is on the tape."""
    path = put(LIES[name])
    hear(path)  # what is imported and kept on first use does not count
    tracemalloc.start()
    try:
        status, out, err = hear(path)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert status == 1 and (out or err)
    assert peak < MOST_MEMORY_BYTES


@pytest.mark.parametrize("name", ["a length field beyond the end", "a length field that cannot be"])
def test_a_file_beside_a_block_that_lies_is_whole(put, hear, name):
    """A block whose length leads nowhere does not take the file after it along."""
    _, out, _ = hear(put([*LIES[name], *small_file("log.txt", b"calm")]))
    assert "log.txt: 4 bytes, checked" in out


@pytest.mark.parametrize(
    ("kind", "length"), [(0, 1), (0, 47), (3, 0), (4, 1), (4, 47), (127, 5000), (255, 0), (255, 1)]
)
def test_unknown_kinds_are_passed_over(put, hear, kind, length):
    """A block of another kind is told and skipped; the file beside it is whole, and so is the status."""
    strange = bytes([kind]) + np.random.default_rng(length).bytes(length)
    status, out, _ = hear(put([*small_file("log.txt", b"calm"), strange, *small_file("two.txt", b"wind")]))
    assert "log.txt: 4 bytes, checked" in out and "two.txt: 4 bytes, checked" in out
    assert status == 0 or length not in (1, 47)


def test_headers_many_times_over_are_one_file(tmp_path, put, hear):
    """The same header again and again, before, between and after the data, is one file."""
    first, data, _ = small_file("log.txt", DATA_20)
    assert hear(put([first] * 20 + [data] + [first] * 20 + [data, data]))[0] == 0
    folder = tmp_path / "deep" / "deeper" / "out"
    assert [p.name for p in folder.iterdir()] == ["log.txt"] and (folder / "log.txt").read_bytes() == DATA_20


def test_many_claims_take_no_more_than_one(put, hear):
    """Dozens of headers, each claiming megabytes that are not there, take no more memory together."""
    path = put([claim(4 << 20, crc32=k) for k in range(40)])
    tracemalloc.start()
    try:
        status = hear(path)[0]
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert status == 1 and peak < MOST_MEMORY_BYTES


def test_a_block_without_a_start_before_a_header_that_lies(tmp_path, hear):
    """A block that lost its beginning is not given the last place of a file of 62 million blocks."""
    samples = samples_of([part(0x5678, 0, bytes(range(200))), claim(10**9, 16)])
    soundfile.write(tmp_path / "tape.wav", samples[round(0.6 * RATE) :], RATE)
    assert hear(tmp_path / "tape.wav")[0] == 1


@pytest.mark.parametrize("seed", [360, 473, 554, *range(8)])
def test_backwards_and_ruined_tapes_give_a_result(tmp_path, hear, seed):
    """Two blocks of any kind, heard backwards, with clicks or a hole."""
    generator = np.random.default_rng(seed)
    bodies = [
        bytes([int(generator.integers(0, 5))]) + generator.bytes(int(generator.integers(1, 60)))
        for _ in range(2)
    ]
    samples = samples_of(bodies)[20000:][::-1].copy()
    if seed % 3 == 0:
        samples[:: int(generator.integers(100, 3000))] = 1
    else:
        samples[int(generator.integers(len(samples))) :][: int(generator.integers(1, 300))] = 0
    soundfile.write(tmp_path / "tape.wav", samples, RATE, subtype="FLOAT")
    hear(tmp_path / "tape.wav")


@pytest.mark.parametrize("seed", range(8))
def test_random_blocks_with_good_checks_give_a_result(put, hear, seed):
    """Tapes of random blocks, many looking like headers and data, all with good checks."""
    generator = np.random.default_rng(seed)
    bodies = []
    for _ in range(40):
        body = bytearray(generator.bytes(int(generator.integers(2, 90))))
        body[0] = generator.choice([1, 2, 2, 2, 0, 255, body[0]])
        if body[0] == HEADER:
            body = bytearray(header(generator.bytes(32), b"", block_bytes=16))
            body[2:10] = b"\0\0\0" + generator.bytes(1) + generator.bytes(4)
        elif generator.random() < 0.7 and len(body) > 7:
            body[1:7] = struct.pack(">HHH", generator.integers(4), generator.integers(65536), len(body) - 7)
        bodies.append(bytes(body))
    hear(put(bodies), "--json")
