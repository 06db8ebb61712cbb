"""A copy of a copy: at four times the speed a dub fails where one at ordinary speed still loads, and why.

Common practice says so; here it is computed, on the named deck "portable", with the default reader.
"""

import numpy as np
import pytest

import kit
from kit.deck import decks, passes

PORTABLE = decks["portable"]
DATA = np.random.Generator(np.random.PCG64(11)).integers(0, 256, 500, dtype=np.uint8).tobytes()
MOST_GENERATIONS = 8
NO_LOSS = {"record_spacing_um": 0, "replay_spacing_um": 0, "replay_gap_um": 0}


def tape(speed):
    return kit.encode(DATA, name="log.bin", format="house", speed=speed)


def loads(sound):
    reading = kit.decode(sound, format="house")
    return reading.complete and [file.data for file in reading.files] == [DATA]


def last_that_loads(deck, speed, seed):
    """The last generation in a row that loads; 0 is the tape itself."""
    sound = tape(speed)
    for generation in range(MOST_GENERATIONS):
        sound = passes.play(deck, sound, seed, generation=generation)  # as `deck.copy` does, one at a time
        if not loads(sound):
            return generation
    return MOST_GENERATIONS


@pytest.mark.parametrize("seed", [1])
def test_a_dub_fails_at_four_times_the_speed_where_it_loads_at_ordinary_speed(seed):
    ordinary, double, fourfold = (last_that_loads(PORTABLE, speed, seed) for speed in (1, 2, 4))
    assert 1 <= fourfold < min(ordinary, double)  # the first copy loads at any speed
    assert fourfold <= 4


def test_counting_one_generation_at_a_time_is_what_copying_does():
    sound = tape(4)
    for generation in range(2):
        sound = passes.play(PORTABLE, sound, 1, generation=generation)
    assert np.array_equal(PORTABLE.copy(tape(4), generations=2, seed=1).samples, sound.samples)


def test_the_highs_lost_are_the_reason():
    """Without the losses of the heads the same hiss, wow, dropouts and level control are borne."""
    lossless = PORTABLE.with_settings(**NO_LOSS)
    assert last_that_loads(lossless, 4, seed=1) > last_that_loads(PORTABLE, 4, seed=1) + 1


@pytest.mark.parametrize("spared", [
    {"dropouts_per_minute": 0},
    {"record_wow_percent": 0, "record_flutter_percent": 0, "replay_wow_percent": 0,
     "replay_flutter_percent": 0}])
def test_neither_dropouts_nor_wow_are_the_reason(spared):
    assert last_that_loads(PORTABLE.with_settings(**spared), 4, seed=1) <= 4


def test_the_shortest_cycle_falls_far_below_the_longest_where_the_dub_fails():
    """Per generation: 9600 against 2400 Hz at four times, 2400 against 600 Hz at ordinary speed."""
    fourfold = PORTABLE.response([9600, 2400])
    ordinary = PORTABLE.response([2400, 600])
    assert fourfold[0] - fourfold[1] < -9
    assert ordinary[0] - ordinary[1] > -3


@pytest.mark.parametrize("name", ["studio", "home"])
def test_good_machines_dub_even_the_fast_tape(name):
    assert loads(decks[name].copy(tape(4), generations=3, seed=1))
