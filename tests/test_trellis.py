"""The trellis: what it finds is the likeliest row of cells, held against trying every row and a textbook Viterbi.

Grids here are drawn by the rows of half-cycles themselves: steps of +1 and -1, half a cycle of each.
"""


import numpy as np
import pytest

# For each code the wave of a zero and of a one, step by step, and the steps in a beat: drawn by hand.
from trellis_cases import (
    HOUSE,
    WAVES,
    bounds_of,
    drawn,
    every_code,
    every_varied,
    names,
    noise,
    noisy,
    ranked,
    short_grids,
    viterbi,
    worth,
)

from kit.cells import CycleLength
from kit.tones import TwoTones
from kit.trellis import Trellis


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
