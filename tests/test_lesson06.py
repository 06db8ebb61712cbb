"""Lesson 6: what it claims, and that a learner's own function reads a real header."""

import struct

import numpy as np
import pytest
from lessonpages import page_of, predicted, run, solved, stored, text_of

import kit
from kit.bench.headerloader import FORMAT, LOG
from kit.bench.memory import HEAD, HIGH, WIDE, picture
from kit.blocks import DATA, HEADER, Header
from kit.exercises import LESSONS, learner
from kit.exercises.lesson06header import PARSE_HEADER, fields_of

PAGE = page_of(6)
SEEN_LATER = ["it eats 128 wrong bytes of the next file", "the loader refuses it before it has loaded a byte",
              "the picture appears from the top: 9 of 24 rows are there"]
SOLVED = """
import struct
def solved_by_test(b):
    _, _, length, _, _, address, name = struct.unpack(">BIIHBI32s", bytes(b))
    return [length, address, name.decode().strip(chr(0))]
"""


def unpacked(b):
    """An answer written another way than the reference: all fields at once."""
    _, _, length, _, _, address, name = struct.unpack(">BIIHBI32s", bytes(b))
    return length, address, name.decode().strip("\0")


INDEPENDENT = {"parse_header": unpacked}


def bench(name, **settings):
    """What a bench of the lesson finds."""
    return kit.bench.open_model(name, **settings).result


def own(code, **settings):
    """The bench of the header with the learner's own words, as the lesson opens it."""
    return bench("header", words=learner(code).message(6)[:32], **settings)


def numbers():
    tape = kit.encode(b"Wind west 5", name="log.txt", address=0x01020304, lead_in_s=1.0)
    reading = kit.decode(tape)
    header = reading.blocks[0].header
    content = reading.blocks[0].content
    payload = content[1:49]
    usual = dict(own("gull 7").figures)
    second, data = reading.blocks[2].content, reading.blocks[1].content
    return {
        "0": payload[0] == 1,
        "1": content[0] == HEADER == 1 and int.from_bytes(payload[1:5], "big") == header.crc32,
        "2": data[0] == DATA == 2,
        "4": len(struct.pack(">I", header.length)) == 4,
        "5": payload[5:9] == struct.pack(">I", 11),
        "9": payload[9:11] == struct.pack(">H", header.block_bytes),
        "11": payload[11] == ("bytes", "text", "picture", "code").index("text"),
        "12": payload[12:16] == b"\x01\x02\x03\x04",
        "16": payload[16:48] == b"log.txt" + bytes(25),
        "48": len(Header.of("log.txt", b"").pack()) == 48 and second == content,
        "32": len(payload[16:48]) == 32 and usual["length as read"] != "32 bytes",
        "160": usual["length as read"] == "160 bytes" and 160 == 32 + 128,
        "255": max(LOG) <= 255 and 0xFF == 255,
        "44": int.from_bytes(bytes([0, 0, 1, 44]), "big") == 300,
        "256": 256 + 44 == 300 and 1 << 8 == 256,
        "300": struct.unpack(">I", bytes([0, 0, 1, 44])) == (300,),
        "408": len(own("gull 7").outcomes) == 408 == 8 * (1 + 48 + 2),
        "8": len(b"RIFF") + 4 == 8,
    }


def a_picture_appears_from_the_top_as_it_is_stored(code):
    """However the file is divided and wherever it goes: rows of the picture, whole and right, and none below."""
    rng = np.random.default_rng(learner(code).seed("6a"))
    address, block_bytes = (int(rng.choice(each)) for each in ((0, 8192, 16384, 32768), (64, 128, 256)))
    for settings in ({}, {"address": address, "block_bytes": block_bytes}):
        result = bench("memory", scratch_ms=0, played_percent=50, **settings)
        there = np.flatnonzero(result.kinds)
        rows = (len(there) - len(HEAD)) // WIDE
        right = result.tape.values[there].tobytes() == picture()[: len(there)]
        prefix = np.array_equal(there, np.arange(len(there)))
        last = dict(result.figures)["last address"] == str(settings.get("address", 16384) + len(there) - 1)
        if not (prefix and right and last and HIGH / 4 < rows < HIGH / 2):
            return False
    return True


def a_trusting_loader_eats_128_bytes_of_the_next_file_or_waits_for_them(code):
    words = learner(code).message(6).encode()[:32]
    eats, waits = own(code), own(code, followed=False)
    figures = [dict(each.figures) for each in (eats, waits)]
    return (eats.loaded.data[:32] == words and len(eats.loaded.data) == 160 and waits.loaded.data == words
            and [each["wrong bytes eaten"] for each in figures] == ["128", "0"]
            and [each["bytes waited for"] for each in figures] == ["0", "128"] and not eats.loaded.agrees)


def a_loader_that_checks_refuses_whichever_bit_is_flipped(code):
    result = own(code, check=True)
    return result.outcomes == "R" * 408 and result.loaded.header is None and result.loaded.data == b""


DEMONSTRATIONS = {
    "6a": a_picture_appears_from_the_top_as_it_is_stored,
    "6b": a_trusting_loader_eats_128_bytes_of_the_next_file_or_waits_for_them,
    "6c": a_loader_that_checks_refuses_whichever_bit_is_flipped,
}


def test_which_bits_lesson_6_lets_one_try_do_what_is_said_of_them():
    outcomes = [own("gull 7", field="length", bit=bit).loaded.outcome for bit in range(32)]
    assert outcomes.count("−") == 1 and outcomes[5] == "−"  # 32 is bit 5 alone
    words = learner("gull 7").message(6).encode()[:32]
    for field in ("name", "start address"):
        assert all(own("gull 7", field=field, bit=bit).loaded.data == words for bit in range(0, 32, 5))
    for field in ("kind", "layout"):
        assert {own("gull 7", field=field, bit=bit).loaded.outcome for bit in range(8)} == {"U"}


def test_a_scratched_picture_keeps_its_other_rows_as_lesson_6_lets_one_see():
    whole, scratched = (bench("memory", played_percent=100, scratch_ms=ms) for ms in (0, 60))
    doubtful = scratched.tape.doubtful
    assert 0 < doubtful.sum() < 60 and not whole.tape.doubtful.any()
    assert np.array_equal(whole.tape.values[~doubtful], scratched.tape.values[~doubtful])


def test_the_second_header_stands_in_for_the_first_as_lesson_6_says():
    words = learner("gull 7").message(6)
    tape = kit.encode(words.encode(), name="log.txt", address=16384, lead_in_s=1.0)
    first = kit.decode(tape).blocks[0].span_s
    reading = kit.decode(tape.scratch(sum(first) / 2, 0.02, 6), format="house")
    assert [(file.name, file.data, file.complete) for file in reading.files] == [("log.txt", words.encode(), True)]


@pytest.mark.parametrize("seed", range(6))
def test_any_header_the_kit_writes_is_taken_apart_by_the_function_of_lesson_6(seed):
    rng = np.random.default_rng(seed)
    name = ("log.txt", "möwen-7.csv", "a", "x" * 32)[seed % 4]
    header = Header(name, *map(int, rng.integers(0, 1 << 32, 2)), address=int(rng.integers(1 << 32)))
    assert fields_of(list(header.pack())) == [header.length, header.address, name]


def test_the_length_in_a_wav_file_is_its_own_less_8_the_smaller_part_first(tmp_path):
    """RIFF: the size leaves out id and size field, and is little-endian; outside/test_riff.py names the source."""
    for code in ("gull 7", "tern 2", "Möwe"):
        wav = learner(code).tape(6).write(tmp_path / f"{code}.wav").read_bytes()
        assert wav[:4] == b"RIFF"
        assert struct.unpack("<I", wav[4:8]) == (len(wav) - 8,) != struct.unpack(">I", wav[4:8])


@pytest.mark.parametrize("code", ["tern 2", "Möwe"])
def test_lesson_6_reads_the_header_of_a_learner_s_own_tape(code, tmp_path, monkeypatch):
    notebook = solved(predicted(stored(PAGE), "c"), "parse_header", SOLVED)
    for cell in notebook.cells:
        cell.source = cell.source.replace('learner("guest")', f'learner("{code}", class_code="6b")')
    run(notebook, tmp_path, monkeypatch)
    shown = text_of(notebook)
    size = len(learner(code, "6b").message(6).encode())
    assert f"You read:  {size} 16384 log.txt" in shown and f"The kit:  {size} 16384 log.txt" in shown
    file_size = (tmp_path / "page" / "tapes" / "log.wav").stat().st_size
    assert f"little-endian: {file_size - 8}" in shown
    assert "Passed on your message and 3 others." in shown
    assert "You can now write a function that takes a header apart." in shown


def test_the_solution_of_lesson_6_passes():
    (cell,) = [cell for cell in stored(PAGE).cells if "solution" in cell.metadata.get("tags", [])]
    space = {}
    exec(cell.source.split("\n\n\n")[0], space)
    assert PARSE_HEADER.check(space["solved_parse_header"], (learner("gull 7").data("6m"),), b"seed").passed
    assert FORMAT.check != "none" and LESSONS[6].items["m"] is PARSE_HEADER
