"""Plans, notes and quiz of the teacher's pages have what the lessons have: parts, minutes, questions, wrong ideas."""

import json
import re

import pytest
from lessonpages import page_of
from teachingpages import AGAIN, TEACHING, TEXTS, make, tables, told

from kit.exercises import LESSONS

PLANS = dict(re.findall(r"^### \[Lesson (\d+)\][^\n]*\n(.*?)(?=^##|\Z)", TEXTS["plans.md"], re.MULTILINE | re.DOTALL))
NOTES = dict(re.findall(r"^## Lesson (\d+)\n(.*?)(?=^## |\Z)", TEXTS["notes.md"], re.MULTILINE | re.DOTALL))
NUMBERS = range(1, 14)


def test_minutes_follow_each_other_and_add_up():
    pages = ("plans.md", "one-off.md")
    timed = [(name, table) for name in pages for table in tables(TEXTS[name]) if table[0][0] == "from"]
    assert len(timed) == 3 + 3
    ends = []
    for name, (_, *rows) in timed:
        starts, stops, minutes = zip(*([int(cell) for cell in row[:3]] for row in rows), strict=True)
        assert list(starts) == [0, *stops[:-1]], name
        assert [stop - start for start, stop in zip(starts, stops, strict=True)] == list(minutes)
        ends.append(stops[-1])
    assert ends == [45, 60, 90, 45, 45, 45]
    assert [int(each) for each in told(r"^## Pattern for (\d+) minutes", TEXTS["plans.md"])] == ends[:3]


@pytest.mark.parametrize("number", NUMBERS)
def test_the_minutes_of_a_lesson_add_up_to_those_of_the_class(number):
    (head, *rows, last) = tables(PLANS[str(number)])[0]
    lengths = [int(re.match(r"\d+", each)[0]) for each in head[2:]]
    assert lengths == ([45, 60, 90] if number < 12 else [45, 45, 60, 90])
    for column, length in enumerate(lengths, 2):
        assert sum(int(row[column]) for row in rows if row[column] != "–") == length
        assert last[column] == f"**{length}**"


@pytest.mark.parametrize("number", NUMBERS)
def test_a_plan_has_the_parts_of_its_lesson_in_their_order_with_what_they_ask(number):
    cells = json.loads(page_of(number).read_text("utf-8"))["cells"]
    parts = {}
    for cell in cells:
        source = "".join(cell["source"])
        if cell["cell_type"] == "markdown":
            for heading in told(r"^## (.*)$", source):
                parts[heading] = []
        elif parts:
            parts[next(reversed(parts))] += re.findall(r'me\.(?:predict|answer|check|opening)\("?(\w+)', source)
    planned = {row[0]: re.findall(r'\("?(\w+)"?[,)]', row[1]) for row in tables(PLANS[str(number)])[0][1:-1]}
    of_lesson = {name: asked for name, asked in planned.items() if not name.startswith("*")}
    expected = list(parts)[: list(parts).index("What you can now do") + 1]
    assert list(of_lesson) == expected
    assert of_lesson == {name: list(dict.fromkeys(parts[name])) for name in expected}
    title = told(r"^# (.*)$", "".join(cells[0]["source"]))[0]
    assert f"*{title}*" in PLANS[str(number)] and page_of(number).name in TEXTS["plans.md"]


@pytest.mark.parametrize("place", range(1, len(make.QUIZ) + 1))
def test_a_question_of_the_quiz_is_the_lessons_own_word_for_word(place):
    key = make.QUIZ[place - 1]
    blocks = re.split(r"(?m)^(?=### )", make.made(TEACHING / "quiz.md", "quiz"))[1:]
    assert blocks[place - 1].rstrip() == make.question_block(key, place).rstrip(), AGAIN
    assert len(blocks) == len(make.QUIZ)
    assert make.key_row(key, place) in make.made(TEACHING / "quiz-key.md", "quiz")


@pytest.mark.parametrize("number", NUMBERS)
def test_the_key_has_every_choice_of_a_lesson(number):
    page = make.made(TEACHING / "quiz-key.md", "choices")
    rows = [line for line in page.splitlines(keepends=True) if line.startswith(f"| {number} |")]
    assert rows == [make.key_row(key, number) for key in make.choices_of(number)] and rows, AGAIN


def test_no_answer_stands_on_the_sheet_of_the_quiz():
    assert "right" not in [cell for table in tables(TEXTS["quiz.md"]) for cell in table[0]]
    for number in NUMBERS:
        for item in LESSONS[number].items.values():
            ideas = {option.misconception for option in getattr(item, "options", ())} - {""}
            assert not [idea for idea in ideas if len(idea) > 20 and idea in TEXTS["quiz.md"]]


@pytest.mark.parametrize("number", NUMBERS)
def test_wrong_ideas_in_the_notes_are_those_of_the_lesson(number):
    ideas = [row[0] for row in tables(NOTES[str(number)])[0][1:]]
    assert len(set(ideas)) == len(ideas) >= 5
    items = LESSONS[number].items.values()
    known = {option.misconception for item in items for option in getattr(item, "options", ())}
    known |= {mistake.means for item in items for mistake in getattr(item, "mistakes", ())}
    assert set(ideas) <= known, set(ideas) - known


def test_whatever_marking_can_report_is_on_the_page_of_ideas_with_where_it_is_met_and_what_to_say():
    """Read from the items themselves, by lesson; a function left as it was given is no idea."""
    assert make.made(TEACHING / "ideas.md", "ideas") == make.ideas(), AGAIN
    parts = re.findall(r"^## Lesson (\d+)\n(.*?)(?=^## |\Z)", TEXTS["ideas.md"], re.MULTILINE | re.DOTALL)
    assert [int(number) for number, _ in parts] == list(NUMBERS)
    for number, text in parts:
        rows = {row[0]: row[1:] for row in tables(text)[0][1:]}
        items = [*LESSONS[int(number)].items.values(), *LESSONS[int(number)].recall]
        known = {option.misconception for item in items for option in getattr(item, "options", ())} - {""}
        known |= {mistake.means for item in items for mistake in getattr(item, "mistakes", ())} - {"has not begun"}
        assert set(rows) == known and all(where and said for where, said in rows.values())
    noted = {row[0] for row in tables(NOTES["1"])[0][1:]}
    assert noted >= {"leaves out zeros in front", "checking takes understanding"}
