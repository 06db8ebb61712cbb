"""Laws that hold for all line codes and tone pairs."""

import itertools

import numpy as np
import pytest
from linecode_cases import CLOCKLESS, LINES, TONES, random_bits

from kit.tonepairs import TonePair
from kit.waves import edges as edges_in
from kit.waves import render

UNIT = 3.7e-4
CODES = {**LINES, **TONES, "whole half-cycles": TonePair(2, 4)}
every_line = pytest.mark.parametrize("name", LINES)
every_code = pytest.mark.parametrize("name", CODES)


def edges_of(code, bits, unit=UNIT, begin=3.0):
    return begin + unit * np.concatenate(([0.0], np.cumsum(code.encode(bits))))


def every_word_of(size):
    """A row of bits in which each word of so many occurs once (de Bruijn), by the greedy rule: a one if it is new."""
    row, seen = [0] * size, {(0,) * size}
    while True:
        last = tuple(row[len(row) - size + 1 :])
        new = next((bit for bit in (1, 0) if (*last, bit) not in seen), None)
        if new is None:
            return np.array(row)
        row.append(new)
        seen.add((*last, new))


@every_code
def test_every_word_of_up_to_seven_bits_comes_back_forwards_and_backwards(name):
    """254 of them; each cell begins when it should, and none is in doubt."""
    code = CODES[name]
    for word in itertools.chain.from_iterable(itertools.product((0, 1), repeat=n) for n in range(1, 8)):
        edges = edges_of(code, word)
        there, back = code.decode(edges, UNIT), code.decode_backwards(edges, UNIT)
        assert tuple(there.bits) == tuple(back.bits[::-1]) == word
        begin = edges[0] + code.cell_units * UNIT * (len(code.lead_bits) + np.arange(len(word) + 1))
        away = 0.07 * code.cell_units * UNIT
        assert there.times == pytest.approx(begin, abs=away) and back.times[::-1] == pytest.approx(begin, abs=away)
        assert not (there.broken.any() or back.broken.any()) and min(*there.margins, *back.margins) > 0.8


@pytest.mark.parametrize("name", [name for name in CODES if name not in CLOCKLESS])
def test_every_word_of_twelve_bits_comes_back_inside_a_row(name):
    """All 4096 in one row, in which each begins once; read in both directions."""
    code, row = CODES[name], every_word_of(12)
    assert len(row) == 4096 + 11
    edges = edges_of(code, row)
    assert np.array_equal(code.decode(edges, UNIT).bits, row)
    assert np.array_equal(code.decode_backwards(edges, UNIT).bits, row[::-1])


@pytest.mark.parametrize("name", CLOCKLESS)
def test_words_between_changes_come_back_where_runs_keep_no_time(name):
    """All words of eight bits, each after a zero and before a one, as in a character."""
    row = [bit for word in itertools.product((0, 1), repeat=8) for bit in (0, *word, 1)]
    edges = edges_of(CODES[name], row)
    assert np.array_equal(CODES[name].decode(edges, UNIT).bits, row)
    assert np.array_equal(CODES[name].decode_backwards(edges, UNIT).bits, row[::-1])


@every_code
def test_a_wave_upside_down_reads_alike(name):
    """As samples: a code may tell bits by level or direction, and knows from the bits it added which is which."""
    code, bits = CODES[name], random_bits(name, 200, seed=2)
    halves = np.concatenate(([8e-3], code.encode(bits) * 2e-3, [8e-3]))
    samples = render(halves, 44100)
    for wave in (samples, -samples):
        edges = edges_in(wave, 44100)
        assert np.array_equal(code.decode(edges, 2e-3, 200).bits, bits)
        assert np.array_equal(code.decode_backwards(edges, 2e-3, 200).bits, bits[::-1])


@every_code
def test_cells_fill_their_time_and_an_edge_ends_the_last(name):
    code, bits = CODES[name], random_bits(name, 100, seed=3)
    halves = code.encode(bits)
    cells = len(code.lead_bits) + 100 + len(code.tail_bits)
    assert halves.sum() == pytest.approx(cells * code.cell_units) and (halves > 0).all()


@every_line
def test_half_cycles_are_of_the_lengths_that_are_listed_and_each_of_these_occurs(name):
    """But for runs that are longer than the list is, where there is no end of them."""
    code = LINES[name]
    halves = {round(half, 6) for half in code.encode(np.random.default_rng(4).integers(0, 2, 20_000))}
    listed = {round(length / 2, 6) for length in code.cycle_lengths_units}
    assert listed <= halves
    assert halves == listed or name in CLOCKLESS


@every_code
@pytest.mark.parametrize("most", [0, 1, 7, 300])
def test_no_more_cells_are_read_than_are_asked_for(name, most):
    """What follows them does not matter, be it leader."""
    code, bits = CODES[name], random_bits(name, 300, seed=5)
    leader = edges_of(code, bits)[-1] + 4 * UNIT * np.arange(1, 60)
    cells = code.decode(np.concatenate((edges_of(code, bits), leader)), UNIT, most)
    assert np.array_equal(cells.bits, bits[:most])
    assert len(cells.times) == most + 1 or most == 0


@every_code
def test_bounds_are_bounds(name):
    code = CODES[name]
    for bits in (np.zeros(500, int), np.ones(500, int), random_bits(name, 500, seed=6)):
        edges = edges_of(code, bits)
        assert len(edges) <= code.most_edges(500)
        assert 500 <= code.room(edges, UNIT) <= 600
        assert code.room(edges[0] + (edges - edges[0]) / 1.1, UNIT) >= 500
    assert code.room(np.zeros(1), UNIT) == code.room(np.zeros(0), UNIT) == 0


@every_code
@pytest.mark.parametrize("speed", [0.97, 1.03])
def test_a_leader_that_told_the_speed_wrong_by_3_percent_is_made_up_for(name, speed):
    code, bits = CODES[name], random_bits(name, 1000, seed=7)
    edges = edges_of(code, bits, UNIT / speed)
    assert np.array_equal(code.decode(edges, UNIT).bits, bits)
    assert np.array_equal(code.decode_backwards(edges, UNIT).bits, bits[::-1])


@every_code
def test_wow_of_10_percent_is_followed(name):
    """A slow swing, 630 cells long; where each cell begins is told to within an eighth of one all along."""
    code, bits = CODES[name], random_bits(name, 3000, seed=8)
    cells = np.arange(4000)
    begins = np.concatenate(([0.0], np.cumsum(1 + 0.1 * np.sin(cells / 100)))) * code.cell_units * UNIT
    edges = np.interp(edges_of(code, bits, 1.0, 0.0) / code.cell_units, np.arange(4001), begins)
    found = code.decode(edges, UNIT)
    assert np.array_equal(found.bits, bits) and not found.broken.any()
    lead = len(code.lead_bits)
    assert np.abs(found.times - begins[lead : lead + 3001]).max() < code.cell_units * UNIT / 8
    # Backwards it begins with the speed at the end, where the leader behind would tell it.
    last = np.diff(begins)[3000] / code.cell_units
    assert np.array_equal(code.decode_backwards(edges, last).bits, bits[::-1])


# A change of level, or half of a few half-cycles, that is lost is another bit, as good as any.
SILENTLY_WRONG = ("levels", "bell202", "whole half-cycles")


@every_code
def test_a_pair_of_edges_that_is_lost_or_added_spoils_a_few_cells_and_they_say_so(name):
    """At a dozen places each: only of the five cells round it any are wrong, and one there is broken or nearly so."""
    code, bits = CODES[name], random_bits(name, 400, seed=9)
    edges, lead = edges_of(code, bits), len(code.lead_bits)
    cell = code.cell_units * UNIT
    for spoilt, at in itertools.product((lost_pair, added_pair), range(60, len(edges) - 60, len(edges) // 12)):
        found = code.decode(spoilt(edges, at), UNIT)
        where = int((edges[at] - edges[0]) / cell) - lead
        assert len(found.bits) == 400
        wrong = np.flatnonzero(found.bits != bits)
        assert (np.abs(wrong - where) <= 5).all()
        near = slice(max(0, where - 5), where + 6)
        assert len(wrong) == 0 or code.outliers(found)[near].any() or name in SILENTLY_WRONG


def lost_pair(edges, at):
    return np.delete(edges, [at, at + 1])


def added_pair(edges, at):
    between = edges[at] + (edges[at + 1] - edges[at]) * np.array([0.35, 0.65])
    return np.insert(edges, at + 1, between)


@pytest.mark.parametrize("name", ["levels", "on-off", "marks", "delay", "bell202", "v21-1"])
def test_noise_is_no_cells_and_reading_it_comes_to_an_end(name):
    """Edges at random: more than a third of what they would be cannot be."""
    code = CODES[name]
    edges = np.cumsum(np.random.default_rng(10).exponential(0.4 * UNIT * code.cell_units, 5000))
    found = code.decode(edges, UNIT)
    assert len(found.bits) < 5000 and code.outliers(found).mean() > 0.35


def test_no_edges_make_no_cells():
    for code in CODES.values():
        for edges in (np.zeros(0), np.zeros(1), np.array([0.0, 1e-9])):
            assert len(code.decode(edges, 1.0).bits) == len(code.decode_backwards(edges, 1.0).bits) == 0
