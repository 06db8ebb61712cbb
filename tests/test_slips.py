"""Slips: a pair of edges lost or added costs no block; what was mended is said, counted, and left to the check."""

from collections import defaultdict
from itertools import combinations

import numpy as np
import pytest
from damaged_edges import as_written, edges_merged, edges_split, short

import kit
from kit.cells import CycleLength
from kit.ears import ears
from kit.found import CHECKED, MENDED
from kit.known import SPEEDS
from kit.readers.patientblocks import MOST_TRIALS as PATIENT_TRIALS
from kit.repair_copies import MOST_TRIALS
from kit.sides import TapeFile, tape_blocks
from kit.slips import SLIP_TRIALS, _counted, _likeliest, _Place, _places, _ways, mend_slips
from kit.together import SOUND_TRIALS
from kit.waves import render
from tests.benchmarks.noise import noisy_tape, timer

RATE = 44100
PLACING_TRIALS = 8  # kit/placing.py: a block before or after, four ways each at most
HOUSE = kit.FORMATS["house"]
SLIPPING = [f for f in kit.FORMATS.values() if isinstance(f.code, CycleLength) and f.check_bytes]
every_slipping = pytest.mark.parametrize("format", SLIPPING, ids=[f.name for f in SLIPPING])


def data_cells(format, seed, size=100):
    """A data block: its body, and the half-cycles of its cells and of the tail, in seconds."""
    body = kit.blocks.DataPart(7, 0, np.random.default_rng(seed).bytes(size)).body()
    halves = format.block_half_cycles(body, 0.1)
    return body, halves[len(halves) - len(format.code.encode(format.block_bits(body))) - 2 * format.tail_cycles :]


def mended(format, halves):
    """The block that is made of some half-cycles, and the trials that took."""
    return mend_slips(np.concatenate(([0.0], np.cumsum(halves))), format.unit_s(), 0.0, format)


def hurt_tape(format, data, hurt, seed):
    """The samples of a tape on which each data block was hurt once, somewhere in its cells."""
    rng, tape = np.random.default_rng(seed), []
    for leader_s, body in tape_blocks([TapeFile("log.bin", data)], format):
        halves = format.block_half_cycles(body, leader_s)
        cells = len(format.code.encode(format.block_bits(body)))
        first = len(halves) - cells - 2 * format.tail_cycles
        is_data = body[0] in (kit.blocks.DATA, kit.blocks.DATA ^ 0xFF)
        at = int(rng.integers(first + 1, first + cells - 2))
        tape.append(hurt(halves, at, format, rng) if is_data else halves)
    return render(np.concatenate(tape), RATE)


# -- pairs of edges --------------------------------------------------------------------------------------


@every_slipping
@pytest.mark.parametrize("way", ["as it is", "inverted", "backwards"])
def test_a_block_that_lost_a_pair_of_edges_is_mended(format, way):
    """Anywhere in each of the data blocks: all come back, and the file with them."""
    data = np.random.default_rng(61).bytes(600)
    wave = hurt_tape(short(format, 100), data, edges_merged, seed=62)
    wave = {"as it is": wave, "inverted": -wave, "backwards": wave[::-1]}[way]
    reading = kit.decode(kit.Sound(np.ascontiguousarray(wave), RATE), format=short(format, 100))
    notes = {(b.verdict, b.note) for b in reading.blocks if b.kind == kit.blocks.DATA}
    assert notes == {(MENDED, "1 pair of edges put back, after 1 trial")}
    assert (reading.files[0].data, reading.files[0].complete) == (data, True)
    assert " likely readings tried against the check" in reading.report()


@every_slipping
def test_a_block_with_a_pair_of_edges_too_many_is_mended(format):
    """Where the three parts are so short that they are a crackle, it reads outright."""
    data = np.random.default_rng(63).bytes(1500)
    wave = hurt_tape(short(format, 100), data, edges_split, seed=64)
    reading = kit.decode(kit.Sound(wave, RATE), format=short(format, 100))
    found = [(b.verdict, b.note) for b in reading.blocks if b.kind == kit.blocks.DATA]
    assert set(found) == {(CHECKED, ""), (MENDED, "1 pair of edges taken out, after 1 trial")}
    assert (reading.files[0].data, reading.files[0].complete) == (data, True)


def test_every_pair_of_edges_of_a_block_can_be_put_back():
    """One after the other, each of some hundreds; bits and times are those that were written."""
    body, halves = data_cells(HOUSE, seed=65, size=20)
    bits = HOUSE.block_bits(body)
    written = np.concatenate(([0.0], np.cumsum(halves)))[: 2 * len(bits) + 1 : 2]
    for at in range(2 * len(bits) - 2):
        block, trials = mended(HOUSE, edges_merged(halves, at, HOUSE, None))
        assert (block.verdict, block.content, trials) == (MENDED, as_written(HOUSE, body), 1)
        assert np.array_equal(block.bits, bits)
        assert np.abs(block.cell_s - written).max() < HOUSE.unit_s()
        assert 2 <= np.count_nonzero(block.margins == 0) <= 3  # cells nobody heard; the others are as heard
        assert np.count_nonzero(np.abs(block.cell_s - written) > 1e-6) <= 1


def test_several_pairs_lost_and_added_are_mended_at_one_trial():
    body, halves = data_cells(HOUSE, seed=66)
    rng = np.random.default_rng(67)
    for at in (1500, 1201, 600, 301, 12):
        halves = edges_merged(halves, at, HOUSE, rng)
    halves = np.concatenate((halves[:900], halves[900] * np.array([0.3, 0.4, 0.3]), halves[901:]))
    block, trials = mended(HOUSE, halves)
    assert (block.content, trials) == (as_written(HOUSE, body), 1)
    assert block.note == "5 pairs of edges put back and 1 taken out, after 1 trial"


# -- what is not mended ----------------------------------------------------------------------------------


def test_what_needs_no_mending_is_no_trial():
    """The block as it is, and one with wrong cells but as many as it says: they have been asked about before."""
    _, halves = data_cells(HOUSE, seed=68)
    assert mended(HOUSE, halves) == (None, 0)
    wrong = halves.copy()
    wrong[400:402] = 1.5 * HOUSE.unit_s() - wrong[400:402]
    assert mended(HOUSE, wrong) == (None, 0)


def test_where_more_is_wrong_the_check_refuses_and_the_block_stays_damaged():
    """A lost pair is put back, but another cell is wrong."""
    _, halves = data_cells(HOUSE, seed=69)
    wrong = halves.copy()
    wrong[400:402] = 1.5 * HOUSE.unit_s() - wrong[400:402]
    assert mended(HOUSE, edges_merged(wrong, 900, HOUSE, None)) == (None, 1)


def test_cells_that_say_no_length_are_no_trial():
    rng = np.random.default_rng(70)
    tail = HOUSE.leader.encode(HOUSE.tail_cycles, sync=False)
    for _ in range(20):
        bits = rng.integers(0, 2, 1000, dtype=np.uint8)
        bits[:8] = 0  # no kind of block
        halves = np.concatenate((HOUSE.code.encode(bits), tail)) * HOUSE.unit_s()
        assert mended(HOUSE, edges_merged(halves, 500, HOUSE, None)) == (None, 0)


def test_a_format_without_a_check_mends_nothing():
    """Nothing would vouch for it."""
    plain = HOUSE.changed(name="plain", check="none")
    _, halves = data_cells(plain, seed=71)
    assert mended(plain, edges_merged(halves, 500, plain, None)) == (None, 0)


def test_the_counter_mends_nothing():
    """It reads as its loop did."""
    wave = hurt_tape(short(HOUSE, 100), bytes(range(100)), edges_merged, seed=72)
    reading = kit.decode(kit.Sound(wave, RATE), format=short(HOUSE, 100), counter=kit.Counter())
    assert reading.blocks and not any(block.verdict == MENDED for block in reading.blocks)


# -- the likeliest places --------------------------------------------------------------------------------


def test_the_likeliest_places_are_those_that_trying_all_finds():
    """Of ten places each subset that does not overlap: the least cost for each number of cells more or fewer."""
    rng = np.random.default_rng(73)
    for _ in range(20):
        sorts = ((1, (0, 0)), (1, (0, 1, 0)), (2, (1,)))
        drawn = [(int(rng.integers(12)), *sorts[rng.integers(3)], float(rng.normal())) for _ in range(10)]
        places = sorted((_Place(*one) for one in drawn), key=lambda place: place.first + place.size)
        best = defaultdict(lambda: np.inf)
        for chosen in (c for size in range(11) for c in combinations(places, size)):
            heard = [k for place in chosen for k in range(place.first, place.first + place.size)]
            if len(set(heard)) == len(heard):
                net = sum(place.more for place in chosen)
                best[net] = min(best[net], sum(place.cost for place in chosen))
        found = {sum(place.more for place in chosen): cost for cost, chosen in _ways(places)}
        assert found == pytest.approx(dict(best))
        for cost, chosen in _ways(places):
            assert sum(place.cost for place in chosen) == pytest.approx(cost)


@pytest.mark.parametrize("bits_per_byte", [8, 11])
def test_lengths_of_no_whole_bytes_are_left_out_and_nothing_else(bits_per_byte):
    """The places chosen are those that trying every number of cells, and counting all of them, chooses."""
    frame = HOUSE.frame if bits_per_byte == 8 else kit.frames.Frame(start_bits="0", stop_bits="11")
    format, rng, some = short(HOUSE, 100).changed(name="slipping", frame=frame), np.random.default_rng(75), 0
    for seed in range(30):
        _, halves = data_cells(format, seed, size=int(rng.integers(4, 60)))
        for at in np.sort(rng.integers(1, len(halves) - 20, rng.integers(0, 5)))[::-1]:
            halves = edges_merged(halves, int(at), format, rng)
        jitter = rng.normal(0, (0.02, 0.3)[seed % 2] * format.unit_s(), len(halves) + 1)
        edges = np.sort(np.concatenate(([0.0], np.cumsum(halves))) + jitter)
        edges = edges[: (len(edges) - 1) // 2 * 2 + 1]
        cells = format.code.decode(edges, format.unit_s())
        chosen = _likeliest(cells, edges, format)
        assert chosen == by_trying_all(cells, _places(cells, edges, format.code), format)
        some += bool(chosen)
    assert 5 < some < 30


def by_trying_all(cells, places, format):
    """The likeliest places under which a block is as long as it says, whatever number of cells that makes."""
    for _, chosen in _ways(places):
        bits = _counted(cells, chosen)[0]
        length = kit.blocks.length_of(format.frame.to_bytes(bits)[0].tobytes())
        if length is not None and (length + format.check_bytes) * format.frame.bits_per_byte == len(bits):
            return chosen
    return ()


# -- trials ----------------------------------------------------------------------------------------------


def test_all_that_is_tried_on_a_block_is_64_trials_at_most():
    """The timer's part is one in each of two lanes."""
    assert MOST_TRIALS + PLACING_TRIALS + PATIENT_TRIALS + SOUND_TRIALS + 2 * SLIP_TRIALS <= 64


@pytest.mark.parametrize("rate", [22050, 44100, 48000])
def test_besides_the_ear_that_does_not_smooth_one_mends_at_each_speed(rate):
    for format in SLIPPING:
        mending = [ear.mended_samples for ear in ears(format, rate)]
        assert mending[0] == (0.0, float("inf"))
        for unit in np.geomspace(0.5, 500, 2000):
            assert sum(low < unit < high for low, high in mending[1:]) <= 1
        for speed in SPEEDS.values():
            unit = format.unit_s(speed) * rate
            if format.needed_rate(speed) <= 1.4 * rate:
                assert sum(low < unit < high for low, high in mending[1:]) == 1


def test_the_timer_tries_a_block_twice_at_most(monkeypatch):
    """Of each data block one cell is wrong and a pair of edges lost, which no ear can mend."""
    tried = defaultdict(int)

    def counted(edges, unit, leader_s, format):
        block, trials = mend_slips(edges, unit, leader_s, format)
        tried[round(edges[0], 1)] += trials
        return block, trials

    def hurt(halves, at, format, rng):
        halves = halves.copy()
        cell = -2 * format.tail_cycles - 100
        halves[cell : cell + 2] = 1.5 * format.unit_s() - halves[cell : cell + 2]
        return edges_merged(halves, at, format, rng)

    monkeypatch.setattr("kit.lane.mend_slips", counted)
    wave = hurt_tape(short(HOUSE, 100), bytes(range(100)), hurt, seed=74)
    kit.decode(kit.Sound(wave, RATE), format=short(HOUSE, 100), patient=True)
    assert set(tried.values()) == {2}


def test_trials_under_noise_are_no_more(monkeypatch):
    """At 0.5 dB, where much has slipped in each block."""
    tried = defaultdict(int)

    def counted(edges, unit, leader_s, format):
        block, trials = mend_slips(edges, unit, leader_s, format)
        tried[round(edges[0])] += trials  # a block lasts some seconds
        return block, trials

    monkeypatch.setattr("kit.lane.mend_slips", counted)
    timer(noisy_tape(0.5, 3, seed=74)[1])
    assert 0 < max(tried.values()) <= 2
