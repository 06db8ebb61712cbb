"""What a trial of the doctor brought to light: each of these recordings was once explained wrongly."""

import base64
import random
from dataclasses import replace

import pytest

import kit
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
