"""The failed loads of the teacher's pages: they fail as page and key say, by figures and causes that hold."""

import re

import pytest
from teachingpages import AGAIN, TEACHING, TEXTS, make, tables

import kit
from kit.doctor.catalogue import CAUSES
from kit.views import tape_view


def test_the_failed_loads_fail_as_their_page_and_key_say():
    """Compared without figures: the last digit may differ between versions of a library."""
    now, stored = make.loads(), make.made(TEACHING / "failed-load-plots.md", "loads")
    assert re.sub(r"[\d.]+", "", now) == re.sub(r"[\d.]+", "", stored), AGAIN
    rows = tables(TEXTS["quiz-key.md"])[-1][1:]
    for row, (_, sound, reading, *_) in zip(rows, make.failed_loads(), strict=True):
        assert not any(file.complete for file in reading.files)
        named = row[1].split(":")[0]
        assert CAUSES[kit.diagnose(sound).findings[0].key].name == named


def test_the_outlines_in_words_go_as_low_and_as_high_as_the_pictures():
    """Against the line that was drawn; in the torn load it sinks to about half, as page and key say."""
    page = make.made(TEACHING / "failed-load-plots.md", "loads")
    stored = re.findall(r"^The upper line in each tenth of a second: (.*)\.$", page, re.MULTILINE)
    for words, (_, sound, reading, *_) in zip(stored, make.failed_loads(), strict=True):
        drawn = tape_view(sound, reading).figure.axes[1].get_lines()[0].get_ydata()
        told = [float(each) for each in re.findall(r"\d\.\d\d", words)]
        assert (min(told), max(told)) == pytest.approx((drawn.min(), drawn.max()), abs=0.01)
        assert len(told) == 2 * -(-len(drawn) // round(len(drawn) / (10 * sound.seconds)))
    torn = [float(each) for each in re.findall(r"\d\.\d\d", stored[1])]
    assert sorted(torn)[:2] == [pytest.approx(0.25, abs=0.03), 0.5]


def test_no_length_in_words_is_nothing():
    assert not re.search(r"\b0\.00\b", make.made(TEACHING / "failed-load-plots.md", "loads"))


def test_all_but_the_torn_load_are_read_with_effort_as_the_key_says():
    verdicts = [kit.decode(sound).files[0].complete for _, sound, *_ in make.failed_loads()]
    assert verdicts == [True, False, True, True]
    assert "reads 0, 2 and 3 whole" in TEXTS["quiz-key.md"]


def test_causes_are_called_as_the_doctor_calls_them():
    names = {cause.name for cause in CAUSES.values()}
    likely = [row[3] for row in tables(TEXTS["failed-loads.md"])[0][1:]]
    assert len(likely) >= 10 and set(likely) <= names, set(likely) - names


def test_the_lengths_of_half_cycles_are_those_of_the_kits_own_format():
    unit_s = 1 / 2400
    for text in (TEXTS["failed-loads.md"], TEXTS["failed-load-plots.md"]):
        for units in (4, 3, 2, 1):
            assert f"{500 * units * unit_s:.2f} ms" in text


def test_both_speeds_that_load_3_may_have_are_worked_out_from_its_leader():
    """500 ms over the frequency of a leader of 600 Hz at ordinary speed; twice as fast at double speed."""
    *_, (_, sound, _, lengths_s, _) = make.failed_loads()
    told = make.lengths_view(sound, lengths_s, lengths_s + 0.22).text
    leader_ms = float(re.search(r"of about (0\.5\d) ms", told)[1])
    fast, slow = 500 / 600 / leader_ms - 1, 1 - 500 / 1200 / leader_ms
    assert (fast, slow) == pytest.approx((0.45, 0.275), abs=0.015)
    for text in (TEXTS["failed-loads.md"], TEXTS["quiz-key.md"]):
        assert re.search(r"45 % too fast.*27\.5 % too slow", text)
    assert f"A leader at {leader_ms:.2f} ms" in TEXTS["failed-loads.md"]
    assert "at ordinary speed" in TEXTS["failed-load-plots.md"]
