"""How exact the wave floor is, and that data read back at every rate and speed that can carry them.

The measuring functions here serve the full sets too (``python -m tests.benchmarks --only exactness``); the
tests take a seeded part of those, so that they stay quick.
"""

import random

import numpy as np
import pytest

import kit
from kit.known import FORMATS
from kit.waves import PEAK, Renderer, edges, render

RATES = (8000, 11025, 16000, 22050, 32000, 44100, 48000, 96000, 192000)
SPEEDS = (0.25, 0.5, 1.0, 2.0, 4.0)
SHORTEST_SAMPLES = 1.5  # half-cycle at which a rate still carries a speed


def carried():
    """Every (format name, rate, speed) that the rate can carry, and those that it cannot."""
    every = [(name, rate, speed) for name in FORMATS for rate in RATES for speed in SPEEDS]
    fits = [FORMATS[name].needed_rate(speed) <= rate for name, rate, speed in every]
    return ([c for c, fit in zip(every, fits, strict=True) if fit],
            [c for c, fit in zip(every, fits, strict=True) if not fit])


def random_half_cycles_s(count, rate, speed, seed):
    """Half-cycles of all lengths that occur at a speed, each off by up to 10 %, none below 1.5 samples."""
    generator = np.random.Generator(np.random.PCG64(seed))
    units = generator.choice([0.5, 1.0, 1.5, 2.0], count) * generator.uniform(0.9, 1.1, count)
    return np.maximum(units / (2400 * speed), SHORTEST_SAMPLES / rate)


def inverted_area(samples, before, peak):
    """Where the edges lie in samples that hold the mean of a two-level wave, by the area in each alone.

    In a sample that holds one edge, at a part f of it, the mean is ``before * f - before * (1 - f)``.

    Parameters
    ----------
    samples : ndarray of float, shape (n,)
        Samples that hold one edge each.
    before : ndarray of float, shape (n,)
        Sign of the wave before each edge.
    peak : float

    Returns
    -------
    ndarray of float64, shape (n,)
        f, 0 to 1.
    """
    return (samples.astype(float) * before / peak + 1) / 2


def edge_errors(half_cycles_s, rate, pieces=1):
    """How far edges lie from where they belong: as rendered, and as `edges` finds them; in samples.

    Edges lie 1.5 samples apart at least, so that no sample holds two and each can be solved for by itself.
    """
    if pieces == 1:
        samples = render(half_cycles_s, rate)
    else:
        renderer = Renderer(rate)
        parts = [renderer.feed(part) for part in np.array_split(half_cycles_s, pieces)]
        samples = np.concatenate([*parts, renderer.finish()])
    wanted = np.cumsum(np.asarray(half_cycles_s, np.longdouble) * rate)[:-1]
    inside = np.floor(wanted).astype(int)
    before = 1.0 - 2.0 * (np.arange(len(wanted)) % 2)
    rendered = inside + inverted_area(samples[inside], before, PEAK)
    found = edges(samples, rate) * rate
    found_error = np.abs(found - wanted).max() if len(found) == len(wanted) else np.inf
    return float(np.abs(rendered - wanted).max()), float(found_error)


def round_trip(name, rate, speed, size=200):
    """Whether bytes encoded in a format at a rate and a speed read back whole."""
    seed = RATES.index(rate) * 10 + SPEEDS.index(speed)
    data = bytes(8) + b"\xff" * 8 + random.Random(seed).randbytes(size)
    sound = kit.encode(data, name="log.bin", format=name, rate=rate, speed=speed, lead_in_s=0.5)
    reading = kit.decode(sound, format=name)
    vouched = reading.complete or not FORMATS[name].check_bytes
    return vouched and [file.data for file in reading.files] == [data]


def refusal(name, rate, speed):
    """What `encode` says of a rate that cannot carry a speed; None if it does not refuse."""
    try:
        kit.encode(b"wind west 5", format=name, rate=rate, speed=speed)
    except kit.SettingError as error:
        return str(error)
    return None


def tenth(cases, seed):
    """A seeded tenth of some cases, one at least."""
    return random.Random(seed).sample(cases, max(1, len(cases) // 10))


EDGE_CASES = [(rate, speed) for rate in RATES for speed in SPEEDS if rate >= 7200 * speed]


@pytest.mark.parametrize(("rate", "speed"), tenth(EDGE_CASES, seed=1))
def test_rendered_edges_lie_within_a_millionth_of_a_sample_of_where_they_belong(rate, speed):
    rendered, _ = edge_errors(random_half_cycles_s(20_000, rate, speed, seed=rate), rate)
    assert rendered < 1e-6


def test_edges_stay_where_they_belong_when_the_wave_is_drawn_in_pieces():
    halves = random_half_cycles_s(20_000, 44100, 4.0, seed=3)
    rendered, _ = edge_errors(halves, 44100, pieces=77)
    assert rendered < 1e-6


@pytest.mark.parametrize(("rate", "speed"), tenth(EDGE_CASES, seed=2))
def test_edges_finds_rendered_edges_within_a_tenth_of_a_sample(rate, speed):
    _, found = edge_errors(random_half_cycles_s(20_000, rate, speed, seed=rate + 1), rate)
    assert found < 0.1


def test_inverting_the_area_notices_an_edge_that_was_rounded_to_the_sample_grid():
    """The measure must be able to fail: whole-sample edges are off by up to half a sample."""
    halves = random_half_cycles_s(1000, 44100, 1.0, seed=5)
    rounded = np.diff(np.rint(np.cumsum(halves * 44100)), prepend=0) / 44100
    wanted = np.cumsum(halves * 44100)[:-1]
    samples = render(rounded, 44100)
    inside = np.floor(wanted).astype(int)
    before = 1.0 - 2.0 * (np.arange(len(wanted)) % 2)
    error = np.abs(inside + inverted_area(samples[inside], before, PEAK) - wanted)
    assert 0.4 < error.max() <= 1.0


@pytest.mark.parametrize(("name", "rate", "speed"), tenth(carried()[0], seed=3))
def test_data_read_back_whole_at_a_rate_and_speed_that_carry_them(name, rate, speed):
    assert round_trip(name, rate, speed)


@pytest.mark.parametrize(("name", "rate", "speed"), tenth(carried()[1], seed=4))
def test_a_rate_too_low_for_a_speed_is_refused_and_the_rate_needed_is_named(name, rate, speed):
    said = refusal(name, rate, speed)
    needed = int(np.ceil(FORMATS[name].needed_rate(speed)))
    assert said is not None
    assert str(needed) in said
