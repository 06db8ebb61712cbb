"""The counter: a fixed threshold reads a steady tape, and fails just where arithmetic says it must."""

import numpy as np
import pytest

import kit
from kit import Sound

RATE = 44100
DATA = np.random.default_rng(3).integers(0, 256, 300, dtype=np.uint8).tobytes()


def at_speed(sound, speed):
    position = np.arange(int((sound.frames - 1) / speed)) * speed
    return Sound(np.interp(position, np.arange(sound.frames), sound.samples).astype(np.float32), sound.rate)


def loads(sound, **settings):
    return kit.decode(sound, format="house", counter=kit.Counter(**settings)).complete


@pytest.fixture(scope="module")
def tape():
    return kit.encode(DATA, name="x.bin", lead_in_s=0.6)


@pytest.mark.parametrize("speed", [0.69, 0.75, 0.9, 1.0, 1.1, 1.25, 1.28])
def test_a_fixed_threshold_bears_a_third_of_the_speed(tape, speed):
    """A zero of 1 unit must stay below 1.5, a one of 2 units above: from 2/3 to 4/3, less one round of the loop."""
    assert loads(at_speed(tape, speed), loop_s=5e-6)


@pytest.mark.parametrize("speed", [0.55, 0.65, 1.36, 1.5])
def test_beyond_a_third_it_fails_and_the_default_reader_does_not(tape, speed):
    sound = at_speed(tape, speed)
    assert not loads(sound, loop_s=5e-6)
    assert kit.decode(sound, format="house").complete


def test_a_slow_loop_bears_less(tape):
    """A round of a tenth of a millisecond is half a unit: the lengths blur into each other."""
    sound = at_speed(tape, 1.25)
    assert loads(sound, loop_s=5e-6) and not loads(sound, loop_s=1e-4)


def test_slow_wow_does_not_hurt_cycle_length(tape):
    """10 % at 1 Hz: each cycle is judged for itself, so nothing adds up."""
    seconds = np.arange(tape.frames) / RATE
    position = np.cumsum(1 + 0.1 * np.sin(2 * np.pi * seconds))
    position = position[position < tape.frames - 1]
    wobbled = Sound(np.interp(position, np.arange(tape.frames), tape.samples).astype(np.float32), RATE)
    assert loads(wobbled)


def test_the_threshold_is_made_for_one_speed(tape):
    fast = kit.encode(DATA, name="x.bin", lead_in_s=0.6, speed=2)
    assert loads(fast, speed=2.0) and not loads(fast) and not loads(tape, speed=2.0)


def test_its_findings_are_of_the_same_kind(tape):
    reading = kit.decode(tape, format="house", counter=kit.Counter())
    assert reading.files[0].data == DATA
    start_s, stop_s = reading.where(byte=100)
    assert reading.at((start_s + stop_s) / 2).byte == 100


@pytest.mark.parametrize(("setting", "value"), [("loop_s", 0), ("loop_s", 1.0), ("speed", 0), ("speed", 99)])
def test_nonsense_is_refused_with_the_range(setting, value):
    with pytest.raises(kit.SettingError, match="must lie"):
        kit.Counter(**{setting: value})
