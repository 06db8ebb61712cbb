"""The command line does what its help says: files on tape and back, damage located, reports."""

import json
import wave
import zipfile
import zlib

import numpy as np
import pytest
import soundfile
from commandline_words import QUICK, one_line, run, text_of

from kit.formats import Format
from kit.known import COMPARED, FORMATS

pytest_plugins = ["commandline_fixtures"]


# -- as a user does -------------------------------------------------------------------------------------


def test_a_folder_goes_on_tape_and_comes_back_byte_for_byte(station, tmp_path):
    """A picture, a text and a zip in a folder become one WAV, and come off it the same; hidden files stay."""
    made = run("encode", station, "-o", tmp_path / "tape.wav", *QUICK)
    assert made.returncode == 0
    assert made.stderr.decode() == f"kit: from the folder {str(station)!r}: harbour.pgm, log.txt, pages.zip\n"
    read = run("decode", tmp_path / "tape.wav", "-o", tmp_path / "back")
    assert (read.returncode, read.stderr) == (0, b"")
    assert sorted(p.name for p in (tmp_path / "back").iterdir()) == ["harbour.pgm", "log.txt", "pages.zip"]
    for path in (tmp_path / "back").iterdir():
        assert path.read_bytes() == (station / path.name).read_bytes()
        assert f"{path.name}: {path.stat().st_size} bytes, checked" in read.stdout.decode()
    with zipfile.ZipFile(tmp_path / "back" / "pages.zip") as pack:
        assert pack.testzip() is None and pack.read("log.txt") == text_of(60)


def test_encode_says_how_long_it_plays_and_warns_of_loud_sound(station, tmp_path, call):
    """Playing time and peak agree with what another reader finds in the file; the caution is given."""
    status, out, _ = call("encode", station / "log.txt", "-o", tmp_path / "tape.wav", *QUICK)
    with wave.open(str(tmp_path / "tape.wav")) as audio:
        assert (audio.getnchannels(), audio.getsampwidth(), audio.getframerate()) == (1, 2, 44100)
        samples = np.frombuffer(audio.readframes(audio.getnframes()), "<i2")
    assert status == 0
    assert f"plays {len(samples) / 44100:.1f} s" in out
    assert "1 side of a C60 or 1 side of a C90" in out
    assert "loud; headphones off" in out
    assert np.abs(samples.astype(int)).max() == pytest.approx(16384, abs=2)


def test_a_listening_copy_is_quiet_and_fades(station, tmp_path, call):
    """The copy for ears peaks at a tenth of full scale and is faded; it is made only when asked for."""
    call("encode", station / "log.txt", "-o", tmp_path / "a.wav", *QUICK)
    call("encode", station / "log.txt", "-o", tmp_path / "b.wav", *QUICK, "--listening-copy")
    assert not (tmp_path / "quiet-a.wav").exists()
    loud, _ = soundfile.read(tmp_path / "b.wav")
    quiet, rate = soundfile.read(tmp_path / "quiet-b.wav")
    assert len(quiet) == len(loud)
    assert np.abs(quiet).max() == pytest.approx(0.1, abs=1e-3)
    assert np.abs(quiet[: rate // 1000]).max() < 0.011 and np.abs(quiet[-rate // 1000 :]).max() < 0.011
    middle = slice(rate // 100, -rate // 100)
    assert quiet[middle] == pytest.approx(loud[middle] / 5, abs=1e-4)


@pytest.mark.parametrize(
    ("words", "subtype", "rate"),
    [
        (("--bits", "8", "--rate", "32000"), "PCM_U8", 32000),
        (("--bits", "24", "--rate", "48000"), "PCM_24", 48000),
        (("--bits", "float", "--rate", "96000"), "FLOAT", 96000),
    ],
)
def test_rate_and_bits_are_those_asked_for_and_decode(station, tmp_path, call, words, subtype, rate):
    """Each width and rate is what another reader sees in the file, and the file decodes."""
    assert call("encode", station / "log.txt", "-o", tmp_path / "tape.wav", *QUICK, *words)[0] == 0
    info = soundfile.info(tmp_path / "tape.wav")
    assert (info.subtype, info.samplerate) == (subtype, rate)
    assert call("decode", tmp_path / "tape.wav", "-o", tmp_path / "back")[0] == 0
    assert (tmp_path / "back" / "log.txt").read_bytes() == text_of(20)


def test_settings_of_the_tape_reach_the_tape(station, tmp_path, call):
    """Format, speed, name, content, address, copies and block size are found again by decode."""
    status, _, _ = call(
        "encode", station / "log.txt", "-o", tmp_path / "tape.flac", "--format", "framed",
        "--speed", "double",
        "--name", "night.log", "--content", "code", "--address", "0x4000", "--copies", "2",
        "--block-bytes", "200", "--lead-in", "1",
    )  # fmt: skip
    found = json.loads(call("decode", tmp_path / "tape.flac", "--list", "--json")[1])
    file = found["files"][0]
    assert status == 0
    assert (file["name"], file["content"], file["address"]) == ("night.log", "code", 16384)
    assert found["speed"] == pytest.approx(2, rel=0.01)
    assert {block["format"] for block in found["blocks"]} == {"framed"}
    size = len(text_of(20))
    assert len(found["blocks"]) == 2 * (1 + -(-size // 200) + 1)
    assert found["blocks"][0]["start_s"] == pytest.approx(1.0, abs=0.05)


def test_a_changed_name_is_said_in_one_line(tmp_path, call):
    """A name too long for a header, and a second file of the same name, are told with the name they got."""
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "log.txt").write_bytes(folder.encode())
    long = tmp_path / ("tide-tables-of-the-western-harbour.csv")
    long.write_bytes(b"1,2")
    status, out, err = call("encode", tmp_path / "a" / "log.txt", tmp_path / "b" / "log.txt", long,
                            "-o", tmp_path / "tape.wav", *QUICK)  # fmt: skip
    assert status == 0 and err.count("\n") == 2
    assert "'log.txt' is on the tape as 'log (2).txt'" in err
    assert "is on the tape as 'tide-tables-of-the-western-h.csv'" in err
    assert "log (2).txt: 1 bytes, text" in out and "tide-tables-of-the-western-h.csv" in out
    assert call("decode", tmp_path / "tape.wav", "-o", tmp_path / "back")[0] == 0
    assert (tmp_path / "back" / "log (2).txt").read_bytes() == b"b"


# -- damage ---------------------------------------------------------------------------------------------


def ruin(path, target, start_s, stop_s):
    """Write a copy of a recording with a stretch of it silent."""
    samples, rate = soundfile.read(path, dtype="int16")
    samples[round(start_s * rate) : round(stop_s * rate)] = 0
    soundfile.write(target, samples, rate)


def second_block(call, tape):
    """Where the second data block of a tape lies, in seconds."""
    blocks = json.loads(call("decode", tape, "--list", "--json")[1])["blocks"]
    return next(b for b in blocks if b["number"] == 1)


def test_a_ruined_stretch_is_located_and_the_rest_delivered(tape, tmp_path, call):
    """Every byte outside the doubtful ranges is right, the ranges lie at the damage, and the status is 1."""
    start_s = second_block(call, tape)["start_s"] + 0.4
    ruin(tape, tmp_path / "worn.wav", start_s, start_s + 0.2)
    status, out, err = call("decode", tmp_path / "worn.wav", "-o", tmp_path / "back", "--json")
    file = json.loads(out)["files"][0]
    was, now = (tmp_path / "tide.bin").read_bytes(), (tmp_path / "back" / "tide.bin").read_bytes()
    wrong = {k for k in range(3000) if was[k] != now[k]}
    doubtful = {k for part in file["doubtful"] for k in range(part["start"], part["stop"])}
    assert (status, err, len(now)) == (1, "", 3000)
    assert (file["verdict"], file["complete"]) == ("damaged", False)
    assert wrong and wrong <= doubtful and len(doubtful) < 400
    assert min(p["start_s"] for p in file["doubtful"]) == pytest.approx(start_s, abs=0.05)
    assert max(p["stop_s"] for p in file["doubtful"]) == pytest.approx(start_s + 0.2, abs=0.05)


def test_the_report_calls_damage_by_its_name(tape, tmp_path, call):
    """In words: DAMAGED, which bytes, at which seconds, and where the file went."""
    start_s = second_block(call, tape)["start_s"] + 0.4
    ruin(tape, tmp_path / "worn.wav", start_s, start_s + 0.2)
    status, out, err = call("decode", tmp_path / "worn.wav", "-o", tmp_path / "back", "--format", "house")
    assert (status, err) == (1, "")
    assert "DAMAGED: tide.bin: " in out and "of 3000 bytes in doubt" in out
    assert "in doubt, at " in out and f"written as {tmp_path / 'back' / 'tide.bin'}" in out
    assert "0 of 1 files whole, 1 DAMAGED" in out


def test_lost_headers_leave_an_unnamed_file_and_status_1(tape, tmp_path, call):
    """With both headers gone the data is delivered under a name of the kit's own."""
    blocks = json.loads(call("decode", tape, "--list", "--json")[1])["blocks"]
    first, last = blocks[0], blocks[-1]
    ruin(tape, tmp_path / "worn.wav", first["leader_s"], first["stop_s"])
    ruin(tmp_path / "worn.wav", tmp_path / "worn.wav", last["start_s"] - 0.1, last["stop_s"])
    status, out, _ = call("decode", tmp_path / "worn.wav", "-o", tmp_path / "back")
    assert status == 1 and "DAMAGED: unnamed-1.bin" in out
    assert (tmp_path / "back" / "unnamed-1.bin").read_bytes() == (tmp_path / "tide.bin").read_bytes()


def test_a_header_alone_writes_nothing(tape, tmp_path, call):
    """Where only a header was read, no file full of nothing is written, and that is said."""
    first = json.loads(call("decode", tape, "--list", "--json")[1])["blocks"][0]
    samples, rate = soundfile.read(tape, dtype="int16")
    soundfile.write(tmp_path / "cut.wav", samples[: round((first["stop_s"] + 0.005) * rate)], rate)
    status, out, _ = call("decode", tmp_path / "cut.wav", "-o", tmp_path / "back")
    assert status == 1 and not (tmp_path / "back").exists()
    assert "DAMAGED: tide.bin: only its header was read, none of its 3000 bytes; not written" in out


def test_a_format_without_a_check_is_told_as_such(tmp_path, call, monkeypatch):
    """Nothing wrong and nothing to vouch for it: status 0, and a line that says so."""
    monkeypatch.setitem(FORMATS, "bare", Format("bare", check="none"))
    (tmp_path / "log.txt").write_bytes(text_of(5))
    call("encode", tmp_path / "log.txt", "-o", tmp_path / "tape.wav", *QUICK, "--format", "bare")
    status, out, err = call("decode", tmp_path / "tape.wav", "-o", tmp_path / "back", "--format", "bare")
    assert (status, err) == (0, "")
    assert "log.txt: its format has no check" in out and "DAMAGED" not in out
    assert (tmp_path / "back" / "log.txt").read_bytes() == text_of(5)


@pytest.mark.parametrize(
    ("samples", "said"),
    [
        (np.zeros(44100), "silent: check the cable"),
        (0.5 * np.sin(np.arange(44100) / 7), "another playback level"),
    ],
)
def test_nothing_found_says_what_to_try(tmp_path, call, samples, said):
    """Silence and a plain tone hold no file: status 1 and one line of advice, with JSON still whole."""
    soundfile.write(tmp_path / "tone.wav", samples, 44100)
    status, out, err = call("decode", tmp_path / "tone.wav", "-o", tmp_path / "back")
    assert (status, out) == (1, "") and one_line(err) and said in err
    assert not (tmp_path / "back").exists()
    status, out, err = call("decode", tmp_path / "tone.wav", "--list", "--json")
    assert status == 1 and one_line(err) and json.loads(out)["files"] == []


# -- reports --------------------------------------------------------------------------------------------


def test_list_writes_nothing(tape, tmp_path, call):
    """With --list the report is the same, and no folder or file appears, even where one is named."""
    before = sorted(tmp_path.rglob("*"))
    for words in (("--list",), ("--list", "-o", tmp_path / "back")):
        status, out, err = call("decode", tape, *words)
        assert (status, err) == (0, "")
        assert "tide.bin: 3000 bytes, checked" in out and "nothing written" in out
    assert sorted(tmp_path.rglob("*")) == before


def test_json_of_a_reading_says_all_that_was_found(tape, tmp_path, call):
    """Names, bytes, CRC-32 (by zlib), blocks, events, speed and seconds are there, and nothing but JSON."""
    status, out, err = call("decode", tape, "-o", tmp_path / "back", "--json")
    found = json.loads(out)
    data = (tmp_path / "tide.bin").read_bytes()
    file = found["files"][0]
    assert (status, err, found["status"], found["verdict"], found["complete"]) == (0, "", 0, "checked", True)
    assert (file["name"], file["said_name"]) == ("tide.bin", "tide.bin")
    assert (file["bytes"], file["length"]) == (3000, 3000)
    assert file["path"] == str(tmp_path / "back" / "tide.bin") and file["doubtful"] == []
    assert int(file["crc32"], 16) == zlib.crc32(data)
    assert found["seconds"] == pytest.approx(soundfile.info(tape).duration, abs=1e-3)
    assert found["speed"] == pytest.approx(4, rel=0.01)
    assert [block["kind"] for block in found["blocks"]] == [1, 2, 2, 2, 1]
    assert {"leader", "sync", "header", "data", "check"} == {event["what"] for event in found["events"]}


def test_events_are_told_when_asked_for(tape, call):
    """Times and words of what was heard come before the report, only with --events."""
    assert "leader found" not in call("decode", tape, "--list")[1]
    out = call("decode", tape, "--list", "--events")[1]
    assert "leader found on mono" in out and "header: 'tide.bin', 3000 bytes" in out


def test_formats_are_listed_in_words_and_as_json(call):
    """Every named format and speed is listed, with its frequencies."""
    status, out, err = call("formats")
    assert (status, err) == (0, "") and all(f"{name}: " in out for name in FORMATS) and "quadruple (4)" in out
    listed = {one["name"]: one for one in json.loads(call("formats", "--json")[1])["formats"]}
    assert list(listed) == [*FORMATS, *COMPARED]
    assert listed["house"]["cycles_hz"] == {"leader": 600, "sync": 800, "one": 1200, "zero": 2400}
