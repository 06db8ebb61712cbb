"""A class is marked: each learner once, by right answers worked out anew, whatever else lies in the folder."""

import csv
import io
import json
import os
import re
from collections import Counter
from itertools import combinations
from pathlib import Path

import pytest
from class_cases import EVERY_KEY, answers_of, idea_behind, mixed_answers, put, wrong_record
from commandline_words import one_line
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import SettingError
from kit.exercises import LESSONS
from kit.exercises.answers import answer_name
from kit.exercises.classcounts import misconceptions, questions
from kit.exercises.classmarks import mark_class
from kit.exercises.classpage import class_page
from kit.exercises.classtables import ANSWER_HEAD, answers_table, in_words, questions_table, safe_cell
from kit.exercises.lessons import asked_of, keys_of
from kit.exercises.marking import MISMATCH, RIGHT, UNANSWERED, WRONG
from kit.exercises.owning import is_name

pytest_plugins = ["commandline_fixtures"]

KEYS = keys_of(4)
OWN = [key for key in KEYS if asked_of(key, "", "gull 7")[0].kind != "choice"]


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "hand-in"


def table(text):
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))


def verdicts(marks, name):
    (learner,) = [each for each in marks.learners if each.name == name]
    return {result.key: result.verdict for result in learner.results}


# -- right and wrong --------------------------------------------------------------------------------------


def test_every_right_answer_is_right_and_every_known_mistake_is_wrong_with_its_belief(folder):
    """Of every lesson there is, whatever its items are."""
    put(folder, answers_of("gull 7"))
    put(folder, answers_of("tern 2", wrong=EVERY_KEY))
    marks = mark_class(folder)
    assert marks.all_usable and marks.lessons == tuple(sorted(LESSONS)) and marks.keys == EVERY_KEY
    assert set(verdicts(marks, "gull 7").values()) == {RIGHT}
    assert set(verdicts(marks, "tern 2").values()) == {WRONG}
    believed = {result.key: result.misconception for result in marks.learners[1].results}
    assert believed == {key: idea_behind(key, "tern 2") for key in EVERY_KEY}


def test_only_lessons_that_someone_began_are_marked_unless_lessons_are_named(folder):
    put(folder, answers_of("gull 7", keys=["4a"]))
    put(folder, answers_of("tern 2", keys=["1a"]))
    assert mark_class(folder).lessons == (1, 4)
    assert mark_class(folder, [4]).keys == KEYS
    assert verdicts(mark_class(folder, [4]), "tern 2") == dict.fromkeys(KEYS, UNANSWERED)
    with pytest.raises(SettingError, match="a lesson must be one of"):
        mark_class(folder, [99])


def test_questions_count_who_chose_which_wrong_answer(folder):
    """Counted a second time here, from the very records that were written."""
    given = {f"gull {k}": wrong_record("4a", f"gull {k}", which=k % 3) for k in range(7)}
    for name, record in given.items():
        answers = answers_of(name, keys=["4b"])
        answers["items"]["4a"] = record
        put(folder, answers)
    put(folder, answers_of("tern 2", keys=["4a", "4b"]))
    counts = {count.key: count for count in questions(mark_class(folder, [4])) if count.key in ("4a", "4b", "4c")}
    letters = Counter(record["votes"][0] for record in given.values())
    assert {each.letter: len(each.learners) for each in counts["4a"].wrong} == dict(letters)
    assert (counts["4a"].right, counts["4a"].wrong_count, counts["4a"].asked) == (1, 7, 8)
    assert (counts["4b"].right, counts["4b"].wrong_count) == (8, 0)
    assert (counts["4c"].unanswered, counts["4c"].asked) == (8, 8)
    assert counts["4a"].wrong[0].learners == ("gull 0", "gull 3", "gull 6")
    assert misconceptions(list(counts.values()))[0][1:] == (3, ["4a"])


def test_opening_questions_are_counted_by_what_was_asked_as_each_learner_is_asked_others(folder):
    for k in range(20):
        put(folder, answers_of(f"gull {k}", keys=["4r1"]))
    counts = [count for count in questions(mark_class(folder, [4])) if count.key == "4r1"]
    assert len(counts) > 1 and sum(count.right for count in counts) == 20
    asked = Counter(asked_of("4r1", "", f"gull {k}")[0].question for k in range(20))
    assert {count.question: count.asked for count in counts} == dict(asked)


def test_the_first_choice_and_the_last_are_told_apart(folder):
    answers = answers_of("gull 7", keys=["4a"])
    right = answers["items"]["4a"]["votes"][0]
    answers["items"]["4a"]["votes"] = ["a" if right != "a" else "b", right]
    put(folder, answers)
    (count,) = [count for count in questions(mark_class(folder, [4])) if count.key == "4a"]
    assert (count.right, count.right_at_first) == (1, 0)
    (row,) = [row for row in table(answers_table(mark_class(folder))) if row["item"] == "4a"]
    assert (row["given"], row["first choice"]) == (right, answers["items"]["4a"]["votes"][0])


# -- files that are not to be trusted ---------------------------------------------------------------------


def deep(answers):
    return json.dumps(answers | {"items": {"4c": {"answer": "DEEP"}}}).replace('"DEEP"', "[" * 90_000 + "]" * 90_000)


BROKEN = {
    "empty": lambda answers: "",
    "cut off": lambda answers: json.dumps(answers)[:-9],
    "deep": deep,
    "huge": lambda answers: json.dumps(answers) + " " * 1_000_000,
    "a list": lambda answers: "[]",
    "bytes": lambda answers: b"\x00\xff\xfe{}",
    "digits": lambda answers: "9" * 200_000,
    "name a number": lambda answers: json.dumps(answers | {"code_name": 7}),
    "name a path": lambda answers: json.dumps(answers | {"code_name": "../../UP"}),
    "name with control": lambda answers: json.dumps(answers | {"code_name": "gull\x1b[2J"}),
    "name turned round": lambda answers: json.dumps(answers | {"code_name": "gull\u202e"}),
    "name of two lines": lambda answers: json.dumps(answers | {"code_name": "gull\n7"}),
    "no name": lambda answers: json.dumps(answers | {"code_name": ""}),
    "long name": lambda answers: json.dumps(answers | {"code_name": "x" * 3000}),
    "class with control": lambda answers: json.dumps(answers | {"class_code": "\x07"}),
    "items wrong": lambda answers: json.dumps(answers | {"items": {"4a": {"votes": "b"}}}),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_or_hostile_file_is_one_line_and_the_rest_is_marked(name, folder, call):
    put(folder, answers_of("gull 7", keys=KEYS))
    made = BROKEN[name](answers_of("tern 2", keys=["4a"]))
    (folder / "tern.json").write_bytes(made if isinstance(made, bytes) else made.encode())
    marks = mark_class(folder)
    assert [remark.file for remark in marks.refused] == ["tern.json"]
    assert "\n" not in marks.refused[0].what and len(marks.refused[0].what) < 200
    assert set(verdicts(marks, "gull 7").values()) == {RIGHT}
    status, out, err = call("mark", folder)
    assert (status, err) == (1, "") and out.count("not counted: tern.json: ") == 1
    assert all(character.isprintable() or character == "\n" for character in out)


@pytest.mark.parametrize("odd", ["?", [2], [[0, 1]], [], 0, -1e300, 2**63, "1e999", True, ["=1"], "\ud7ff", None,
                                 [[]], [None], [[1, 2], "x"], "0" * 3000, [0.5] * 300, ["", -1, [[0]]]])  # fmt: skip
def test_an_answer_of_any_shape_to_any_item_is_marked_or_reported(odd, folder):
    """Chance may make one right, such as 0 where nothing is to be counted; never more than a few."""
    answers = answers_of("gull 7")
    for record in answers["items"].values():
        record.update({"votes": ["="]} if "votes" in record else {"answer": odd})
    put(folder, answers)
    marks = mark_class(folder)
    assert not marks.refused
    found = Counter(verdicts(marks, "gull 7").values())
    assert found[RIGHT] <= 3 and found[MISMATCH] >= len(EVERY_KEY) / 3
    assert in_words(marks) and answers_table(marks) and questions_table(marks) and class_page(marks).png()


def test_a_link_a_pipe_and_a_hidden_file_are_not_opened(folder, tmp_path):
    put(folder, answers_of("gull 7", keys=["4a"]))
    outside = put(tmp_path / "outside", answers_of("tern 2", keys=["4a"]))
    (folder / "tern.json").symlink_to(outside)
    (folder / "nowhere.json").symlink_to(tmp_path / "nothing")
    (folder / "away").symlink_to(outside.parent)
    (folder / ".hidden.json").write_text("{}")
    (folder / "folder.json").mkdir()
    refused = {"tern.json", "nowhere.json"}
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe.json")
        refused.add("pipe.json")
    marks = mark_class(folder)
    assert {remark.file for remark in marks.refused} == refused
    assert [learner.name for learner in marks.learners] == ["gull 7"]


def test_folders_in_the_folder_are_looked_through_and_other_files_only_named(folder):
    put(folder / "table 1", answers_of("gull 7", keys=["4a"]))
    put(folder / "table 2" / "group", answers_of("tern 2", keys=["4a"]))
    put(folder / "a" / "b" / "c", answers_of("crab 3", keys=["4a"]))  # deeper than is looked
    (folder / "photo.png").write_bytes(b"\x89PNG")
    (folder / "log.txt").write_text("calm")
    marks = mark_class(folder)
    assert [learner.name for learner in marks.learners] == ["gull 7", "tern 2"]
    assert any("not looked at" in remark.what and "like 2 more" in remark.what for remark in marks.remarks)
    assert marks.all_usable


def test_a_fault_in_marking_one_file_does_not_stop_the_rest(folder, monkeypatch):
    from kit.exercises import classmarks

    def fails_for_tern(answers, lessons):
        if answers["code_name"] == "tern 2":
            raise RecursionError("deep")
        return real(answers, lessons)

    real = classmarks.marked
    monkeypatch.setattr(classmarks, "marked", fails_for_tern)
    for name in ("gull 7", "tern 2"):
        put(folder, answers_of(name, keys=["4a"]))
    marks = mark_class(folder)
    assert [learner.name for learner in marks.learners] == ["gull 7"]
    assert "cannot be marked (RecursionError)" in marks.refused[0].what


def test_nothing_in_a_file_is_run(folder):
    """Texts that would end or change the process, were any of them code."""
    answers = answers_of("gull 7", keys=KEYS)
    for record in answers["items"].values():
        record.update(saw="__import__('os')._exit(9)", attempt="__import__('os')._exit(9)")
    answers["items"]["4m"]["answer"] = "__import__('os')._exit(9)"
    put(folder, answers)
    assert verdicts(mark_class(folder), "gull 7")["4m"] == MISMATCH


# -- copies, forgeries, the same learner twice ------------------------------------------------------------


def test_answers_to_another_s_data_are_a_copy_and_nothing_of_the_file_counts(folder, call):
    original = answers_of("gull 7", keys=KEYS)
    put(folder, original)
    put(folder, original | {"code_name": "tern 2"})
    put(folder, answers_of("crab 3", keys=KEYS))
    marks = mark_class(folder)
    assert set(verdicts(marks, "tern 2").values()) == {MISMATCH}
    assert {*verdicts(marks, "gull 7").values(), *verdicts(marks, "crab 3").values()} == {RIGHT}
    (remark,) = marks.refused
    assert remark.file == answer_name("", "tern 2") and answer_name("", "gull 7") in remark.what
    assert all(count.mismatch == 1 and not count.wrong_count for count in questions(marks)
               if not count.key.startswith("4r"))  # fmt: skip
    assert call("mark", folder)[0] == 1


def test_a_copy_that_claims_its_data_as_its_own_gets_the_answers_wrong(folder):
    """Whoever changes the digests as well is marked by their own data: what is right for another is wrong there."""
    original, forged = answers_of("gull 7", keys=OWN), answers_of("tern 2", keys=OWN)
    for key in OWN:
        forged["items"][key]["answer"] = original["items"][key]["answer"]
    put(folder, original)
    put(folder, forged)
    assert set(verdicts(mark_class(folder), "tern 2")[key] for key in OWN) == {WRONG}


def test_to_be_asked_the_same_by_chance_makes_no_copy(folder):
    """Where little is drawn, two of ten learners are asked the same; here all give answers of a wrong kind."""
    names, asked = [f"gull {k}" for k in range(10)], Counter()
    for name in names:
        answers = answers_of(name)
        for key, record in answers["items"].items():
            if "answer" in record:
                asked[key, record["digest"]] += 1
                record["answer"] = [["odd"]]
        put(folder, answers)
    assert max(asked.values()) > 1
    marks = mark_class(folder)
    assert not marks.refused
    choices = sum("r" in key or asked_of(key, "", names[0])[0].kind == "choice" for key in EVERY_KEY)
    assert [learner.count(RIGHT) for learner in marks.learners] == [choices] * len(names)


def test_data_of_nobody_here_are_other_data_and_no_copy(folder, call):
    answers = answers_of("gull 7", keys=KEYS)
    for key in OWN:
        answers["items"][key]["digest"] = "0" * 20
    put(folder, answers)
    put(folder, answers_of("tern 2", keys=KEYS))
    marks = mark_class(folder)
    found = verdicts(marks, "gull 7")
    assert {found[key] for key in OWN} == {MISMATCH}
    assert {found[key] for key in KEYS if key not in OWN} == {RIGHT}
    assert not marks.refused and not marks.all_usable and call("mark", folder)[0] == 1


def test_answers_of_another_version_are_other_data_even_if_they_look_like_somebody_else_s(folder):
    original = answers_of("gull 7", keys=KEYS)
    put(folder, original)
    put(folder, original | {"code_name": "tern 2", "kit": "0.0.9"})
    marks = mark_class(folder)
    assert not marks.refused
    note = next(each.note for each in marks.learners[1].results if each.key == OWN[0])
    assert "0.0.9" in note and "other data" in note


def test_an_item_this_kit_does_not_know_is_other_data_at_the_end(folder):
    answers = answers_of("gull 7", keys=["4a"])
    answers["items"]["=4z"] = {"answer": 1}
    put(folder, answers)
    marks = mark_class(folder)
    assert marks.keys[-1] == "=4z" and verdicts(marks, "gull 7")["=4z"] == MISMATCH
    assert table(answers_table(marks))[-1]["item"] == "'=4z"
    assert "=4z" not in mark_class(folder, [4]).keys


def test_of_two_files_of_a_learner_the_newer_counts_and_once(folder):
    old = put(folder / "first", answers_of("gull 7", keys=KEYS, wrong=KEYS), seconds=1_000_000)
    new = put(folder / "second", answers_of("gull 7", keys=KEYS), seconds=2_000_000)
    for first, second in ((old, new), (new, old)):
        os.utime(first, (1_000_000,) * 2)
        os.utime(second, (2_000_000,) * 2)
        marks = mark_class(folder)
        (remark,) = marks.remarks
        assert remark.file == f"{first.parent.name}/{first.name}"
        assert f"{second.parent.name}/{second.name} counts" in remark.what
        assert len(marks.learners) == 1 and marks.all_usable
        assert set(verdicts(marks, "gull 7").values()) == {RIGHT if second is new else WRONG}


def test_the_same_file_twice_is_counted_once_and_said(folder):
    put(folder, answers_of("gull 7", keys=KEYS))
    put(folder, answers_of("gull 7", keys=KEYS), name=answer_name("", "gull 7").replace(".json", " (2).json"))
    marks = mark_class(folder)
    assert len(marks.learners) == 1 and "with the same answers" in marks.remarks[0].what


def test_a_file_renamed_to_look_like_another_learner_s_is_reported(folder):
    put(folder, answers_of("gull 7", keys=KEYS), seconds=1_000_000)
    put(folder, answers_of("gull 7", keys=KEYS), name=answer_name("", "tern 2"), seconds=2_000_000)
    marks = mark_class(folder)
    assert [remark.file for remark in marks.refused] == [answer_name("", "tern 2")]
    assert "a copy?" in marks.refused[0].what and [each.name for each in marks.learners] == ["gull 7"]


def test_sentences_alike_word_for_word_are_pointed_out(folder):
    said = {"4a": "The bits stayed as they were.", "4b": "The file grew and the bits did not."}
    for name in ("gull 7", "tern 2", "crab 3"):
        answers = answers_of(name, keys=["4a", "4b"])
        for key, words in said.items():
            answers["items"][key]["saw"] = words if name != "crab 3" else f"{words} I think."
        put(folder, answers)
    (remark,) = mark_class(folder).remarks
    assert "'tern 2' saw the same" in remark.what and "'gull 7'" in remark.what


def test_the_same_code_name_in_two_classes_is_two_learners(folder):
    for class_code in ("6b", "6c"):
        put(folder, answers_of("gull 7", class_code, KEYS))
    marks = mark_class(folder)
    assert [learner.name for learner in marks.learners] == ["6b gull 7", "6c gull 7"]
    assert all(count.right == count.asked for count in questions(marks))


# -- tables -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("cell", ["=cmd|' /C calc'!A0", "+1+cmd", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1",
                                  "|calc", "a;=1", "a; @x", "\u202e=1"])  # fmt: skip
def test_no_cell_begins_as_a_formula_does(cell):
    """Also where a spreadsheet takes a semicolon for the end of a cell (OWASP, "CSV Injection")."""
    made = safe_cell(cell)
    assert made.isprintable()
    assert all(part.strip()[:1] not in set("=+-@|＝") for part in made.split(";"))


@given(st.one_of(st.text(max_size=60), st.lists(st.sampled_from("=+-@;,\t\n\"' a1"), max_size=12).map("".join)))
@settings(derandomize=True, max_examples=150, deadline=None)
def test_any_text_is_one_printable_line_in_a_cell_that_computes_nothing(text):
    made = safe_cell(text)
    assert "\n" not in made and "\t" not in made
    for part in made.split(";"):
        plain_number = made == part and part.lstrip("+-").replace(".", "", 1).replace("e", "", 1).isdecimal()
        assert part.strip()[:1] not in set("=+-@|%") or part == "" or plain_number


def test_hostile_words_stay_words_in_table_report_and_picture(folder, call, tmp_path):
    answers = answers_of("=hyperlink($a$1)", keys=KEYS)
    answers["items"]["4a"]["saw"] = '=1+1\n"; =cmd\x1b[2J <b>\u202e'
    put(folder, answers)
    status, out, err = call("mark", folder, "-o", tmp_path / "m.csv", "--picture", tmp_path / "m.pdf")
    assert (status, err) == (0, "") and "\x1b" not in out
    rows = table((tmp_path / "m.csv").read_text("utf-8"))
    (row,) = [row for row in rows if row["item"] == "4a"]
    assert row["code name"] == "'=hyperlink($a$1)"
    assert row["saw"] == "'=1+1 \"; '=cmd[2J <b>"
    assert "<b>" not in class_page(mark_class(folder))._repr_html_()


def test_the_tables_have_every_learner_and_item_and_every_wrong_answer(folder, call, tmp_path):
    for k in range(4):
        put(folder, mixed_answers(f"gull {k}", "6b", 1))
    assert call("mark", folder, "-o", tmp_path / "marks.csv")[0] == 0
    rows = table((tmp_path / "marks.csv").read_text("utf-8"))
    assert tuple(rows[0]) == ANSWER_HEAD
    assert [(row["code name"], row["item"]) for row in rows] == [
        (f"gull {k}", key) for k in range(4) for key in EVERY_KEY]  # fmt: skip
    assert {row["class"] for row in rows} == {"6b"}
    wrong = [(row["item"], row["misconception"]) for row in rows if row["verdict"] == WRONG]
    counted = table((tmp_path / "marks-questions.csv").read_text("utf-8"))
    again = [(row["item"], row["misconception"]) for row in counted for _ in range(int(row["chosen by"]))]
    assert Counter(wrong) == Counter(again)


def test_bits_in_a_table_are_no_number_to_a_spreadsheet(folder):
    put(folder, answers_of("gull 7", keys=["4c"]))
    (row,) = [row for row in table(answers_table(mark_class(folder))) if row["item"] == "4c"]
    right = asked_of("4c", "", "gull 7")
    assert row["given"] == " ".join(map(str, right[0].right(right[1])))


# -- the page ---------------------------------------------------------------------------------------------


def signs(page):
    """How often each sign stands in the grid, by its marker: by shape, not by colour."""
    return {line.get_marker(): len(line.get_xdata()) for line in page.figure.axes[0].get_lines()
            if line.get_marker() not in ("None", "", None)}  # fmt: skip


def test_the_page_shows_each_verdict_by_a_sign_of_its_own(folder):
    for k in range(5):
        put(folder, mixed_answers(f"gull {k}", "", 2))
    put(folder, answers_of("gull 0", keys=KEYS) | {"code_name": "tern 2"})
    marks = mark_class(folder)
    found = Counter(result.verdict for learner in marks.learners for result in learner.results)
    assert signs(class_page(marks)) == {"o": found[RIGHT], "x": found[WRONG], ".": found[UNANSWERED],
                                        "D": found[MISMATCH]}  # fmt: skip
    assert class_page(marks).text == in_words(marks)


@pytest.mark.parametrize(("learners", "keys"), [(12, [*keys_of(1), *KEYS]), (30, EVERY_KEY)])
def test_wrong_ideas_that_have_no_room_are_counted_and_said_to_be_in_the_table(learners, keys, folder):
    """Those told and those counted are all there are, the commonest first; on the page no two texts overlap."""
    for k in range(learners):
        given = mixed_answers(f"gull {k}", "6b", 2)
        put(folder, given | {"items": {key: each for key, each in given["items"].items() if key in keys}})
    marks = mark_class(folder)
    ideas, page = misconceptions(questions(marks)), class_page(marks, "marks-questions.csv")
    page.figure.canvas.draw()
    texts = [text for text in page.figure.texts if text.get_text()]
    boxes = [text.get_window_extent() for text in texts]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))
    for said in ("\n".join(text.get_text() for text in texts), page.text.split("Questions with")[0]):
        told = len(re.findall(r"^ *\d+ learners?: ", said, re.MULTILINE))
        more = [int(each) for each in re.findall(r"and (\d+) more, in marks-questions\.csv", said)]
        assert told + sum(more) == len(ideas) and told >= 10 and len(more) == (told < len(ideas))
    assert len(ideas) > 12


def test_the_command_names_its_own_table_for_what_it_does_not_tell(folder, tmp_path, call):
    for k in range(12):
        put(folder, mixed_answers(f"gull {k}", "6b", 2))
    assert re.search(r"and \d+ more, in the table of questions \(-o marks\.csv writes it\)", call("mark", folder)[1])
    assert re.search(r"and \d+ more, in ours-questions\.csv", call("mark", folder, "-o", tmp_path / "ours.csv")[1])


@pytest.mark.parametrize("learners", [1, 30, 90])
def test_a_class_of_any_size_is_one_page_on_which_nothing_runs_over_the_edge(learners, folder, tmp_path):
    keys = EVERY_KEY if learners == 30 else KEYS
    for k in range(learners):
        put(folder, answers_of(f"gull {k} {'x' * 30}", "6b", keys, wrong=keys[k % 7 :: 3]))
    page = class_page(mark_class(folder))
    path = page.write(tmp_path / "class.pdf")
    assert path.read_bytes().count(b"/Type /Page\n") + path.read_bytes().count(b"/Type /Page ") == 1
    figure = page.figure
    figure.canvas.draw()
    whole = figure.bbox
    for text in [*figure.texts, *figure.axes[0].texts]:
        box = text.get_window_extent()
        assert box.x0 >= whole.x0 and box.x1 <= whole.x1 and box.y0 >= whole.y0 and box.y1 <= whole.y1, text


# -- the command ------------------------------------------------------------------------------------------


def test_the_command_reports_as_json(folder, call):
    put(folder, answers_of("gull 7", keys=KEYS, wrong=["4a"]))
    status, out, _ = call("mark", folder, "--json", "--lessons", "4")
    found = json.loads(out)
    assert status == 0 and found["all_usable"] and found["lessons"] == [4] and found["table"] is None
    wrong = [item for item in found["learners"][0]["items"] if item["verdict"] == WRONG]
    assert [(item["item"], item["misconception"]) for item in wrong] == [("4a", idea_behind("4a", "gull 7"))]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("mark",), "FOLDER"),
        (("mark", "missing"), "one may read"),
        (("mark", "empty"), "must hold answer files"),
        (("mark", "hand-in", "--lessons", "99"), "a lesson must be one of"),
        (("mark", "hand-in", "--lessons", "1-4"), "with commas"),
        (("mark", "hand-in", "--lessons", ""), "with commas"),
        (("mark", "hand-in", "-o", "marks.xls"), "must end in .csv"),
        (("mark", "hand-in", "-o", "nowhere/marks.csv"), "the folder of TABLE"),
        (("mark", "hand-in", "--picture", "class.gif"), "must end in .png or .pdf"),
        (("mark", "hand-in", "-o", "kept.csv"), "there already"),
        (("mark", "hand-in", "-o", "other.csv"), "other-questions.csv"),
        (("mark", "hand-in/" + answer_name("", "gull 7")), "one may read"),
    ],
)
def test_a_wrong_call_is_one_line_and_writes_nothing(words, said, folder, tmp_path, call, monkeypatch):
    monkeypatch.chdir(tmp_path)
    put(folder, answers_of("gull 7", keys=["4a"]))
    (tmp_path / "empty").mkdir()
    for name in ("kept.csv", "other-questions.csv"):
        (tmp_path / name).write_text("kept")
    before = sorted(tmp_path.rglob("*"))
    status, out, err = call(*words)
    assert (status, out) == (2, "") and one_line(err) and said in err
    assert sorted(tmp_path.rglob("*")) == before and (tmp_path / "kept.csv").read_text() == "kept"
    if "-o" in words and "kept.csv" in words:
        assert call(*words, "--force")[0] == 0


def test_the_command_in_the_readme_makes_what_it_names(tmp_path, call, monkeypatch):
    monkeypatch.chdir(tmp_path)
    put(tmp_path / "lessons" / "hand-in", answers_of("gull 7", keys=KEYS))
    text = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
    (line,) = [line for line in text.splitlines() if line.startswith(".venv/bin/python -m kit mark")]
    assert call(*line.split()[3:])[0] == 0
    assert {path.name for path in tmp_path.iterdir()} == {"lessons", "marks.csv", "marks-questions.csv", "class.pdf"}


@given(st.text(max_size=60))
@settings(derandomize=True, max_examples=300, deadline=None)
def test_every_name_a_learner_can_take_is_one_that_is_marked(name):
    from kit.exercises.owning import _even

    try:
        even = _even(name, "code_name")
    except SettingError:
        return
    assert is_name(even)
