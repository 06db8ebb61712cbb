"""What the live ear says of level and input, and keeps: names, files and recordings, nothing ever replaced."""

import re
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from live_cases import DATA, OFF, RATE, TAPE, listened

import kit
from kit.errors import SettingError, SoundError
from kit.live import Ear
from kit.live.inputs import InputReport
from kit.live.practice import LOG, SCRATCH_S, practice_tape
from kit.live.take import LOADING_ZONE_DBFS, level_in_words
from kit.live.telling import MOST_LINES, Teller
from kit.live.uploads import Upload

HOSTILE = "<img src=x>\n\u202egpj"


# -- level and input ------------------------------------------------------------------------------------


def test_levels_are_said_in_decibels_and_by_what_to_do():
    """20 log10 of the peak, by hand: 0.5 is −6.02 dB, 0.1 is −20 dB."""
    low, high = LOADING_ZONE_DBFS
    assert level_in_words(0.5) == "−6 dB, in the loading zone" and low < -6.02 < high
    assert level_in_words(0.1).startswith("−20 dB, in") and level_in_words(0.01) == "−40 dB, too quiet: turn up"
    assert level_in_words(0.9) == "−1 dB, too loud: turn down" and level_in_words(0.0) == "silent"


def test_samples_at_full_scale_are_counted():
    ear = listened(np.clip(4 * TAPE.samples, -1, 1))
    assert ear._take.clipped == np.count_nonzero(np.abs(4 * TAPE.samples) >= 0.999)
    assert any("at full scale: turn down the input" in line for line in ear.warnings())


def test_voice_processing_that_stayed_on_is_said_each_with_its_harm():
    report = InputReport.of("Headset", {**OFF, "noiseSuppression": True, "sampleRate": 16000})
    on, narrow = report.warnings()
    assert on.startswith("Noise suppression is still on, though it was asked to be off")
    assert narrow.startswith("This input takes 16000 samples a second")
    assert "noise suppression on, automatic gain off" in str(report)
    assert InputReport.of("Line", OFF).warnings() == []


def test_what_the_browser_does_not_report_is_not_taken_for_off():
    (line,) = InputReport.of("Line", {"echoCancellation": False}).warnings()
    assert line.startswith("The browser does not say whether noise suppression or automatic gain is off")
    (line,) = InputReport.of(None, "nonsense").warnings()
    assert "echo cancellation, noise suppression or automatic gain" in line
    assert InputReport.of(3, {"sampleRate": float("nan")}).rate_hz is None
    assert len(InputReport.of("x" * 10_000, {}).label) == 100


# -- names, files, keeping ------------------------------------------------------------------------------


def test_a_hostile_name_is_shown_as_text_on_one_line_and_saved_inside_the_folder(tmp_path):
    tape = kit.encode(b"Wind", name="x", speed=2, lead_in_s=0.5)
    ear = listened(tape.samples)
    header = SimpleNamespace(name=HOSTILE, length=4, tag=1, block_bytes=100)
    block = SimpleNamespace(header=header, part=None, verdict="checked", leader_s=0.0, start_s=1.0, headless=False,
                            stream=False)
    teller = Teller()
    teller.read(block)
    assert teller.lines[-1] == "header: <img src=x>··gpj, 4 bytes"
    path = ear.save("../../" + HOSTILE, tmp_path / "kept")
    assert path.parent == tmp_path / "kept" and path.exists() and "<" not in path.name and "/" not in path.name


@pytest.mark.parametrize("name", ["log", "log.wav", "LOG.WAV", " ", "con", "a/b", "..", "\u202e", "x" * 500])
def test_saving_never_replaces_anything_and_always_makes_a_wav(name, tmp_path):
    ear = Ear("house").open(kit.Sound(TAPE.samples[:4000], RATE))
    paths = [ear.save(name, tmp_path) for _ in range(3)]
    assert len({path.name.casefold() for path in paths}) == 3 and all(path.parent == tmp_path for path in paths)
    assert all(path.suffix.lower() == ".wav" for path in paths)
    assert all(np.array_equal(kit.Sound.read(path).samples, ear.sound.samples) for path in paths)
    ear.wait(60)


def test_files_found_are_saved_beside_those_that_are_there(tmp_path):
    ear = listened(TAPE.samples)
    paths = ear.save_files(tmp_path) + ear.save_files(tmp_path)
    assert [path.name for path in paths] == ["log.txt", "log (2).txt"]
    assert all(path.read_bytes() == DATA for path in paths)


def test_where_nothing_can_be_written_one_line_says_so(tmp_path):
    (tmp_path / "taken").write_text("a file")
    ear = Ear("house").open(kit.Sound(TAPE.samples[:4000], RATE))
    with pytest.raises(SoundError, match="make room or choose another folder"):
        ear.save("log", tmp_path / "taken")
    ear.wait(60)


def test_a_file_is_opened_and_read_in_stereo_too(tmp_path):
    both = kit.Sound(np.stack((TAPE.samples, TAPE.samples), axis=1), RATE)
    ear = Ear("house").open(both.write(tmp_path / "tape.flac"))
    assert ear.reading.files[0].data == DATA and ear.reading.complete
    assert ear.facts() == f"{TAPE.seconds:.1f} s of tape.flac at 44100 Hz."
    with pytest.raises(SoundError):
        ear.open(tmp_path / "missing.wav")
    assert ear.reading.complete  # what was there is kept


def test_reading_once_more_leaves_nothing_untried_and_comes_to_the_same():
    ear = listened(TAPE.samples, ear=Ear("house"))
    ear.read_again()
    assert ear.reading.files[0].data == DATA and ear.state == "ready"


def test_the_practice_tape_is_damaged_where_its_scratch_is_and_does_not_displace_a_recording():
    ear = Ear()
    assert repr(ear.practise()).startswith("Taken: 3.5 s of practice tape")
    (file,) = ear.reading.files
    assert file.name == "log.txt" and not file.complete and len(file.data) == len(LOG)
    for start, stop in file.doubtful:
        first, last = ear.reading.where(start), ear.reading.where(stop - 1)
        assert SCRATCH_S[0] - 0.02 < first.start_s and last.stop_s < sum(SCRATCH_S) + 0.02
    assert repr(ear.practise()).startswith("There is something in the ear, and it stays")
    assert ear.sound.frames == practice_tape().frames
    own = listened(TAPE.samples)
    own.practise()
    assert own.sound.frames == TAPE.frames


def test_a_file_is_shown_as_text_and_what_cannot_be_shown_as_dots():
    ear = listened(kit.encode("Möwe\n\x07\u202e".encode() + b"\xff", name="a", speed=2, lead_in_s=0.5).samples)
    assert repr(ear.text()) == "a, 11 bytes, whole (checked):\nMöwe\n···"
    for wrong in (1, -1, True, "a", None):
        with pytest.raises(SettingError, match="from 0 to 0, got"):
            ear.text(wrong)
    assert repr(listened(np.zeros(100, np.float32)).text()).startswith("There is no file")


def test_the_doctor_says_what_it_says_of_the_very_recording():
    """Once of a tape that is well, once of the same tape far too quiet."""
    assert "Nothing is wrong" in repr(listened(TAPE.samples).diagnose())
    quiet = TAPE.samples / 300
    assert repr(listened(quiet).diagnose()) == repr(kit.diagnose(kit.Sound(quiet, RATE)))
    assert "quiet" in repr(listened(quiet).diagnose())


def test_lines_are_bounded_and_the_earlier_ones_counted():
    teller = Teller()
    for number in range(MOST_LINES + 20):
        teller.say(str(number))
    assert len(teller.lines) == MOST_LINES and teller.earlier == 20 and teller.lines[0] == "20"


# -- files from the page --------------------------------------------------------------------------------


def test_an_upload_is_whole_once_all_pieces_came_in_order():
    upload = Upload("../a b.flac", 10)
    assert upload.path.name == "_a b.flac"
    assert not upload.add(0, b"01234") and upload.add(5, memoryview(b"56789"))
    assert upload.path.read_bytes() == b"0123456789"
    folder = upload.path.parent
    del upload
    assert not folder.exists()


@pytest.mark.parametrize(("at", "data"), [(1, b"x"), (0, b""), (0, b"x" * 11), (True, b"x"), (None, b"x"),
                                          (-1, b"x")])
def test_a_piece_out_of_order_or_beyond_the_size_is_refused(at, data):
    with pytest.raises(SettingError, match="pieces of a file must come in order"):
        Upload("a.wav", 10).add(at, data)


@pytest.mark.parametrize("size", [0, -1, 1 << 40, "9", None, True, 1.5])
def test_a_size_that_is_none_is_refused(size):
    with pytest.raises(SettingError, match="1 to 1073741824 bytes, got"):
        Upload("a.wav", size)


def test_the_ear_in_the_readme_opens():
    readme = (Path(kit.__file__).parents[1] / "README.md").read_text("utf-8")
    (code,) = [block for block in re.findall(r"```python\n(.*?)```", readme, re.DOTALL) if "kit.live" in block]
    scope = {}
    exec(code, scope)
    assert scope["ear"].open(kit.encode(b"Wind", lead_in_s=0.5)).reading.complete and scope["ear"].sound.frames
