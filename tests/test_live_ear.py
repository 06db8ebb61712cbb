"""The live ear without a browser: chunks in, words and files out; losses counted, what cannot be refused."""

import re
import threading
import time
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

import kit
from kit.errors import SettingError, SoundError
from kit.hearing import Hearing
from kit.live import Ear, Take
from kit.live.inputs import InputReport
from kit.live.practice import LOG, SCRATCH_S, practice_tape
from kit.live.take import LOADING_ZONE_DBFS, level_in_words
from kit.live.telling import MOST_LINES, Teller
from kit.live.uploads import Upload

RATE = 44100
DATA = np.random.default_rng(8).bytes(300)
HOSTILE = "<img src=x>\n\u202egpj"
OFF = {"echoCancellation": False, "noiseSuppression": False, "autoGainControl": False}


@pytest.fixture(scope="module")
def tape():
    """4 s: a header, three data blocks of 100 bytes, the header again."""
    return kit.encode(DATA, name="log.txt", speed=2, lead_in_s=1.0, block_bytes=100)


def listened(samples, size=4096, rate=RATE, ear=None):
    """An ear that has heard some samples chunk by chunk, and is done."""
    ear = ear or Ear()
    ear.begin(1, rate, "Line", OFF)
    for first in range(0, len(samples), size):
        ear.hear(1, first, samples[first : first + size])
    ear.end(1)
    ear.wait(60)
    assert ear.state == "ready"
    return ear


def words(ear):
    """Lines without leaders and locks."""
    return [line for line in ear.lines if not line.startswith(("leader", "locked"))]


# -- while it plays ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [128, 4096, 44100])
def test_a_tape_is_told_and_read_to_the_byte_whatever_the_chunks(tape, size):
    ear = listened(tape.samples, size)
    assert words(ear) == ["header: log.txt, 300 bytes", "bytes 0 to 99 read", "bytes 100 to 199 read",
                          "bytes 200 to 299 read", "header: log.txt, 300 bytes (once more)",
                          "done: log.txt, 300 bytes, whole (checked)"]
    assert ear.lines[0].startswith("leader found at 0.0 s") and ear.lines[1] == "locked at 1.0 s"
    assert len([line for line in ear.lines if line.startswith("locked")]) == 5
    assert ear.reading.files[0].data == DATA and ear.status == ear.lines[-1]
    assert np.array_equal(ear.sound.samples, tape.samples) and ear.warnings() == []


def test_leader_and_lock_are_said_before_the_block_is_there(tape):
    """The header begins at 1.0 s and lasts a tenth of a second: by 1.06 s there is no block yet."""
    ear = Ear()
    ear.begin(1, RATE)
    for stop_s, said in ((0.2, []), (0.9, ["leader"]), (1.06, ["leader", "locked"])):
        first = round(ear.seconds * RATE)
        ear.hear(1, first, tape.samples[first : round(stop_s * RATE)])
        until(lambda stop_s=stop_s: ear._work.so_far()[2] >= stop_s - 1e-3)
        assert [line.split()[0] for line in ear.lines] == said
        assert ear.state == "recording" and ear.reading.blocks == []
    ear.end()
    ear.wait(60)


def until(holds, seconds=30):
    """Wait for another thread; fails if it does not come to it."""
    late = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < late
        threading.Event().wait(0.01)


def test_hiss_and_silence_are_no_leader():
    hiss = np.random.default_rng(2).normal(0, 0.1, 3 * RATE).astype(np.float32)
    for samples in (hiss, np.zeros(2 * RATE, np.float32)):
        ear = listened(samples)
        assert ear.lines == ["done: nothing of a tape was found"] and ear.files() == []


def test_a_leader_is_noticed_where_it_is_written_at_every_speed():
    """Times as the encoder wrote them: the lead-in ends where the sync mark and the first cell follow."""
    for speed in (0.5, 1, 2, 4):
        made = kit.encode(DATA, format="house", speed=speed, lead_in_s=1.0)
        noticed = Hearing([kit.FORMATS["house"]], RATE).feed(made.samples)
        start_s = kit.decode(made, format="house").blocks[0].start_s
        assert [each[0] for each in noticed[:2]] == ["leader", "locked"]
        assert noticed[0][1] < 0.01 and abs(noticed[0][2] - 600 * speed) < 3 * speed
        assert noticed[1][1] == pytest.approx(start_s, abs=1e-4)


def test_a_damaged_block_is_said_and_then_read_with_more_effort(tape):
    """The scratch lies in the second data block; what became of the rest is as on a clean tape."""
    start_s, stop_s = kit.decode(tape).blocks[2].span_s
    ear = listened(tape.scratch((start_s + stop_s) / 2, 0.03, 1).samples)
    damaged = [line for line in words(ear) if "damaged" in line]
    assert damaged[0].startswith("bytes 100 to 199 read, damaged: ")
    file = ear.reading.files[0]
    assert file.name == "log.txt" and not file.complete
    assert all(100 <= start < stop <= 200 for start, stop in file.doubtful)
    assert re.fullmatch(r"done: log.txt, damaged: \d+ of 300 bytes in doubt or lost", ear.status)
    assert file.data[:100] == DATA[:100] and file.data[200:] == DATA[200:]


def test_a_tape_in_hiss_is_read_patiently_once_it_is_over_and_says_how_far_it_is(tape):
    """While it plays nothing reads; afterwards it does, and the part done only grows."""
    hiss = np.random.default_rng(5).normal(0, 0.2, tape.frames)
    ear, parts = Ear("house"), []
    ear.watch(lambda: parts.append(ear.progress) if ear.state == "reading" else None)
    listened((tape.samples + hiss).astype(np.float32), ear=ear)
    assert ear.reading.complete and ear.reading.files[0].data == DATA
    assert parts and parts == sorted(parts)


def test_reading_can_be_stopped_and_the_recording_is_kept(tape):
    hiss = np.random.default_rng(5).normal(0, 0.4, tape.frames).astype(np.float32)
    ear = Ear()
    ear.begin(1, RATE)
    ear.hear(1, 0, tape.samples + hiss)
    ear.end()
    ear.stop()
    ear.wait(60)
    assert ear.state == "ready" and "stopped before all was tried: what was read until then is kept" in ear.lines
    assert ear.sound.frames == tape.frames


def test_a_failure_of_the_reader_costs_nothing_of_the_recording(tape, monkeypatch):
    def fails(self, samples):
        raise ZeroDivisionError("as if")

    monkeypatch.setattr(kit.Listener, "feed", fails)
    ear = listened(tape.samples)
    assert "reading failed (ZeroDivisionError: as if): the recording is kept" in ear.lines
    assert np.array_equal(ear.sound.samples, tape.samples) and ear.reading.files == []


def test_the_kernel_s_thread_is_never_kept_long_by_what_arrives(tape):
    """Reading goes on beside it: taking 4 s of sound costs the thread that takes it less than a twentieth of that."""
    ear = Ear()
    ear.begin(1, RATE)
    began = time.thread_time()
    for first in range(0, tape.frames, 4096):
        ear.hear(1, first, tape.samples[first : first + 4096])
    assert time.thread_time() - began < 0.2
    ear.end()
    ear.wait(60)
    assert ear.reading.complete


# -- what is missing, what is wrong ------------------------------------------------------------------------


def test_dropped_frames_are_counted_and_what_follows_keeps_its_place(tape):
    """A chunk is lost in the leader, another in the third data block: silence stands for them."""
    starts = [block.start_s for block in kit.decode(tape).blocks]
    lost = {4096 * 3, 4096 * round((starts[3] + 0.1) * RATE / 4096)}
    ear = Ear()
    ear.begin(1, RATE, "Line", OFF)
    for first in range(0, tape.frames, 4096):
        if first not in lost:
            ear.hear(1, first, tape.samples[first : first + 4096])
    ear.end()
    ear.wait(60)
    assert ear._take.lost == 2 * 4096 and ear._take.gaps == 2
    assert ear.warnings()[0].startswith("8192 frames (186 ms) were lost on the way here, in 2 places")
    assert ear.sound.frames == tape.frames
    heard = [block.start_s for block in ear.reading.blocks if block.verdict == "checked"]
    assert heard == pytest.approx(starts[:3] + starts[4:], abs=1e-4)
    assert {file.name: file.complete for file in ear.reading.files} == {"log.txt": False}


def test_a_chunk_that_came_already_is_left_out_and_one_that_overlaps_is_cut():
    take = Take(8000, 60)
    assert [len(piece) for piece in take.add(0, np.ones(100))] == [100]
    assert take.add(0, np.ones(100)) == [] and take.add(50, np.ones(20)) == []
    assert [len(piece) for piece in take.add(80, np.full(40, 2.0))] == [20]
    assert take.frames == 120 and take.lost == 0
    assert take.sound.samples.tolist() == [1.0] * 100 + [2.0] * 20


def test_the_limit_ends_a_recording_and_keeps_all_that_came_before_it(tape):
    """In the midst of a chunk; later ones change nothing."""
    ear = Ear(most_minutes=1 / 60)
    ear.begin(1, RATE)
    for first in range(0, tape.frames, 4096):
        ear.hear(1, first, tape.samples[first : first + 4096])
    ear.wait(60)
    assert ear.state == "ready" and ear.sound.frames == RATE
    assert np.array_equal(ear.sound.samples, tape.samples[:RATE])
    assert any("the limit of 0.0166667 minutes is reached" in line and "is kept" in line for line in ear.lines)


def test_a_stop_in_the_midst_of_a_block_gives_what_there_was_of_it(tape):
    """The second data block is cut in half."""
    start_s, stop_s = kit.decode(tape).blocks[2].span_s
    ear = listened(tape.samples[: round((start_s + stop_s) / 2 * RATE)])
    file = ear.reading.files[0]
    assert file.name == "log.txt" and file.data[:100] == DATA[:100] and not file.complete
    assert ear.status.startswith("done: log.txt, damaged")


@pytest.mark.parametrize(("first", "samples"), [
    (-1, np.zeros(10)), (0.5, np.zeros(10)), (True, np.zeros(10)), (None, np.zeros(10)), ("0", np.zeros(10)),
    (2**60, np.zeros(10)), (0, np.zeros((5, 2))), (0, np.zeros(10, complex)), (0, np.array(["a"])),
    (0, np.zeros(8000 * 11)),
])
def test_what_cannot_be_part_of_a_recording_is_refused_in_one_line_and_nothing_is_lost(first, samples):
    """No claim of the page makes memory be taken; what came before is kept, and the recording is over."""
    ear = Ear("house")
    ear.begin(1, 8000)
    ear.hear(1, 0, np.full(100, 0.5))
    if first == 0:
        first = 100
    with pytest.raises(SettingError) as refusal:
        ear.hear(1, first, samples)
    assert "got" in str(refusal.value) and "\n" not in str(refusal.value) and len(str(refusal.value)) < 160
    ear.wait(60)
    assert ear.state == "ready" and ear.sound.samples.tolist() == [0.5] * 100


@pytest.mark.parametrize("rate", [0, -1, 7999, 1e9, 44100.5, None, "44100", True, float("nan")])
def test_a_rate_that_is_none_is_refused(rate):
    ear = Ear("house")
    with pytest.raises(SettingError, match="8000 to 192000 Hz, got"):
        ear.begin(1, rate)
    assert ear.state == "empty"


@pytest.mark.parametrize("minutes", [0, -1, 61, float("nan"), "30", True, None])
def test_a_limit_out_of_range_is_refused(minutes):
    with pytest.raises(SettingError, match="most_minutes must lie above 0 and not above 60, got"):
        Ear("house", minutes)


def test_numbers_that_are_none_count_as_silence():
    take = Take(8000, 1)
    take.add(0, np.array([np.nan, np.inf, -np.inf, 0.25], np.float32))
    assert take.sound.samples.tolist() == [0, 0, 0, 0.25] and take.peak == 0.25


def test_chunks_of_another_recording_are_left_out_and_two_at_once_are_refused():
    ear = Ear("house")
    ear.hear(1, 0, np.zeros(10))
    ear.begin(1, 8000)
    with pytest.raises(SettingError, match="press Stop first"):
        ear.begin(2, 8000)
    ear.hear(2, 0, np.ones(10))
    ear.end(2)
    assert ear.state == "recording" and ear.sound.frames == 0
    ear.end(1)
    ear.wait(60)
    assert ear.state == "ready"


def test_before_anything_was_recorded_everything_says_so():
    ear = Ear("house")
    for ask in (lambda: ear.sound, lambda: ear.reading, ear.diagnose, ear.save, ear.save_files):
        with pytest.raises(SettingError, match="must be a recording, got none: press Record, or open a file"):
            ask()
    ear.end()
    ear.stop()
    assert ear.files() == [] and ear.facts() == "Nothing recorded yet."


# -- level and input ---------------------------------------------------------------------------------------


def test_levels_are_said_in_decibels_and_by_what_to_do():
    """20 log10 of the peak, by hand: 0.5 is −6.02 dB, 0.1 is −20 dB."""
    low, high = LOADING_ZONE_DBFS
    assert level_in_words(0.5) == "−6 dB, in the loading zone" and low < -6.02 < high
    assert level_in_words(0.1).startswith("−20 dB, in") and level_in_words(0.01) == "−40 dB, too quiet: turn up"
    assert level_in_words(0.9) == "−1 dB, too loud: turn down" and level_in_words(0.0) == "silent"


def test_samples_at_full_scale_are_counted(tape):
    ear = listened(np.clip(4 * tape.samples, -1, 1))
    assert ear._take.clipped == np.count_nonzero(np.abs(4 * tape.samples) >= 0.999)
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


# -- names, files, keeping ---------------------------------------------------------------------------------


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
def test_saving_never_replaces_anything_and_always_makes_a_wav(name, tape, tmp_path):
    ear = Ear("house").open(kit.Sound(tape.samples[:4000], RATE))
    paths = [ear.save(name, tmp_path) for _ in range(3)]
    assert len({path.name.casefold() for path in paths}) == 3 and all(path.parent == tmp_path for path in paths)
    assert all(path.suffix.lower() == ".wav" for path in paths)
    assert all(np.array_equal(kit.Sound.read(path).samples, ear.sound.samples) for path in paths)
    ear.wait(60)


def test_files_found_are_saved_beside_those_that_are_there(tape, tmp_path):
    ear = listened(tape.samples)
    paths = ear.save_files(tmp_path) + ear.save_files(tmp_path)
    assert [path.name for path in paths] == ["log.txt", "log (2).txt"]
    assert all(path.read_bytes() == DATA for path in paths)


def test_where_nothing_can_be_written_one_line_says_so(tape, tmp_path):
    (tmp_path / "taken").write_text("a file")
    ear = Ear("house").open(kit.Sound(tape.samples[:4000], RATE))
    with pytest.raises(SoundError, match="make room or choose another folder"):
        ear.save("log", tmp_path / "taken")
    ear.wait(60)


def test_a_file_is_opened_and_read_in_stereo_too(tape, tmp_path):
    both = kit.Sound(np.stack((tape.samples, tape.samples), axis=1), RATE)
    ear = Ear("house").open(both.write(tmp_path / "tape.flac"))
    assert ear.reading.files[0].data == DATA and ear.reading.complete
    assert ear.facts() == f"{tape.seconds:.1f} s of tape.flac at 44100 Hz."
    with pytest.raises(SoundError):
        ear.open(tmp_path / "missing.wav")
    assert ear.reading.complete  # what was there is kept


def test_reading_once_more_leaves_nothing_untried_and_comes_to_the_same(tape):
    ear = listened(tape.samples, ear=Ear("house"))
    ear.read_again()
    assert ear.reading.files[0].data == DATA and ear.state == "ready"


def test_the_practice_tape_is_damaged_where_its_scratch_is_and_does_not_displace_a_recording(tape):
    ear = Ear()
    assert repr(ear.practise()).startswith("Taken: 3.5 s of practice tape")
    (file,) = ear.reading.files
    assert file.name == "log.txt" and not file.complete and len(file.data) == len(LOG)
    for start, stop in file.doubtful:
        first, last = ear.reading.where(start), ear.reading.where(stop - 1)
        assert SCRATCH_S[0] - 0.02 < first.start_s and last.stop_s < sum(SCRATCH_S) + 0.02
    assert repr(ear.practise()).startswith("There is something in the ear, and it stays")
    assert ear.sound.frames == practice_tape().frames
    own = listened(tape.samples)
    own.practise()
    assert own.sound.frames == tape.frames


def test_a_file_is_shown_as_text_and_what_cannot_be_shown_as_dots():
    ear = listened(kit.encode("Möwe\n\x07\u202e".encode() + b"\xff", name="a", speed=2, lead_in_s=0.5).samples)
    assert repr(ear.text()) == "a, 11 bytes, whole (checked):\nMöwe\n···"
    for wrong in (1, -1, True, "a", None):
        with pytest.raises(SettingError, match="from 0 to 0, got"):
            ear.text(wrong)
    assert repr(listened(np.zeros(100, np.float32)).text()).startswith("There is no file")


def test_the_doctor_says_what_it_says_of_the_very_recording(tape):
    """Once of a tape that is well, once of the same tape far too quiet."""
    assert "Nothing is wrong" in repr(listened(tape.samples).diagnose())
    quiet = tape.samples / 300
    assert repr(listened(quiet).diagnose()) == repr(kit.diagnose(kit.Sound(quiet, RATE)))
    assert "quiet" in repr(listened(quiet).diagnose())


def test_lines_are_bounded_and_the_earlier_ones_counted():
    teller = Teller()
    for number in range(MOST_LINES + 20):
        teller.say(str(number))
    assert len(teller.lines) == MOST_LINES and teller.earlier == 20 and teller.lines[0] == "20"


# -- files from the page -----------------------------------------------------------------------------------


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


# -- the widget's end in Python ----------------------------------------------------------------------------


@pytest.fixture
def page(monkeypatch):
    """A live ear, and what it sends to the page."""
    ear = kit.live.listen()
    ear.sent = []
    monkeypatch.setattr(ear.frame, "send", lambda message, buffers=None: ear.sent.append(message))
    return ear


def say(ear, message, *buffers):
    ear._told(ear.frame, message, [memoryview(buffer) for buffer in buffers])


def test_messages_of_the_page_make_a_recording_and_the_page_is_told(page, tape):
    say(page, {"kind": "start", "number": 5, "rate": RATE, "label": "Line", "settings": OFF})
    assert page.frame.state == "recording"
    for first in range(0, tape.frames, 4096):
        chunk = tape.samples[first : first + 4096].astype("<f4")
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


def test_a_file_from_the_page_is_read_piece_by_piece_and_one_that_is_no_sound_said_to_be_none(page, tape, tmp_path):
    data = tape.write(tmp_path / "tape.wav").read_bytes()
    for name, content in (("tape.wav", data), ("tape.wav", b"none" * 100)):
        middle = len(content) // 2
        for at, piece in ((0, content[:middle]), (middle, content[middle:])):
            say(page, {"kind": "file", "number": 2, "name": name, "size": len(content), "at": at}, piece)
    assert [message["kind"] for message in page.sent] == ["go on", "go on", "go on", "refused"]
    assert page.reading.files[0].data == DATA  # of the first: the second did not displace it
    until(lambda: page.state == "ready")
    assert page.frame.status.startswith(("Not taken: ", "done: "))


def test_saving_from_the_page_says_where(page, tape, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    page.open(tape).wait(60)
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
