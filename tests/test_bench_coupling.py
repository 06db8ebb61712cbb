"""The bench of coupling: the sag against its law, and what lesson 3 lets people predict, on many tapes."""

import numpy as np
import pytest

from kit.bench import coupling
from kit.bench.bitrows import differing
from kit.bench.coupling import COUPLING, CouplingState, draw, find, sound
from kit.bench.model import Model
from kit.bench.scene import Stretch

SEEDS = range(100, 200)
BLACK = CouplingState(content="black picture")


@pytest.fixture
def seeded(monkeypatch):
    """Set the seed of hiss and random bits."""
    return lambda number: monkeypatch.setattr(coupling, "SEED", number)


@pytest.mark.parametrize("corner_hz", [10, 20, 50])
def test_a_held_level_sags_by_the_law_of_a_capacitor(corner_hz):
    """e^(-2 pi f t), t being the time the level was held: 32 bits at 1200 a second."""
    result = find(CouplingState(content="black picture", corner_hz=corner_hz))
    # It begins where the one before it left the capacitor: somewhat below -1.
    before = 2 - np.exp(-2 * np.pi * corner_hz / 1200)
    law = before * np.exp(-2 * np.pi * corner_hz * 32 / 1200)
    assert result.run_bits == 32 and result.run_level == pytest.approx(law, rel=0.25, abs=0.004)


def test_without_coupling_and_speed_error_raw_levels_read():
    for content in coupling.CONTENTS:
        result = find(CouplingState(content=content, corner_hz=0))
        assert result.run_level == 1 and not result.raw_wrong.any() and not result.other_wrong.any()


def test_a_black_picture_sags_to_zero_and_has_no_edges_to_count(seeded):
    """What lesson 3 lets people predict: in raw levels it is lost, in cycle length every bit is right."""
    lost, kept, counted = 0, 0, 0
    for seed in SEEDS:
        seeded(seed)
        result = find(BLACK)
        lost += bool(result.raw_wrong.any())
        kept += not result.other_wrong.any()
        counted += result.found_edges != result.written_edges
    assert result.run_level < 0.01 and result.written_edges == 0
    assert min(lost, kept, counted) >= 95
    assert "0 %" in result.text and "nothing on the tape tells how many bits went by" in result.text


def test_random_bits_sag_less_than_a_black_picture(seeded):
    for seed in SEEDS[:20]:
        seeded(seed)
        assert find(CouplingState(content="random bits")).run_level > find(BLACK).run_level


def test_a_speed_error_slips_where_no_edge_keeps_the_clock():
    """32 bits without an edge, 4 % too fast: 1.3 bits too few; with edges, as in text, the clock is kept."""
    text = find(CouplingState(corner_hz=0, speed_percent=4))
    black = find(CouplingState(content="black picture", corner_hz=0, speed_percent=4))
    assert not text.raw_wrong.any() and not text.other_wrong.any()
    assert black.raw.cells.times[-1] - black.raw.cells.times[0] > 1.02 * 32 / 1200 / 1.04


def test_only_the_code_that_holds_levels_minds_the_coupling():
    for code in ("biphase mark", "phase encoding", "two tones"):
        result = find(CouplingState(content="black picture", code=code))
        assert result.raw_wrong.any() and not result.other_wrong.any(), code


def test_wrong_bits_are_hatched_and_counted_alike():
    result = find(BLACK)
    read = draw(BLACK, result).panes[2]
    assert dict(result.figures)["raw levels: bits wrong"] == f"{result.raw_wrong.sum()} of 32"
    assert 0 < sum(isinstance(item, Stretch) for item in read.items) <= result.raw_wrong.sum()
    assert differing(result.bits, result.raw.cells.bits).tolist() == result.raw_wrong.tolist()


def test_no_text_is_said_to_be_none():
    assert "type a text" in find(CouplingState(words="")).text


def test_text_is_written_as_python_has_it_and_what_is_cut_off_is_not_read():
    result = find(CouplingState(words="Wäää", corner_hz=0))
    assert np.packbits(result.bits).tobytes() == "Wäää".encode()[:4]


def test_what_is_heard_is_the_raw_wave_and_no_louder_than_half():
    state = CouplingState()
    heard = sound(state, find(state))
    assert 0.1 < np.abs(heard.samples).max() <= 0.5


def test_what_changed_names_the_corner():
    model = Model(COUPLING)
    model.change(content="black picture")
    assert "what is written from text to black picture" in model.outcome.changed
