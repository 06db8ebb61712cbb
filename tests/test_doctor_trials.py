"""What a trial of the doctor brought to light: each of these recordings was once explained wrongly."""

import base64
import random
from dataclasses import replace

import numpy as np
import pytest

import kit
from kit.doctor.pace import Pace
from kit.doctor.rules_wave import highs

TEXT = base64.encodebytes(random.Random(5).randbytes(400))  # about 540 bytes
HOME = kit.decks["home"]


@pytest.fixture(scope="module")
def tape():
    return kit.encode(TEXT, name="log.txt")


def found(sound):
    return {finding.key: finding for finding in kit.diagnose(sound).findings}


def keys(sound):
    return [finding.key for finding in kit.diagnose(sound).findings]


# -- words ----------------------------------------------------------------------------------------------


def test_the_cure_of_a_wrong_speed_says_that_decode_follows_it_by_itself(tape):
    played = kit.Deck(replay_speed_percent=15).play(tape)
    assert kit.decode(played, quick=True).files[0].data == TEXT
    first, *_ = found(played)["speed_off"].remedies
    assert "decode follows it by itself" in first.text and "recorder" in first.text and first.cautions


def test_no_cause_is_named_twice(tape):
    """Data that is far weaker than its leader is laid to noise reduction first, and only once."""
    seen = kit.diagnose(HOME.play(tape)).evidence
    weaker = [replace(course, data_db=-9.0) for course in seen.courses]
    (finding,) = highs(replace(seen, courses=weaker))
    assert finding.candidates[0] == "noise reduction on in playing"
    assert len(set(finding.candidates)) == len(finding.candidates)


# -- speed ----------------------------------------------------------------------------------------------


def test_a_speed_between_two_presets_is_one_finding_that_names_both(tape):
    (finding,) = kit.diagnose(kit.Deck(replay_speed_percent=45).play(tape)).findings
    assert finding.key == "speed_off"
    assert [fact.value for fact in finding.evidence] == pytest.approx([-27.5, 45.0], abs=0.05)
    assert finding.candidates[:2] == ("45.0 % fast (against ordinary speed)",
                                      "27.5 % slow (against 2 times ordinary speed)")
    assert all(way in finding.sentence for way in finding.candidates[:2])


@pytest.mark.parametrize("swing", [{"wow": (12, 1.0)}, {"wow": (6, 0.7)}, {"flutter": (4, 12.0)}],
                         ids=lambda swing: next(iter(swing)))
def test_a_swing_of_speed_feigns_no_steady_error_on_a_short_tape(swing):
    ((key, (percent, hz)),) = swing.items()
    deck = kit.Deck(**{f"replay_{key}_percent": percent, f"replay_{key}_hz": hz})
    short = kit.encode(TEXT[:100], name="log.txt")
    for seed in range(3):
        assert "speed_off" not in found(deck.play(short, seed=seed))


def test_a_steady_error_is_still_seen_through_a_swing(tape):
    deck = kit.Deck(replay_speed_percent=8, replay_wow_percent=6, replay_wow_hz=0.7)
    assert found(deck.play(tape))["speed_off"].evidence[0].value == pytest.approx(8, abs=1.9)


def test_a_swing_leaves_open_what_its_last_turn_may_have_added():
    """Compared with sines of all phases, averaged over the same stretch."""
    pace, hz = Pace(1e-3, (2.3,)), 0.7
    times_s, turns = np.linspace(0, 2.3, 20_000), np.linspace(0, 1, 200)
    means = [np.mean(np.sin(2 * np.pi * (hz * times_s + turn))) for turn in turns]
    assert 0.5 * pace.left_open(100, hz) < max(means) <= pace.left_open(100, hz) + 1e-3
