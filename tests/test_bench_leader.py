"""The bench of the leader: against the deck's own motor, and what lesson 5 lets people predict, on many tapes."""

import numpy as np
import pytest

from kit.bench import leadertape
from kit.bench.leader import LEADER, LeaderState, find
from kit.bench.leadertape import FORMAT, RECORDING, REPLAY, heard_s, speed_at, speed_there, steady, wave_um
from kit.bench.model import Model
from kit.bench.quickreading import read_at_once
from kit.deck import Deck
from kit.tape import encode

SEEDS = range(100, 200)


@pytest.fixture
def seeded(monkeypatch):
    """Set the seed of the hiss; what was kept of other seeds is forgotten, before and after."""
    def seed(number):
        monkeypatch.setattr(leadertape, "SEED", number)
        leadertape.tape.cache_clear()

    yield seed
    leadertape.tape.cache_clear()


def test_a_leader_of_a_twentieth_of_a_second_loses_the_first_block_and_a_long_one_does_not(seeded):
    """What lesson 5 lets people predict, for a motor that starts in 0.5 s and a level that settles: 100 tapes."""
    lost = read = 0
    for seed in SEEDS:
        seeded(seed)
        lost += not find(LeaderState(leader_s=0.05)).tape.blocks[0][3]
        read += find(LeaderState(leader_s=1.0)).tape.blocks[0][3]
    assert lost >= 95 and read >= 95


def test_it_is_the_speed_and_the_short_waves_that_lose_it_not_the_level_alone(seeded):
    """With the motor running, or a clean head, the same short leader does: the kit's reader locks in four cycles."""
    for seed in SEEDS[:20]:
        seeded(seed)
        assert find(LeaderState(motor_s=0.0)).tape.blocks[0][3]
        assert find(LeaderState(dirt_um=0.0)).tape.blocks[0][3]
        assert not find(LeaderState(level_control=False)).tape.blocks[0][3]


@pytest.mark.parametrize("where", [RECORDING, REPLAY])
def test_blocks_are_heard_when_the_decks_own_motor_brings_them(where):
    """The deck warps samples; here edges are moved. At a rate at which the warp loses nothing they agree."""
    format = FORMAT.changed(lead_in_s=0.5)
    clean = encode(leadertape.TEXT, name="log.txt", format=format, rate=96000)
    side = "record" if where == RECORDING else "replay"
    played = Deck(**{f"{side}_motor_start_s": 0.5}).play(clean, seed=1)
    ours = leadertape.tape(0.5, 0.5, where, 0.0, False, 3, -60)
    found = [block for block in read_at_once(played, format).blocks if block.whole]
    assert len(found) == len(ours.blocks) == 5
    for block, (_, start, stop, read) in zip(found, ours.blocks, strict=True):
        assert read and block.span_s == pytest.approx((start, stop), abs=5e-4)


def test_the_motor_begins_with_a_tenth_of_its_speed_and_nears_it_as_it_should():
    for after, part in ((0.0, 0.1), (0.5, 1 - 0.9 / np.e), (5.0, 1.0)):
        assert speed_at(after, 0.5) == pytest.approx(part, abs=1e-3)
    times = np.linspace(0, 3, 61)
    slope = np.diff(heard_s(times, 0.5, RECORDING)) / np.diff(times)
    assert slope == pytest.approx(speed_at((times[:-1] + times[1:]) / 2, 0.5), abs=2e-3)
    there = heard_s(times, 0.5, REPLAY)
    assert heard_s(there, 0.5, RECORDING) == pytest.approx(times, abs=1e-6)  # one undoes the other
    assert speed_there(float(heard_s(0.3, 0.5, RECORDING)), 0.5, RECORDING) == pytest.approx(speed_at(0.3, 0.5))
    assert wave_um(1.0) == pytest.approx(47625 / 2400)


def test_a_steady_tone_is_one_whose_cycles_are_even():
    even, uneven = np.arange(40) * 0.5, np.cumsum(np.tile([0.5, 0.5, 1.0, 1.0], 10))
    assert steady(even)[8:].all() and not steady(even)[:8].any()
    assert not steady(np.cumsum(np.linspace(1, 6, 40)))[8:16].any()
    assert steady(uneven).shape == (40,) and not steady(even[:5]).any()


def test_edges_come_in_with_the_time_and_none_before(seeded):
    seeded(6)
    for percent in (0, 30, 100):
        state = LeaderState(heard_percent=percent)
        result = find(state)
        scene = LEADER.draw(state, result)
        marks = next(item for item in scene.panes[0].items if getattr(item, "symbol", "") == ".")
        assert len(marks.x) == max(0, np.count_nonzero(result.tape.edges_s <= result.now_s) - 1)
        assert (np.asarray(marks.x) <= result.now_s).all()


def test_a_short_sync_mark_is_forged_by_data_and_a_longer_one_is_not():
    """Rivals: places that look like a start, of which the check finds the true ones."""
    counts = [len(find(LeaderState(leader_s=1.0, sync_cycles=cycles)).tape.starts_s) for cycles in (2, 6)]
    assert counts[0] > 1.5 * counts[1]
    for cycles in (2, 6):
        assert [read for *_, read in find(LeaderState(leader_s=1.0, sync_cycles=cycles)).tape.blocks] == 5 * [True]


def test_the_text_says_where_the_clock_stands_and_what_became_of_the_first_block():
    assert "no edge has come" in find(LeaderState(heard_percent=0, leader_s=1.0)).text
    result = find(LeaderState(heard_percent=20, leader_s=1.0))
    assert "locked to a steady tone" in result.text and "The first block, a header, is read" in result.text
    lost = find(LeaderState())
    assert "a header, is lost" in lost.text and dict(lost.figures)["first block"] == "lost"


def test_pointing_at_a_time_stops_the_clock_there():
    model = Model(LEADER)
    seconds = model.result.tape.sound.seconds
    model.pick(1, 0.4 * seconds)
    assert model.state.heard_percent == 40
    for wrong in (-1.0, 2 * seconds, float("nan")):
        model.pick(0, wrong)
    assert model.state.heard_percent == 40 and LEADER.sound(model.state, model.result).seconds == seconds
