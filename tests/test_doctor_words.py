"""What the doctor says where it is read: on the command line, in a notebook, in a picture; whatever the names are."""

import html
import json
import random
import re

import numpy as np
import pytest

import kit
from kit.__main__ import main
from kit.doctor import diagnose

DATA = random.Random(12).randbytes(160)
HOSTILE = '<script>alert(1)</script>&"\u202e.wav'


@pytest.fixture(scope="module")
def tape():
    return kit.encode(DATA, name="log.bin", lead_in_s=1.2)


@pytest.fixture(scope="module")
def hissing(tape):
    return kit.decks["home"].with_settings(hiss_dbfs=-11).play(tape, seed=3)


def run(capsys, *words):
    status = main(["diagnose", *map(str, words)])
    said = capsys.readouterr()
    return status, said.out, said.err


# -- command line ---------------------------------------------------------------------------------------


def test_the_exit_status_tells_healthy_from_wrong_from_refused(tape, hissing, tmp_path, capsys):
    good, bad = tmp_path / "good.wav", tmp_path / "bad.wav"
    tape.write(good)
    hissing.write(bad)
    assert run(capsys, good)[0] == 0
    assert run(capsys, bad)[0] == 1
    status, out, err = run(capsys, tmp_path / "none.wav")
    assert status == 2 and not out and len(err.splitlines()) == 1
    status, out, err = run(capsys, good, "--format", "nonsense")
    assert status == 2 and "format must be one of" in err and len(err.splitlines()) == 1


def test_json_says_what_the_report_says(hissing, tmp_path, capsys):
    path = tmp_path / "bad.wav"
    hissing.write(path)
    status, out, _ = run(capsys, path, "--json")
    said = json.loads(out)
    assert status == 1 and said["healthy"] is False
    assert said["findings"][0]["key"] == "hiss" and said["findings"][0]["severity"] == "severe"
    assert said["findings"][0]["evidence"][0]["unit"] == "dB"
    report = run(capsys, path)[1]
    assert report.splitlines()[:2] == said["verdict"]


def test_a_picture_is_drawn_beside_its_words_and_replaces_nothing(hissing, tmp_path, capsys):
    path, picture = tmp_path / "bad.wav", tmp_path / "trouble.png"
    hissing.write(path)
    status, out, _ = run(capsys, path, "--picture", picture)
    assert status == 1 and picture.read_bytes().startswith(b"\x89PNG")
    assert "Drawn in" in out and "crossings of zero" in out
    before = picture.read_bytes()
    status, _, err = run(capsys, path, "--picture", picture)
    assert status == 2 and "already" in err and picture.read_bytes() == before
    for wrong in (tmp_path / "trouble.txt", tmp_path / "nowhere" / "x.png"):
        assert run(capsys, path, "--picture", wrong)[0] == 2


# -- notebooks ------------------------------------------------------------------------------------------


def test_hostile_file_names_appear_as_text_in_a_notebook(tape, tmp_path):
    folder = tmp_path / "x"
    folder.mkdir()
    path = folder / HOSTILE.replace("/", "_")
    tape.write(path)
    page = diagnose(path)._repr_html_()
    assert "<script" not in page and "\u202e" not in page
    assert "alert(1)" in page
    tags = set(re.findall(r"</?([a-z]+)", page))
    assert tags == {"div", "p", "strong", "pre"}


def test_the_page_says_what_the_report_says(hissing):
    diagnosis = kit.diagnose(hissing)
    page = html.unescape(re.sub(r"<[^>]+>", "\n", diagnosis._repr_html_()))
    for line in filter(None, map(str.strip, str(diagnosis).split("\n"))):
        assert line in page


def test_names_off_the_tape_never_reach_the_page_as_markup():
    tape = kit.encode(DATA, name="<img src=x>.bin", lead_in_s=0.6)
    assert "<img" not in kit.diagnose(tape.scratch(1.4, 0.05))._repr_html_()


def test_the_terminal_is_not_obeyed_to(tape, tmp_path, capsys):
    path = tmp_path / "a\x1b[2Jb.wav"
    tape.write(path)
    assert "\x1b" not in run(capsys, path)[1]


# -- pictures -------------------------------------------------------------------------------------------


def test_the_picture_of_a_lost_block_shows_the_place_it_names(tape):
    diagnosis = kit.diagnose(tape.scratch(2.0, 0.05))
    (block,) = diagnosis.blocks
    shown = diagnosis.picture()
    low, high = (edge / 1000 for edge in shown.figure.axes[0].get_xlim())
    assert block.look_s[0] - 0.001 <= low < high <= block.look_s[1] + 0.001
    assert block.text in shown.text and "dropouts" in shown.text
    with pytest.raises(kit.SettingError, match="block must lie in 0 to 0"):
        diagnosis.picture(block=3)


@pytest.mark.parametrize("seconds", [0, 0.001, 1])
def test_there_is_a_picture_of_anything(seconds):
    sound = kit.Sound(np.zeros(round(seconds * 8000), np.float32), 8000)
    assert kit.diagnose(sound).picture().text


def test_a_healthy_tape_is_shown_whole(tape):
    assert kit.diagnose(tape).picture().text.startswith("The whole recording")


# -- anything at all ------------------------------------------------------------------------------------


@pytest.mark.parametrize("frames", [1, 2, 10, 100, 1000, 5000])
@pytest.mark.parametrize("channels", [1, 2, 5])
def test_any_recording_gives_a_diagnosis(frames, channels):
    rng = np.random.default_rng(frames + channels)
    for samples in (rng.uniform(-1, 1, (frames, channels)), np.ones((frames, channels)),
                    np.sign(np.sin(0.2 * np.arange(frames)))[:, None] * np.ones(channels)):
        diagnosis = kit.diagnose(kit.Sound(samples, 8000))
        assert not diagnosis.healthy and len(str(diagnosis).splitlines()) >= 2


def test_a_file_that_ends_early_still_gives_a_diagnosis(tape, tmp_path):
    path = tmp_path / "cut.wav"
    tape.write(path)
    path.write_bytes(path.read_bytes()[:150_000])
    assert kit.diagnose(path).findings
