"""The bench of levels: edges against a loop written out, and the claims of the lesson it belongs to on many tapes."""

import numpy as np
import pytest

from kit.bench import levels
from kit.bench.levels import LEVELS, LevelsState, draw, find, pick, threshold_edges
from kit.bench.model import Model
from kit.deck import Deck

SEEDS = range(100, 200)


@pytest.fixture
def seeded(monkeypatch):
    """Set the seed of the hiss; what was kept of other seeds is forgotten, before and after."""
    def forget():
        levels._tape.cache_clear()
        levels._sweep.cache_clear()

    def seed(number):
        monkeypatch.setattr(levels, "SEED", number)
        forget()

    yield seed
    monkeypatch.undo()
    forget()


def edges_by_loop(samples, threshold):
    """The same reader, sample by sample."""
    said, found = 0, []
    for k, value in enumerate(samples):
        now = 1 if value > threshold else -1 if value < -threshold else said
        if said and now != said:
            line = threshold * now
            found.append(k - 0.5 + (line - samples[k - 1]) / (value - samples[k - 1]))
        said = now
    return found


@pytest.mark.parametrize("threshold", [0.0, 0.1, 0.5, 2.0])
def test_edges_are_those_of_a_reader_that_goes_sample_by_sample(threshold):
    wave = np.random.default_rng(5).normal(0, 0.4, 3000).cumsum() % 2 - 1
    assert threshold_edges(wave, threshold).tolist() == pytest.approx(edges_by_loop(wave, threshold))


def test_a_clean_tape_reads_at_any_level_above_the_threshold_also_cut_off_at_full_scale():
    result = find(LevelsState(hiss_db=-60, level_db=20, threshold_percent=10))
    assert result.wrong == 0 and result.good_db[1] == 20
    assert np.abs(result.samples).max() == 1 and "cuts the wave off" in result.text
    assert -18 <= result.good_db[0] <= -12  # the threshold lies at 10 %: -20 dB, and short cycles are smaller


def test_a_wave_below_the_threshold_gives_no_edges_and_it_says_so():
    result = find(LevelsState(hiss_db=-60, level_db=-30, threshold_percent=10))
    assert len(result.edges_ms) == 0 and result.wrong == result.bits
    assert "edges are missing" in result.text


def test_turning_up_a_hissy_tape_gives_the_same_or_worse(seeded):
    """What lesson 10 lets people predict: from the start of the bench up by 14 dB, on at least 95 of 100 tapes."""
    worse, better = 0, 0
    for seed in SEEDS:
        seeded(seed)
        first = find(LevelsState(hiss_db=-12, level_db=-10))
        louder = find(LevelsState(hiss_db=-12, level_db=4))
        worse += louder.wrong > first.wrong
        better += louder.wrong < first.wrong
    assert better <= 0.05 * len(SEEDS)
    assert worse >= 0.8 * len(SEEDS)


def test_a_higher_threshold_moves_the_good_levels_up(seeded):
    for seed in SEEDS[:10]:
        seeded(seed)
        low, high = (find(LevelsState(hiss_db=-20, threshold_percent=part)).good_db[0] for part in (5, 40))
        assert high - low == pytest.approx(20 * np.log10(40 / 5), abs=4)


def test_the_sweep_has_at_each_level_what_the_slider_finds_there():
    whole = find(LevelsState())
    for level in (-40, -18, -8, 0, 20):
        assert find(LevelsState(level_db=level)).wrong == whole.wrong_at[whole.levels_db == level][0]


@pytest.mark.parametrize("words", ["", "Möwen: 3", "x" * 70])
def test_any_text_is_read_at_every_level(words):
    result = find(LevelsState(words=words, hiss_db=-30))
    assert result.bits == 8 * len(words.encode()) and result.wrong == 0
    assert len(draw(LevelsState(words=words), result).panes) == 2


def test_each_text_has_hiss_of_its_own():
    one, other = (find(LevelsState(words=words, level_db=4)).samples[:200] for words in ("Seals 3", "Gulls 3"))
    assert not np.allclose(one, other, atol=0.05)


def test_the_text_counts_the_edges_that_hiss_adds():
    result = find(LevelsState(level_db=8))
    assert len(result.edges_ms) > 181 and "Hiss adds edges" in result.text and result.wrong > 0
    assert dict(result.figures)["edges found"] == f"{len(result.edges_ms)} of 181"


def test_a_tape_that_no_level_reads_is_said_to_be_one():
    result = find(LevelsState(hiss_db=-4))
    assert len(result.good_db) == 0 and "at no level" in result.text


def test_pointing_at_the_sweep_is_the_same_as_moving_the_slider():
    model = Model(LEVELS)
    model.pick(1, -17.2)
    assert model.state.level_db == -18
    model.pick(0, 3.0)
    for wrong in (900.0, float("nan"), None, "far"):
        model.pick(1, wrong)
    assert model.state.level_db == -18
    assert pick(LevelsState(), 1, 0.4) == {"level_db": 0}


def test_the_tape_is_what_the_simulated_recorder_makes_of_it():
    """The bench filters by the deck's response; the deck itself does so sample by sample."""
    _, message, _ = levels._message(levels.TEXT)
    deck = Deck(replay_spacing_um=levels.REPLAY_SPACING_UM, hiss_dbfs=-32)
    whole = deck.play(message, seed=levels.seed_of(levels.TEXT))
    # But for the two ends, which meet when the whole is filtered at once.
    np.testing.assert_allclose(levels._tape(levels.TEXT, -12)[50:-50], 10 * whole.samples[50:-50], rtol=0, atol=0.02)
