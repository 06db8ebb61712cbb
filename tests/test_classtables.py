"""What is shown of a class: tables in which nothing computes, one page, and the command that makes them."""

import json
import re
from collections import Counter
from itertools import combinations
from pathlib import Path

import pytest
from class_cases import EVERY_KEY, KEYS, SHORT_KEYS, answers_of, idea_behind, mixed_answers, put, table
from commandline_words import one_line
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.exercises import LESSONS
from kit.exercises.answers import answer_name
from kit.exercises.classcounts import misconceptions, questions
from kit.exercises.classmarks import mark_class
from kit.exercises.classpage import class_page
from kit.exercises.classtables import ANSWER_HEAD, answers_table, in_words, safe_cell
from kit.exercises.lessons import asked_of, keys_of
from kit.exercises.marking import MISMATCH, RIGHT, UNANSWERED, WRONG

pytest_plugins = ["class_fixtures", "commandline_fixtures"]

# -- tables ---------------------------------------------------------------------------------------------


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


def test_hostile_words_stay_words_in_table_report_and_picture(hand_in, call, tmp_path):
    answers = answers_of("=hyperlink($a$1)", keys=KEYS)
    answers["items"]["4a"]["saw"] = '=1+1\n"; =cmd\x1b[2J <b>\u202e'
    put(hand_in, answers)
    status, out, err = call("mark", hand_in, "-o", tmp_path / "m.csv", "--picture", tmp_path / "m.pdf")
    assert (status, err) == (0, "") and "\x1b" not in out
    rows = table((tmp_path / "m.csv").read_text("utf-8"))
    (row,) = [row for row in rows if row["item"] == "4a"]
    assert row["code name"] == "'=hyperlink($a$1)"
    assert row["saw"] == "'=1+1 \"; '=cmd[2J <b>"
    assert "<b>" not in class_page(mark_class(hand_in))._repr_html_()


def test_the_tables_have_every_learner_and_item_and_every_wrong_answer(hand_in, call, tmp_path):
    for k in range(4):
        put(hand_in, mixed_answers(f"gull {k}", "6b", 1))
    assert call("mark", hand_in, "-o", tmp_path / "marks.csv")[0] == 0
    rows = table((tmp_path / "marks.csv").read_text("utf-8"))
    assert tuple(rows[0]) == ANSWER_HEAD
    assert [(row["code name"], row["item"]) for row in rows] == [
        (f"gull {k}", key) for k in range(4) for key in EVERY_KEY]  # fmt: skip
    assert {row["class"] for row in rows} == {"6b"}
    wrong = [(row["item"], row["misconception"]) for row in rows if row["verdict"] == WRONG]
    counted = table((tmp_path / "marks-questions.csv").read_text("utf-8"))
    again = [(row["item"], row["misconception"]) for row in counted for _ in range(int(row["chosen by"]))]
    assert Counter(wrong) == Counter(again)


def test_bits_in_a_table_are_no_number_to_a_spreadsheet(hand_in):
    put(hand_in, answers_of("gull 7", keys=["4c"]))
    (row,) = [row for row in table(answers_table(mark_class(hand_in))) if row["item"] == "4c"]
    right = asked_of("4c", "", "gull 7")
    assert row["given"] == " ".join(map(str, right[0].right(right[1])))


# -- the page -------------------------------------------------------------------------------------------


def signs(page):
    """How often each sign stands in the grid, by its marker: by shape, not by colour."""
    return {line.get_marker(): len(line.get_xdata()) for line in page.figure.axes[0].get_lines()
            if line.get_marker() not in ("None", "", None)}  # fmt: skip


def test_the_page_shows_each_verdict_by_a_sign_of_its_own(hand_in):
    for k in range(5):
        put(hand_in, mixed_answers(f"gull {k}", "", 2))
    put(hand_in, answers_of("gull 0", keys=KEYS) | {"code_name": "tern 2"})
    marks = mark_class(hand_in)
    found = Counter(result.verdict for learner in marks.learners for result in learner.results)
    assert signs(class_page(marks)) == {"o": found[RIGHT], "x": found[WRONG], ".": found[UNANSWERED],
                                        "D": found[MISMATCH]}  # fmt: skip
    assert class_page(marks).text == in_words(marks)


@pytest.mark.parametrize(("learners", "keys"), [(12, [*keys_of(1), *KEYS]), (30, SHORT_KEYS)])
def test_wrong_ideas_that_have_no_room_are_counted_and_said_to_be_in_the_table(learners, keys, hand_in):
    """Those told and those counted are all there are, the commonest first; on the page no two texts overlap."""
    for k in range(learners):
        put(hand_in, mixed_answers(f"gull {k}", "6b", 2, keys))
    marks = mark_class(hand_in)
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


@pytest.mark.parametrize(("keys", "openings"), [(keys_of(1), False), (keys_of(4), True)])
def test_the_page_of_a_small_class_says_what_each_item_asks_and_of_openings_only_where_there_are_any(
        keys, openings, hand_in):
    for k in range(6):
        put(hand_in, mixed_answers(f"gull {k}", "6b", 2, keys))
    page = class_page(mark_class(hand_in))
    page.figure.canvas.draw()
    texts = [text for text in page.figure.texts if text.get_text().strip()]
    boxes = [text.get_window_extent() for text in texts]
    assert not any(one.overlaps(other) for one, other in combinations(boxes, 2)) and min(box.y0 for box in boxes) > 0
    lines = "\n".join(text.get_text() for text in texts).splitlines()
    for key in (each for each in keys if "r" not in each):
        (line,) = [line for line in lines if line.startswith(f"{key}: ")]
        item = asked_of(key, "6b", "gull 0")[0]
        (can,) = [words for words, letter in LESSONS[int(key[0])].can if letter == key[1]] or [""]
        asked = item.question.replace("`", "") if item.kind == "choice" else can
        assert asked and asked[:40] in line, (line, asked)
    assert any(line.startswith("r1 to r3") for line in lines) == openings
    assert any("ideas.md" in line for line in lines)


def test_the_command_names_its_own_table_for_what_it_does_not_tell(hand_in, tmp_path, call):
    for k in range(12):
        put(hand_in, mixed_answers(f"gull {k}", "6b", 2, SHORT_KEYS))
    assert re.search(r"and \d+ more, in the table of questions \(-o marks\.csv writes it\)", call("mark", hand_in)[1])
    assert re.search(r"and \d+ more, in ours-questions\.csv", call("mark", hand_in, "-o", tmp_path / "ours.csv")[1])


@pytest.mark.parametrize("learners", [1, 30, 90])
def test_a_class_of_any_size_is_one_page_on_which_nothing_runs_over_the_edge(learners, hand_in, tmp_path):
    keys = SHORT_KEYS if learners == 30 else [key for key in KEYS if key in SHORT_KEYS]
    for k in range(learners):
        put(hand_in, answers_of(f"gull {k} {'x' * 30}", "6b", keys, wrong=keys[k % 7 :: 3]))
    page = class_page(mark_class(hand_in))
    path = page.write(tmp_path / "class.pdf")
    assert path.read_bytes().count(b"/Type /Page\n") + path.read_bytes().count(b"/Type /Page ") == 1
    figure = page.figure
    figure.canvas.draw()
    whole = figure.bbox
    for text in [*figure.texts, *figure.axes[0].texts]:
        box = text.get_window_extent()
        assert box.x0 >= whole.x0 and box.x1 <= whole.x1 and box.y0 >= whole.y0 and box.y1 <= whole.y1, text


# -- the command ----------------------------------------------------------------------------------------


def test_the_command_reports_as_json(hand_in, call):
    put(hand_in, answers_of("gull 7", keys=KEYS, wrong=["4a"]))
    status, out, _ = call("mark", hand_in, "--json", "--lessons", "4")
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
def test_a_wrong_call_is_one_line_and_writes_nothing(words, said, hand_in, tmp_path, call, monkeypatch):
    monkeypatch.chdir(tmp_path)
    put(hand_in, answers_of("gull 7", keys=["4a"]))
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
