"""Trials and grids of them: the same through pickle and JSON, refused in one line where they are wrong."""

import pickle
import random

import pytest

import kit
from kit.cells import CycleLength
from kit.deck import Deck
from kit.errors import SettingError
from kit.formats import Format
from kit.frames import Frame
from kit.known import FORMATS
from kit.leader import Leader
from kit.tones import TwoTones
from kit.trials import Trial, grid, run, vary

pytest_plugins = ["trial_cases"]

def test_a_grid_has_every_combination_and_the_last_setting_changes_fastest():
    trials = grid(["house", "twice"], ["home", "worn"], range(2), speeds=[1, 2], size=[10, 20])
    assert len(trials) == len({trial.key for trial in trials}) == 32
    assert [trial.size for trial in trials[:4]] == [10, 20, 10, 20]
    assert [trial.speed for trial in trials[:4]] == [1, 1, 2, 2]
    assert [trial.format.name for trial in trials] == ["house"] * 16 + ["twice"] * 16


def test_a_trial_goes_through_pickle_and_json_and_stays_the_same():
    own = Format("own", frame=Frame(parity="odd"), block_bytes=32, about="for this test")
    deck = Deck(source_wiring="left-dead", hiss_dbfs=-40, source_inverted=True)
    for trial in (Trial("sturdy", "portable", seed=3, speed=2), Trial(own, deck, counter=kit.Counter(30e-6))):
        assert pickle.loads(pickle.dumps(trial)) == trial
        again = Trial.from_json(trial.to_json())
        assert again.key == trial.key
        assert again.deck == trial.deck and again.format.changed(about="") == trial.format.changed(about="")
    assert Trial.from_json(Trial("twice", "worn").to_json()) == Trial("twice", "worn")


def test_the_key_is_the_same_on_any_day_and_differs_with_any_setting():
    """The digits were written down when the table was made; rows kept on disk are found by them."""
    assert Trial("house").key == "12eef9c216cf3671"
    others = [Trial("house", **change) for change in (
        {"deck": Deck(hum_dbfs=-40)}, {"seed": 1}, {"speed": 2}, {"size": 201}, {"message": "text"},
        {"lead_in_s": 2}, {"rate": 48000}, {"channels": 2}, {"generations": 2}, {"listen": "own"},
        {"patient": True}, {"counter": kit.Counter()}, {"label": "mine"})]
    others.append(Trial(FORMATS["house"].changed(block_bytes=64)))
    assert len({trial.key for trial in others} | {Trial("house").key}) == len(others) + 1
    assert Trial("house", speed="ordinary").key == Trial("house", speed=1).key == Trial("house").key


@pytest.mark.parametrize("settings, said", [
    ({"decks": "studoi"}, "deck must be"), ({"formats": "hause"}, "format must be"),
    ({"seeds": -1}, "seed must be"), ({"seeds": 0.5}, "seed must be"), ({"size": 0}, "size must be"),
    ({"message": "song"}, "message must be"), ({"listen": "house"}, "listen must be"),
    ({"channels": 3}, "channels must be"), ({"lead_in_s": float("nan")}, "lead_in_s must lie"),
    ({"patient": "no"}, "patient must be"), ({"counter": 3}, "counter must be"), ({"speeds": 99}, "speed must be"),
    ({"depth": 3}, "a setting must be one of"), ({"deck": "home"}, "a setting must be one of"),
])
def test_a_wrong_setting_is_refused_in_one_line_before_anything_runs(settings, said):
    with pytest.raises(SettingError, match=said) as refused:
        grid(**settings)
    assert "\n" not in str(refused.value) and "got" in str(refused.value)


def test_a_deck_is_varied_and_each_variant_has_a_label():
    variants = vary("home", hiss_dbfs=[-40, -30], hum_dbfs=-50)
    assert list(variants) == ["home, hiss_dbfs -40, hum_dbfs -50", "home, hiss_dbfs -30, hum_dbfs -50"]
    assert [deck.hiss_dbfs for deck in variants.values()] == [-40, -30]
    trials = grid(decks=variants)
    assert [trial.label for trial in trials] == list(variants)
    table = run(trials, processes=1).with_deck("hiss_dbfs", "source_wiring")
    assert table["hiss_dbfs"].tolist() == [-40, -30]
    assert table["source_wiring"].tolist() == ["straight", "straight"]
    with pytest.raises(SettingError, match="settings of a deck"):
        table.with_deck("his")


def test_messages_are_as_long_as_asked_and_follow_from_the_seed():
    for message in ("random", "text", "zeros", "ones"):
        one, same, other = (Trial("house", seed=seed, size=77, message=message).data() for seed in (1, 1, 2))
        assert len(one) == 77 and one == same
        assert (one != other) == (message in ("random", "text"))
    assert Trial("house", seed=5, size=9).data() == random.Random(5).randbytes(9)


@pytest.mark.parametrize("code", [TwoTones(), TwoTones(8, 16, cell_units=8.0), CycleLength(1.0, 3.0)])
def test_a_learners_cell_code_is_the_same_after_a_line_of_json(code):
    """Also one that is as its kind usually is: which kind, the line must say."""
    trial = Trial(kit.Format("mine", code=code, leader=Leader(6.0, 4.5)))
    assert Trial.from_json(trial.to_json()).format.code == code
    assert trial.key != Trial(kit.Format("mine", leader=Leader(6.0, 4.5))).key
