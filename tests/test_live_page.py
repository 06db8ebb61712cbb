"""The live ear's end in Python: what the page sends is a claim, and what it is told is text."""

import numpy as np
import pytest
from live_cases import DATA, OFF, RATE, TAPE, until

import kit


@pytest.fixture
def page(monkeypatch):
    """A live ear, and what it sends to the page."""
    ear = kit.live.listen()
    ear.sent = []
    monkeypatch.setattr(ear.frame, "send", lambda message, buffers=None: ear.sent.append(message))
    return ear


def say(ear, message, *buffers):
    ear._told(ear.frame, message, [memoryview(buffer) for buffer in buffers])


def test_messages_of_the_page_make_a_recording_and_the_page_is_told(page):
    say(page, {"kind": "start", "number": 5, "rate": RATE, "label": "Line", "settings": OFF})
    assert page.frame.state == "recording"
    for first in range(0, TAPE.frames, 4096):
        chunk = TAPE.samples[first : first + 4096].astype("<f4")
        say(page, {"kind": "sound", "number": 5, "first": first}, chunk.tobytes())
    say(page, {"kind": "stop", "number": 5})
    assert page.reading.files[0].data == DATA
    until(lambda: page.frame.state == "ready")
    assert page.frame.files == [["log.txt", "log.txt, 300 bytes, whole (checked)"]]
    assert page.frame.status == "done: log.txt, 300 bytes, whole (checked)" and page.frame.lines == page.lines


@pytest.mark.parametrize("message", [
    None, 3, [], {}, {"kind": None}, {"kind": []}, {"kind": "sound"}, {"kind": "start"},
    {"kind": "start", "rate": "x"}, {"kind": "stop"}, {"kind": "halt"}, {"kind": "file"},
    {"kind": "file", "at": 0, "size": -1}, {"kind": "file", "at": 7}, {"kind": "save"}, {"kind": "save files"},
    {"kind": "again"}, {"kind": "trouble"}, {"kind": "sound", "number": 1, "first": "x"},
])
def test_no_message_of_the_page_brings_the_kernel_down(page, message):
    for buffers in ((), (b"abc",), (b"abcd", b"abcd")):
        say(page, message, *buffers)
    assert page.state == "empty" and "\n" not in page.frame.status


def test_the_limit_is_told_to_the_page_that_records(page):
    page.most_s = 0.1
    say(page, {"kind": "start", "number": 5, "rate": 8000})
    say(page, {"kind": "sound", "number": 5, "first": 0}, np.zeros(1000, "<f4").tobytes())
    assert page.sent == [{"kind": "enough", "number": 5}] and page.sound.frames == 800
    page.wait(60)


def test_a_file_from_the_page_is_read_piece_by_piece_and_one_that_is_no_sound_said_to_be_none(page, tmp_path):
    data = TAPE.write(tmp_path / "tape.wav").read_bytes()
    for name, content in (("tape.wav", data), ("tape.wav", b"none" * 100)):
        middle = len(content) // 2
        for at, piece in ((0, content[:middle]), (middle, content[middle:])):
            say(page, {"kind": "file", "number": 2, "name": name, "size": len(content), "at": at}, piece)
    assert [message["kind"] for message in page.sent] == ["go on", "go on", "go on", "refused"]
    assert page.reading.files[0].data == DATA  # of the first: the second did not displace it
    until(lambda: page.state == "ready")
    assert page.frame.status.startswith(("Not taken: ", "done: "))


def test_saving_from_the_page_says_where(page, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    page.open(TAPE).wait(60)
    say(page, {"kind": "save", "name": "  "})
    assert page.frame.kept == f"Saved as {kit.live.kept.RECORDINGS / 'recording.wav'}"
    say(page, {"kind": "save files"})
    assert page.frame.kept == f"Saved: {kit.live.kept.RECOVERED / 'log.txt'}"
    assert (tmp_path / "recordings" / "recording.wav").exists() and (tmp_path / "recovered" / "log.txt").exists()


def test_a_hub_is_named_as_what_hears(monkeypatch):
    assert kit.live.listen().frame.hub == ""
    monkeypatch.setenv("JUPYTERHUB_USER", "code-name")
    assert "goes to that server" in kit.live.listen().frame.hub


def test_where_widgets_cannot_run_the_ear_is_text_with_everything_escaped(page):
    page.open(kit.encode(b"Wind", name="<b>", speed=2, lead_in_s=0.5)).wait(60)
    bundle = page._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in bundle
    assert "&lt;b&gt;" in bundle["text/html"] or "_b_" in bundle["text/html"]
    assert "<b>" not in bundle["text/html"] and "ear.open(" in bundle["text/html"]
    assert bundle["text/plain"].startswith("Live ear\n")
