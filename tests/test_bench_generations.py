"""The bench of generations: what lesson 12 lets people predict, and how noise adds up."""

import numpy as np
import pytest

from kit.bench import generations
from kit.bench.generations import GENERATIONS, MOST, GenerationsState, draw, find, pick, sound
from kit.bench.model import Model
from kit.deck import decks

SEEDS = range(100, 110)  # a tenth of the hundred that a quicker bench is put to


@pytest.fixture(autouse=True)
def no_chain_is_left_over(monkeypatch):
    monkeypatch.setattr(generations, "_chains", dict(generations._chains))


def found(**settings):
    return Model(GENERATIONS, GenerationsState(**settings)).result


def loads(chain):
    return [one.loads for one in chain]


def test_dubs_gather_hiss_and_then_fail_and_tapes_written_anew_start_clean(monkeypatch):
    """What lesson 12 lets people predict, on every one of ten tapes: on the portable, at twice the speed."""
    for seed in SEEDS:
        monkeypatch.setattr(generations, "SEED", seed)
        result = found(speed="double")
        assert result.dubs[0].loads and not any(loads(result.dubs)[5:]), seed
        assert loads(result.written) == [True] * MOST, seed
        assert result.dubs[-1].noise_db > result.dubs[0].noise_db + 8, seed
        noise = [one.noise_db for one in result.written]
        assert max(noise) - min(noise) < 2 and result.written[-1].margin > result.dubs[1].margin, seed


def test_each_dub_adds_its_own_noise_so_that_it_doubles_from_the_first_to_the_second(monkeypatch):
    """k equal noises are 10 log10 k louder than one (3.01 dB for two): with nothing but hiss on the recorder."""
    deck = decks["home"].with_settings(hum_dbfs=-140, hiss_dbfs=-40, dropouts_per_minute=0)
    monkeypatch.setattr(generations, "decks", {**decks, "home": deck})
    monkeypatch.setattr(generations, "_chains", {})
    noise = np.array([one.noise_db for one in found(deck="home").dubs[:4]])
    assert noise[1] - noise[0] == pytest.approx(3.01, abs=0.7)
    # From then on the highs of the first noise have been lost more than once.
    assert np.all(np.diff(noise) > 0) and noise[3] - noise[0] == pytest.approx(6.02, abs=1.5)


@pytest.mark.parametrize("deck", ["home", "portable"])
def test_a_faster_tape_bears_fewer_dubs(deck):
    last = [sum(loads(found(deck=deck, speed=speed).dubs)) for speed in ("ordinary", "double", "quadruple")]
    assert last[0] >= last[1] >= last[2] and last[0] > last[2]


def test_the_better_recorder_bears_more_dubs():
    last = [sum(loads(found(deck=deck, speed="quadruple").dubs)) for deck in ("portable", "home", "studio")]
    assert last[0] < last[1] < last[2]


def test_dubs_are_what_the_deck_itself_makes_of_copies():
    result = found(generation=3)
    _, clean, _ = generations._tape(1.0)
    copied = decks["portable"].copy(clean, generations=3, seed=generations.SEED)
    assert np.array_equal(result.dubs[2].samples, copied.samples)


def test_where_a_tape_is_not_read_the_chain_of_checked_copies_ends(monkeypatch):
    deck = decks["portable"].with_settings(replay_spacing_um=4)
    monkeypatch.setattr(generations, "decks", {**decks, "portable": deck})
    monkeypatch.setattr(generations, "_chains", {})
    state = GenerationsState(generation=5, speed="quadruple")
    result = Model(GENERATIONS, state).result
    assert len(result.written) < MOST and not result.written[-1].loads
    assert "the chain of checked copies ends" in result.text
    assert np.isfinite(np.frombuffer(draw(state, result).packed()[1], "<f4")).all()


def test_what_was_copied_once_is_kept_and_the_work_says_how_far_it_is(monkeypatch):
    monkeypatch.setattr(generations, "_chains", {})
    assert list(find(GenerationsState())) == [k / MOST for k in range(MOST)]
    assert list(find(GenerationsState(generation=7))) == []


def test_pointing_at_a_generation_is_the_same_as_moving_the_slider():
    model = Model(GENERATIONS)
    model.pick(1, 4.3)
    assert model.state.generation == 4 and "Generation 4" in model.result.text
    assert pick(model.state, 0, 1.0) == {}
    assert sound(model.state, model.result).frames == len(model.result.dubs[3].samples)
