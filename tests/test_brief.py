"""A brief reading: of a tape of which nothing reads it takes a part, of one that reads it misses nothing."""

import random

import numpy as np
import pytest

import kit
from kit.lane import Lane
from kit.tries import ONE_OF

HOME = kit.decks["home"]
HOUSE, VAIN, TRIES = "house", 10, 8
DATA = random.Random(12).randbytes(6000)


@pytest.fixture(scope="module")
def tape():
    return kit.encode(DATA, name="log.bin", block_bytes=256, lead_in_s=1.0)


def whole(sound, **settings):
    return [block.content for block in kit.decode(sound, quick=True, **settings).blocks if block.whole]


def counted(monkeypatch, name):
    """How often a lane does something, as a list that grows."""
    calls, real = [], getattr(Lane, name)

    def spy(self, *arguments):
        calls.append(name)
        return real(self, *arguments)

    monkeypatch.setattr(Lane, name, spy)
    return calls


def test_only_a_quick_reading_may_be_brief(tape):
    with pytest.raises(kit.SettingError, match="quick must be True where brief is True"):
        kit.decode(tape, brief=True)


@pytest.mark.parametrize("deck", ["home", "portable"])
def test_what_reads_is_read_in_brief_as_well(tape, deck):
    played = kit.decks[deck].play(tape, seed=2)
    assert whole(played, brief=True) == whole(played)
    assert kit.decode(played, quick=True, brief=True).files[0].data == DATA


def test_a_reversed_tape_reads_in_brief_as_well(tape):
    played = HOME.play(tape, seed=3)
    reversed_ = kit.Sound(played.samples[::-1].copy(), played.rate)
    assert len(whole(reversed_)) > 20
    assert whole(reversed_, brief=True) == whole(reversed_)


def test_of_a_tape_of_which_nothing_reads_only_so_many_starts_are_tried(monkeypatch):
    """Echo that no loader bears: without an end to it, each start is tried with each format."""
    drowned = HOME.with_settings(room_distance_m=2, room_reverberation_s=0.7, room_reverberation_db=0).play(
        kit.encode(DATA[:1600], name="log.bin", block_bytes=64, lead_in_s=0.5))
    tried, looked = counted(monkeypatch, "_try"), counted(monkeypatch, "_salvage_at")
    assert not whole(drowned, format=HOUSE)
    without = len(tried), len(looked)
    tried.clear()
    looked.clear()
    monkeypatch.setattr("kit.tries.VAIN_STARTS", VAIN)
    monkeypatch.setattr("kit.tries.DAMAGED_TRIES", TRIES)
    assert not whole(drowned, format=HOUSE, brief=True)
    assert len(tried) <= VAIN + 2 + without[0] / ONE_OF and len(looked) <= 8 * TRIES + 20
    assert without[0] > 3 * VAIN and without[1] > 8 * TRIES + 20


def test_what_reads_behind_a_long_stretch_that_does_not_is_found(tape):
    """Of the blocks behind it no more are missed than there are starts between two that are tried."""
    noise = 0.2 * np.random.default_rng(5).standard_normal(60 * tape.rate)
    both = kit.Sound(np.concatenate([noise, tape.samples]).astype(np.float32), tape.rate)
    every, some = whole(both), whole(both, brief=True)
    assert len(every) >= 24 and set(some) <= set(every) and len(some) >= len(every) - 8
