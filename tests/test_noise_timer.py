"""The timer in white noise: it reads where it must, and fails about as often as theory says.

The full set is ``python -m tests.benchmarks --only noise_timer``.
"""

from functools import partial

import numpy as np
import pytest
from scipy.stats import binom, norm

import kit
from kit.ears import ears
from kit.known import FORMATS
from kit.smoothing import Conditioner
from kit.waves import edges, render
from tests.benchmarks.noise import RATE, blocks_checked, blocks_read, needed_db, noisy_tape, share_read, timer
from tests.benchmarks.noise_theory import BLOCK_BITS, block_share, expected_faults

HOUSE = FORMATS["house"]


def ordinary_ear():
    """The ear that smooths for ordinary speed."""
    return next(ear for ear in ears(HOUSE, RATE) if "ordinary" in ear.note)


def test_at_4_db_the_timer_reads_nine_blocks_of_ten():
    """Signal and noise as defined in `tests/benchmarks/noise.py`; the speed is not told."""
    assert share_read(timer, 4.0, blocks=20, seed=5) >= 0.9


def test_at_2_db_it_still_does_as_edges_lost_in_pairs_are_put_back():
    """Without that theory gives a quarter of the blocks."""
    assert block_share(HOUSE, RATE, 2.0) < 0.3
    assert share_read(timer, 2.0, blocks=20, seed=5) >= 0.9


def test_far_below_it_hardly_reads_a_block_and_vouches_for_none_that_is_wrong():
    """`share_read` refuses a wrong block that is vouched for."""
    assert share_read(timer, -1.0, blocks=5, seed=6) <= 0.5


def test_the_noise_is_as_strong_as_it_says_and_white():
    """Against the same tape without noise: variance to 1 %, neighbouring samples independent."""
    _, noisy = noisy_tape(4.0, 2, seed=7)
    _, clean = noisy_tape(float("inf"), 2, seed=7)
    noise = (noisy.samples - clean.samples).reshape(-1)
    amplitude = np.abs(clean.samples).max()
    assert 10 * np.log10(amplitude**2 / noise.var()) == pytest.approx(4.0, abs=0.05)
    assert abs(np.corrcoef(noise[1:], noise[:-1])[0, 1]) < 0.01
    assert abs((np.abs(noise) < noise.std()).mean() - 0.6827) < 0.005


def test_a_clean_tape_counts_as_read_and_another_tape_as_wrong():
    """Blocks are compared with what was written."""
    data, sound = noisy_tape(float("inf"), 2, seed=8)
    assert blocks_read(kit.decode(sound, format="house"), data) == (2, 0)
    assert blocks_read(kit.decode(sound, format="house"), bytes(len(data))) == (0, 2)


def test_what_is_needed_is_found_between_the_steps(monkeypatch):
    """A reader whose share follows a straight line from 0 at 0 dB to 1 at 4 dB reads 55 % at 2.2 dB."""
    monkeypatch.setattr("tests.benchmarks.noise.share_read", lambda decode, db, blocks, seed: np.clip(db / 4, 0, 1))
    found = needed_db(None, share=0.55)
    assert found.db == pytest.approx(2.2)
    assert found.error_db == pytest.approx(np.sqrt(0.55 * 0.45 / 100) * 4)
    assert np.isnan(needed_db(None, share=0.5, low_db=3.0).db)
    assert np.isnan(needed_db(None, share=0.9, high_db=2.0).db)


@pytest.mark.parametrize("snr_db", [6.0, 10.0])
def test_edges_move_as_far_as_theory_says(snr_db):
    """Deviation of the edges of a leader behind the averages, sigma_s over slope, to 10 %."""
    ear, unit = ordinary_ear(), HOUSE.unit_s() * RATE
    halves = np.full(8000, 2 * unit / RATE)
    wave = render(halves, RATE)
    noise = np.random.default_rng(9).normal(0, 0.5 * 10 ** (-snr_db / 20), len(wave))
    conditioner = Conditioner(ear.smooth, 0)
    found = edges(conditioner.feed(wave + noise), RATE, ear.hysteresis)[4:-4] * RATE - conditioner.reach
    off = (found + unit) % (2 * unit) - unit
    wanted = expected_faults(HOUSE, RATE, snr_db).edge_deviation
    assert off.std() == pytest.approx(wanted, rel=0.1)


def test_the_chance_of_a_moved_edge_is_the_textbook_one():
    """Q(10 / (sqrt(2) sigma_t)) a bit: a cycle of 20 samples is taken for one of 40 if it is 10 longer."""
    faults = expected_faults(HOUSE, RATE, 0.0)
    assert faults.moved == pytest.approx(BLOCK_BITS * norm.sf(10 / np.sqrt(2) / faults.edge_deviation), rel=1e-6)


def test_the_ear_alone_fails_about_as_often_as_theory_says():
    """At 3 dB: what is read outright lies within what chance allows round the shares theory gives half a dB off."""
    blocks, alone = 20, partial(timer, chosen=[ordinary_ear()])
    read = round(share_read(alone, 3.0, blocks, seed=10, count=blocks_checked) * blocks)
    low, high = (block_share(HOUSE, RATE, 3.0 + off) for off in (-0.5, 0.5))
    assert binom.ppf(0.01, blocks, low) <= read <= binom.ppf(0.99, blocks, high)
