"""The bench of speeds: a clock's slips against arithmetic, and what lesson 9 lets people predict, on many tapes."""

import numpy as np
import pytest

from kit.bench import speeds
from kit.bench.model import Model
from kit.bench.speeds import (
    BLOCK,
    CHARACTER,
    FORMATS,
    PATIENT,
    SPEEDS,
    TIMER,
    SpeedsState,
    draw,
    heard_at,
    sound,
)
from kit.readers import Counter
from kit.sound import Sound
from kit.tape import decode

SEEDS = range(100, 200)


def found(**settings):
    return Model(SPEEDS, SpeedsState(**settings)).result


@pytest.fixture
def seeded(monkeypatch):
    """Set the seed of the bits and of where in its turn the wobble begins."""
    return lambda number: monkeypatch.setattr(speeds, "SEED", number)


def test_a_place_is_heard_when_the_speed_summed_up_has_brought_it():
    """Against a sum of the speed in small steps."""
    times, speed = heard_at(np.linspace(0, 1, 50), 3.0, 5.0, 4.0, 0.3)
    fine = np.arange(0, 1.2, 1e-6)
    law = 1.03 + 0.05 * np.sin(2 * np.pi * (4 * fine + 0.3))
    assert np.interp(times, fine, np.cumsum(law) * 1e-6) == pytest.approx(np.linspace(0, 1, 50), abs=2e-5)
    assert speed == pytest.approx(np.interp(times, fine, law), abs=1e-4)


def test_the_same_wobble_hurts_a_fixed_clock_more_at_2_hz_than_at_20_hz(seeded):
    """What lesson 9 lets people predict, first half."""
    more = 0
    for seed in SEEDS:
        seeded(seed)
        slow, fast = (found(wow_hz=hz).wrong.sum() for hz in (2, 20))
        more += slow > fast
    assert more >= 95


def test_cycle_length_shrugs_the_same_wobble_off(seeded):
    """What lesson 9 lets people predict, second half: with the fixed threshold, also eight times as deep."""
    unhurt = 0
    for seed in SEEDS:
        seeded(seed)
        unhurt += not any(found(code="cycle length", wow_percent=depth, wow_hz=hz).wrong.any()
                          for depth, hz in ((1, 2), (1, 20), (8, 2)))
    assert unhurt >= 95


@pytest.mark.parametrize("percent", [-4, -2, -1, 1, 2, 4])
def test_a_fixed_clock_is_half_a_bit_off_after_half_over_the_error(percent):
    """0.5 / error bits (computed); bits are wrong from 0.35 / error on, as the counter's windows have it."""
    result = found(wow_percent=0, steady_percent=percent)
    first = 1 + int(np.flatnonzero(np.abs(result.late_bits) > 0.5)[0])
    assert first == pytest.approx(0.5 / abs(percent / 100), rel=0.1, abs=2)
    wrong = 1 + int(np.argmax(result.wrong))
    assert 0.3 / abs(percent / 100) < wrong < 0.6 / abs(percent / 100) + 8
    assert dict(result.figures)["0.5 / steady error"] == f"{0.5 / abs(percent / 100):.0f} bits"


@pytest.mark.parametrize("percent", [-2.5, 2.5])
def test_a_clock_set_at_each_character_bears_what_eleven_bits_bear(percent):
    assert not found(reader=CHARACTER, wow_percent=0, steady_percent=percent).wrong.any()
    assert found(reader=BLOCK, wow_percent=0, steady_percent=percent).wrong.any()
    assert found(reader=CHARACTER, wow_percent=0, steady_percent=4 * percent).wrong.any()


@pytest.mark.parametrize("reader", [TIMER, PATIENT])
def test_readers_that_follow_the_speed_bear_what_a_fixed_clock_does_not(reader):
    for settings in ({"wow_percent": 5.0}, {"wow_percent": 0, "steady_percent": 20.0}):
        assert not found(reader=reader, **settings).wrong.any()
        assert found(reader=BLOCK, **settings).wrong.any()


def test_a_fixed_threshold_fails_beyond_a_third_of_the_speed():
    good = found(code="cycle length", wow_percent=0, steady_percent=30)
    bad = found(code="cycle length", wow_percent=0, steady_percent=36)
    assert not good.wrong.any() and bad.wrong.any() and "taken for the other" in bad.text


@pytest.mark.parametrize(("settings", "reads"), [({"wow_hz": 20}, True), ({"wow_hz": 2}, False)])
def test_the_tapes_own_counter_says_the_same(settings, reads):
    state = SpeedsState(**settings)
    result = Model(SPEEDS, state).result
    heard = Sound(sound(state, result).samples, speeds.RATE)
    block = decode(heard, format=FORMATS["fixed cells"], counter=Counter()).blocks[0]
    assert (block.verdict == "checked") == reads == (not result.wrong.any())


def test_picture_and_text_tell_of_the_slip():
    state = SpeedsState()
    result = Model(SPEEDS, state).result
    assert "more than half a bit off" in result.text and "1.9 bits to and fro" in result.text
    scene = draw(state, result)
    assert len(scene.panes[2].items[0].x) == result.wrong.sum() and "bits late" in scene.text
