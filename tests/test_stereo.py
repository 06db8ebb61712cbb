"""Two sides: each, their sum and their difference are tried, block by block; sides of a cassette are joined."""

import numpy as np
import pytest

import kit
from kit import Sound, TapeFile, encode_sides

RATE = 44100
DATA = np.random.default_rng(8).integers(0, 256, 900, dtype=np.uint8).tobytes()
OTHER = b"the boat comes on tuesday, weather permitting; " * 12


@pytest.fixture(scope="module")
def wave():
    return kit.encode(DATA, name="x.bin", speed=2, lead_in_s=0.5, block_bytes=256).samples


def pair(left, right):
    size = max(len(left), len(right))
    return Sound(np.stack([np.pad(side, (0, size - len(side))) for side in (left, right)], axis=1), RATE)


def hiss(size, level, seed):
    return np.random.default_rng(seed).normal(0, level, size).astype(np.float32)


def loads(sound):
    reading = kit.decode(sound)
    return reading.complete and [file.data for file in reading.files] == [DATA]


def test_one_side_is_enough(wave):
    silent = np.zeros_like(wave)
    assert loads(pair(wave, silent)) and loads(pair(silent, wave)) and loads(pair(wave, wave))


def test_opposed_sides_whose_sum_is_nothing_are_read(wave):
    assert loads(pair(wave, -wave))


def test_a_side_of_noise_does_not_disturb(wave):
    assert loads(pair(wave, hiss(len(wave), 0.3, 1))) and loads(pair(hiss(len(wave), 0.3, 1), wave))


def test_a_fading_side_hands_over_to_the_other(wave):
    """Each side is lost in hiss for half of the tape."""
    part = np.linspace(0, 1, len(wave), dtype=np.float32)
    left = wave * (part < 0.55) + hiss(len(wave), 0.02, 2)
    right = wave * (part > 0.45) + hiss(len(wave), 0.02, 3)
    reading = kit.decode(pair(left, right))
    assert reading.files[0].data == DATA and reading.files[0].complete
    assert {block.side for block in reading.files[0].blocks} >= {"left", "right"}


def test_hum_shared_by_both_sides_cancels_in_their_difference(wave):
    """Far louder than the tape, on opposed sides: only the difference is free of it."""
    hum = (0.6 * np.sin(2 * np.pi * 97 * np.arange(len(wave)) / RATE)).astype(np.float32)
    assert loads(pair(0.2 * wave + hum, -0.2 * wave + hum))


def test_two_tapes_on_two_sides_are_both_delivered(wave):
    other = kit.encode(OTHER, name="boat.txt", speed=2, lead_in_s=0.8).samples
    reading = kit.decode(pair(wave, other))
    assert reading.complete
    assert {file.name: file.data for file in reading.files} == {"x.bin": DATA, "boat.txt": OTHER}


def test_a_scratch_on_one_of_two_tapes_is_said_of_that_one(wave):
    other = kit.encode(OTHER, name="boat.txt", speed=2, lead_in_s=0.8).samples.copy()
    other[len(other) // 2 :][:2000] = 0
    files = {file.name: file for file in kit.decode(pair(wave, other)).files}
    assert files["x.bin"].complete and files["x.bin"].data == DATA
    assert files["boat.txt"].verdict == "damaged" and files["boat.txt"].doubtful


def test_a_reversed_stereo_recording_is_recognised(wave):
    reading = kit.decode(pair(wave[::-1].copy(), 0.5 * wave[::-1]))
    assert reading.complete and reading.files[0].data == DATA
    assert all(block.backwards for block in reading.blocks)
    early, late = reading.where(byte=0), reading.where(byte=899)
    assert early.start_s > late.start_s  # what was written first comes last


def test_three_channels_are_read_too(wave):
    sound = Sound(np.stack([hiss(len(wave), 0.1, 4), wave, hiss(len(wave), 0.1, 5)], axis=1), RATE)
    assert loads(sound)


# -- sides of a cassette -------------------------------------------------------------------------------


def station():
    return [TapeFile("log.txt", OTHER), TapeFile("x.bin", DATA * 3)]


def test_sides_hold_what_they_may_and_join_in_any_order():
    sides = encode_sides(station(), side_minutes=0.2, lead_in_s=1.0, speed=2, block_bytes=256)
    assert len(sides) > 1 and all(side.seconds <= 12.01 for side in sides)
    for order in (sides, sides[::-1]):
        reading = kit.decode(list(order))
        assert reading.complete
        assert {file.name: file.data for file in reading.files} == {f.name: f.data for f in station()}


def test_a_lost_side_is_said_with_the_bytes_that_were_on_it():
    sides = encode_sides(station()[1:], side_minutes=0.1, lead_in_s=1.0, speed=2, block_bytes=256)
    assert len(sides) >= 2
    (file,) = kit.decode([sides[0], *sides[2:]]).files
    data = DATA * 3
    doubted = {byte for start, stop in file.doubtful for byte in range(start, stop)}
    assert not file.complete and doubted
    assert all(file.data[k] == data[k] for k in range(len(file.data)) if k not in doubted)


def test_a_side_too_short_for_a_block_is_refused():
    with pytest.raises(kit.SettingError, match="side"):
        encode_sides(station(), side_minutes=0.01)
