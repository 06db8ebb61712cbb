"""The patient reader alone, with no timer before it, on clean tapes whose speed is far off or swings.

The blocks have 1 KiB of random bytes, as long as five turns of a wow of 1 Hz: what is lost on the way stays lost.
"""

import numpy as np
import pytest
from patient_cases import warped

import kit
from kit.found import CHECKED
from kit.readers.patient import PatientLane
from kit.reading import Reading

BLOCKS = 2
PARTS = BLOCKS + 2  # with a header before them, and one after


def log_tape(seed, rate):
    """Random bytes, and their tape in blocks of 1 KiB."""
    data = np.random.default_rng(seed).bytes(1024 * BLOCKS)
    return data, kit.encode(data, name="log.bin", format="house", lead_in_s=1.5, rate=rate).samples.astype(float)


def read_alone(wave, rate):
    lane = PatientLane([kit.FORMATS["house"]], rate)
    return Reading.of(lane.feed(wave.astype(np.float32)) + lane.finish())


def swinging(depth, hz, turns):
    """A speed that swings by a part of itself, so far round at the start."""
    return lambda t: 1 + depth * np.sin(2 * np.pi * (hz * t + turns))


def assert_all_checked(reading, data):
    assert [block.verdict for block in reading.blocks] == [CHECKED] * PARTS
    assert [(file.data, file.complete) for file in reading.files] == [(data, True)]


@pytest.mark.parametrize("rate", [44100, 48000])
@pytest.mark.parametrize("speed", [0.6, 1.4])
def test_a_steady_speed_40_percent_off_is_followed(speed, rate):
    data, wave = log_tape(1, rate)
    assert_all_checked(read_alone(warped(wave, lambda t: np.full(len(t), speed), rate), rate), data)


@pytest.mark.parametrize(("turns", "rate"), [(0.0, 44100), (1 / 3, 48000), (2 / 3, 44100), (0.75, 48000)])
@pytest.mark.parametrize(("depth", "hz"), [(0.05, 1.0), (0.10, 1.0), (0.02, 10.0)])
def test_wow_and_flutter_are_followed_to_the_end_of_every_block(depth, hz, turns, rate):
    """From a leader at its fastest the tape falls back by 20 % and more, with wow of 10 %."""
    data, wave = log_tape(2 + round(12 * turns), rate)
    assert_all_checked(read_alone(warped(wave, swinging(depth, hz, turns), rate), rate), data)
