"""Grids for the tests of the trellis, and plain ways of finding the best row of cells in them."""

from functools import cache

import numpy as np
import pytest

from kit.cells import CycleLength
from kit.tones import TwoTones

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
