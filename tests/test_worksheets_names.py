"""Worksheets of a class: each learner has their own, names are anything, and whatever is drawn fits."""

import re
import warnings
from dataclasses import replace
from itertools import product

import pypdfium2
import pytest
from worksheet_cases import NAMES, pages, words

from kit.errors import SettingError
from kit.exercises.lessons import LESSONS
from kit.worksheets import MOST_SHEETS, PAPERS, worksheets
from kit.worksheets.flow import flowed
from kit.worksheets.learnerpages import _blocks as blocks_of
from kit.worksheets.paper import LEADINGS, Look
from kit.worksheets.sheets import Question, Sheet, exits_of
from kit.worksheets.typeset import printable

# -- personal -------------------------------------------------------------------------------------------


def test_thirty_learners_have_thirty_strips_and_numbers_of_their_own():
    """Also in a class of two hundred no strip comes twice; letters make no words, having no vowels."""
    class_of_30 = worksheets([f"gull {k}" for k in range(30)], "6b").sheets
    assert len({sheet.letters for sheet in class_of_30}) == 30
    assert len({(sheet.sum_letter, *sheet.sum_data) for sheet in class_of_30}) > 25
    assert len({sheet.exit_number for sheet in class_of_30}) > 3
    all_letters = [sheet.letters for sheet in worksheets(count=MOST_SHEETS).sheets]
    assert len(set(all_letters)) == MOST_SHEETS and not set("".join(all_letters)) & set("AEIOUY")


def test_another_class_code_gives_other_sheets():
    one, other = (worksheets(NAMES, code) for code in ("6b", "7a"))
    assert not {sheet.letters for sheet in one.sheets} & {sheet.letters for sheet in other.sheets}
    predictions = {worksheets(NAMES, f"class {k}", lessons=[1, 4]).prediction.choice.question for k in range(20)}
    assert len(predictions) == 3  # 1a, 4a and 4b


def test_if_no_lesson_is_named_every_class_predicts_in_lesson_1_and_large_print_does_not_change_it():
    """A page that tells how a paper session goes can then count on the question that is voted on."""
    (asked,) = [item for letter, item in LESSONS[1].items.items() if letter == "a"]
    for code in ("", "6b", "7a", "9c"):
        for made in (worksheets(NAMES, code), worksheets(count=2, class_code=code, large=True)):
            assert made.prediction.choice == asked
            assert {question.lesson for question in made.exits} == {1}


def test_a_lesson_of_ones_own_choice_is_asked_about():
    made = worksheets(NAMES, "6b", lessons=[7])
    asked_about = {made.prediction.lesson, *(question.lesson for question in made.exits)}
    assert asked_about == {7} and made.prediction not in made.exits


def test_a_sheet_without_a_name_has_a_line_to_write_one_on():
    made = worksheets(count=1)
    assert made.sheets[0].shown == ""
    text = words(pages(made.pdf())[0])
    assert "code name: " in text and "Code names only, never a real name." in text and "sheet 1" in text


# -- names are anything ---------------------------------------------------------------------------------


HOSTILE = {
    r"$x^2$ \alpha $\frac{1}{0}$ {0} %s _ & ~": r"$x^2$ \alpha $\frac{1}{0}$ {0} %s _ & ~",
    "$": "$",
    "<b>gull</b>\x1b[2J\x00\x07 7": "<b>gull</b>[2J 7",
    "\u202egull\u2066 8\udcff": "gull 8",
    "島 9\né Ω я": "[U+5CF6] 9 é Ω я",
    "W" * 3000: "W" * 39 + "…",
    "島" * 30: "[U+5CF6]" * 4 + "…",
}


def test_hostile_names_appear_as_text():
    """None is set as mathematics, steers anything, runs out of the page, or makes the drawing complain."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        made = worksheets(HOSTILE, "$\\sqrt{6b}$")
        pdf = made.pdf()
    assert [printable(sheet.shown) for sheet in made.sheets] == list(HOSTILE.values())
    assert len(pages(pdf)) == len(HOSTILE)
    for page, shown in zip(pypdfium2.PdfDocument(pdf), HOSTILE.values(), strict=True):
        text = " ".join(page.get_textpage().get_text_range().split())
        assert f"code name: {shown}" in text and r"class $\sqrt{6b}$" in text


@pytest.mark.parametrize(("names", "settings", "said"), [
    ([], {}, "1 to 200 names, got 0"),
    (["x"] * 201, {}, "1 to 200 names, got 201"),
    (["gull 7", "Gull  7"], {}, "must differ, got 'Gull 7' twice"),
    (["gull", "\x00\u202e"], {}, "something to print"),
    (["gull"], {"count": 3}, "got 1 and 3"),
    ([], {"count": 0}, "1 to 200 sheets, got 0"),
    ([], {"count": 201}, "1 to 200 sheets, got 201"),
    (["gull"], {"paper": "a3"}, "paper must be one of a4, letter"),
    (["gull"], {"lessons": [99]}, "a lesson must be one of"),
    (["gull"], {"lessons": []}, "a lesson to ask about"),
])
def test_what_makes_no_sheets_is_refused_in_one_line(names, settings, said):
    with pytest.raises(SettingError, match=re.escape(said)) as refusal:
        worksheets(names, **settings)
    assert "\n" not in str(refusal.value)


# -- room -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
def test_whatever_is_drawn_fits_on_one_page(paper):
    """The longest name with every prediction, calculation and last question of each lesson."""
    look = Look(PAPERS[paper], leading=LEADINGS[-1])
    for number, lesson in LESSONS.items():
        made = worksheets(["W" * 60], "6b", paper=paper, lessons=[number])
        everything = [item for item in (*lesson.items.values(), *lesson.recall) if item.kind == "choice"]
        for choice in everything:
            question = Question(number, choice)
            exits = exits_of([number], question)
            asks = replace(made, prediction=question, exits=exits)
            for exit_number, (letter, data) in product(
                range(len(exits)), {"S": [8000, 3200, 6], "R": [90, 3200, 6]}.items()
            ):
                sheet = Sheet(1, "W" * 40, "BWV", letter, data, exit_number)
                assert len(flowed(list(blocks_of(asks, sheet, look)), look.height_mm)) == 1
