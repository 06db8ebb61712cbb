"""Waves: half-cycles drawn as samples, and edges found in samples, against areas and sines worked out apart."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import SettingError
from kit.waves import PEAK, EdgeFinder, Renderer, edges, half_cycles, render

RATE = 44100


def some_half_cycles_s(count, low_samples, high_samples, seed=1):
    """Half-cycles of random length."""
    return np.random.default_rng(seed).uniform(low_samples, high_samples, count) / RATE


def mean_of_each_sample(half_cycles_s, peak=PEAK):
    """What each sample must hold: the area under the wave up to each boundary between samples, differenced."""
    stops = np.concatenate(([0.0], np.cumsum(half_cycles_s) * RATE))
    signs = (-1.0) ** np.arange(len(half_cycles_s))
    area = np.concatenate(([0.0], np.cumsum(np.diff(stops) * signs)))
    boundaries = np.arange(math.ceil(stops[-1] - 1e-9) + 1)
    return np.diff(np.interp(boundaries, stops, area)) * peak


def in_pieces(samples, size, hysteresis=0.0):
    """All edges of a wave that is fed to a finder in pieces, in samples."""
    finder = EdgeFinder(hysteresis)
    found = [finder.feed(samples[k : k + size]) for k in range(0, len(samples), size)]
    return np.concatenate([*found, finder.feed(samples[:0], last=True)])


@pytest.mark.parametrize(("low", "high"), [(1.5, 3.0), (5.0, 90.0), (0.05, 0.9), (0.05, 30.0)])
def test_each_sample_holds_the_mean_of_the_wave_over_its_own_interval(low, high):
    """Also where several edges fall into one sample."""
    halves = some_half_cycles_s(3000, low, high)
    samples = render(halves, RATE)
    assert samples.dtype == np.float32
    wanted = mean_of_each_sample(halves)
    assert len(samples) == len(wanted)
    assert np.abs(samples - wanted).max() < 1e-6


def test_the_end_of_a_wave_is_drawn_as_far_as_it_reaches_into_its_last_sample():
    """One half-cycle of 2.25 samples: two full ones and a quarter; then nothing."""
    assert render([2.25 / 8], rate=8, peak=0.8).tolist() == pytest.approx([0.8, 0.8, 0.2])


@pytest.mark.parametrize("peak", [0.05, 0.5, 1.0])
def test_the_wave_has_two_levels_at_the_peak_asked_for_and_starts_above_zero(peak):
    """Half-cycles of whole samples touch no level in between."""
    samples = render(np.full(10, 4 / RATE), RATE, peak)
    assert np.allclose(samples, peak * np.tile([1, 1, 1, 1, -1, -1, -1, -1], 5), atol=1e-6)


def test_no_half_cycles_make_no_samples():
    """An empty list is a wave of no length."""
    assert render([], RATE).shape == (0,)


@given(st.lists(st.floats(0.01, 40), min_size=1, max_size=60), st.data())
@settings(derandomize=True, max_examples=60, deadline=None)
def test_a_wave_drawn_in_pieces_equals_the_wave_drawn_at_once(lengths, draw):
    """Wherever the half-cycles are parted, and also if a piece is empty."""
    halves = np.array(lengths) / RATE
    cuts = sorted(draw.draw(st.lists(st.integers(0, len(halves)), max_size=6)))
    renderer = Renderer(RATE)
    pieces = [renderer.feed(part) for part in np.split(halves, cuts)]
    assert np.allclose(np.concatenate([*pieces, renderer.finish()]), render(halves, RATE), atol=1e-6)


def test_a_long_wave_does_not_run_away_from_its_time():
    """After 30 s of half-cycles of 18.3 samples, fed one at a time by the hundred, edges are where they belong."""
    renderer = Renderer(RATE)
    pieces = [renderer.feed(np.full(100, 18.3 / RATE)) for _ in range(723)]
    found = edges(np.concatenate([*pieces, renderer.finish()]), RATE) * RATE
    assert len(found) == 72_299
    assert np.abs(found - 18.3 * np.arange(1, 72_300)).max() < 0.1


@pytest.mark.parametrize("shortest", [1.5, 2.0, 9.19])
def test_edges_lie_within_a_tenth_of_a_sample_of_where_they_were_drawn(shortest):
    """At the shortest half-cycle a rate may carry, and at longer ones."""
    halves = some_half_cycles_s(5000, shortest, 4 * shortest, seed=2)
    found = edges(render(halves, RATE), RATE)
    assert np.abs(found - np.cumsum(halves)[:-1]).max() * RATE < 0.1


def test_half_cycles_gives_back_what_was_rendered_but_for_the_ends():
    """The first and the last half-cycle have an edge on one side only."""
    halves = some_half_cycles_s(500, 6, 30, seed=3)
    assert np.abs(half_cycles(render(halves, RATE), RATE) - halves[1:-1]).max() * RATE < 0.2


def test_edges_of_a_sine_are_its_zeros():
    """Samples taken in the middle of their intervals; a sine of frequency f passes 0 every 1 / (2 f) s."""
    hz, phase = 617.3, 0.2
    middles = (np.arange(20_000) + 0.5) / RATE
    found = edges(np.sin(2 * np.pi * hz * middles + phase), RATE)
    zeros = (np.arange(1, len(found) + 1) - phase / np.pi) / (2 * hz)
    assert len(found) == int(2 * hz * middles[-1] + phase / np.pi)
    assert np.abs(found - zeros).max() * RATE < 1e-3


@pytest.mark.parametrize("size", [1, 2, 7, 100, 4096])
def test_edges_found_in_pieces_are_those_found_at_once(size):
    """Also if an edge falls between two pieces."""
    samples = render(some_half_cycles_s(400, 2, 30, seed=4), RATE)
    assert np.allclose(in_pieces(samples, size), edges(samples, RATE) * RATE, rtol=0, atol=1e-9)


@pytest.mark.parametrize("size", [64, 1000, 100_000])
def test_hiss_round_zero_makes_edges_without_hysteresis_and_none_with(size):
    """A slow sine in hiss lingers near zero: each true crossing counts once, however the wave is parted."""
    middles = (np.arange(RATE) + 0.5) / RATE
    hiss = np.random.default_rng(5).normal(0, 0.03, RATE)
    wave = (0.5 * np.sin(2 * np.pi * 100 * middles + 0.5) + hiss).astype(np.float32)
    zeros = (np.arange(1, 201) - 0.5 / np.pi) / 200 * RATE
    assert len(edges(wave, RATE)) > 2 * len(zeros)
    found = in_pieces(wave, size, hysteresis=0.3)
    assert len(found) == len(zeros)
    assert np.abs(found - zeros).max() < 9  # samples; a half-cycle has 220.5


def test_hysteresis_goes_by_the_level_of_the_wave_there():
    """The same wave at a hundredth of the level has the same edges; hiss alone is no weaker wave's edges."""
    halves = some_half_cycles_s(2000, 9, 20, seed=6)
    wave = render(halves, RATE)
    loud, faint = edges(wave, RATE, hysteresis=0.3), edges(wave / 100, RATE, hysteresis=0.3)
    assert len(loud) == len(halves) - 1
    assert np.allclose(loud, faint, rtol=0, atol=1e-6 / RATE)


@pytest.mark.parametrize("hysteresis", [0.0, 0.3])
def test_int16_and_float_samples_have_the_same_edges(hysteresis):
    """A recorder's whole numbers need no change first."""
    whole = np.round(render(some_half_cycles_s(2000, 3, 30, seed=7), RATE) * 32767).astype(np.int16)
    found = edges(whole, RATE, hysteresis)
    assert len(found) == 1999
    assert np.allclose(found, edges(whole / 32768.0, RATE, hysteresis), rtol=0, atol=1e-9)


def test_int16_samples_clipped_at_the_lowest_number_have_edges_with_hysteresis():
    """The absolute value of -32768 does not fit in 16 bits."""
    whole = np.tile(np.repeat(np.array([32767, -32768], np.int16), 20), 100)
    assert len(edges(whole, RATE, hysteresis=0.3)) == 199


def test_after_a_skip_edges_are_counted_from_the_new_place():
    """What was heard before is forgotten: no edge is made across the gap."""
    finder = EdgeFinder()
    finder.feed(np.array([1.0, 1.0, 1.0]))
    finder.skip_to(1000)
    assert finder.feed(np.array([-1.0, -1.0, 1.0])).tolist() == [1002.0]


@pytest.mark.parametrize("wave", [[], [0.5], [0.0] * 9, [0.3] * 9])
@pytest.mark.parametrize("hysteresis", [0.0, 0.3])
def test_a_wave_that_never_crosses_zero_has_no_edges(wave, hysteresis):
    """Nothing, silence and a held level."""
    assert edges(np.array(wave), RATE, hysteresis).shape == (0,)


@pytest.mark.parametrize("peak", [0, -0.5, 1.01, math.nan])
def test_a_peak_outside_full_scale_is_refused(peak):
    """The line says what must hold, what was got and what to do."""
    with pytest.raises(SettingError, match=r"peak must lie above 0 and not above 1, got .*: 0\.5"):
        Renderer(RATE, peak)


@pytest.mark.parametrize("halves", [[0.0], [0.001, -0.001], [0.001, math.nan], [math.inf], [[0.001]]])
def test_half_cycles_without_length_are_refused(halves):
    """Nothing can be drawn in no time."""
    with pytest.raises(SettingError, match="half-cycles must be longer than 0 s, finite, and in one row: leave out"):
        render(halves, RATE)


def test_edges_of_two_channels_at_once_are_refused():
    """The shape got is named."""
    with pytest.raises(SettingError, match=r"one channel, shape \(n,\), got \(10, 2\): pick a side first"):
        edges(np.zeros((10, 2)), RATE)
