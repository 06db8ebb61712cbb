"""The bench of memory: against the whole tape's reading, and what lesson 6 shows of a picture that fills memory."""

import numpy as np
import pytest

import kit
from kit.bench import memory
from kit.bench.memory import HEAD, HIGH, MEMORY, WIDE, MemoryState, find, picture, sound
from kit.bench.model import Model
from kit.bench.scene import Tiles

NOT_YET, COMING, CHECKED, DOUBTFUL = range(4)


def test_the_picture_is_a_pgm_file_as_it_should_be():
    """By the open standard's own words: magic, width, height, largest value, one byte a pixel."""
    magic, width, height, most, pixels = picture().split(maxsplit=4)
    assert (magic, int(width), int(height), int(most)) == (b"P5", WIDE, HIGH, 255)
    assert len(picture()) == len(HEAD) + WIDE * HIGH and len(pixels) <= WIDE * HIGH


@pytest.mark.parametrize("block_bytes", [32, 128, 256])
def test_memory_fills_from_the_start_address_in_the_order_stored(block_bytes):
    """Without a scratch: at each moment a beginning of the file, never less than before, and all of it at the end."""
    before = 0
    for played in range(0, 101, 5):
        result = find(MemoryState(played_percent=played, block_bytes=block_bytes, scratch_ms=0))
        there = result.kinds != NOT_YET
        count = int(there.sum())
        assert there[:count].all() and count >= before
        assert bytes(result.tape.values[:count]) == picture()[:count]
        if count:
            assert dict(result.figures)["last address"] == str(16384 + count - 1)
        before = count
    assert before == len(picture()) and (result.kinds == CHECKED).all()


def test_nothing_is_checked_before_its_block_is_over():
    result = find(MemoryState(scratch_ms=0))
    coming = np.flatnonzero(result.kinds == COMING)
    assert len(coming) and coming[0] % 128 == 0 and (result.tape.told_s[coming] > result.now_s).all()
    assert "one is coming in, not checked yet" in result.text


def test_another_start_address_moves_all_bytes_alike():
    low, high = (find(MemoryState(address=address)) for address in (8192, 32768))
    last = [int(dict(one.figures)["last address"]) for one in (low, high)]
    assert last[1] - last[0] == 32768 - 8192 and "from address 32768" in high.text


def test_a_scratch_shows_in_picture_and_memory_and_what_follows_lies_in_its_place(monkeypatch):
    """On 20 seeds and places: what is not hatched is right, to the last byte."""
    for seed in range(20):
        monkeypatch.setattr(memory, "SEED", seed)
        memory._tape.cache_clear()
        result = find(MemoryState(played_percent=100, scratch_percent=20 + 3 * seed))
        sure = result.kinds == CHECKED
        assert bytes(result.tape.values[sure]) == bytes(np.frombuffer(picture(), np.uint8)[sure])
        assert np.count_nonzero(~sure) <= 2 * 128  # what a scratch of 60 ms can touch: two blocks
        if (result.kinds == DOUBTFUL).any():
            assert f"{(result.kinds == DOUBTFUL).sum()} bytes are in doubt" in result.text
    memory._tape.cache_clear()


def test_the_same_tape_reads_alike_with_the_kits_own_decode():
    """Which looks longer, and finds no more in doubt than this first look."""
    result = find(MemoryState(played_percent=100))
    (file,) = kit.decode(result.tape.sound, format=memory.FORMAT.changed(block_bytes=128)).files
    doubt = np.zeros(len(picture()), bool)
    for start, stop in file.doubtful:
        doubt[start:stop] = True
    assert (file.content, file.address) == ("picture", 16384)
    assert doubt.sum() <= (result.kinds == DOUBTFUL).sum() and not (doubt & (result.kinds == CHECKED)).any()


def test_without_the_header_nothing_is_put_anywhere_until_its_second_copy():
    state = MemoryState(played_percent=60, scratch_percent=13, scratch_ms=200)
    result = find(state)
    assert (result.kinds == NOT_YET).all() and "does not know where the bytes belong" in result.text
    end = find(MemoryState(played_percent=100, scratch_percent=13, scratch_ms=200))
    assert (end.kinds == CHECKED).all()


def test_the_picture_shows_the_pixels_that_have_come_and_no_others():
    result = find(MemoryState(scratch_ms=0))
    scene = MEMORY.draw(MemoryState(scratch_ms=0), result)
    (points,) = [item for item in scene.panes[1].items if isinstance(item, Tiles) and len(item.shades)]
    come = np.count_nonzero(result.kinds) - len(HEAD)
    assert len(points.x) == come == len(points.shades)
    assert points.shades == pytest.approx(np.frombuffer(picture()[len(HEAD) :][:come], np.uint8) / 255)


def test_pointing_at_the_tape_plays_it_to_there_and_listening_plays_what_came_last():
    model = Model(MEMORY)
    seconds = model.result.tape.sound.seconds
    model.pick(0, 0.25 * seconds)
    assert model.state.played_percent == 25
    for wrong in ((1, 3.0), (0, -2.0), (0, 99.0), (0, float("nan"))):
        model.pick(*wrong)
    assert model.state.played_percent == 25
    for played in (0, 100):
        state = MemoryState(played_percent=played)
        assert 0 < sound(state, find(state)).seconds <= 2.1
