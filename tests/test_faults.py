"""Faults of recorders, alone and in pairs: a seeded tenth of the full set, and the theory it is held against."""

import numpy as np
import pytest
from scipy.stats import norm, poisson

from kit import Deck
from kit.trials import Trial, run
from kit.waves import render
from tests.benchmarks.bench_faults import FAULTS, READERS, described, recordings, whole
from tests.benchmarks.theory import expected_errors, written

# The least part of what theory allows that must be read whole, by whether the reader is patient.
LEAST = {False: 0.8, True: 0.95}


@pytest.fixture(scope="module")
def table():
    """Thirty of the 300 recordings, read."""
    return run(recordings(READERS[-1], every=10), processes=1)


def test_most_recordings_that_theory_allows_are_read_whole(table):
    """One that is read whole was possible to read; of the others theory says which were."""
    missed = [(trial, row) for trial, row in zip(recordings(READERS[-1], every=10), table, strict=True)
              if not whole(row)]
    missed = [(row, said) for trial, row in missed if (said := expected_errors(trial)).allowed]
    read = sum(map(whole, table))
    assert read / (read + len(missed)) >= LEAST[READERS[-1]], "\n".join(described(*pair) for pair in missed)


def test_no_file_is_called_complete_whose_bytes_are_wrong_and_none_is_refused(table):
    assert len(table) == 30
    assert not table["wrong"].any()
    assert set(table["error"]) == {""}


def test_the_full_set_has_each_fault_alone_and_with_others_from_mild_to_severe():
    trials = recordings()
    assert len(trials) == 300 == len({trial.key for trial in trials})
    names = [trial.label.split(": ")[1].split(" and ") for trial in trials]
    assert {name for one in names[:150] for name in one} == set(FAULTS)
    assert all(len(one) == 1 for one in names[:150]) and all(len(set(one)) == 2 for one in names[150:])
    hisses = sorted(trial.deck.hiss_dbfs for trial, one in zip(trials, names, strict=True) if one == ["noise"])
    assert hisses[0] < -25 and hisses[-1] > -8
    assert [trial.key for trial in recordings(every=10)] == [trial.key for trial in trials[::10]]


# -- theory ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("format", ["house", "framed", "twice", "sturdy"])
def test_the_tape_that_theory_looks_at_is_the_tape_that_is_played(format):
    trial = Trial(format, size=70)
    half_cycles_s = np.concatenate([block.half_cycles_s for block in written(trial)])
    assert np.array_equal(render(half_cycles_s, trial.rate), trial.tape().samples)


def test_in_white_noise_theory_is_the_formula_of_the_textbook():
    """Two zeros for a one turn a wave of amplitude A over for one unit T: d^2 = (2A)^2 T, whatever the place.

    Each sample is the mean of the wave over its own time. An edge at a random place in it takes, on average, a sixth
    of a sample's energy where the difference begins and where it ends, and two thirds where it changes sign.
    """
    trial = Trial("house", Deck(hiss_dbfs=-5), size=200)
    variance = 10 ** (-5 / 10) * trial.rate / 2 / 20_000  # the hiss is stated for 20 kHz
    distance = np.sqrt(4 * 0.5**2 * (trial.rate / 2400 - 1) / variance)
    bits = [block.bits for block in written(trial)][:2]  # the second header is as good as the first
    places = sum(np.count_nonzero(one) + np.count_nonzero((one[1:] == 0) & (one[:-1] == 0)) for one in bits)
    said = expected_errors(trial)
    assert said.weakest == pytest.approx(distance, rel=0.06)
    assert said.errors == pytest.approx(places * norm.sf(distance / 2), rel=0.15)


@pytest.mark.parametrize("deck", [
    Deck(hiss_dbfs=-1), Deck(hiss_dbfs=-57, source_level_db=-57), Deck(hiss_dbfs=-17, replay_spacing_um=12),
    Deck(hiss_dbfs=-2, replay_wow_percent=3, replay_speed_percent=10),
])
def test_as_many_errors_are_made_as_are_expected(deck):
    """The noise that was there is no part of what is expected: their number is a Poisson one."""
    said = expected_errors(Trial("framed", deck, seed=3, size=200))
    assert said.errors > 5 and not said.allowed
    low, high = poisson.interval(0.9999, said.errors)
    assert low <= said.made <= high


def test_theory_allows_a_clean_tape_and_none_whose_signal_is_gone():
    assert expected_errors(Trial("house", Deck(hiss_dbfs=-57), size=50)).allowed
    gone = Deck(hiss_dbfs=-57, dropouts_per_minute=200, dropout_depth_db=120, dropout_length_s=0.2)
    said = expected_errors(Trial("house", gone, size=200))
    assert said.weakest < 0.5 and said.errors > 5 and not said.allowed
