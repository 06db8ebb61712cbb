"""Leader and sync: starts and ends of blocks found on edges written down by hand, whole, spoilt and forged."""

import itertools

import numpy as np
import pytest

from kit.cells import CycleLength
from kit.errors import SettingError
from kit.leader import Leader

CODE = CycleLength()
HOUSE = Leader()
LEAD, SYNC = 20, 3  # cycles
START = 2 * (LEAD + SYNC)  # number of the edge at which the first cell begins
OTHERS = [
    (Leader(1, 2, 3), CycleLength(4, 6)),
    (Leader(2, 3, 5), CycleLength(0.5, 1)),
    (Leader(6, 4, 2), CycleLength(2, 1)),
    (Leader(1.0, 1.5, 16), CycleLength(2, 4)),
]


def random_bits(count, seed):
    return np.random.default_rng(seed).integers(0, 2, count)


def tape(bits, lead=LEAD, sync=(3.0,) * SYNC, tail=8):
    """Edges of a block: leader of 4 units, sync, a one of 2 units and a zero of 1, tail; from 0."""
    cycles = [4.0] * lead + list(sync) + [2.0 if bit else 1.0 for bit in bits] + [4.0] * tail
    return np.concatenate(([0.0], np.cumsum(np.repeat(cycles, 2) / 2)))


def tape_with(half_cycles, bits):
    """Edges of a block whose leader is of these half-cycles."""
    rest = np.diff(tape(bits, lead=0))
    return np.concatenate(([0.0], np.cumsum([*half_cycles, *rest])))


def indices(groups):
    return [[start.index for start in group] for group in groups]


@pytest.mark.parametrize("unit", [1e-5, 1 / 9600, 1 / 2400, 1 / 600, 1.0, 37.7])
def test_the_start_is_found_at_any_speed_and_tells_it(unit):
    """Only ratios count: the same edges a thousand times slower give the same start."""
    bits = random_bits(300, seed=1)
    groups = HOUSE.find(5 + tape(bits) * unit, CODE)
    assert len(groups) == 1
    best = groups[0][0]
    assert best.index == START
    assert best.unit == pytest.approx(unit)
    assert best.fit == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("seed", range(20))
def test_the_start_is_found_where_edges_jitter(seed):
    """By 4 percent of a unit each, a tenth of the shortest half-cycle: among the rivals is the true start."""
    edges = tape(random_bits(300, seed))
    groups = HOUSE.find(edges + np.random.default_rng(seed).normal(0, 0.04, len(edges)), CODE)
    assert START in indices(groups)[0]
    assert min(abs(s.unit - 1) for s in groups[0] if s.index == START) < 0.02


@pytest.mark.parametrize("cut", range(5))
def test_it_does_not_matter_on_which_half_of_the_leader_the_hearing_begins(cut):
    """On an inverted tape the first edge heard is a falling one, and every cycle would be half a cycle off."""
    groups = HOUSE.find(tape(random_bits(300, seed=2))[cut:], CODE)
    assert groups[0][0].index == START - cut


@pytest.mark.parametrize("position", range(SYNC))
@pytest.mark.parametrize("length", [1.0, 1.5, 2.0, 2.4, 4.0, 4.5, 5.0])
@pytest.mark.parametrize("first_bit", [0, 1])
def test_two_of_three_sync_cycles_suffice(position, length, first_bit):
    """One of them spoilt, in each place, to each length: the true start is among the few rivals."""
    sync = [3.0, 3.0, 3.0]
    sync[position] = length
    groups = HOUSE.find(tape([first_bit, *random_bits(300, seed=3)], sync=sync), CODE)
    assert len(groups) == 1 and len(groups[0]) <= 6
    true = next(start for start in groups[0] if start.index == START)
    assert true.fit == pytest.approx(1, abs=0.01)


def test_one_of_three_does_not_suffice():
    """Else noise would start blocks everywhere."""
    for kept in range(SYNC):
        sync = [2.0, 2.0, 2.0]
        sync[kept] = 3.0
        assert START not in indices(HOUSE.find(tape(random_bits(300, seed=4), sync=sync), CODE))


def test_a_sync_mark_that_leader_follows_is_none():
    """Three cycles of noise in a leader do not make a block."""
    edges = np.concatenate((tape([]), tape([])[1:] + tape([])[-1]))
    assert HOUSE.find(edges, CODE) == []


@pytest.mark.parametrize("half", range(2 * LEAD - 1))
def test_a_cycle_of_three_units_forged_in_the_leader_is_a_rival_at_most(half):
    """Wherever it lies, on either half: one group of starts, and the true one is in it, first unless it touches."""
    halves = np.full(2 * LEAD, 2.0)
    halves[half : half + 2] = 1.5
    groups = HOUSE.find(tape_with(halves, random_bits(300, seed=5)), CODE)
    assert len(groups) == 1
    assert START in indices(groups)[0]
    if half < 2 * LEAD - 3:
        assert groups[0][0].index == START


def test_data_of_every_repeated_word_gives_no_start_that_fits_as_well():
    """All words of up to 8 bits, over and over: runs of ones, of zeros, and all that lies between."""
    for size in range(1, 9):
        for word in itertools.product((0, 1), repeat=size):
            groups = HOUSE.find(tape((word * 80)[:80]), CODE)
            assert len(groups) == 1
            assert groups[0][0].index == START
            assert all(start.fit > groups[0][0].fit for start in groups[0][1:])


@pytest.mark.parametrize("seed", range(50))
def test_data_in_runs_gives_no_start_inside_the_data_that_fits_as_well(seed):
    """Runs of one to twelve equal bits, two hundred of them; a run of ones is as even as a leader."""
    runs = np.random.default_rng(seed).integers(1, 13, 200)
    bits = np.repeat(np.arange(200) % 2, runs)
    groups = HOUSE.find(tape(bits), CODE)
    assert groups[0][0].index == START
    assert min((s.fit for group in groups for s in group if s.index != START), default=9) > groups[0][0].fit


def test_two_blocks_have_two_starts_and_a_window_shows_one():
    """`first` and `stop` are numbers of edges, `stop` not included."""
    one, other = tape(random_bits(100, seed=6)), tape(random_bits(100, seed=7))
    edges = np.concatenate((one, other[1:] + one[-1]))
    second = len(one) - 1 + START
    assert [group[0].index for group in HOUSE.find(edges, CODE)] == [START, second]
    assert [group[0].index for group in HOUSE.find(edges, CODE, first=START + 3)] == [second]
    assert [group[0].index for group in HOUSE.find(edges, CODE, stop=START + 1)] == [START]
    assert HOUSE.find(edges, CODE, first=second + 3) == []


@pytest.mark.parametrize("count", [0, 1, 10, 16, 17])
def test_too_few_edges_have_no_start(count):
    """A stretch shorter than the mark itself."""
    assert HOUSE.find(tape(random_bits(20, seed=8))[:count], CODE) == []


def test_hiss_has_few_starts_and_none_that_fits():
    """Half-cycles of random length, ten thousand of them."""
    halves = np.random.default_rng(9).exponential(1.0, 10_000)
    starts = [s for group in HOUSE.find(np.cumsum(halves), CODE) for s in group]
    assert len(starts) < 10
    assert all(start.fit > 0.01 for start in starts)


@pytest.mark.parametrize("unit", [0.82, 0.9, 1.0, 1.1, 1.2])
@pytest.mark.parametrize("seed", range(5))
def test_the_end_of_the_cells_is_where_the_tail_begins(unit, seed):
    """The unit need only be known to a fifth or so; the tail tells it exactly."""
    bits = random_bits(300, seed)
    edges = tape(bits)[START:] * 3e-4
    index, found_unit = HOUSE.find_end(edges, 3e-4 * unit, CODE)
    assert index == 2 * len(bits)
    assert found_unit == pytest.approx(3e-4)


def test_cells_without_a_tail_have_no_end():
    """Neither ones nor zeros nor both are taken for a leader."""
    for bits in (np.zeros(500, int), np.ones(500, int), random_bits(500, seed=10)):
        assert HOUSE.find_end(tape(bits, tail=0)[START:], 1.0, CODE) is None


def test_the_end_is_the_first_from_the_edge_asked_for():
    """Far along a tape, beyond what is searched at a time."""
    one, other = tape(random_bits(6000, seed=11)), tape(random_bits(100, seed=12))
    edges = np.concatenate((one, other[1:] + one[-1]))
    assert HOUSE.find_end(edges, 1.0, CODE, first=START)[0] == START + 12_000
    assert HOUSE.find_end(edges, 1.0, CODE, first=len(one) - 1 + START)[0] == len(one) - 1 + START + 200


@pytest.mark.parametrize("lead", [5, 20, 3000])
def test_a_leader_began_where_other_cycles_end(lead):
    """After the cells of something else, or at the first edge there is."""
    cells = np.cumsum(np.repeat([2.0 if bit else 1.0 for bit in random_bits(150, seed=13)], 2) / 2)
    edges = np.concatenate((cells - cells[-1], tape(random_bits(100, seed=14), lead=lead)))
    edges = np.delete(edges, 299)  # the last edge of the cells is the first of the leader
    start = HOUSE.find(edges, CODE)[0][0]
    assert start.index == 299 + 2 * (lead + SYNC)
    assert HOUSE.began(edges, start) == 299
    alone = tape(random_bits(100, seed=14), lead=lead)
    assert HOUSE.began(alone, HOUSE.find(alone, CODE)[0][0]) == 0


@pytest.mark.parametrize(("leader", "code"), OTHERS)
def test_other_lengths_do_as_well_also_a_leader_shorter_than_the_sync_mark(leader, code):
    """Start, speed and end of a block in lengths that learners may choose."""
    bits = random_bits(200, seed=15)
    halves = np.concatenate((leader.encode(30), code.encode(bits), leader.encode(10, sync=False)))
    edges = np.concatenate(([0.0], np.cumsum(halves))) * 0.7
    start = leader.find(edges, code)[0][0]
    assert start.index == 2 * (30 + leader.sync_cycles)
    assert start.unit == pytest.approx(0.7)
    assert leader.find_end(edges[start.index :], start.unit, code)[0] == 400


def test_what_is_written_is_leader_and_then_sync():
    """In half-cycles, in units."""
    assert HOUSE.encode(2).tolist() == [2.0] * 4 + [1.5] * 6
    assert HOUSE.encode(2, sync=False).tolist() == [2.0] * 4


@pytest.mark.parametrize("lengths", [(4, 4), (4, 3.5), (0, 3), (4, -3), (float("inf"), 3), (float("nan"), 3)])
def test_lengths_that_cannot_be_told_apart_are_refused(lengths):
    """The line names what must hold and both lengths."""
    with pytest.raises(SettingError, match=r"shorter at most 4/5 of the longer, got ") as caught:
        Leader(*lengths)
    assert all(repr(length) in str(caught.value) for length in lengths)


@pytest.mark.parametrize("cycles", [0, 1, 17])
def test_a_sync_mark_too_short_to_spare_a_cycle_or_too_long_is_refused(cycles):
    """One of its cycles may be spoilt, so it takes two."""
    with pytest.raises(SettingError, match=f"2 to 16 cycles, got {cycles}"):
        Leader(sync_cycles=cycles)
