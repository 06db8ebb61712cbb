"""Counter and patient reader in white noise: they fail about as often as their formulas say.

Signal and noise are defined in `tests/benchmarks/noise.py`, the formulas in `noise_theory.py` and in
`noise_theory_patient.py` beside it. So few blocks can say this much: of readers within half a dB of their formula, no
more than one in a hundred would fall outside the bounds; of those that need more than it says, nine in ten are found
out from 1.0 dB on (counter), 1.1 (patient) or 1.8 (two sides), and of those that need less, from 1.2 (counter) or
1.3 dB on (patient). The seeds are fixed, so a test that fails tells of a change, not of chance. The full sets, which
settle half a dB, are ``python -m tests.benchmarks --only noise_counter``, and the same with `noise_patient` and
`noise_copies`.
"""

from functools import partial
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import binom, norm

import kit
from kit.known import FORMATS
from tests.benchmarks.noise import (
    RATE,
    bare_counter,
    blocks_checked,
    blocks_read,
    counter,
    noisy_tape,
    parts_read,
    patient,
    patiently_alone,
    tally,
)
from tests.benchmarks.noise_theory import BLOCK_BITS, bare_counter_share, counter_share
from tests.benchmarks.noise_theory_patient import Places, margins, no_pair_wrong, none_wrong, patient_share

HOUSE = FORMATS["house"]
NEAR_DB = 0.5
TAIL = 0.005


def assert_near(read, blocks, shares, snr_db):
    """Within what chance allows round the shares that theory gives half a dB either way."""
    low, high = (shares(HOUSE, RATE, snr_db + off) for off in (-NEAR_DB, NEAR_DB))
    assert binom.ppf(TAIL, blocks, low) <= read <= binom.ppf(1 - TAIL, blocks, high)


def test_the_counter_fails_about_as_often_as_its_starts_are_split():
    assert_near(tally(counter, 10.0, 150, seed=11)[0], 150, counter_share, 10.0)


def test_a_counter_that_leaves_crowds_of_edges_fails_at_the_first_sample_across_zero():
    """It needs some 3 dB more; at 11 dB, where the kit's reads nine blocks of ten, it reads none."""
    assert_near(tally(bare_counter, 13.5, 100, seed=12)[0], 100, bare_counter_share, 13.5)
    assert tally(bare_counter, 11.0, 20, seed=12) == [0]
    assert tally(counter, 11.0, 20, seed=12)[0] >= 14


@pytest.mark.parametrize(("snr_db", "blocks"), [(-1.5, 30), (-2.6, 16)])
def test_the_patient_reader_fails_about_as_often_as_the_likeliest_row_is_wrong(snr_db, blocks):
    """Blocks read at all, and those checked with nothing tried, each against their formula.

    The first point shows a reader that is worse than its formula, the second one that is better.
    """
    read, checked = tally(patiently_alone, snr_db, blocks, seed=13, counts=(blocks_read, blocks_checked))
    assert_near(read, blocks, patient_share, snr_db)
    assert_near(checked, blocks, partial(patient_share, knows="count"), snr_db)


def test_two_sides_bear_3_db_more_than_one():
    """At -4 dB they are read about as one is at -1 dB; one alone is hardly ever read there."""
    two = partial(patient_share, copies=2)
    assert_near(tally(patient, -4.0, 3, seed=14, counts=(parts_read,), sides=2)[0], 3, two, -4.0)
    assert patient_share(HOUSE, RATE, -4.0) < 0.01
    assert two(HOUSE, RATE, -4.0) == pytest.approx(patient_share(HOUSE, RATE, -4.0 + 10 * np.log10(2)), abs=1e-9)


def test_two_copies_are_read_where_one_is_not():
    """Nine parts of ten at -3 dB, where of one copy's blocks only a few are; theory would have it at -4.7 dB, too."""
    assert tally(patiently_alone, -3.0, 10, seed=14, counts=(parts_read,), copies=2)[0] >= 9
    assert patient_share(HOUSE, RATE, -3.0) < 0.1


def test_the_likeliest_error_has_the_textbook_chance_where_samples_are_fine():
    """Q(sqrt(unit * rate) A / sigma): a one and two zeros are opposite for one unit, and swapped cells for two."""
    half = 2000.0
    for swap, energy in ((False, 2 * half), (True, 4 * half)):
        mean, size = margins(half, swap)
        assert mean / size == pytest.approx(np.sqrt(energy), rel=1e-3)
    sigma = np.sqrt(2 * half) / 4.0
    chance = norm.sf(4.0)
    places = Places(swaps=0)
    wanted = (1 - chance) ** (places.ones + places.borders)
    assert none_wrong(half, sigma, places) == pytest.approx(wanted, rel=1e-3)
    assert places.ones + places.borders == 0.75 * BLOCK_BITS


@pytest.mark.parametrize("fixed", [False, True], ids=["any number of cells", "as many cells"])
def test_of_all_rows_that_fit_a_short_block_the_likeliest_is_wrong_as_often_as_the_formula_says(fixed):
    """Every row weighed against noise, 12 cells; within 4 standard deviations and a tenth for rarer errors."""
    bits = (1, 0, 0, 1, 1, 0, 1, 0, 0, 0, 1, 1)
    rows = rows_of(sum(bits) + len(bits))
    waves = np.array([wave for row, wave in rows if not fixed or len(row) == len(bits)], np.float32)
    true = np.array(dict(rows)[bits], np.float32)
    runs, unit_snr = 20_000, 6.0  # of noise; samples in a unit times A^2 / sigma^2
    noise = np.random.default_rng(15).normal(0, np.sqrt(2 / unit_snr), (runs, len(true))).astype(np.float32)
    best = np.concatenate([((true + some) @ waves.T).argmax(axis=1) for some in np.split(noise, 20)])
    wrong = np.mean((waves[best] != true).any(axis=1))
    pairs = list(pairwise(bits))
    places = Places(sum(bits), pairs.count((0, 0)), pairs.count((0, 1)) + pairs.count((1, 0)))
    half = 1000.0
    formula = 1 - (no_pair_wrong if fixed else none_wrong)(half, np.sqrt(2 * half / unit_snr), places)
    assert wrong == pytest.approx(formula, abs=4 * np.sqrt(formula / runs) + 0.1 * formula)


def rows_of(beats):
    """All rows of cells that last so many beats, with their waves in half-units."""
    if beats == 0:
        return [((), ())]
    found = []
    for bit, cell in ((0, (1, -1)), (1, (1, 1, -1, -1))):
        if len(cell) // 2 <= beats:
            found += [((bit, *row), cell + wave) for row, wave in rows_of(beats - len(cell) // 2)]
    return found


def test_parts_of_a_file_count_if_no_byte_is_in_doubt_and_as_wrong_if_one_differs():
    data, sound = noisy_tape(float("inf"), 2, seed=8)
    reading = kit.decode(sound, format="house")
    assert parts_read(reading, data) == (2, 0)
    assert parts_read(reading, bytes(1) + data[1:]) in ((1, 1), (2, 0))
    torn = kit.decode(sound.scratch(8.0, 0.05), format="house")
    assert parts_read(torn, data) == (1, 0)
    assert parts_read(kit.decode(kit.Sound(np.zeros(RATE, np.float32), RATE)), data) == (0, 0)
