"""Bit cells: laws that hold for every pair of cycle lengths, and how they hold when a tape does not run evenly."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.cells import CycleLength
from kit.errors import SettingError

LENGTHS = [(1, 2), (2, 1), (3, 4), (1, 8), (0.5, 2.5), (10, 7)]
HOUSE = CycleLength()


def edges_of(half_cycles):
    """Times of the edges round some half-cycles, from 0."""
    return np.concatenate(([0.0], np.cumsum(half_cycles)))


def random_bits(count, seed):
    return np.random.default_rng(seed).integers(0, 2, count)


def by_hand(bits, zero, one):
    """Each cycle written down as two halves."""
    return [half for bit in bits for half in 2 * [(one if bit else zero) / 2]]


@pytest.mark.parametrize(("zero", "one"), LENGTHS)
def test_every_word_of_up_to_ten_bits_survives_the_way_to_edges_and_back(zero, one):
    """All 2046 of them, at a unit that is no round number; no cell of them is in doubt."""
    code = CycleLength(zero, one)
    for size in range(1, 11):
        for word in itertools.product((0, 1), repeat=size):
            cells = code.decode(edges_of(code.encode(word)) * 4.1e-4, 4.1e-4)
            assert tuple(cells.bits) == word
            assert cells.margins.min() > 0.999 and not cells.broken.any()


@given(st.floats(0.1, 10), st.floats(0.1, 0.75), st.booleans(), st.lists(st.integers(0, 1), max_size=60))
@settings(derandomize=True, max_examples=80, deadline=None)
def test_any_two_lengths_a_quarter_apart_carry_bits(long, part, zero_is_long, bits):
    """Whichever bit is the longer."""
    lengths = (long, long * part) if zero_is_long else (long * part, long)
    code = CycleLength(*lengths)
    assert np.allclose(code.encode(bits), by_hand(bits, *lengths))
    assert list(code.decode(edges_of(code.encode(bits)), 1.0).bits) == bits


@pytest.mark.parametrize("speed", [0.68, 0.75, 0.9, 1.0, 1.1, 1.25, 1.32])
def test_a_steady_error_of_speed_up_to_33_percent_costs_no_bit(speed):
    """Cycles of 1 and 2 units with the threshold at 1.5: a third slower or faster stays on the right side."""
    bits = random_bits(1000, seed=1)
    cells = HOUSE.decode(edges_of(HOUSE.encode(bits)) / speed, 1.0)
    assert np.array_equal(cells.bits, bits)


@pytest.mark.parametrize(("speed", "wrong"), [(0.64, 0), (1.4, 1)])
def test_beyond_that_one_of_the_bits_is_taken_for_the_other(speed, wrong):
    """Far too slow makes ones of zeros, far too fast zeros of ones: the limit is real."""
    bits = np.full(200, wrong)
    cells = HOUSE.decode(edges_of(HOUSE.encode(bits)) / speed, 1.0)
    assert np.array_equal(cells.bits, 1 - bits)


@pytest.mark.parametrize("last", [0.5, 0.7, 1.4, 1.8])
def test_a_drift_beyond_the_fixed_threshold_is_followed(last):
    """The unit grows or shrinks evenly over 3000 cells; it is told to within 2 percent all along."""
    bits = random_bits(3000, seed=2)
    units = np.linspace(1, last, 3000)
    cells = HOUSE.decode(edges_of(HOUSE.encode(bits) * np.repeat(units, 2)), 1.0)
    assert np.array_equal(cells.bits, bits)
    assert np.abs(cells.unit / units - 1).max() < 0.02
    assert cells.margins.min() > 0.9


@pytest.mark.parametrize("bits", [np.zeros(2000, int), np.ones(2000, int), random_bits(2000, seed=3)])
def test_wow_of_15_percent_is_followed_whatever_the_bits(bits):
    """A slow swing of speed, several hundred cells long, also where there are only zeros or only ones."""
    units = 1 + 0.15 * np.sin(np.arange(2000) / 100)
    cells = HOUSE.decode(edges_of(HOUSE.encode(bits) * np.repeat(units, 2)), 1.0)
    assert np.array_equal(cells.bits, bits)
    assert not cells.broken.any()


@pytest.mark.parametrize(("length", "bit", "margin"), [
    (1.0, 0, 1), (1.25, 0, 0.5), (1.5, 0, 0), (1.6, 1, 0.2), (1.75, 1, 0.5), (2.0, 1, 1),
    (2.25, 1, 0.5), (0.75, 0, 0.5),
])
def test_the_margin_is_1_at_the_right_length_and_0_at_the_threshold(length, bit, margin):
    """In between it falls evenly; a cycle too short or too long loses as much as one too near the threshold.

    To 0.05: the unit is measured along the way, and the odd cell has its say in that.
    """
    halves = HOUSE.encode(random_bits(101, seed=4))
    halves[100:102] = length / 2
    cells = HOUSE.decode(edges_of(halves), 1.0)
    assert cells.bits[50] == bit
    assert cells.margins[50] == pytest.approx(margin, abs=0.05)
    assert np.delete(cells.margins, 50).min() > 0.96


@pytest.mark.parametrize("length", [0.4, 2.6, 5.0, 80.0])
def test_a_cycle_too_short_or_too_long_for_any_bit_is_broken_and_alone_in_it(length):
    """What happened to one cell puts no other in doubt."""
    halves = HOUSE.encode(random_bits(101, seed=5))
    halves[100:102] = length / 2
    cells = HOUSE.decode(edges_of(halves), 1.0)
    assert list(np.flatnonzero(cells.broken)) == [50]
    assert list(np.flatnonzero(HOUSE.outliers(cells))) == [50]


def first_odd_cell(edges):
    """Number of the first cell that is neither two halves of a zero nor two halves of a one."""
    halves = np.diff(edges)[: (len(edges) - 1) // 2 * 2].reshape(-1, 2)
    right = [(np.abs(halves - length) < 0.001).all(axis=1) for length in (0.5, 1.0)]
    return int(np.flatnonzero(~(right[0] | right[1]))[0])


def first_suspect(edges):
    """Number of the first cell under suspicion."""
    edges = edges[: (len(edges) - 1) // 2 * 2 + 1]
    return int(np.flatnonzero(HOUSE.outliers(HOUSE.decode(edges, 1.0)))[0])


WORDS = list(itertools.product((0, 1), repeat=6))


@pytest.mark.parametrize("lost", range(1, 13))
def test_a_lost_edge_is_noticed_no_later_than_in_the_first_cell_that_cannot_be_one(lost):
    """One edge taken out of any word of six bits at the end of an even stretch, far from its beginning.

    Where a zero before a one loses its middle edge, the tape looks as if nothing were missing: 1, 1, 1 halves.
    """
    before, at_once = random_bits(400, seed=9), 0
    for word in WORDS:
        edges = np.delete(edges_of(HOUSE.encode([*before, *word, 0, 1])), 800 + lost)
        odd = first_odd_cell(edges)
        assert 400 - 40 < first_suspect(edges) <= odd
        at_once += odd == 400 + (lost - 1) // 2
    assert at_once >= len(WORDS) * 3 // 4


@pytest.mark.parametrize("part", [0.2, 0.4, 0.7])
@pytest.mark.parametrize("after", range(12))
def test_an_inserted_edge_is_noticed_no_later_than_in_the_cell_it_falls_into(after, part):
    """A crackle parts a half-cycle in two unequal ones, in any word of six bits."""
    before = random_bits(400, seed=10)
    for word in WORDS:
        edges = edges_of(HOUSE.encode([*before, *word, 0, 1]))
        extra = edges[800 + after] + part * (edges[801 + after] - edges[800 + after])
        assert 400 - 40 < first_suspect(np.insert(edges, 801 + after, extra)) <= 400 + after // 2


def test_cells_of_a_steady_tape_are_all_above_suspicion_also_with_jitter():
    """Jitter of 1 percent of a unit on each edge breaks no cell and makes few outliers among many."""
    edges = edges_of(HOUSE.encode(random_bits(4000, seed=6)))
    jittered = edges + np.random.default_rng(7).normal(0, 0.01, len(edges))
    assert not HOUSE.outliers(HOUSE.decode(edges, 1.0)).any()
    cells = HOUSE.decode(jittered, 1.0)
    assert not cells.broken.any()
    assert HOUSE.outliers(cells).mean() < 0.005


def test_a_held_level_that_makes_all_first_halves_longer_is_no_fault():
    """All cells lean alike: only what leans more than is usual there counts."""
    halves = HOUSE.encode(random_bits(500, seed=8))
    halves[::2] += 0.1
    halves[1::2] -= 0.1
    cells = HOUSE.decode(edges_of(halves), 1.0)
    assert np.median(np.abs(cells.lean)) < 0.11 and not cells.broken.any()
    halves[200], halves[201] = halves[200] + 0.25, halves[201] - 0.25
    assert HOUSE.outliers(HOUSE.decode(edges_of(halves), 1.0))[100]


@pytest.mark.parametrize(("first", "broken"), [(0.5, False), (0.6, False), (0.7, True), (0.2, True), (0.9, True)])
def test_a_cell_of_the_right_length_divided_unequally_is_broken(first, broken):
    """From 0.675 of it in one half: noise moves an edge so far only where something happened."""
    halves = HOUSE.encode(random_bits(101, seed=11))
    length = halves[100] + halves[101]
    halves[100], halves[101] = first * length, (1 - first) * length
    assert list(np.flatnonzero(HOUSE.decode(edges_of(halves), 1.0).broken)) == [50] * broken


def test_the_lean_is_all_in_the_first_half_at_1_and_none_of_it_at_minus_1():
    """Of a cell whose first half takes 3/4 of it, half."""
    halves = HOUSE.encode([0] * 21)
    halves[20], halves[21] = 0.75, 0.25
    assert HOUSE.decode(edges_of(halves), 1.0).lean[10] == pytest.approx(0.5)


def test_no_edges_make_no_cells():
    """A single edge is the beginning of nothing."""
    cells = HOUSE.decode(np.zeros(1), 1.0)
    assert len(cells.bits) == len(cells.margins) == len(cells.unit) == len(HOUSE.outliers(cells)) == 0


@pytest.mark.parametrize("lengths", [(1, 1), (1, 1.3), (0, 1), (-1, 2), (1, float("inf")), (float("nan"), 2)])
def test_lengths_that_cannot_be_told_apart_are_refused(lengths):
    """The line names what must hold and both lengths."""
    with pytest.raises(SettingError, match=r"shorter at most 3/4 of the longer, got ") as caught:
        CycleLength(*lengths)
    assert all(repr(length) in str(caught.value) for length in lengths)
