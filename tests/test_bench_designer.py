"""The bench for a format of one's own: what it builds, refuses and counts, and its reader against the tape's own."""

import numpy as np
import pytest

from kit.bench import designer
from kit.bench.designer import DESIGNER, draw, find, sound, tried
from kit.bench.fields import fields_of
from kit.bench.model import Model
from kit.bench.ownformat import CODES, DesignerState, build, file_bytes
from kit.bench.tapereading import read_tape
from kit.known import find_format
from kit.sound import Sound
from kit.tape import decode, encode


def found(**settings):
    return Model(DESIGNER, DesignerState(**settings)).result


def test_the_first_format_is_that_of_the_house_with_smaller_blocks():
    house = find_format("house")
    built = build(DesignerState())
    for part in ("unit_hz", "code", "leader", "frame", "check"):
        assert getattr(built, part) == getattr(house, part)


@pytest.mark.parametrize("code", [name for name in CODES if name not in ("raw levels", "on-off tone")])
def test_on_a_good_recorder_the_quick_reader_reads_what_the_tapes_own_reads(code):
    result = found(code=code, deck="home")
    assert all(one.loads and one.sure and one.right == 1 for one in result.tried)
    worn = designer._worn(result.format, "home", designer.SEED)
    reading = decode(worn, format=result.format)
    assert reading.complete and reading.files[0].data == file_bytes(designer.SEED)


def test_where_nothing_can_be_read_it_says_so_and_makes_nothing_up():
    noise = Sound(np.random.default_rng(1).normal(0, 0.1, 48_000).astype(np.float32), 48_000)
    assert not read_tape(noise, build(DesignerState()), 100).files
    result = found(code="raw levels")
    assert result.score == 0 and "0 of 3 tapes load" in result.text


def test_a_damaged_block_is_not_vouched_for():
    format = build(DesignerState())
    tape = encode(file_bytes(0), name="own.bin", format=format, rate=designer.RATE)
    samples = tape.samples.copy()
    samples[48_000:50_400] = 0  # a gap of 0.05 s in a data block
    reading = read_tape(Sound(samples, tape.rate), format, 100)
    assert not reading.complete
    assert read_tape(tape, format, 100).complete


def test_the_seconds_of_the_parts_are_those_of_the_tape():
    for settings in ({}, {"copies": 2, "parity_blocks": 2, "framed": True}):
        result = found(**settings)
        assert result.parts_s.sum() == pytest.approx(result.seconds, abs=1e-3)
        assert (result.parts_s[3] > 0) == ("parity_blocks" in settings)


def test_useful_bits_a_second_are_the_files_bits_over_the_tapes_seconds_times_the_share_that_loads(monkeypatch):
    result = found()
    assert result.score == pytest.approx(8 * 128 / result.seconds)
    first = tried(result.format, "portable", designer.SEED)
    spoilt = designer.Tried(0.5, False, False)
    monkeypatch.setattr(designer, "tried", lambda format, deck, seed: first if seed else spoilt)
    assert found().score == pytest.approx(8 * 128 / result.seconds * 2 / 3)
    assert "2 of 3 tapes load, so" in found().text


@pytest.mark.parametrize(("settings", "why"), [
    ({"leader_units": 2.0}, "must differ by 15%"), ({"unit_hz": 19200.0}, "rate must be at least 57600 Hz")])
def test_what_does_not_go_together_is_refused_in_one_line(settings, why):
    state = DesignerState(**settings)
    result = Model(DESIGNER, state).result
    assert result.format is None and why in result.text and "\n" not in result.text and len(result.text) < 200
    assert sound(state, result) is None and why in draw(state, result).text


def test_a_faster_unit_scores_more_until_the_recorder_carries_no_more():
    scores = [found(unit_hz=hz).score for hz in (1200.0, 2400.0, 4800.0, 14_000.0)]
    assert scores[0] < scores[1] < scores[2] and scores[3] == 0


def test_with_no_check_what_is_right_is_not_vouched_for():
    result = found(check="none")
    assert all(one.loads and not one.sure for one in result.tried) and "nothing vouches for it" in result.text


def test_codes_are_told_apart_by_facts():
    assert "puts 2.00 bits into it" in found(code="delay modulation").text
    assert "no bound to the time without an edge" in found(code="raw levels").text


def test_every_choice_alone_gives_a_result_or_a_refusal():
    """What the controls offer: each step of each, from the start of the bench."""
    for field in fields_of(DesignerState):
        for value in field.values:
            if field.name != "tapes" and field.name != "deck":
                try:
                    build(DesignerState(**{field.name: value}))
                except designer.SettingError as refusal:
                    assert "got" in str(refusal)


def test_the_work_says_how_far_it_is_and_a_tape_is_tried_once():
    found()
    before = tried.cache_info().misses
    parts = list(find(DesignerState()))
    assert parts == sorted(parts) and {0, 0.5 / 3, 1 / 3, 2 / 3} <= set(parts)
    assert tried.cache_info().misses == before
