"""Bit error rates of ideal receivers in white noise, against the formulas.

Sources: LNTwww (TU Munich), exercise 4.18Z: non-coherent orthogonal two tones ½ exp(−Eb/2N0), coherent ones
Q(√(Eb/N0)), antipodal signalling Q(√(2 Eb/N0)); a tone or none, coherent, Q(√(Eb/N0)) with the mean energy of a bit
(from memory). For a sine of amplitude A and N samples a bit, Eb/N0 is A²N/4σ²; for a square of ±A, A²N/2σ².
Only tones whose distance is a whole multiple of the bit rate are orthogonal for a non-coherent receiver.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.stats import beta, norm

from kit.detectors import coherent, noncoherent, rounded
from kit.linecodes import OnOffTone, PhaseEncoding, PhaseFlips, RawLevels
from kit.tonepairs import TonePair
from kit.tones import TwoTones
from kit.waves import render

RATE, UNIT_S = 19_200, 1 / 2400
WITHIN_DB = 0.3
SURE = 0.99  # that the true error rate lies where it is claimed to


def antipodal(eb_n0):
    return norm.sf(np.sqrt(2 * eb_n0))


def orthogonal(eb_n0):
    return norm.sf(np.sqrt(eb_n0))


def orthogonal_unknown_phase(eb_n0):
    return 0.5 * np.exp(-eb_n0 / 2)


@dataclass(frozen=True)
class Case:
    """A code, how it is drawn and received, and the formula for its errors."""

    code: object
    formula: object
    wave: str = "square"
    phase_known: bool = True

    @property
    def cell_samples(self):
        return self.code.cell_units * UNIT_S * RATE

    def energy(self):
        """Mean energy of a bit of amplitude 1, in samples."""
        part = {"square": 1.0, "rounded": 0.5}[self.wave] * (0.5 if isinstance(self.code, OnOffTone) else 1.0)
        return part * self.cell_samples

    def errors(self, eb_n0, bits, rng):
        """How many of some random bits are received wrong."""
        sent = rng.integers(0, 2, bits).astype(np.uint8)
        drawn = rounded if self.wave == "rounded" else render
        clean = drawn(self.code.encode(sent) * UNIT_S, RATE, 1.0).astype(float)
        sigma = np.sqrt(self.energy() / (2 * eb_n0))
        noisy = clean + rng.normal(0, sigma, len(clean))
        if self.phase_known:
            got = coherent(noisy, RATE, self.code, UNIT_S, cells=bits, wave=self.wave, peak=1.0)
        else:
            got, _ = noncoherent(noisy, RATE, self.code, UNIT_S, cells=bits)
        assert len(got) == bits
        return np.count_nonzero(got != sent)


CASES = {
    "the 1976 tones, phase unknown": Case(TwoTones(8, 16, 8.0), orthogonal_unknown_phase, "rounded", False),
    "one cycle and two, phase unknown": Case(TwoTones(2, 4, 2.0), orthogonal_unknown_phase, "rounded", False),
    "one cycle and two, phase known": Case(TwoTones(2, 4, 2.0), orthogonal, "rounded"),
    "one cycle and two, square, phase known": Case(TwoTones(2, 4, 2.0), orthogonal),
    "raw levels": Case(RawLevels(2.0), antipodal),
    "phase flips": Case(PhaseFlips(2, 2.0), antipodal),
    "phase encoding": Case(PhaseEncoding(2.0), antipodal),
    "a tone or none": Case(OnOffTone(2, 2.0), orthogonal),
}


@pytest.mark.parametrize("rate, bits", [(1e-2, 60_000), (1e-3, 250_000)])
@pytest.mark.parametrize("name", CASES)
def test_an_ideal_receiver_makes_as_many_errors_as_its_formula_says_within_0_3_db(name, rate, bits):
    """The whole interval in which the true rate lies, with 99 % confidence, is within ±0.3 dB of the formula."""
    case = CASES[name]
    eb_n0 = brentq(lambda ratio: case.formula(ratio) - rate, 0.1, 100)
    wrong = case.errors(eb_n0, bits, np.random.default_rng([len(name), bits]))
    low, high = beta.ppf((1 - SURE) / 2, wrong, bits - wrong + 1), beta.ppf((1 + SURE) / 2, wrong + 1, bits - wrong)
    best, worst = (case.formula(eb_n0 * 10 ** (db / 10)) for db in (WITHIN_DB, -WITHIN_DB))
    assert best < low and high < worst


def test_the_formulas_have_their_published_values():
    """At 8, 10 and 12 dB; antipodal signalling makes one error in 100,000 bits at 9.6 dB."""
    ratios = 10 ** (np.array([8, 10, 12]) / 10)
    np.testing.assert_allclose(orthogonal_unknown_phase(ratios), [2.1324e-2, 3.3690e-3, 1.8089e-4], rtol=1e-4)
    np.testing.assert_allclose(orthogonal(ratios), [6.0044e-3, 7.8270e-4, 3.4303e-5], rtol=1e-4)
    np.testing.assert_allclose(antipodal(ratios), [1.9091e-4, 3.8721e-6, 9.0060e-9], rtol=1e-4)
    assert antipodal(10**0.96) == pytest.approx(1e-5, rel=0.05)


@pytest.mark.parametrize(
    "spacing, orthogonal_tones",
    [(4, True), (1, True), (2 / 3, False)],
    ids=["the 1976 standard", "one cycle and two", "V.21"],
)
def test_tones_are_orthogonal_only_if_they_are_a_whole_multiple_of_the_bit_rate_apart(spacing, orthogonal_tones):
    """What a receiver for one tone hears of the other in one bit, whatever its phase, computed by integration."""
    time = (np.arange(20_000) + 0.5) / 20_000  # of one bit
    heard = abs(np.mean(np.exp(2j * np.pi * spacing * time)))
    assert (heard < 1e-9) == orthogonal_tones


def test_tones_that_are_not_orthogonal_make_a_receiver_worse_than_the_formula_if_it_knows_no_phase():
    """V.21 tones are two thirds of the bit rate apart: its errors are beyond what orthogonal tones would give."""
    code = TonePair.of_hz(1180, 980, 300)
    case = Case(code, orthogonal_unknown_phase, "rounded", False)
    eb_n0, bits = 10**0.9, 40_000
    wrong = case.errors(eb_n0, bits, np.random.default_rng(5))
    assert beta.ppf(0.005, wrong, bits - wrong + 1) > orthogonal_unknown_phase(eb_n0)
