"""What a code asks of a recorder: computed from its table, held against waves of random bits and against formulas."""

from itertools import product

import numpy as np
import pytest
from scipy.signal import welch

from kit.codefacts import facts
from kit.comparison import CODES as COMPARED
from kit.errors import SettingError
from kit.linecodes import BiphaseMark, DelayModulation, OnOffTone, PhaseEncoding, RawLevels
from kit.tonepairs import TONE_PAIRS, TonePair
from kit.waves import render

CODES = {**COMPARED, "a standard's tones": TonePair.of_hz(*TONE_PAIRS["bell202"], unit_hz=1200)}
TWO_LEVELS = [name for name in CODES if name != "on-off tone"]
EVERY = [bits for count in range(1, 13) for bits in (product((0, 1), repeat=count) if count in (1, 2, 3, 12) else ())]
PER_UNIT = 32  # samples



@pytest.fixture(params=list(CODES))
def name(request):
    return request.param


def wave_of(code, count, seed=3):
    """Random bits as samples, PER_UNIT of them a unit; what is off is silent."""
    bits = np.random.default_rng(seed).integers(0, 2, count)
    wave = render(code.encode(bits), PER_UNIT, 1.0)
    if isinstance(code, OnOffTone):
        first = len(code.lead_bits) * PER_UNIT
        wave = wave[first : first + count * PER_UNIT] * np.repeat(bits, PER_UNIT)
    return wave


# -- spectra ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "code, formula",
    [
        # One-sided densities of unit-time cells; the first three are in textbooks on line codes (from memory).
        (RawLevels(), lambda f: 2 * np.sinc(f) ** 2),
        (PhaseEncoding(), lambda f: 2 * np.sinc(f / 2) ** 2 * np.sin(np.pi * f / 2) ** 2),
        (BiphaseMark(), lambda f: 2 * np.sinc(f / 2) ** 2 * np.sin(np.pi * f / 2) ** 2),
    ],
    ids=["raw levels", "phase encoding", "biphase mark"],
)
def test_the_spectrum_is_that_of_the_formula(code, formula):
    frequencies = np.linspace(0.02, 4.0, 400)
    np.testing.assert_allclose(facts(code).spectrum(frequencies), formula(frequencies), atol=2e-3)


def test_the_spectrum_of_delay_modulation_is_the_published_one():
    """M. Hecht and A. Guida, Delay modulation, Proceedings of the IEEE 57 (1969), pp. 1314-1316 (from memory)."""
    f = np.linspace(0.02, 2.0, 300)
    x = np.pi * f
    weights = {0: 23, 1: -2, 2: -22, 3: -12, 4: 5, 5: 12, 6: 2, 7: -8, 8: 2}
    series = sum(weight * np.cos(k * x) for k, weight in weights.items())
    published = series / (2 * x**2 * (17 + 8 * np.cos(8 * x)))
    found = facts(DelayModulation()).spectrum(f)
    np.testing.assert_allclose(found / found.max(), published / published.max(), atol=1e-3)
    np.testing.assert_allclose(found, 2 * published, atol=5e-3)  # one-sided


def test_the_spectrum_is_that_of_random_bits_as_drawn(name):
    """Against scipy's periodogram in bands of a quarter cycle a unit; where a steady line stands out, beside it."""
    code = CODES[name]
    wave = wave_of(code, 40_000)
    frequencies, density = welch(wave, PER_UNIT, nperseg=4096)
    frequencies, density = frequencies[1:], density[1:]
    wanted = facts(code).spectrum(frequencies) * np.sinc(frequencies / PER_UNIT) ** 2
    even = (frequencies > 0.05) & (frequencies < 2.0)
    for line in np.arange(0.5, 2.1, 0.5):
        even &= np.abs(frequencies - line) > 0.04
    band = (frequencies[even] / 0.25).astype(int)
    for k in np.unique(band):
        mine = band == k
        ratio_db = 10 * np.log10(density[even][mine].mean() / wanted[even][mine].mean())
        assert abs(ratio_db) < 0.4, (k, ratio_db)


def test_all_power_is_in_the_spectrum(name):
    """Summed over frequencies in steps finer than any line is wide, with what is beyond the last one by its slope."""
    found = facts(CODES[name])
    step = 1 / 2000
    frequencies = np.arange(step / 2, 60, step)
    density = found._density(frequencies, 0.02)
    assert density.sum() * step == pytest.approx(found.power, abs=0.03)


def test_a_band_holds_the_part_of_the_power_that_was_asked_for_and_none_narrower_does(name):
    found = facts(CODES[name])
    low, high = found.band(0.75)
    wave = wave_of(CODES[name], 40_000)
    wave = wave - wave.mean()
    frequencies, density = welch(wave, PER_UNIT, nperseg=4096)
    inside = (frequencies >= low) & (frequencies <= high)
    density = density / np.sinc(frequencies / PER_UNIT) ** 2  # a sample is the mean over its own interval
    part = density[inside].sum() * frequencies[1] / found.power
    assert part == pytest.approx(0.75, abs=0.05)
    assert found.band(0.5)[1] - found.band(0.5)[0] < high - low
    assert found.band(0.9)[1] - found.band(0.9)[0] > high - low


def test_a_part_of_the_power_that_is_none_is_refused_in_one_line():
    with pytest.raises(SettingError, match="part must lie between 0 and 1, got 1"):
        facts(RawLevels()).band(1)


# -- times between edges, and the clock ------------------------------------------------------------------


def inner_gaps(code, bits):
    """Times between edges in the cells of some bits, without what is added in front and behind."""
    edges = np.concatenate(([0.0], np.cumsum(code.encode(bits))))
    first = len(getattr(code, "lead_bits", ())) * code.shortest_units - 1e-9
    stop = first + edges[-1] - (len(getattr(code, "tail_bits", ())) + 1) * code.shortest_units + 2e-9
    return np.diff(edges[(edges >= first) & (edges <= stop)])


def test_no_edges_are_nearer_or_farther_than_said_and_both_limits_occur(name):
    """All words of twelve bits, and all of one to three."""
    code, found = CODES[name], facts(CODES[name])
    gaps = np.concatenate([inner_gaps(code, bits) for bits in EVERY])
    assert gaps.min() == pytest.approx(found.shortest_gap_units)
    if np.isfinite(found.longest_gap_units):
        assert gaps.max() == pytest.approx(found.longest_gap_units)
    else:
        assert gaps.max() >= 11 * code.cell_units


def test_rate_and_edges_are_those_of_random_bits(name):
    code, found = CODES[name], facts(CODES[name])
    halves = code.encode(np.random.default_rng(8).integers(0, 2, 20_000))
    assert 20_000 / halves.sum() == pytest.approx(found.bits_per_unit, rel=0.01)
    assert len(halves) / 20_000 == pytest.approx(found.edges_per_bit, rel=0.02)


@pytest.mark.parametrize(
    "name, bits",
    [("raw levels", 2), ("delay modulation", 2), ("phase encoding", 1), ("biphase mark", 1), ("cycle length", 2 / 3)],
)
def test_bits_in_the_time_of_the_shortest_cycle_are_what_the_rule_of_the_code_gives(name, bits):
    """By hand: in raw levels and delay modulation no edges are nearer than a cell, in phase codes than half one."""
    assert facts(CODES[name]).bits_per_cycle == pytest.approx(bits)


# -- held level ------------------------------------------------------------------------------------------


def test_no_word_has_a_greater_mean_level_than_said_and_some_word_comes_near(name):
    """All words of twelve bits, repeated so that the ends do not count."""
    code, found = CODES[name], facts(CODES[name])
    if name == "on-off tone":
        assert found.largest_mean_level == 0  # silence has no level
        return
    worst = 0.0
    for bits in product((0, 1), repeat=6):
        halves = code.encode(bits * 60)
        signs = 1.0 - 2.0 * (np.arange(len(halves)) % 2)
        worst = max(worst, abs(halves @ signs) / halves.sum())
    assert worst == pytest.approx(found.largest_mean_level, abs=0.02)


@pytest.mark.parametrize("name", TWO_LEVELS)
def test_the_running_sum_stays_within_what_is_said(name):
    """Of long random rows: bounded where it is said to be, and else it grows."""
    code, found = CODES[name], facts(CODES[name])
    halves = code.encode(np.random.default_rng(4).integers(0, 2, 20_000))
    sums = np.cumsum(halves * (1.0 - 2.0 * (np.arange(len(halves)) % 2)))
    if np.isfinite(found.running_sum_units):
        assert np.ptp(sums) <= found.running_sum_units + 1e-6
        assert np.ptp(sums) > 0.4 * found.running_sum_units
    else:
        assert np.ptp(sums) > 20


def test_which_codes_hold_no_level_is_as_books_have_it():
    """Raw levels hold any level; delay modulation up to a third (from memory); the phase codes and cycles none."""
    held = {name: facts(code).largest_mean_level for name, code in CODES.items()}
    assert held["raw levels"] == 1 and held["delay modulation"] == pytest.approx(1 / 3, abs=1e-5)
    assert held["phase encoding"] == held["biphase mark"] == held["cycle length"] == held["phase flips"] == 0
