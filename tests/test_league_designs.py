"""Designs of the league as data that is doubted, and a class's table of them."""

import json
import os

import pytest
from league_cases import QUICK, SLOW, design

from kit.errors import SettingError
from kit.league import DesignError, Trade, league, put_in, read_design, report
from kit.league.tables import FIRST, MOST_FILES


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "league"


# -- designs as files -----------------------------------------------------------------------------------


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


# -- the table ------------------------------------------------------------------------------------------


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
    put_in(design("<b>gull</b>", [Trade("copies", 2, "<script>1</script>")], **QUICK), folder)
    assert "<b>" not in league(folder)._repr_html_() and "&lt;b&gt;gull" in league(folder)._repr_html_()
    html = report(design("gull 7", [Trade("copies", 2, "<script>1</script>")], **QUICK))._repr_html_()
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
