"""The live ear without a browser, while a tape plays: chunks in, words out, losses counted."""

import re
import time

import numpy as np
import pytest
from live_cases import DATA, OFF, RATE, TAPE, listened, until

import kit
from kit.errors import SettingError
from kit.hearing import Hearing
from kit.live import Ear, Take


def words(ear):
    """Lines without leaders and locks."""
    return [line for line in ear.lines if not line.startswith(("leader", "locked"))]


# -- while it plays -------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [128, 4096, 44100])
def test_a_tape_is_told_and_read_to_the_byte_whatever_the_chunks(size):
    ear = listened(TAPE.samples, size)
    assert words(ear) == ["header: log.txt, 300 bytes", "bytes 0 to 99 read", "bytes 100 to 199 read",
                          "bytes 200 to 299 read", "header: log.txt, 300 bytes (once more)",
                          "done: log.txt, 300 bytes, whole (checked)"]
    assert ear.lines[0].startswith("leader found at 0.0 s") and ear.lines[1] == "locked at 1.0 s"
    assert len([line for line in ear.lines if line.startswith("locked")]) == 5
    assert ear.reading.files[0].data == DATA and ear.status == ear.lines[-1]
    assert np.array_equal(ear.sound.samples, TAPE.samples) and ear.warnings() == []


def test_leader_and_lock_are_said_before_the_block_is_there():
    """The header begins at 1.0 s and lasts a tenth of a second: by 1.06 s there is no block yet."""
    ear = Ear()
    ear.begin(1, RATE)
    for stop_s, said in ((0.2, []), (0.9, ["leader"]), (1.06, ["leader", "locked"])):
        first = round(ear.seconds * RATE)
        ear.hear(1, first, TAPE.samples[first : round(stop_s * RATE)])
        until(lambda stop_s=stop_s: ear._work.so_far()[2] >= stop_s - 1e-3)
        assert [line.split()[0] for line in ear.lines] == said
        assert ear.state == "recording" and ear.reading.blocks == []
    ear.end()
    ear.wait(60)


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


def test_a_damaged_block_is_said_and_then_read_with_more_effort():
    """The scratch lies in the second data block; what became of the rest is as on a clean tape."""
    start_s, stop_s = kit.decode(TAPE).blocks[2].span_s
    ear = listened(TAPE.scratch((start_s + stop_s) / 2, 0.03, 1).samples)
    damaged = [line for line in words(ear) if "damaged" in line]
    assert damaged[0].startswith("bytes 100 to 199 read, damaged: ")
    file = ear.reading.files[0]
    assert file.name == "log.txt" and not file.complete
    assert all(100 <= start < stop <= 200 for start, stop in file.doubtful)
    assert re.fullmatch(r"done: log.txt, damaged: \d+ of 300 bytes in doubt or lost", ear.status)
    assert file.data[:100] == DATA[:100] and file.data[200:] == DATA[200:]


def test_a_tape_in_hiss_is_read_patiently_once_it_is_over_and_says_how_far_it_is():
    """While it plays nothing reads; afterwards it does, and the part done only grows."""
    hiss = np.random.default_rng(5).normal(0, 0.2, TAPE.frames)
    ear, parts = Ear("house"), []
    ear.watch(lambda: parts.append(ear.progress) if ear.state == "reading" else None)
    listened((TAPE.samples + hiss).astype(np.float32), ear=ear)
    assert ear.reading.complete and ear.reading.files[0].data == DATA
    assert parts and parts == sorted(parts)


def test_reading_can_be_stopped_and_the_recording_is_kept():
    hiss = np.random.default_rng(5).normal(0, 0.4, TAPE.frames).astype(np.float32)
    ear = Ear()
    ear.begin(1, RATE)
    ear.hear(1, 0, TAPE.samples + hiss)
    ear.end()
    ear.stop()
    ear.wait(60)
    assert ear.state == "ready" and "stopped before all was tried: what was read until then is kept" in ear.lines
    assert ear.sound.frames == TAPE.frames


def test_a_failure_of_the_reader_costs_nothing_of_the_recording(monkeypatch):
    def fails(self, samples):
        raise ZeroDivisionError("as if")

    monkeypatch.setattr(kit.Listener, "feed", fails)
    ear = listened(TAPE.samples)
    assert "reading failed (ZeroDivisionError: as if): the recording is kept" in ear.lines
    assert np.array_equal(ear.sound.samples, TAPE.samples) and ear.reading.files == []


def test_the_kernel_s_thread_is_never_kept_long_by_what_arrives():
    """Reading goes on beside it: taking 4 s of sound costs the thread that takes it less than a twentieth of that."""
    ear = Ear()
    ear.begin(1, RATE)
    began = time.thread_time()
    for first in range(0, TAPE.frames, 4096):
        ear.hear(1, first, TAPE.samples[first : first + 4096])
    assert time.thread_time() - began < 0.2
    ear.end()
    ear.wait(60)
    assert ear.reading.complete


# -- what is missing, what is wrong ---------------------------------------------------------------------


def test_dropped_frames_are_counted_and_what_follows_keeps_its_place():
    """A chunk is lost in the leader, another in the third data block: silence stands for them."""
    starts = [block.start_s for block in kit.decode(TAPE).blocks]
    lost = {4096 * 3, 4096 * round((starts[3] + 0.1) * RATE / 4096)}
    ear = Ear()
    ear.begin(1, RATE, "Line", OFF)
    for first in range(0, TAPE.frames, 4096):
        if first not in lost:
            ear.hear(1, first, TAPE.samples[first : first + 4096])
    ear.end()
    ear.wait(60)
    assert ear._take.lost == 2 * 4096 and ear._take.gaps == 2
    assert ear.warnings()[0].startswith("8192 frames (186 ms) were lost on the way here, in 2 places")
    assert ear.sound.frames == TAPE.frames
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


def test_the_limit_ends_a_recording_and_keeps_all_that_came_before_it():
    """In the midst of a chunk; later ones change nothing."""
    ear = Ear(most_minutes=1 / 60)
    ear.begin(1, RATE)
    for first in range(0, TAPE.frames, 4096):
        ear.hear(1, first, TAPE.samples[first : first + 4096])
    ear.wait(60)
    assert ear.state == "ready" and ear.sound.frames == RATE
    assert np.array_equal(ear.sound.samples, TAPE.samples[:RATE])
    assert any("the limit of 0.0166667 minutes is reached" in line and "is kept" in line for line in ear.lines)


def test_a_stop_in_the_midst_of_a_block_gives_what_there_was_of_it():
    """The second data block is cut in half."""
    start_s, stop_s = kit.decode(TAPE).blocks[2].span_s
    ear = listened(TAPE.samples[: round((start_s + stop_s) / 2 * RATE)])
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
