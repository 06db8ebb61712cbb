"""The league: scores that are deserved and the same for all, and reports on what was given up for them."""

import pytest
from league_cases import QUICK, SLOW, design

import kit
from kit.bench.ownformat import FILE_BYTES, PARTS, build, file_bytes
from kit.errors import SettingError
from kit.exercises import learner
from kit.league import Design, Trade, design_of, format_of, put_in, read_design, report, score
from kit.league import scores_view as view
from kit.league.scoring import LONGEST_S, RATE, SETTINGS
from kit.trials import interval

# -- scores ---------------------------------------------------------------------------------------------


def test_two_different_designs_get_two_different_scores_and_the_better_one_the_higher():
    quick, slow = score(**QUICK), score(**SLOW)
    assert quick.loads >= slow.loads - 1 and quick.seconds < slow.seconds / 3
    assert quick.score > 2.5 * slow.score > 0


def test_a_score_is_the_bits_of_the_file_over_the_seconds_of_its_tape_times_the_share_that_counts():
    """Worked out here from the tape itself, and from the reader of the bench."""
    from kit.bench.ownformat import longest_bytes
    from kit.bench.tapereading import read_tape

    found, format = score(tapes=4), format_of()
    tapes = [kit.encode(file_bytes(k), name="own.bin", format=format, rate=RATE) for k in range(4)]
    readings = [read_tape(kit.decks["worn"].play(tape, k), format, longest_bytes(format))
                for k, tape in enumerate(tapes)]
    whole = [reading.complete and reading.files[0].data == file_bytes(k) for k, reading in enumerate(readings)]
    assert list(found.vouched) == whole
    assert found.score == pytest.approx(8 * FILE_BYTES / tapes[0].seconds * sum(whole) / 4)


@pytest.mark.parametrize("settings", [{"code": "raw levels"}, {"unit_hz": 6800}, {"unit_hz": 14_000}])
def test_a_design_that_fails_every_tape_scores_zero(settings):
    found = score(**settings)
    assert found.loads == 0 and found.score == 0 and len(found.vouched) == 20
    assert found.text.startswith("0 useful bits a second") and "0 of 20 tapes load" in found.text


def test_a_score_is_the_same_on_every_run():
    from kit.bench import designer

    once = score(**QUICK)
    designer.tried.cache_clear()
    designer._worn.cache_clear()
    again = score(**QUICK)
    assert (again.seconds, again.parts_s, again.right, again.vouched) == (
        once.seconds, once.parts_s, once.right, once.vouched)
    other = score(**QUICK, seed=1000)
    assert other.seconds != once.seconds  # other tapes are other tapes


def test_what_the_loader_cannot_know_does_not_count_and_is_said():
    found = score(check="none")
    assert sum(found.right) > 15 and found.loads == 0 and found.score == 0
    assert f"{sum(found.right)} more came out right, but nothing vouches for them" in found.text


def test_on_a_better_recorder_the_same_design_scores_no_less():
    assert score(unit_hz=6800, deck="portable").score > score(unit_hz=6800, deck="worn").score == 0


def test_no_more_is_claimed_than_twenty_tapes_can_tell():
    low, high = interval(score().loads, 20)
    assert f"95 % sure: {100 * low:.0f} to {100 * high:.0f} %" in score().text


@pytest.mark.parametrize(("settings", "why"), [
    ({"leader_units": 2.0}, "must differ by 15%"), ({"unit_hz": 19200}, "rate must be at least 57600 Hz"),
    ({"unit_hz": 600, "leader_s": 1.5}, f"must play {LONGEST_S:g} s at most")])
def test_what_does_not_go_together_or_lasts_too_long_is_refused_in_one_line_and_scores_zero(settings, why):
    found = score(**settings)
    assert found.score == 0 and why in found.text and "\n" not in found.text and not found.vouched
    assert "refused" not in found.refusal and view({"odd": found}).text.startswith("odd: Refused")


@pytest.mark.parametrize(("settings", "why"), [
    ({"volume": 3}, "settings must be among code"), ({"code": "semaphore"}, "code must be one of"),
    ({"leader_s": float("nan")}, "leader_s must lie in"), ({"seconds": 3}, "settings must be among"),
    ({"copies": True}, "copies must be one of 1, 2, 3")])
def test_a_setting_that_is_none_is_refused_in_one_line(settings, why):
    with pytest.raises(SettingError, match=why) as refusal:
        score(**settings)
    assert "got" in str(refusal.value) and "\n" not in str(refusal.value)


def test_the_first_design_is_what_the_bench_begins_with_on_the_oldest_recorder():
    assert format_of() == build(design_of()) and design_of().deck == "worn"
    assert design_of().code == kit.bench.open_model("designer").state.code
    assert {"deck", "tapes", *SETTINGS} == set(type(design_of()).__dataclass_fields__)


def test_a_picture_of_scores_says_in_words_what_it_shows():
    shown = view({"first": score(), "quick": score(**QUICK), "none": score(code="raw levels")})
    first, quick, none = shown.text.splitlines()
    assert first.startswith("first: 4") and f"leaders {score().parts_s[0]:.2f} s" in first
    assert "parity" not in first and "0 of 20" in none and quick.count(" s") >= 4
    (axes,) = shown.figure.axes
    lengths = [line.get_xdata()[1] - line.get_xdata()[0] for line in axes.lines if len(line.get_xdata()) == 2]
    assert sum(lengths[: sum(part > 0 for part in score().parts_s)]) == pytest.approx(score().seconds, abs=0.001)
    words = [text.get_text() for text in shown.figure.legends[0].get_texts()]
    assert words == list(PARTS)


# -- the report -----------------------------------------------------------------------------------------


def test_a_report_tries_what_was_given_up_on_the_same_tapes():
    made = design(trades=[Trade("copies", 2, "Speed counts."), Trade("check", "none", "It must know.")], **QUICK)
    found = report(made)
    assert [rival.state for rival in found.rivals] == [design_of(**QUICK, copies=2), design_of(**QUICK, check="none")]
    assert [rival.score for rival in found.rivals] == [score(**QUICK, copies=2).score, 0]
    assert found.missing == 0 and "Still to be justified" not in found.text
    assert "Speed counts." in found.text and "copies: Your choice scores more" in found.text


def test_a_report_says_when_the_data_speaks_against_a_choice():
    found = report(design(trades=[Trade("leader_s", 0.1, "I like long ones.")]))
    assert "What you gave up scores more" in found.text and "Still to be justified: 1 trade-off." in found.text


def test_a_report_says_when_safety_was_bought_with_score():
    made = design(copies=2, trades=[Trade("copies", 1, "No log may be lost.")])
    mine, other = score(copies=2), score()
    assert mine.loads > other.loads and mine.score < other.score  # else these words would be wrong
    assert "scores more, so the reason must lie elsewhere; but more of your tapes load" in report(made).text


def test_two_trade_offs_about_one_thing_are_one():
    trades = [Trade("copies", 2, "So."), Trade("copies", 3, "So.")]
    assert report(design(trades=trades, **QUICK)).missing == 1


def test_a_design_and_its_rival_may_be_refused_and_the_report_still_comes():
    made = design(trades=[Trade("leader_units", 2.0, "Longer ones are told apart.")])
    assert "what you gave up is refused" in report(made).text
    assert "Refused" in report(design(leader_units=2.0, trades=[Trade("copies", 2, "So.")])).text


def test_nothing_of_the_learner_is_needed_but_a_code_name(tmp_path):
    me = learner("Gull 7", folder=tmp_path / "answers")
    path = put_in(Design(me.code_name, design_of()), tmp_path / "league")
    assert read_design(path).code_name == "gull 7"
