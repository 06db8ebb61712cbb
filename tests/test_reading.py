"""Readings: from any byte to its time and back, against times added up from the half-cycles written; reports."""

import re

import numpy as np
import pytest
from crafted import HOUSE, RATE, header, part, samples_of

import kit
from kit.blocks import Header
from kit.errors import SettingError
from kit.reading import Span

SPEED, SIZE = 4, 60
TOLERANCE_S = 0.2 / RATE  # edges are found within 0.1 sample
LOG = b"tide 3.1 m, wind west 5, sea 4, visibility good, gulls many; " * 2
PICTURE = np.random.default_rng(1).bytes(100)


both_files = pytest.mark.parametrize(("name", "data"), [("log.txt", LOG), ("view.pgm", PICTURE)], ids=["log", "view"])


def bodies():
    """Two files in blocks of 60 bytes: a log of 122 bytes in three, a picture of 100 in two."""
    every = []
    for name, data in (("log.txt", LOG), ("view.pgm", PICTURE)):
        tag, first = Header.of("", data).tag, header(name, data, block_bytes=SIZE)
        blocks = [part(tag, k, data[SIZE * k : SIZE * k + SIZE]) for k in range(-(-len(data) // SIZE))]
        every += [first, *blocks, first]
    return every


def written():
    """For each block: where its leader, sync mark and tail begin, and for each byte its span, all in seconds.

    Added up from the half-cycles that were written, at 8 bits a byte and one cycle a bit.
    """
    places, now = [], 0.0
    for k, body in enumerate(bodies()):
        halves = HOUSE.block_half_cycles(body, 0.05 if k else 0.5, SPEED)
        times = now + np.concatenate(([0.0], np.cumsum(halves)))
        first = len(halves) - 2 * HOUSE.tail_cycles - 16 * (len(body) + 2)
        bytes_s = [(times[first + 16 * n], times[first + 16 * n + 16]) for n in range(len(body) + 2)]
        places.append((now, bytes_s))
        now = times[-1]
    return places


def tape():
    return samples_of(bodies(), SPEED)


def read(samples):
    return kit.decode(kit.Sound(samples, RATE), format="house")


def without(samples, start_s, stop_s):
    samples = samples.copy()
    samples[int(start_s * RATE) : int(stop_s * RATE)] = 0
    return samples


@pytest.fixture(scope="module")
def reading():
    return read(tape())


BLOCK_OF = {("log.txt", k): 1 + k for k in range(3)} | {("view.pgm", k): 6 + k for k in range(2)}


def span_written(name, byte):
    """Where a byte of a file was written, in seconds."""
    return written()[BLOCK_OF[name, byte // SIZE]][1][7 + byte % SIZE]


# -- bytes and seconds ---------------------------------------------------------------------------------


@both_files
def test_every_byte_lies_where_it_was_written(reading, name, data):
    """To a fifth of a sample; by the number of the file as by its name."""
    number = [file.name for file in reading.files].index(name)
    assert reading.files[number].data == data
    for byte in range(len(data)):
        span = reading.where(byte=byte, file=name)
        assert tuple(span) == pytest.approx(span_written(name, byte), abs=TOLERANCE_S)
        assert span == reading.where(byte, number)
        assert span.margin > 0.9 and span.recording == 0


@both_files
def test_what_lies_at_the_time_of_a_byte_is_that_byte(reading, name, data):
    """Near its beginning, in its middle and near its end: `at` is the way back of `where`."""
    number = [file.name for file in reading.files].index(name)
    for byte in range(len(data)):
        start, stop = reading.where(byte, name)
        for part_of_it in (0.01, 0.5, 0.99):
            place = reading.at(start + part_of_it * (stop - start))
            assert (place.part, place.file, place.byte) == ("data", number, byte)
            assert place.block.content[place.block_byte] == data[byte]
            assert place.margin == reading.where(byte, name).margin


def test_every_part_of_a_block_is_called_what_it_is(reading):
    """Leader (with its sync mark), header, the seven bytes that place a data block, data, check."""
    for number, ((leader_s, bytes_s), body) in enumerate(zip(written(), bodies(), strict=True)):
        leader = reading.at(leader_s + 0.9 * (bytes_s[0][0] - leader_s))
        assert leader.part == "leader" and leader.block is reading.blocks[number] and leader.byte is None
        for n, (start, stop) in enumerate(bytes_s):
            place = reading.at((start + stop) / 2)
            inside = "header" if body[0] == 1 else "mark" if n < 7 else "data"
            assert place.part == ("check" if n >= len(body) else inside)
            assert place.block is reading.blocks[number] and place.block_byte == n
            assert (place.byte is None) == (place.part != "data")


def test_where_nothing_was_written_nothing_lies(reading):
    """Before the tape, after it, and in another recording."""
    assert reading.at(-1.0) is None
    assert reading.at(reading.seconds + 1) is None
    assert reading.at(0.7, recording=1) is None
    assert read(np.concatenate((np.zeros(RATE, np.float32), tape()))).at(0.5) is None


def test_a_tape_recorded_backwards_is_read_and_its_bytes_lie_where_they_now_are():
    """A byte that lay from a to b of T seconds lies from T - b to T - a."""
    samples = tape()
    reading, whole_s = read(samples[::-1]), len(samples) / RATE
    assert reading.complete and [file.data for file in reading.files] == [LOG, PICTURE]
    assert all(block.backwards for block in reading.blocks)
    for name, data in (("log.txt", LOG), ("view.pgm", PICTURE)):
        for byte in range(len(data)):
            start, stop = span_written(name, byte)
            span = reading.where(byte, name)
            assert tuple(span) == pytest.approx((whole_s - stop, whole_s - start), abs=TOLERANCE_S)
            place = reading.at((span.start_s + span.stop_s) / 2)
            assert (place.part, place.byte) == ("data", byte)
            assert reading.files[place.file].name == name


def test_of_two_recordings_a_byte_is_in_one_and_the_report_says_which():
    """A tape on two sides: the second side counts its seconds from its own beginning."""
    samples, cut_s = tape(), written()[2][0] + 0.01
    second = without(samples[int(cut_s * RATE) :], 0.06, 0.07)
    reading = kit.decode([kit.Sound(samples[: int(cut_s * RATE)], RATE), kit.Sound(second, RATE)], format="house")
    assert [reading.where(byte, "log.txt").recording for byte in (0, 59, 60, 119)] == [0, 0, 1, 1]
    start, stop = span_written("log.txt", 119)
    offset = int(cut_s * RATE) / RATE
    assert tuple(reading.where(119, "log.txt")) == pytest.approx((start - offset, stop - offset), abs=TOLERANCE_S)
    assert reading.at(start + 1e-4, recording=0) is None
    assert reading.at((start + stop) / 2 - offset, recording=1).byte == 119
    assert re.search(r"in doubt, at 0\.0\d\d to 0\.0\d\d s of recording 2$", reading.report(), re.MULTILINE)


# -- gaps and doubt ------------------------------------------------------------------------------------


def test_a_byte_of_a_lost_block_lies_between_its_neighbours():
    """Its margin is 0; the report says how many are missing and when they should have been."""
    places = written()
    reading = read(without(tape(), places[2][0] + 0.01, places[3][0] + 0.01))
    log = reading.files[0]
    assert log.data == LOG[:60] + bytes(60) + LOG[120:] and not log.complete
    assert log.doubtful == [(60, 120)]
    for byte in (60, 119):
        span = reading.where(byte)
        assert span.margin == 0
        assert tuple(span) == pytest.approx((places[1][1][-1][1], places[3][1][0][0]), abs=TOLERANCE_S)
    lines = reading.report().splitlines()
    assert lines[0] == "log.txt: 122 bytes, damaged (1 of 3 blocks missing)"
    assert lines[1] == "view.pgm: 100 bytes, checked" and len(lines) == 3
    assert lines[2] == f"  log.txt: bytes 60 to 119 in doubt, at {span.start_s:.3f} to {span.stop_s:.3f} s"


def test_the_bytes_in_a_hole_are_told_with_their_times():
    """Bytes 20 to 23 of a block are silent: they and few about them are in doubt."""
    start, stop = span_written("log.txt", 80)[0], span_written("log.txt", 83)[1]
    reading = read(without(tape(), start, stop))
    ((first, last),) = reading.files[0].doubtful
    assert first in range(77, 81) and last in range(84, 88)
    wording = r"log\.txt: bytes (\d+) to (\d+) in doubt, at (\S+) to (\S+) s$"
    found = re.search(wording, reading.report(), re.MULTILINE)
    assert (int(found[1]), int(found[2])) == (first, last - 1)
    assert float(found[3]) == pytest.approx(span_written("log.txt", first)[0], abs=0.001)
    assert float(found[4]) == pytest.approx(span_written("log.txt", last - 1)[1], abs=0.001)
    assert reading.verdict == "damaged" and not reading.complete


def test_bytes_beyond_the_end_of_the_tape_are_said_not_to_be_on_it():
    """A header that claims more than can be held in its place."""
    claim = bytes([1]) + Header("long.bin", 2**31, 0x12345678, 4080).pack()
    text = read(samples_of([claim, part(0x5678, 0, bytes(40)), claim])).report()
    assert text.startswith("long.bin: 40 bytes, damaged")
    assert "long.bin: bytes 40 to 2147483647 in doubt, not on this tape" in text


def test_one_byte_in_doubt_is_called_a_byte():
    """Not bytes 5 to 5."""
    reading = read(tape())
    file = reading.files[0]
    file = type(file)(file.name, "", file.data, "damaged", [(5, 6)], file.pieces)
    one = kit.Reading([file], reading.blocks, [], [])
    start, stop = reading.where(5)
    assert f"  log.txt: byte 5 in doubt, at {start:.3f} to {stop:.3f} s" in str(one)


def test_of_silence_the_report_says_how_much_was_heard():
    """Nothing is whole where nothing is."""
    reading = read(np.zeros(3 * RATE // 2, np.float32))
    assert reading.report() == str(reading) == "no block of a known format was found in 1.5 s of sound"
    assert (reading.files, reading.complete, reading.verdict, reading.speed) == ([], False, "damaged", None)


def test_a_clean_tape_is_complete_and_tells_its_speed(reading):
    """A line for each file."""
    assert reading.report() == "log.txt: 122 bytes, checked\nview.pgm: 100 bytes, checked"
    assert reading.complete and reading.verdict == "checked"
    assert reading.speed == pytest.approx(SPEED, rel=1e-3)
    assert reading.seconds == pytest.approx(written()[-1][1][-1][1] + 8 / 2400, abs=1 / RATE)


# -- refusals ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("byte", [-1, 122, 10**9, 1.0, "3", None])
def test_a_byte_that_is_not_in_the_file_is_refused(reading, byte):
    """The last one there is, is named."""
    with pytest.raises(SettingError, match=rf"byte must lie in 0 to 121 of 'log.txt', got {byte!r}"):
        reading.where(byte)


@pytest.mark.parametrize(("file", "said"), [
    (2, r"a number below 2 or a name, got 2"), (-3, "got -3"), (None, "got None"), (0.0, "got 0.0"),
    ("diary.txt", r"one of \['log.txt', 'view.pgm'\], got 'diary.txt'"),
])
def test_a_file_that_is_not_there_is_refused(reading, file, said):
    """With what there is."""
    with pytest.raises(SettingError, match=f"file must be {said}" if said[0] != "g" else said):
        reading.where(0, file)


def test_a_span_unpacks_as_its_two_times():
    """Start and stop, in seconds."""
    start, stop = Span(1.5, 2.5, 0.7, recording=3)
    assert (start, stop) == (1.5, 2.5)
