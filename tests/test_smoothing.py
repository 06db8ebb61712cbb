"""Smoothing: compared with filters of scipy and numpy, and with what a mean does to a sine by its formula."""

import numpy as np
import pytest
import scipy.signal

from kit.ears import ears
from kit.known import FORMATS, SPEEDS
from kit.smoothing import Conditioner
from kit.waves import edges, render

RATE = 44100
SETTINGS = [(1, 0), (3, 0), (9, 0), (1, 41), (5, 101), (8, 100)]


def taps(smooth, centre):
    """The filter as a row of numbers: two means in a row, less the same smeared over `centre` samples."""
    smooth, centre = smooth | 1, centre | 1 if centre else 0
    second = third_of(smooth)
    means = np.convolve(np.full(smooth, 1 / smooth), np.full(second, 1 / second))
    if not centre:
        return means
    return np.pad(means, centre // 2) - np.convolve(means, np.full(centre, 1 / centre))


def third_of(smooth):
    """Samples in the shorter mean: a third of the longer's, and odd."""
    return round(smooth / 3) | 1


def noise(count, seed=1):
    return np.random.default_rng(seed).normal(0, 0.3, count)


def gain(conditioner, hz):
    """How much of a sine is left, measured in the middle of a second of it."""
    sine = np.sin(2 * np.pi * hz * np.arange(RATE) / RATE)
    return float(np.sqrt(2 * np.mean(conditioner.feed(sine)[RATE // 4 : -RATE // 4] ** 2)))


def kept_by_a_mean(hz, width):
    """What a mean over some samples leaves of a sine: sin(pi f w) / (w sin(pi f)), f in cycles per sample."""
    f = hz / RATE
    return np.sin(np.pi * f * width) / (width * np.sin(np.pi * f))


def house_conditioner(speed):
    """The smoothing that listens for the house format at a speed."""
    ear = next(ear for ear in ears(FORMATS["house"], RATE) if ear.note == f"smoothed and centred for {speed} speed")
    return Conditioner(ear.smooth, ear.centre)


@pytest.mark.parametrize(("smooth", "centre"), SETTINGS)
def test_it_is_the_filter_it_says_it_is(smooth, centre):
    """Two means against hiss, one a third of the other, and a longer one taken off: as scipy filters with them."""
    wave = noise(3000)
    conditioner = Conditioner(smooth, centre)
    assert np.allclose(conditioner.feed(wave), scipy.signal.lfilter(taps(smooth, centre), 1, wave), atol=1e-12)


@pytest.mark.parametrize(("smooth", "centre"), SETTINGS)
def test_every_frequency_is_late_by_reach_and_none_is_turned(smooth, centre):
    """What one click becomes is the same on both sides of its middle, `reach` samples after it."""
    conditioner = Conditioner(smooth, centre)
    click = np.zeros(2000)
    click[700] = 1.0
    answer = conditioner.feed(click)
    middle = 700 + conditioner.reach
    assert np.allclose(answer[middle : middle + 500], answer[middle - 499 : middle + 1][::-1], atol=1e-15)
    assert answer[middle] > 0 and answer[middle] == pytest.approx(np.abs(answer).max(), abs=1e-15)


@pytest.mark.parametrize("size", [1, 7, 100, 999])
@pytest.mark.parametrize(("smooth", "centre"), SETTINGS)
def test_in_pieces_it_gives_what_it_gives_at_once(smooth, centre, size):
    """Also if pieces are shorter than the filter."""
    wave = noise(2000, seed=2)
    conditioner = Conditioner(smooth, centre)
    parts = [conditioner.feed(wave[k : k + size]) for k in range(0, len(wave), size)]
    assert [len(part) for part in parts] == [len(wave[k : k + size]) for k in range(0, len(wave), size)]
    assert np.allclose(np.concatenate(parts), Conditioner(smooth, centre).feed(wave), atol=1e-12)


def test_edges_stay_where_they_are():
    """A square wave in hiss keeps its edges within a quarter of a sample on the mean, `reach` samples late."""
    halves = np.full(2000, 18.375 / RATE)
    wave = render(halves, RATE) + noise(len(render(halves, RATE)), seed=3) / 10
    conditioner = Conditioner(9, 147)
    found = edges(conditioner.feed(wave), RATE)[20:-20] * RATE - conditioner.reach
    offsets = (found + 18.375 / 2) % 18.375 - 18.375 / 2
    assert abs(np.median(offsets)) < 0.05 and np.abs(offsets).mean() < 0.25


def test_hiss_is_made_less_by_as_much_as_the_numbers_say():
    """The power of white noise is multiplied by the sum of the squares of the filter's numbers."""
    wave = noise(200_000, seed=4)
    quieter = Conditioner(9, 0).feed(wave)[100:]
    assert quieter.std() / wave.std() == pytest.approx(np.sqrt((taps(9, 0) ** 2).sum()), rel=0.02)


def test_nothing_asked_for_changes_nothing():
    """One sample's mean is the sample."""
    wave = noise(100)
    assert np.array_equal(Conditioner(1, 0).feed(wave), wave)
    assert Conditioner(1, 0).reach == 0


@pytest.mark.parametrize("speed", SPEEDS)
def test_a_held_level_is_removed(speed):
    """Nothing is left of it once it has been heard for as long as the filter reaches on both sides."""
    conditioner = house_conditioner(speed)
    rest = conditioner.feed(np.full(RATE, 0.4))[2 * conditioner.reach :]
    assert np.abs(rest).max() < 1e-9


@pytest.mark.parametrize(("speed", "least_db"), [("ordinary", 26), ("double", 38), ("quadruple", 50)])
def test_hum_at_50_hz_is_removed_by_what_the_formula_says(speed, least_db):
    """The longer the leader's cycle, the more hum stays: two of them make the mean that is taken off."""
    conditioner = house_conditioner(speed)
    left = gain(house_conditioner(speed), 50)
    kept = kept_by_a_mean(50, conditioner.smooth) * kept_by_a_mean(50, third_of(conditioner.smooth))
    wanted = kept * (1 - kept_by_a_mean(50, conditioner.centre))
    assert left == pytest.approx(wanted, rel=1e-3)
    assert -20 * np.log10(left) > least_db


@pytest.mark.parametrize("speed", SPEEDS)
def test_the_tones_of_the_tape_are_kept_at_the_speed_listened_for(speed):
    """From the leader to the shortest cycle, also 20 % off: of the shortest, a mean over half of it leaves 2 / pi."""
    for part_of_speed in (0.8, 1.0, 1.2):
        for cycle_units in (4, 3, 2, 1):
            hz = 2400 / cycle_units * SPEEDS[speed] * part_of_speed
            assert 0.5 < gain(house_conditioner(speed), hz) < 1.3


def test_a_leader_of_90_hz_is_kept_at_the_slow_setting():
    """A quarter of ordinary speed has a leader of 150 Hz; a recorder far too slow still gets through, hum less."""
    leader, hum = gain(house_conditioner("quarter"), 90), gain(house_conditioner("quarter"), 50)
    assert 0.9 < leader < 1.25
    assert hum < 0.65 * leader


def test_after_a_restart_nothing_of_before_is_left():
    """A new stretch is heard as if it were the first."""
    conditioner = Conditioner(5, 41)
    conditioner.feed(np.full(500, 9.0))
    conditioner.restart()
    wave = noise(300, seed=5)
    assert np.allclose(conditioner.feed(wave), Conditioner(5, 41).feed(wave), atol=1e-15)
