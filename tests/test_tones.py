"""Two tones: laws that hold for every number of half-cycles, and what one wrong half-cycle does, which is little."""

import itertools

import numpy as np
import pytest

from kit.cells import CycleLength
from kit.errors import SettingError
from kit.tones import TwoTones

CODES = [
    TwoTones(), TwoTones(4, 2), TwoTones(8, 16, 8.0), TwoTones(1, 2), TwoTones(3, 4, 3.5), TwoTones(5, 3, 0.7),
]
STEADY, SLOW = CODES[0], CODES[2]
UNIT = 3.7e-4
named = pytest.mark.parametrize("code", CODES, ids=[f"{c.zero_half_cycles}-{c.one_half_cycles}" for c in CODES])


def random_bits(count, seed):
    return np.random.default_rng(seed).integers(0, 2, count)


def edges_of(half_cycles):
    return np.concatenate(([0.0], np.cumsum(half_cycles)))


def by_hand(code, bits):
    """Each bit written down as so many equal parts of a cell."""
    counts = [code.one_half_cycles if bit else code.zero_half_cycles for bit in bits]
    return [code.cell_units / count for count in counts for _ in range(count)]


@named
def test_every_word_of_up_to_eight_bits_survives_the_way_to_edges_and_back(code):
    """All 510 of them, at a unit that is no round number; each cell begins where the clock says, none is in doubt."""
    for size in range(1, 9):
        for word in itertools.product((0, 1), repeat=size):
            halves = code.encode(word)
            assert halves.tolist() == pytest.approx(by_hand(code, word))
            cells = code.decode(3 + edges_of(halves) * UNIT, UNIT)
            assert tuple(cells.bits) == word
            assert cells.times == pytest.approx(3 + code.cell_units * UNIT * np.arange(size + 1))
            assert cells.margins.min() > 0.999 and not cells.broken.any() and not code.outliers(cells).any()


@named
@pytest.mark.parametrize("most", [0, 1, 7, 300])
def test_no_more_cells_are_read_than_are_asked_for(code, most):
    """What follows them does not matter, be it leader."""
    bits = random_bits(300, seed=1)
    edges = edges_of([*code.encode(bits), *[2 * code.longest_cycle_units] * 40])
    cells = code.decode(edges, 1.0, most)
    assert np.array_equal(cells.bits, bits[:most])
    assert len(cells.times) == len(cells.bits) + 1


@named
def test_read_backwards_the_bits_come_last_first(code):
    """From the last edge, with times that fall: the same borders as forwards, also on another number of edges."""
    bits = random_bits(200, seed=2)
    edges = 1 + edges_of(code.encode(bits))
    forwards = code.decode(edges, 1.0)
    backwards = code.decode_backwards(edges[3:], 1.0)
    count = len(backwards.bits)
    assert 200 - 4 <= count < 200 or code.zero_half_cycles > 3
    assert np.array_equal(backwards.bits, bits[::-1][:count])
    assert backwards.times == pytest.approx(forwards.times[::-1][: count + 1])


@named
def test_bounds_are_bounds(code):
    """Never more edges than `most_edges`, never more cells than `room`, and no absurdly wide bounds."""
    for bits in (np.zeros(500, int), np.ones(500, int), random_bits(500, seed=3)):
        edges = edges_of(code.encode(bits)) * UNIT
        assert len(edges) <= code.most_edges(500)
        assert 500 <= code.room(edges, UNIT) <= 600
        assert code.room(edges / 1.1, UNIT) >= 500
    assert code.room(np.zeros(1), UNIT) == code.room(np.zeros(0), UNIT) == 0
    assert code.shortest_units == pytest.approx(code.cell_units) == pytest.approx(code.longest_units)


def test_no_edges_make_no_cells():
    """A single edge is the beginning of nothing."""
    cells = STEADY.decode(np.zeros(1), 1.0)
    assert len(cells.bits) == len(cells.margins) == len(STEADY.outliers(cells)) == 0 and len(cells.times) == 1


@pytest.mark.parametrize("code", [STEADY, SLOW], ids=["2-4", "8-16"])
@pytest.mark.parametrize("bits", [np.zeros(2000, int), np.ones(2000, int), random_bits(2000, seed=4)])
def test_wow_of_15_percent_is_followed_whatever_the_bits(code, bits):
    """A slow swing of speed, several hundred cells long: the unit is told to within 3 percent all along."""
    units = 1 + 0.15 * np.sin(np.arange(2000) / 100)
    counts = np.where(bits, code.one_half_cycles, code.zero_half_cycles)
    edges = edges_of(code.encode(bits) * np.repeat(units, counts))
    cells = code.decode(edges, 1.0)
    assert np.array_equal(cells.bits, bits)
    assert not cells.broken.any() and np.abs(cells.unit / units - 1).max() < 0.03


@pytest.mark.parametrize("code", [STEADY, SLOW], ids=["2-4", "8-16"])
@pytest.mark.parametrize("speed", [0.85, 0.93, 1.1, 1.25])
def test_a_leader_that_told_the_speed_wrong_is_made_up_for(code, speed):
    """By 15 percent or a quarter: half-cycles of 1/2 and 1 stay on their sides of 3/4."""
    bits = random_bits(1000, seed=5)
    cells = code.decode(edges_of(code.encode(bits)) / speed, 1.0)
    assert np.array_equal(cells.bits, bits)


def spoilt_cell(code, bits, edge):
    """Numbers of the cells an edge belongs to: one, or the two whose border it is."""
    ends = np.cumsum(np.where(bits, code.one_half_cycles, code.zero_half_cycles))
    cell = int(np.searchsorted(ends, edge, "right"))
    return {cell - 1, cell} if edge and edge == ends[cell - 1] else {cell}


def differing(cells, bits):
    assert len(cells.bits) == len(bits)
    return set(np.flatnonzero(cells.bits != bits).tolist())


@pytest.mark.parametrize("code", [STEADY, SLOW, TwoTones(4, 2)], ids=["2-4", "8-16", "4-2"])
@pytest.mark.parametrize("bits", [random_bits(60, seed) for seed in range(6)], ids=range(6))
def test_a_lost_edge_costs_no_more_than_the_cells_it_belongs_to(code, bits):
    """Any of them: no cell is lost or won, no other bit is wrong, and the spoilt cells are under suspicion."""
    edges = edges_of(code.encode(bits)) * UNIT
    for lost in range(1, len(edges) - 1):
        cells = code.decode(np.delete(edges, lost), UNIT)
        spoilt = spoilt_cell(code, bits, lost)
        assert differing(cells, bits) <= spoilt
        assert spoilt <= set(np.flatnonzero(cells.broken).tolist()) <= {min(spoilt) - 1, *spoilt, max(spoilt) + 1}


@pytest.mark.parametrize("code", [STEADY, SLOW, TwoTones(4, 2)], ids=["2-4", "8-16", "4-2"])
@pytest.mark.parametrize("part", [0.2, 0.4, 0.7])
def test_an_inserted_edge_costs_no_more_than_the_cell_it_falls_into(code, part):
    """A crackle parts a half-cycle in two: the next cell begins where it should."""
    bits = random_bits(100, seed=7)
    edges = edges_of(code.encode(bits)) * UNIT
    for after in range(len(edges) - 1):
        extra = edges[after] + part * (edges[after + 1] - edges[after])
        cells = code.decode(np.insert(edges, after + 1, extra), UNIT)
        ends = np.cumsum(np.where(bits, code.one_half_cycles, code.zero_half_cycles))
        spoilt = int(np.searchsorted(ends, after, "right"))
        assert differing(cells, bits) <= {spoilt}
        assert np.flatnonzero(cells.broken).tolist() == [spoilt]


@pytest.mark.parametrize("code", [STEADY, SLOW], ids=["2-4", "8-16"])
@pytest.mark.parametrize("shift", [-0.45, -0.3, 0.3, 0.45])
def test_an_edge_that_is_moved_costs_no_bit(code, shift):
    """By up to nearly half a short half-cycle, each edge but the first and the last in turn."""
    bits = random_bits(60, seed=8)
    edges = edges_of(code.encode(bits))
    for moved in range(1, len(edges) - 1):
        odd = edges.copy()
        odd[moved] += shift * code.shortest_cycle_units / 2
        assert differing(code.decode(odd, 1.0), bits) == set()


@pytest.mark.parametrize("cells_lost", [1, 5, 40])
def test_the_clock_counts_the_cells_in_a_hole(cells_lost):
    """Nothing is heard for so many cells; those after it are in their places, which cycle length could not tell."""
    bits = random_bits(1000, seed=9)
    edges = edges_of(STEADY.encode(bits)) * UNIT
    begin, end = 400 * 2 * UNIT, (400 + cells_lost) * 2 * UNIT
    cells = STEADY.decode(edges[(edges < begin + 0.1 * UNIT) | (edges > end - 0.1 * UNIT)], UNIT)
    assert differing(cells, bits) <= set(range(400, 400 + cells_lost))
    assert cells.broken[400 : 400 + cells_lost].all() and np.count_nonzero(cells.broken) == cells_lost
    assert cells.times == pytest.approx(2 * UNIT * np.arange(1001))


def test_a_held_level_that_makes_every_second_half_cycle_longer_is_no_fault():
    """By 0.2 units, on halves of 1 and 0.5."""
    bits = random_bits(500, seed=10)
    halves = STEADY.encode(bits)
    halves[::2] += 0.2
    halves[1::2] -= 0.2
    cells = STEADY.decode(edges_of(halves), 1.0)
    assert np.array_equal(cells.bits, bits)
    assert not cells.broken.any() and not STEADY.outliers(cells).any()


@pytest.mark.parametrize(("shift", "margin"), [(0.0, 1.0), (0.05, 0.8), (0.125, 0.5), (0.2, 0.2)])
def test_the_margin_falls_from_1_to_0_at_the_threshold(shift, margin):
    """A half-cycle of 0.5 units is a long one from 0.75 on: in between it falls evenly."""
    edges = edges_of(STEADY.encode(random_bits(201, seed=11) | 1))
    edges[402] += shift
    cells = STEADY.decode(edges, 1.0)
    assert cells.margins[100] == pytest.approx(margin, abs=0.02)
    assert np.delete(cells.margins, 100).min() > 0.98


def test_jitter_breaks_no_cell():
    """Of 4 percent of a unit on each edge, 8 percent of the shorter half-cycle."""
    bits = random_bits(4000, seed=12)
    edges = edges_of(STEADY.encode(bits))
    cells = STEADY.decode(edges + np.random.default_rng(13).normal(0, 0.04, len(edges)), 1.0)
    assert np.array_equal(cells.bits, bits)
    assert not cells.broken.any()


@pytest.mark.parametrize("code", [STEADY, SLOW], ids=["2-4", "8-16"])
@pytest.mark.parametrize("seed", range(4))
def test_strong_jitter_costs_bits_but_not_the_count_of_cells(code, seed):
    """Of 7 percent of a unit, 14 of the shorter half-cycle: where the clock slips, it is put right soon."""
    bits = random_bits(2000, seed)
    edges = edges_of(code.encode(bits))
    cells = code.decode(edges + np.random.default_rng(seed).normal(0, 0.07, len(edges)), 1.0, 2000)
    assert len(differing(cells, bits)) < 40
    assert np.mean(cells.bits[-300:] != bits[-300:]) < 0.03


def test_cells_of_another_code_are_given_up():
    """The house's cycles have the same lengths: after a hundred broken cells and a tenth of all it is plain."""
    edges = edges_of(CycleLength().encode(random_bits(8000, seed=14)))
    cells = STEADY.decode(edges, 1.0)
    assert len(cells.bits) < 1500 and cells.broken.mean() > 0.1


@pytest.mark.parametrize(("settings", "said"), [
    ({"zero_half_cycles": 0}, "1 to 256 half-cycles, got 0"), ({"one_half_cycles": 257}, "got 257"),
    ({"zero_half_cycles": 2.0}, "got 2.0: take a whole number"), ({"zero_half_cycles": 4}, "got 4 and 4"),
    ({"zero_half_cycles": 5}, "at most 3/4 .* got 5 and 4"), ({"cell_units": 0.0}, "longer than 0 units, got 0.0"),
    ({"cell_units": float("nan")}, "got nan"), ({"cell_units": float("inf")}, "got inf"),
])
def test_a_code_that_cannot_be_told_apart_is_refused(settings, said):
    """One line: what must hold, and what it got."""
    with pytest.raises(SettingError, match=said) as caught:
        TwoTones(**settings)
    assert "\n" not in str(caught.value)
