"""The league: scores that are deserved and the same for all, designs as data that is doubted, a class's table."""

import json
import os

import pytest

import kit
from kit.bench.ownformat import FILE_BYTES, PARTS, build, file_bytes
from kit.errors import SettingError
from kit.exercises import learner
from kit.league import (
    Design,
    DesignError,
    Trade,
    design_of,
    format_of,
    league,
    put_in,
    read_design,
    report,
    score,
)
from kit.league import scores_view as view
from kit.league.scoring import LONGEST_S, RATE, SETTINGS
from kit.league.tables import FIRST, MOST_FILES
from kit.trials import interval

QUICK = {"unit_hz": 4800, "leader_s": 0.1, "block_bytes": 128}
SLOW = {"leader_s": 0.5}


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "league"


def design(name="gull 7", trades=(), **settings):
    return Design(name, design_of(**settings), tuple(trades))


# -- scores -------------------------------------------------------------------------------------------------


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


# -- designs as files -----------------------------------------------------------------------------------------


def test_a_design_that_is_put_in_comes_back_the_same(folder):
    made = design("Möwe 3", [Trade("copies", 2, "Speed, not safety: \"we can ask again\".")], **QUICK)
    path = put_in(made, folder)
    assert read_design(path) == made
    assert len(path.read_bytes()) < 2000 and set(json.loads(path.read_text("utf-8"))) == {
        "what", "layout", "code_name", "settings", "trades"}


def test_the_latest_design_of_a_code_name_counts(folder):
    first, second = put_in(design(), folder), put_in(design(**QUICK), folder)
    assert first == second and read_design(second).state.unit_hz == 4800
    assert put_in(design(), folder, "6b") != first


def test_a_learner_s_code_name_stays_inside_the_folder(folder):
    path = put_in(design("../../gull"), folder)
    assert path.parent == folder and path.name.startswith("_.._gull")


@pytest.mark.parametrize(("trade", "why"), [
    (Trade("volume", 3, "So."), "a trade must be about one of"), (Trade("copies", 1, "So."), "another value than"),
    (Trade("copies", 2, ""), "a reason must be one line"), (Trade("copies", 2, "a\nb"), "a reason must be one line"),
    (Trade("copies", 7, "So."), "copies must be one of"), (Trade(3, 7, "So."), "a trade must be about one of")])
def test_a_trade_off_that_is_none_is_refused(trade, why):
    with pytest.raises(SettingError, match=why):
        design(trades=[trade])


@pytest.mark.parametrize("name", ["", " gull", "a" * 41, "a\x07b", None, "a\u202eb"])
def test_a_code_name_that_is_none_is_refused(name):
    with pytest.raises(SettingError, match="code_name must be one line"):
        design(name)


def test_where_nothing_can_be_written_it_says_so(tmp_path):
    (tmp_path / "file").write_text("here")
    with pytest.raises(DesignError, match="choose another folder"):
        put_in(design(), tmp_path / "file")


GOOD = {"what": "a design for the league", "layout": 1, "code_name": "gull 7", "settings": {}, "trades": []}
HOSTILE = {
    "not JSON": "import os",
    "half": json.dumps(GOOD)[:40],
    "deep": "[" * 15_000,
    "endless number": '{"what": ' + "9" * 15_000 + "}",
    "no number": json.dumps({**GOOD, "settings": {"leader_s": float("nan")}}),
    "beyond": json.dumps({**GOOD, "settings": {"leader_s": 1e308}}).replace("1e+308", "1e999"),
    "huge": json.dumps({**GOOD, "trades": ["x" * 30_000]}),
    "a list": "[1, 2]",
    "other": json.dumps({"what": "answers of one learner"}),
    "layout": json.dumps({**GOOD, "layout": 2}),
    "more": json.dumps({**GOOD, "run": "print(1)"}),
    "code": json.dumps({**GOOD, "settings": {"code": "__import__('os').system('x')"}}),
    "unknown": json.dumps({**GOOD, "settings": {"__class__": 1}}),
    "odd value": json.dumps({**GOOD, "settings": {"copies": [1, {"a": 2}]}}),
    "odd kind": json.dumps({**GOOD, "settings": []}),
    "trades": json.dumps({**GOOD, "trades": [["copies", 2]]}),
    "odd trade": json.dumps({**GOOD, "trades": [[{}, 2, "So."]]}),
    "many trades": json.dumps({**GOOD, "trades": [["copies", 2, "So."]] * 50}),
    "name": json.dumps({**GOOD, "code_name": "a" * 5000}),
    "half a letter": json.dumps({**GOOD, "code_name": "a"}).replace('"a"', '"\\ud800"'),
    "not text": None,
}


def hostile(folder, name):
    folder.mkdir(exist_ok=True)
    path = folder / f"{name}.json"
    path.write_bytes(b"\xff\xfe\x00" if HOSTILE[name] is None else HOSTILE[name].encode())
    return path


@pytest.mark.parametrize("name", HOSTILE)
def test_a_file_that_is_no_design_is_refused_in_one_line(name, folder):
    with pytest.raises(DesignError) as refusal:
        read_design(hostile(folder, name))
    assert "\n" not in str(refusal.value) and len(str(refusal.value)) < 400


def test_a_file_that_is_not_there_or_a_folder_or_a_pipe_is_refused_and_not_waited_for(tmp_path):
    odd = [tmp_path / "none.json", tmp_path]
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.json")
        odd.append(tmp_path / "pipe.json")
    for path in odd:
        with pytest.raises(DesignError, match="must be a file"):
            read_design(path)


# -- the table ------------------------------------------------------------------------------------------------


def test_a_class_s_designs_are_ranked_by_score_with_the_first_design_as_a_mark(folder):
    for name, settings in {"tern 1": SLOW, "gull 7": QUICK, "seal 4": {"code": "raw levels"}}.items():
        put_in(design(name, **settings), folder)
    found = league(folder)
    assert [name for name, _ in found.rows] == ["gull 7", FIRST, "tern 1", "seal 4"]
    scores = [each.score for _, each in found.rows]
    assert scores == sorted(scores, reverse=True) and scores[-1] == 0 and not found.complaints
    head, *rows = found.text.splitlines()
    assert head.startswith("place  design") and [row.split()[0] for row in rows] == ["1", "2", "3", "4"]
    assert repr(league(folder)) == found.text


def test_equal_scores_share_a_place(folder):
    put_in(design("tern 1"), folder)
    rows = league(folder).text.splitlines()[1:]
    assert [row[0] for row in rows] == ["1", "1"]


def test_hostile_files_are_reported_and_keep_nobody_from_being_ranked(folder):
    put_in(design(**QUICK), folder)
    for name in HOSTILE:
        hostile(folder, name)
    (folder / "evil\n<b>.json").write_text("{}")
    found = league(folder)
    assert [name for name, _ in found.rows] == ["gull 7", FIRST]
    assert len(found.complaints) == len(HOSTILE) + 1 and all("\n" not in each for each in found.complaints)
    html = found._repr_html_()
    assert "<b>" not in html and "&lt;b&gt;" in html


def test_a_design_for_another_recorder_or_under_a_name_that_is_taken_is_told_and_not_ranked(folder):
    put_in(design("tern 1", deck="home"), folder)
    put_in(design("gull 7"), folder)
    put_in(design("Gull 7", **QUICK), folder)
    found = league(folder)
    assert len(found.rows) == 2 and len(found.complaints) == 2
    assert any("for the recorder worn, it is for home" in each for each in found.complaints)
    assert any("has a design already" in each for each in found.complaints)


def test_what_a_name_holds_is_shown_as_text(folder):
    put_in(design("<b>gull</b>", [Trade("copies", 2, "<script>1</script>")]), folder)
    assert "<b>" not in league(folder)._repr_html_() and "&lt;b&gt;gull" in league(folder)._repr_html_()
    html = report(design("gull 7", [Trade("copies", 2, "<script>1</script>")]))._repr_html_()
    assert "<script>" not in html and "&lt;script&gt;" in html


def test_a_folder_with_no_designs_says_so_and_one_with_too_many_is_read_in_part(folder):
    assert "there must be designs" in league(folder).text and len(league(folder).rows) == 1
    folder.mkdir()
    for number in range(MOST_FILES + 3):
        (folder / f"{number:04d}.json").write_text("{}")
    complaints = league(folder).complaints
    assert len(complaints) == MOST_FILES + 1 and "only 200 files are read" in "".join(complaints)


def test_a_refused_design_stands_at_the_end_with_the_reason(folder):
    put_in(design("tern 1", leader_units=2.0), folder)
    found = league(folder)
    assert found.rows[-1][0] == "tern 1" and "tern 1: Refused, so it scores 0" in found.text


# -- the report -----------------------------------------------------------------------------------------------


def test_a_report_tries_what_was_given_up_on_the_same_tapes(folder):
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
    assert report(design(trades=trades)).missing == 1


def test_a_design_and_its_rival_may_be_refused_and_the_report_still_comes():
    made = design(trades=[Trade("leader_units", 2.0, "Longer ones are told apart.")])
    assert "what you gave up is refused" in report(made).text
    assert "Refused" in report(design(leader_units=2.0, trades=[Trade("copies", 2, "So.")])).text


def test_nothing_of_the_learner_is_needed_but_a_code_name(tmp_path):
    me = learner("Gull 7", folder=tmp_path / "answers")
    path = put_in(Design(me.code_name, design_of()), tmp_path / "league")
    assert read_design(path).code_name == "gull 7"
