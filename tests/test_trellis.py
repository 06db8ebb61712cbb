"""The trellis: what it finds is the likeliest row of cells, held against trying every row and a textbook Viterbi.

Grids here are drawn by the rows of half-cycles themselves: steps of +1 and -1, half a cycle of each.
"""

from functools import cache

import numpy as np
import pytest
from scipy.stats import binom, norm

from kit.cells import CycleLength
from kit.readers.rivals import rivals
from kit.tones import TwoTones
from kit.trellis import Trellis

# For each code the wave of a zero and of a one, step by step, and the steps in a beat: drawn by hand.
WAVES = {
    CycleLength(1, 2): ("+-", "++--", 2),
    CycleLength(2, 1): ("++--", "+-", 2),
    CycleLength(1, 1.5): ("++--", "+++---", 2),
    CycleLength(1, 2 / 3): ("+++---", "++--", 2),
    CycleLength(1, 3): ("+-", "+++---", 2),
    TwoTones(): ("++--", "+-+-", 4),
    TwoTones(4, 2, 2.0): ("+-+-", "++--", 4),
    TwoTones(2, 6, 3.0): ("+++---", "+-+-+-", 6),
}
FIXED = [code for code in WAVES if isinstance(code, TwoTones)]
VARIED = [code for code in WAVES if code not in FIXED]
HOUSE = CycleLength(1, 2)
NEVER = -1e18


def names(codes):
    return [f"{type(code).__name__} {code.zero_units:.3g} {code.one_units:.3g}" for code in codes]


every_code = pytest.mark.parametrize("code", WAVES, ids=names(WAVES))
every_varied = pytest.mark.parametrize("code", VARIED, ids=names(VARIED))


def drawn(code, bits):
    """The grid of some bits without noise."""
    *waves, steps = WAVES[code]
    signs = "".join(waves[bit] for bit in bits)
    return np.array([1.0 if sign == "+" else -1.0 for sign in signs]).reshape(-1, steps)


def beats_of(code):
    """Beats in a zero and in a one."""
    *waves, steps = WAVES[code]
    return tuple(len(wave) // steps for wave in waves)


def cell_sums(code, grid):
    """The sum of each bit's wave times the grid from each beat on: shape (2, beats), far below 0 beyond the end."""
    sums = np.full((2, len(grid)), NEVER)
    for bit, size in enumerate(beats_of(code)):
        wave = drawn(code, [bit])
        for beat in range(len(grid) - size + 1):
            sums[bit, beat] = float((wave * grid[beat : beat + size].astype(float)).sum())
    return sums


@cache
def every_row(sizes, beats):
    """Every row of bits whose cells fill so many beats."""
    if beats == 0:
        return [()]
    return [(bit, *row) for bit in (0, 1) if sizes[bit] <= beats for row in every_row(sizes, beats - sizes[bit])]


def bounds_of(code, bits):
    return np.concatenate(([0], np.cumsum([beats_of(code)[bit] for bit in bits]))).astype(int)


def worth(code, grid, bits):
    """How well a row fits: the sum of its wave times the grid."""
    return float((drawn(code, bits) * grid).sum())


def ranked(code, grid):
    """Every row that fills a grid with its worth, the best first."""
    rows = every_row(beats_of(code), len(grid))
    sums = cell_sums(code, grid)
    found = [(sum(sums[bit, at] for bit, at in zip(row, bounds_of(code, row), strict=False)), row) for row in rows]
    return sorted(found, reverse=True)


def viterbi(code, grid):
    """The best row by the textbook: at each beat, the best way there; None if no row fills the grid."""
    sums, sizes = cell_sums(code, grid).tolist(), beats_of(code)
    best = {0: (0.0, None)}
    for beat in range(1, len(grid) + 1):
        ways = [
            (best[beat - size][0] + sums[bit][beat - size], bit)
            for bit, size in enumerate(sizes)
            if beat - size in best
        ]
        if ways:
            best[beat] = max(ways)
    row, beat = [], len(grid)
    while beat and beat in best:
        row.append(best[beat][1])
        beat -= sizes[row[-1]]
    return None if beat else (best[len(grid)][0], tuple(row[::-1]))


def best_by_count(code, grid):
    """The best worth of all rows of each number of cells: a table over beats and cells."""
    sums = cell_sums(code, grid)
    table = np.full((len(grid) + 1, len(grid) + 2), NEVER)
    table[0, 0] = 0
    for beat in range(1, len(grid) + 1):
        for bit, size in enumerate(beats_of(code)):
            if size <= beat:
                row = table[beat - size, :-1] + sums[bit, beat - size]
                table[beat, 1:] = np.maximum(table[beat, 1:], row)
    return table[-1]


def noise(rng, code, beats, deviation=1.0):
    return rng.normal(0, deviation, (beats, WAVES[code][2])).astype(np.float32)


def noisy(rng, code, cells, deviation):
    """Bits at random, and their grid in noise of so much deviation a step."""
    bits = rng.integers(0, 2, cells)
    grid = drawn(code, bits)
    return bits, (grid + rng.normal(0, deviation, grid.shape)).astype(np.float32)


def short_grids(code, seed, each=5, most=10):
    """Grids of 1 to 10 beats that a row can fill: noise alone, and cells in noise."""
    rng = np.random.default_rng(seed)
    for beats in range(1, most + 1):
        rows = every_row(beats_of(code), beats)
        for k in range(each if rows else 0):
            grid = noise(rng, code, beats)
            yield grid + drawn(code, rows[rng.integers(len(rows))]).astype(np.float32) * (k % 2)


# -- the best row ----------------------------------------------------------------------------------------


@every_code
def test_a_beat_and_the_patterns_are_what_the_wave_of_a_bit_says(code):
    trellis = Trellis(code)
    assert trellis.steps == WAVES[code][2]
    assert all(np.array_equal(trellis.patterns[bit], drawn(code, [bit])) for bit in (0, 1))


@every_code
def test_no_row_of_cells_fits_a_short_grid_better(code):
    """All rows that fill 1 to 10 beats are tried."""
    trellis, tried = Trellis(code), 0
    for grid in short_grids(code, seed=1):
        path, (top, row) = trellis.best(grid), ranked(code, grid)[0]
        assert tuple(path.bits) == row
        assert path.bounds.tolist() == bounds_of(code, row).tolist()
        assert worth(code, grid, path.bits) == pytest.approx(top)
        tried += 1
    assert tried >= 30


@pytest.mark.parametrize("beats", [1, 4, 7])
def test_where_no_row_fills_the_grid_there_is_none(beats):
    """Cells of 3 and 5 beats fill neither 1, nor 4, nor 7 beats, but 8."""
    code = CycleLength(3, 5)
    trellis = Trellis(code)
    assert trellis.lengths == [3, 5]
    assert trellis.best(np.ones((beats, trellis.steps), np.float32)) is None
    assert trellis.with_count(np.ones((beats, trellis.steps), np.float32), 1) is None
    assert trellis.best(np.ones((8, trellis.steps), np.float32)) is not None


@pytest.mark.parametrize("code", list(WAVES)[:6], ids=names(list(WAVES)[:6]))
@pytest.mark.parametrize("deviation", [0.5, 1.5, 4.0])
def test_long_grids_give_what_a_textbook_viterbi_gives(code, deviation):
    """400 cells under noise from hardly any to so much that most bits are wrong: the very same row."""
    rng, trellis = np.random.default_rng([2, int(10 * deviation)]), Trellis(code)
    for _ in range(2):
        _, grid = noisy(rng, code, 400, deviation)
        top, row = viterbi(code, grid)
        path = trellis.best(grid)
        assert tuple(path.bits) == row
        assert worth(code, grid, path.bits) == pytest.approx(top)


@pytest.mark.parametrize("code", [HOUSE, CycleLength(1, 1.5)], ids=["1:2", "2:3"])
def test_seams_of_windows_do_not_show(code):
    """Lengths next to each multiple of 32 beats from 62 to 322: a seam may lie anywhere."""
    rng, trellis = np.random.default_rng(3), Trellis(code)
    lengths = [beats for beats in range(62, 323) if beats % 32 in (31, 0, 1, 2)]
    for beats in lengths:
        grid = noise(rng, code, beats)
        path = trellis.best(grid)
        assert tuple(path.bits) == viterbi(code, grid)[1], beats


@every_code
def test_without_noise_the_bits_come_back(code):
    """At random, and in runs, of which some are as good as a row of other cells but for their ends."""
    rng, trellis = np.random.default_rng(4), Trellis(code)
    for bits in (rng.integers(0, 2, 700), np.zeros(500, int), np.ones(500, int), np.arange(500) % 2):
        assert np.array_equal(trellis.best(drawn(code, bits).astype(np.float32)).bits, bits)


@every_varied
def test_ties_give_some_row_that_none_beats(code):
    """Silence, a held level, and a leader of 4 units a cycle without noise, where many rows fit alike."""
    trellis = Trellis(code)
    steps = 300 * trellis.steps
    halves = round(2 / trellis.beat_units * trellis.steps)
    leader = 1.0 - 2.0 * (np.arange(steps) // halves % 2)
    for wave in (np.zeros(steps), np.ones(steps), leader, -leader, np.roll(leader, halves // 2)):
        grid = wave.reshape(-1, trellis.steps).astype(np.float32)
        path = trellis.best(grid)
        assert np.array_equal(path.bounds, bounds_of(code, path.bits))
        assert path.bounds[-1] == len(grid)
        assert worth(code, grid, path.bits) == pytest.approx(viterbi(code, grid)[0], abs=1e-3)


def test_what_a_cell_is_given_extra_makes_more_or_fewer_of_them():
    rng, trellis = np.random.default_rng(5), Trellis(HOUSE)
    _, grid = noisy(rng, HOUSE, 300, 1.5)
    counts = [len(trellis.best(grid, extra).bits) for extra in (-3.0, -0.5, 0.0, 0.5, 3.0)]
    assert counts == sorted(counts) and counts[0] < counts[2] < counts[4]


# -- how sure --------------------------------------------------------------------------------------------


@every_varied
def test_a_lead_is_the_best_row_with_a_cell_beginning_there_against_the_best_without(code):
    """Over all rows that fill 3 to 10 beats; its sign says whether the best row has a cell begin there."""
    trellis = Trellis(code)
    for grid in short_grids(code, seed=6, each=6):
        rows, lead = ranked(code, grid), trellis.leads(grid)
        assert np.array_equal(np.flatnonzero(lead > 0), bounds_of(code, rows[0][1]))
        for beat in range(1, len(grid)):
            on = [value for value, row in rows if beat in bounds_of(code, row)]
            off = [value for value, row in rows if beat not in bounds_of(code, row)]
            if on and off:
                assert lead[beat] == pytest.approx(on[0] - off[0], abs=1e-4)
            else:
                assert np.sign(lead[beat]) == (1 if on else -1) and abs(lead[beat]) > 1e20


@every_code
def test_a_soft_value_is_the_best_row_against_the_best_one_without_that_cell(code):
    """Without it: none of that bit at that place. Exactly, over all rows that fill 2 to 10 beats."""
    trellis = Trellis(code)
    for grid in short_grids(code, seed=7, each=6):
        rows = ranked(code, grid)
        cells = [set(zip(row, bounds_of(code, row), strict=False)) for _, row in rows]
        path = trellis.best(grid)
        for bit, start, soft in zip(path.bits, path.bounds, path.soft, strict=False):
            others = [value for (value, _), has in zip(rows, cells, strict=True) if (bit, start) not in has]
            if others:
                assert soft == pytest.approx(rows[0][0] - others[0], abs=1e-4)
            else:
                assert soft > 1e20


@every_code
def test_signed_soft_values_are_above_zero_for_ones_and_never_of_the_wrong_sign(code):
    _, grid = noisy(np.random.default_rng(8), code, 400, 1.5)
    path = Trellis(code).best(grid)
    assert (path.soft >= 0).all() and path.soft.dtype == np.float32
    assert np.array_equal(path.signed > 0, path.bits == 1)


@pytest.mark.parametrize("deviation", [0.8, 1.5])
def test_a_grid_over_its_variance_makes_soft_values_natural_logarithms(deviation):
    """A row's sum is then its log-likelihood but for a constant: 1 bit in 1 + e^s of soft value s is wrong.

    Exactly so for cells of one length, each of which is decided alone; counted in bins, to four deviations.
    """
    bits, grid = noisy(np.random.default_rng(9), TwoTones(), 100_000, deviation)
    path = Trellis(TwoTones()).best(grid / np.float32(deviation**2))
    wrong = path.bits != bits
    for low, high in ((0, 0.5), (0.5, 1), (1, 2), (2, 4), (4, 8)):
        some = (path.soft >= low) & (path.soft < high)
        chance = 1 / (1 + np.exp(path.soft[some].astype(float)))
        assert abs(wrong[some].sum() - chance.sum()) < 4 * np.sqrt((chance * (1 - chance)).sum())


# -- so many cells ---------------------------------------------------------------------------------------


@every_varied
def test_no_other_row_of_so_many_cells_fits_a_short_grid_better(code):
    """All rows of each possible number of cells are tried; none is given for a number that cannot be.

    It may not be found: near ties need more tries, and where cells have 2 and 3 beats the best of a number need
    not be best whatever a cell is given extra.
    """
    trellis, asked, given = Trellis(code), 0, 0
    for grid in short_grids(code, seed=10, each=2):
        tops = {}
        for value, row in ranked(code, grid):
            tops.setdefault(len(row), (value, row))
        for count in range(1, len(grid) + 2):
            path = trellis.with_count(grid, count)
            if count not in tops:
                assert path is None
                continue
            asked += 1
            if path is not None:
                given += 1
                assert tuple(path.bits) == tops[count][1]
    assert given >= 0.9 * asked


@pytest.mark.parametrize("code", VARIED[:2], ids=names(VARIED[:2]))
@pytest.mark.parametrize("deviation", [0.5, 1.5])
def test_on_long_grids_the_best_row_of_so_many_cells_is_that_of_a_table_over_beats_and_cells(code, deviation):
    """300 cells; as many as there were, and up to five more or fewer than the best row has."""
    rng, trellis, missed = np.random.default_rng(11), Trellis(code), 0
    _, grid = noisy(rng, code, 300, deviation)
    table, free = best_by_count(code, grid), len(trellis.best(grid).bits)
    for count in {300, *range(free - 5, free + 6)}:
        path = trellis.with_count(grid, count)
        if path is None:
            missed += 1
            continue
        assert len(path.bits) == count and path.bounds[-1] == len(grid)
        assert worth(code, grid, path.bits) == pytest.approx(table[count], abs=0.01)
    assert missed <= 1


def test_a_count_of_cells_of_one_length_is_that_of_the_grid_or_none():
    _, grid = noisy(np.random.default_rng(12), TwoTones(), 50, 1.0)
    trellis = Trellis(TwoTones())
    assert len(trellis.with_count(grid, 50).bits) == 50
    assert trellis.with_count(grid, 49) is None and trellis.with_count(grid, 51) is None


# -- the next best rows ----------------------------------------------------------------------------------


def rivals_of(code, grid, path, most=12, **how):
    return [tuple(bits) for bits in rivals(path, Trellis(code).values(grid), beats_of(code), most, **how)]


@pytest.mark.parametrize("code", [HOUSE, CycleLength(2, 1), *FIXED])
def test_rivals_come_in_order_of_likelihood_and_each_fills_the_grid(code):
    """None is the best row, none comes twice, all have as many cells, and none fits better than the one before."""
    rng, trellis, found = np.random.default_rng(13), Trellis(code), 0
    for _ in range(20):
        _, grid = noisy(rng, code, 40, 0.8)
        path = trellis.best(grid)
        rows = rivals_of(code, grid, path)
        assert len(set(rows)) == len(rows) <= 12 and tuple(path.bits) not in rows
        assert all(len(row) == len(path.bits) and bounds_of(code, row)[-1] == len(grid) for row in rows)
        worths = [worth(code, grid, path.bits), *(worth(code, grid, row) for row in rows)]
        assert (np.diff(worths) < 1e-4).all()
        found += len(rows)
    assert found == 20 * 12


@pytest.mark.parametrize("code", [HOUSE, CycleLength(2, 1), TwoTones()], ids=["1:2", "2:1", "tones"])
def test_the_first_rival_is_nearly_always_the_second_best_of_all_rows_of_as_many_cells(code):
    """Held against every row that fills 10 beats (7 cells of tones), at an error rate of about one in twenty a cell.

    It need not be: a change of three cells or more at once is not tried.
    """
    rng, trellis, hits = np.random.default_rng(14), Trellis(code), 0
    rows = every_row(beats_of(code), 10 if code in VARIED else 7)
    for _ in range(60):
        grid = drawn(code, rows[rng.integers(len(rows))])
        grid = (grid + rng.normal(0, 0.85, grid.shape)).astype(np.float32)
        path = trellis.best(grid)
        alike = [row for _, row in ranked(code, grid) if len(row) == len(path.bits)]
        given = rivals_of(code, grid, path)
        hits += given[:1] == alike[1:2]
    assert hits >= 54


# -- against theory --------------------------------------------------------------------------------------


def chances_and_faults(code, cells, deviation, seed):
    """How often an edge between cells could be wrong by itself, and how often it was.

    For cycle length: within each one (it may be two zeros) and between each two zeros (they may be a one). For
    cells of one length: each bit.
    """
    bits, grid = noisy(np.random.default_rng(seed), code, cells, deviation)
    path = Trellis(code).best(grid)
    if code in FIXED:
        return len(bits), int((path.bits != bits).sum())
    there, found = (np.zeros(len(grid) + 1, bool) for _ in range(2))
    there[bounds_of(code, bits)] = found[path.bounds] = True
    chances = int((bits == 1).sum() + ((bits[1:] == 0) & (bits[:-1] == 0)).sum())
    return chances, int((there != found).sum())


@pytest.mark.parametrize(("rate", "cells"), [(1e-2, 40_000), (1e-3, 200_000)])
@pytest.mark.parametrize("code", [HOUSE, TwoTones()], ids=["cycle length", "two tones"])
def test_cells_are_wrong_as_often_as_theory_says_to_half_a_db(code, rate, cells):
    """P = Q(sqrt(unit rate / sigma^2)) for each one, and each pair of zeros; for each bit of two tones.

    The two waves differ by 2 A over a unit of `unit rate` samples of variance sigma^2 each: at a distance of
    2 sqrt(unit rate) A. Here A is 1, and a unit is summed in two steps (cycle length) or takes two (two tones): at a
    deviation s of a step P = Q(sqrt(2) / s). About 300 faults at 1e-2 and 130 at 1e-3 in cycle length: half a dB
    changes these by 30 and 45 %, chance by 12 and 18 % (two deviations).
    """
    q = norm.isf(rate)
    chances, faults = chances_and_faults(code, cells, np.sqrt(2) / q, seed=16)
    few, many = (norm.sf(q * 10 ** (off / 20)) for off in (0.5, -0.5))
    assert chances > 0.7 * cells
    assert binom.isf(0.99, chances, few) <= faults <= binom.isf(0.01, chances, many)
