"""`testtape` and `measure` on the command line do what their help says."""

import json

import numpy as np
import pytest
import soundfile
from commandline_words import one_line, run
from testtape_cases import the_tape

from kit.deck import Deck
from kit.sound import Sound

pytest_plugins = ["commandline_fixtures"]


@pytest.fixture(scope="module")
def recording(tmp_path_factory):
    """The test tape through a plain machine with some hiss, as a file."""
    path = tmp_path_factory.mktemp("played") / "recording.flac"
    return Deck(hiss_dbfs=-50, replay_wow_percent=0.1).play(the_tape()).write(path)


def test_as_a_user_does_from_tape_to_report(tmp_path):
    """The tape is written, worn by another command, and measured, each in a process of its own."""
    tape, worn = tmp_path / "tape.wav", tmp_path / "worn.wav"
    made = run("testtape", "-o", tape)
    assert (made.returncode, made.stderr) == (0, b"")
    assert run("degrade", tape, "-o", worn, "--hiss-dbfs", "-48", "--record-speed-percent", "1").returncode == 0
    measured = run("measure", worn)
    assert (measured.returncode, measured.stderr) == (0, b"")
    said = measured.stdout.decode()
    assert "speed, replay against recording  -0.99" in said and "noise, left" in said and "-48." in said


def test_testtape_writes_what_the_library_makes_and_warns_of_loud_sound(tmp_path, call):
    status, out, err = call("testtape", "-o", tmp_path / "tape.wav")
    samples, rate = soundfile.read(tmp_path / "tape.wav", dtype="float32")
    assert (status, err, rate) == (0, "", 44100)
    np.testing.assert_allclose(samples, the_tape().samples, rtol=0, atol=1 / 32000)
    assert "loud; headphones off" in out and "never join a loudspeaker" in out and "plays 2 min 3 s" in out
    assert not (tmp_path / "quiet-tape.wav").exists()


def test_a_listening_copy_is_quiet(tmp_path, call):
    status, out, _ = call("testtape", "-o", tmp_path / "tape.flac", "--listening-copy", "--rate", "48000")
    quiet, rate = soundfile.read(tmp_path / "quiet-tape.flac")
    assert status == 0 and rate == 48000 and "quiet, for listening" in out
    assert np.abs(quiet).max() == pytest.approx(0.1, abs=1e-3)


def test_the_level_tone_is_twenty_seconds_of_one_level(tmp_path, call):
    status, out, _ = call("testtape", "--level-only", "-o", tmp_path / "level.wav", "--json")
    made = json.loads(out)
    tone = Sound.read(tmp_path / "level.wav")
    assert status == 0 and made["what"] == "level tone" and made["seconds"] == pytest.approx(20, abs=0.01)
    assert tone.seconds == pytest.approx(20, abs=0.01)
    assert tone.part(1, 2).rms == pytest.approx(tone.part(18, 19).rms, rel=1e-3)
    assert "headphones off" in made["caution"] and "volume down" in made["before_you_plug_in"]


def test_measure_reports_as_json(recording, call):
    status, out, err = call("measure", recording, "--json")
    report = json.loads(out)
    assert (status, err) == (0, "")
    assert report["complete"] and report["noise"][0]["value"] == pytest.approx(-50, abs=1)
    assert report["wow_and_flutter"]["value"] == pytest.approx(0.05, rel=0.1)  # 0.1 % at 0.8 Hz; AES6, table 1
    assert report["absolute_speed"]["value"] is None
    assert "cannot be known from this recording" in report["absolute_speed"]["unknown"]
    elsewhere = json.loads(call("measure", recording, "--json", "--recorded-elsewhere")[1])
    assert elsewhere["absolute_speed"]["value"] == pytest.approx(0, abs=0.05)


@pytest.mark.parametrize("name, start", [("page.png", b"\x89PNG"), ("page.PDF", b"%PDF")])
def test_measure_draws_one_page(recording, tmp_path, call, name, start):
    status, _, err = call("measure", recording, "--picture", tmp_path / name)
    assert (status, err) == (0, "")
    assert (tmp_path / name).read_bytes().startswith(start)


def test_a_cut_recording_is_reported_with_status_1(tmp_path, call):
    the_tape().part(0, 60).write(tmp_path / "cut.wav")
    status, out, _ = call("measure", tmp_path / "cut.wav")
    assert status == 1 and "not all of the tape is in it" in out and "record all of it" in out


def test_what_is_no_test_tape_is_refused_in_one_line(tmp_path, call):
    Sound(np.zeros(44100), 44100).write(tmp_path / "silent.wav")
    call("testtape", "--level-only", "-o", tmp_path / "level.wav")
    (tmp_path / "words.wav").write_bytes(b"no sound at all")
    wanted = {"silent.wav": "silence", "level.wav": "must hold the test tape", "words.wav": "words.wav",
              "gone.wav": "gone.wav"}  # fmt: skip
    for name, words in wanted.items():
        status, out, err = call("measure", tmp_path / name)
        assert (status, out) == (2, "") and one_line(err) and words in err


@pytest.mark.parametrize("words", [
    ("testtape",), ("testtape", "-o", "tape.txt"), ("testtape", "-o", "none/tape.wav"),
    ("testtape", "-o", "tape.wav", "--rate", "8000"), ("testtape", "-o", "tape.wav", "--bits", "8"),
    ("measure",), ("measure", "a.wav", "b.wav"), ("measure", "a.wav", "--picture", "page.txt"),
    ("measure", "a.wav", "--picture", "none/page.png"),
])  # fmt: skip
def test_a_wrong_call_is_refused_in_one_line_and_writes_nothing(words, tmp_path, call, monkeypatch):
    monkeypatch.chdir(tmp_path)
    status, out, err = call(*words)
    assert (status, out) == (2, "") and one_line(err)
    assert not list(tmp_path.iterdir())


def test_nothing_is_replaced_without_being_asked(recording, tmp_path, call):
    for name, words in (("tape.wav", ("testtape", "--level-only", "-o")), ("quiet-a.wav", None), ("page.png", None)):
        (tmp_path / name).write_bytes(b"mine")
        if words:
            assert call(*words, tmp_path / name)[0] == 2
    assert call("testtape", "--level-only", "--listening-copy", "-o", tmp_path / "a.wav")[0] == 2
    assert call("measure", recording, "--picture", tmp_path / "page.png")[0] == 2
    assert all((tmp_path / name).read_bytes() == b"mine" for name in ("tape.wav", "quiet-a.wav", "page.png"))
    assert call("testtape", "--level-only", "-o", tmp_path / "tape.wav", "--force")[0] == 0
    assert (tmp_path / "tape.wav").read_bytes().startswith(b"RIFF")


def test_help_tells_the_way_from_tape_to_report_with_its_cautions(call):
    for command in ("testtape", "measure"):
        status, out, _ = call(command, "--help")
        text = " ".join(out.split())
        assert status == 0 and "exit status" in out
        assert "volume down" in text and "headphones off" in text and "never join a loudspeaker" in text
