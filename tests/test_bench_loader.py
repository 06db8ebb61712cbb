"""The bench of loader speeds: what lesson 11 lets people predict, on several sets of tapes, and the ceiling."""

import numpy as np
import pytest

from kit.bench import loader
from kit.bench.loader import LOADER, LoaderState, attempt, draw, find, pick, sound
from kit.bench.model import Model
from kit.bench.scene import Stretch
from kit.deck import capacity, decks

SETS = range(1000, 1040, 4)  # of four tapes each: a tenth of the hundred sets that a quicker bench is put to


def found(**settings):
    return Model(LOADER, LoaderState(**settings)).result


def test_time_to_a_good_load_shrinks_and_then_jumps_to_never(monkeypatch):
    """What lesson 11 lets people predict: on every set of tapes, with a little hiss, on the portable."""
    for first in SETS:
        monkeypatch.setattr(loader, "SEED", first)
        result = found(hiss_db=6)
        best = int(np.argmin(result.good_s))
        assert 1 <= best <= 4 and np.all(np.diff(result.good_s[: best + 1]) < 0), first
        assert np.isinf(result.good_s[best + 2 :]).all() and result.whole[-1] == 0, first
        assert "shrinks" in result.text and "jumps to never" in result.text


def test_a_load_that_fails_now_and_then_takes_as_much_longer_as_it_fails():
    result = found()
    loads = result.whole > 0
    assert result.good_s[loads] == pytest.approx(result.seconds[loads] / (result.whole[loads] / result.tapes))
    assert np.all(np.diff(result.seconds) < 0)


def test_a_better_recorder_bears_a_faster_loader_and_a_worn_one_a_slower():
    best = [found(deck=name).speeds[np.argmin(found(deck=name).good_s)] for name in ("studio", "portable", "worn")]
    assert best[0] > best[1] > best[2]


def test_more_hiss_lowers_the_ceiling_as_shannon_has_it():
    assert found(hiss_db=0).ceiling == capacity(decks["portable"])
    quiet, loud = found(hiss_db=0), found(hiss_db=21)
    assert loud.ceiling < quiet.ceiling and loud.whole.sum() < quiet.whole.sum()
    assert np.all(quiet.bits_per_second[quiet.whole > 0] < quiet.ceiling)


def test_copies_take_longer_and_are_on_the_tape():
    once, twice = found(), found(copies=2)
    assert np.all(twice.seconds > 1.4 * once.seconds)


def test_a_step_of_the_speed_tries_no_tape_again(monkeypatch):
    model = Model(LOADER)
    before = attempt.cache_info().misses
    model.change(speed=4.0)
    assert attempt.cache_info().misses == before and dict(model.result.figures)["one load takes"] == "0.86 s"


def test_the_work_says_how_far_it_is_and_never_pauses_long():
    steps = list(find(LoaderState(tapes=4)))
    assert len(steps) == 36 and np.all(np.diff(steps) > 0) and steps[0] == 0 and steps[-1] < 1


def test_the_picture_hatches_what_never_loads_and_pointing_at_it_chooses_a_speed():
    state = LoaderState()
    scene = draw(state, found())
    never = [item for item in scene.panes[1].items if isinstance(item, Stretch)]
    assert len(never) == 1 and never[0].label == "never" and never[0].start > 6500
    model = Model(LOADER)
    model.pick(1, 6400.0)
    assert model.state.speed == 4.0 and pick(state, 0, 1.0) == {}


def test_what_is_heard_is_the_tape_at_that_speed():
    for speed in (1.0, 16.0):
        state = LoaderState(speed=speed)
        heard = sound(state, Model(LOADER, state).result)
        assert heard.rate <= 48_000 and np.abs(heard.samples).max() > 0.1
