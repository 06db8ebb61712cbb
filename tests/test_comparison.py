"""Codes side by side: that a comparison shows what codes do, and that its words say what its picture shows."""

import numpy as np
import pytest

from kit.codeviews import codes_view
from kit.comparison import CODES, Condition, conditions, drawn, fact_rows, unit_s, words_wrong
from kit.errors import SettingError

WORDS = 40


@pytest.fixture(params=list(CODES))
def name(request):
    return request.param


def lost(name, condition):
    return words_wrong(CODES[name], condition, words=WORDS).part


def test_every_code_reads_all_its_words_where_nothing_happens(name):
    for blank in (False, True):
        assert lost(name, Condition(blank=blank)) == 0


def test_in_loud_noise_every_code_loses_words_and_more_the_louder_it_is(name):
    parts = [lost(name, Condition(eb_n0_db=db)) for db in (20, 11, 5)]
    assert parts[0] == 0 and parts[0] <= parts[1] <= parts[2] and parts[2] > 0.3


def test_a_held_level_is_lost_through_a_coupling_and_codes_that_hold_none_do_not_care():
    """The belief refuted: that a recorder carries ones and zeros as two levels."""
    condition = Condition(eb_n0_db=20, coupling_hz=10, blank=True)
    assert lost("raw levels", condition) > 0.9
    for name in ("two tones", "cycle length", "biphase mark", "phase encoding"):
        assert lost(name, condition) == 0, name


def test_without_edges_an_unknown_speed_makes_the_clock_slip():
    """Common practice: 48 bits without an edge slip by more than half a bit from about 1 % on."""
    for percent, low, high in ((0.5, 0.0, 0.0), (6, 0.9, 1.0)):
        assert low <= lost("raw levels", Condition(speed_percent=percent, blank=True)) <= high
    assert lost("phase encoding", Condition(speed_percent=6, blank=True)) == 0


def test_codes_with_longer_cycles_bear_the_loss_of_highs():
    condition = Condition(eb_n0_db=20, low_pass_hz=1000)
    assert lost("cycle length", condition) > 0.8 and lost("two tones", condition) > 0.8
    assert lost("delay modulation", condition) == lost("biphase mark", condition) == 0


def test_the_same_seed_gives_the_same_and_another_seed_other_words():
    condition = Condition(eb_n0_db=11)
    one, again, other = (words_wrong(CODES["two tones"], condition, words=WORDS, seed=seed) for seed in (1, 1, 2))
    assert one == again
    assert one.words == other.words == WORDS


def test_all_codes_have_the_mean_rate_that_was_asked_for(name):
    bits = np.random.default_rng(2).integers(0, 2, 4000)
    samples, start_s = drawn(CODES[name], bits, 1200, 48_000)
    assert len(samples) / 48_000 - start_s == pytest.approx(4000 / 1200, rel=0.02)
    assert CODES[name].encode([0, 1]).sum() * unit_s(CODES[name], 1200) < 6 / 1200


def test_each_kind_of_condition_grows_harsher_and_its_names_differ():
    named = [name for group in conditions().values() for name, _ in group]
    assert len(set(named)) == len(named)
    assert list(conditions()) == ["noise", "coupling", "speed", "low-pass"]


@pytest.mark.parametrize(
    "wrong, said",
    [
        ({"coupling_hz": -1}, "coupling_hz must be 0 or more, got -1"),
        ({"wow_percent": 60}, "wow_percent must be 50 or less, got 60"),
        ({"eb_n0_db": float("nan")}, "eb_n0_db must be a number"),
        ({"low_pass_hz": 0}, "low_pass_hz must be 1 or more, got 0"),
    ],
)
def test_a_condition_that_makes_no_sense_is_refused_in_one_line(wrong, said):
    with pytest.raises(SettingError, match=said):
        Condition(**wrong)


def test_calls_that_make_no_sense_are_refused_in_one_line():
    with pytest.raises(SettingError, match="1 word or more of 17 to 4096 bits, got 0 of 64"):
        words_wrong(CODES["raw levels"], Condition(), words=0)
    with pytest.raises(SettingError, match="bits_per_second must be above 0, got 0"):
        unit_s(CODES["raw levels"], 0)
    with pytest.raises(SettingError, match="1 to 24 bits, each 0 or 1"):
        codes_view([0, 2])


def test_the_facts_are_those_computed_by_hand():
    """At 1200 bit/s: the shortest cycle of raw levels is two bits, of phase encoding one, of two tones half a bit."""
    rows = {row["code"]: row for row in fact_rows(1200)}
    wanted = {"raw levels": 600, "phase encoding": 1200, "two tones": 2400}
    assert {name: rows[name]["highest_cycle_hz"] for name in wanted} == wanted
    assert rows["cycle length"]["highest_cycle_hz"] == 1800  # a zero takes two thirds of the mean bit
    assert rows["raw levels"]["longest_gap_bits"] == float("inf")


def test_the_picture_says_in_words_how_many_edges_each_wave_shows():
    """Of 0 1 0 0 1 1 0 1 raw levels turn where bits differ, and where the first differs from what is added."""
    shown = codes_view([0, 1, 0, 0, 1, 1, 0, 1])
    lines = shown.text.split("\n")
    assert len(lines) == 1 + len(CODES) and lines[1].startswith("raw levels: 6 edges in 6.67 ms")
    assert len(shown.figure.axes) == 2 * len(CODES)
    assert shown.png().startswith(b"\x89PNG")
