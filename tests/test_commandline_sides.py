"""The command line with several recordings: sides that are numbered and joined, and tapes that are not one."""

import json

import soundfile
from commandline_words import QUICK, one_line

pytest_plugins = ["commandline_fixtures"]


def test_sides_are_numbered_and_joined(tape, tmp_path, call):
    """A tape split at --side-minutes plays no longer than that a side, and decodes whole from all sides."""
    status, out, _ = call("encode", tmp_path / "tide.bin", "-o", tmp_path / "s.wav", *QUICK,
                          "--side-minutes", "0.04", "--json")  # fmt: skip
    made = json.loads(out)
    names = [f"s-{k + 1}.wav" for k in range(len(made["tapes"]))]
    assert status == 0 and len(names) >= 2
    assert sorted(p.name for p in tmp_path.glob("s*.wav")) == names
    assert all(soundfile.info(tmp_path / name).duration <= 0.04 * 60 + 0.01 for name in names)
    assert made["sides"] == {"C60": len(names), "C90": len(names)}
    sides = [tmp_path / name for name in names]
    status, out, _ = call("decode", *sides, "-o", tmp_path / "back", "--json")
    assert status == 0 and len(json.loads(out)["recordings"]) == len(names)
    assert (tmp_path / "back" / "tide.bin").read_bytes() == (tmp_path / "tide.bin").read_bytes()
    assert call("decode", sides[0], "--list")[0] == 1


def test_ten_sides_sort_by_name_as_by_number(tape, tmp_path, call):
    """From ten sides on the numbers have two digits, so that a shell gives them in order."""
    status, out, _ = call("encode", tmp_path / "tide.bin", "-o", tmp_path / "s.wav", *QUICK,
                          "--block-bytes", "64", "--side-minutes", "0.02", "--json")  # fmt: skip
    paths = [made["path"] for made in json.loads(out)["tapes"]]
    assert status == 0 and len(paths) >= 10
    assert paths[0].endswith("s-01.wav") and sorted(paths) == paths


def test_no_side_is_overwritten(tape, tmp_path, call):
    """One side that is there already stops all of them, before any is written."""
    (tmp_path / "s-2.wav").write_bytes(b"kept")
    words = ("encode", tmp_path / "tide.bin", "-o", tmp_path / "s.wav", *QUICK, "--side-minutes", "0.04")
    status, out, err = call(*words)
    assert (status, out) == (2, "") and one_line(err) and "s-2.wav" in err
    assert (tmp_path / "s-2.wav").read_bytes() == b"kept" and not (tmp_path / "s-1.wav").exists()
    assert call(*words, "--force")[0] == 0
    assert (tmp_path / "s-2.wav").read_bytes() != b"kept"


def test_recordings_of_two_tapes_give_the_files_of_both(station, tmp_path, call):
    """Recordings that belong to different tapes are all read; events and blocks say which they came from."""
    for name in ("log.txt", "pages.zip"):
        call("encode", station / name, "-o", tmp_path / f"{name}.wav", *QUICK)
    tapes = (tmp_path / "log.txt.wav", tmp_path / "pages.zip.wav")
    status, out, _ = call("decode", *tapes, "-o", tmp_path / "back", "--json")
    found = json.loads(out)
    assert status == 0 and [file["name"] for file in found["files"]] == ["log.txt", "pages.zip"]
    assert {block["recording"] for block in found["blocks"]} == {0, 1}
    assert (tmp_path / "back" / "pages.zip").read_bytes() == (station / "pages.zip").read_bytes()
