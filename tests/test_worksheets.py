"""Worksheets as they come out of a printer: they can be read, measured and worked out, and say what the key says."""

import re

import matplotlib
import numpy as np
import pytest
from worksheet_cases import (
    DOTS_PER_MM,
    NAMES,
    asked,
    choices,
    letter_of,
    on_paper,
    pages,
    pictures,
    printed_lengths,
    strips,
    words,
    worked_out,
)

from kit.exercises.lessons import LESSONS
from kit.worksheets import MOST_SHEETS, PAPERS, worksheets
from kit.worksheets.moves import MOVES
from kit.worksheets.sheets import bits_of
from kit.worksheets.sums import SUMS

# Sources: ISO 216 (A4); ANSI/ASME Y14.1 (Letter, 8.5 by 11 inches).
SIZES_MM = {"a4": (210, 297), "letter": (8.5 * 25.4, 11 * 25.4)}


class Printed:
    """A set with its file, and what can be read from it."""

    def __init__(self, **settings):
        self.set = worksheets(NAMES[: settings.pop("learners")], "6b", **settings)
        self.pdf = self.set.pdf()
        self.pages = pages(self.pdf)
        self.pictures = pictures(self.pdf)
        self.texts = [words(page) for page in self.pages]


@pytest.fixture(scope="module")
def plain():
    """Two sheets on A4."""
    return Printed(learners=2)


@pytest.fixture(scope="module")
def large():
    """A sheet in large print on Letter paper."""
    return Printed(learners=1, paper="letter", large=True)


@pytest.fixture(scope="module", params=["plain", "large"])
def printed(request):
    return request.getfixturevalue(request.param)


@pytest.fixture(scope="module")
def key(plain):
    """The key of the sheets on A4, as text; its foot left out."""
    text = " ".join(words(page) for page in pages(plain.set.key_pdf()))
    return re.sub(r"Code names only, never a real name\. key, page \d+ of \d+ ?", "", text)


# -- on paper -------------------------------------------------------------------------------------------


def test_pages_are_of_the_size_of_paper(printed):
    """To half a millimetre, whatever the print."""
    for page in printed.pages:
        width, height = (float(each) * 25.4 / 72 for each in page.mediabox[2:])
        assert (width, height) == pytest.approx(SIZES_MM[printed.set.paper], abs=0.5)


def test_each_learner_has_one_page_and_in_large_print_three(plain, large):
    """In large print the pages of a sheet say which they are; a whole class has three each."""
    assert len(plain.pages) == 2 == plain.set.page_count
    assert len(large.pages) == large.set.page_count == 3
    for number, text in enumerate(large.texts, 1):
        assert f"sheet 1, page {number} of 3" in text
    for paper in PAPERS:
        assert worksheets(count=30, paper=paper, large=True).page_count == 90


def test_everything_is_black_or_grey_and_clear_of_the_edge(printed):
    """No picture element has a colour, and none within 10 mm of an edge is anything but white."""
    for picture in printed.pictures:
        assert (picture == picture[:, :, :1]).all()
        assert (picture < 128).mean() > 0.005
        edge = int(10 * DOTS_PER_MM)
        inside = picture[edge:-edge, edge:-edge]
        assert (picture == 255).sum() - (inside == 255).sum() == picture.size - inside.size


def test_type_is_large_enough_and_no_line_too_thin_to_copy(printed):
    """11 points, or 18 in large print; lines of half a point."""
    for page in printed.pages:
        sizes = []
        page.extract_text(visitor_text=lambda text, cm, tm, font, size, sizes=sizes: (
            sizes.append(size * abs(tm[3])) if text.strip() else None))
        assert len(sizes) > 10 and min(sizes) >= (18 if printed.set.large else 11)
        widths = [float(each) for each in re.findall(rb"([\d.]+) w\s", page.get_contents().get_data())]
        assert widths and min(widths) >= 0.5


def test_all_type_is_embedded(printed):
    """Each font carries its outlines, so that no printer puts in another."""
    fonts = [font.get_object() for page in printed.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        inner = font["/DescendantFonts"][0].get_object() if "/DescendantFonts" in font else font
        assert "/FontFile2" in inner["/FontDescriptor"].get_object()


def test_a_sheet_explains_the_words_it_asks_with(printed):
    """Before the first question; *checked* is not among them, because questions ask what it means."""
    sheet = " ".join(printed.texts[: len(printed.pages) // len(printed.set.sheets)])
    before, asks = sheet.split("1. Predict")
    for word in ("loader", "leader", "byte", "check"):
        assert f"A {word} " in before
    assert "checked" not in before and "loader" in asks


# -- the strips -----------------------------------------------------------------------------------------


def test_strips_are_read_from_the_printed_picture(printed):
    """The kit's own cell code reads each learner's letters from edges found among the dots of the page."""
    sheets, found = printed.set.sheets, [each for picture in printed.pictures for each in strips(picture)]
    assert len(found) == 3 * len(sheets)
    assert "".join(map(letter_of, found)) == "".join(sheet.letters for sheet in sheets)


def test_lengths_in_figures_are_those_in_the_picture(printed):
    """To a quarter of a millimetre, which is less than a ruler shows; in large print everything is twice as long."""
    drawn = [np.diff(each) for picture in printed.pictures for each in strips(picture)]
    said = [each for text in printed.texts for each in printed_lengths(text)]
    assert len(said) == len(drawn) == 3 * len(printed.set.sheets)
    for figures, lengths in zip(said, drawn, strict=True):
        assert len(figures) == 16 and set(figures) == ({6, 12} if printed.set.large else {3, 6})
        assert lengths == pytest.approx(figures, abs=0.25)


def test_a_letter_takes_eight_bits_and_a_one_twice_the_length():
    """'W' is 87, which is 64 + 16 + 4 + 2 + 1: five ones, as many as any letter that is drawn."""
    assert bits_of("W") == [0, 1, 0, 1, 0, 1, 1, 1]
    many = worksheets(count=MOST_SHEETS).sheets
    assert max(sum(bits_of(letter)) for sheet in many for letter in sheet.letters) == 5


# -- personal -------------------------------------------------------------------------------------------


def test_the_same_code_and_names_give_the_same_file_whatever_else_is_set(plain):
    """The user's own settings of matplotlib do not get in, nor does the spelling of blanks and capitals."""
    with matplotlib.rc_context({"font.size": 30, "lines.linewidth": 9, "savefig.facecolor": "red"}):
        assert worksheets(NAMES[:2], "6b").pdf() == plain.pdf
    again = worksheets([" GULL  7", "Tern 2"], " 6B ").sheets
    assert [each.letters for each in again] == [each.letters for each in plain.set.sheets]


# -- the key --------------------------------------------------------------------------------------------


def of_sheet(key, number):
    """The part of the key about a sheet."""
    return key.split(f"sheet {number}: ")[1].split("sheet ")[0].split("2. If a strip")[0]


def test_the_key_has_each_strip_as_it_is_read_from_the_page(plain, key):
    """Letters, bits and numbers; 'R 01010010 = 82' is one of them."""
    for number, picture in enumerate(plain.pictures, 1):
        letters = map(letter_of, strips(picture))
        assert all(f"{each} {ord(each):08b} = {ord(each)}" in of_sheet(key, number) for each in letters)
        assert of_sheet(key, number).startswith(NAMES[number - 1])


def test_the_key_has_each_calculation_as_worked_out_from_the_words_of_the_page(plain, key):
    """The right answer, and what each usual mistake gives."""
    for number, text in enumerate(plain.texts, 1):
        right, wrong = worked_out(text)
        line = "".join(f"{each:g} ({mark})" + ", " * (mark != "iii")
                       for each, mark in zip(wrong, ("i", "ii", "iii"), strict=True))
        assert f": {right:g}; wrong: {line}" in of_sheet(key, number)
        assert len({right, *wrong}) == 4


def test_the_key_has_the_right_letter_of_each_choice_on_the_page(plain, key):
    """Of each question there, the key has all wrong options with the idea behind them and a next move."""
    prediction = plain.set.prediction.choice
    for number, text in enumerate(plain.texts, 1):
        found = asked(text)
        assert len(found) == 2 and prediction in found
        (last,) = [each for each in found if each != prediction]
        assert re.search(rf"5\. last question \d+: {last.key}\b", of_sheet(key, number))
        for choice in found:
            explained = key.split(on_paper(choice.question))[1]
            for letter, option in choice.lettered:
                after = explained.split(f"{letter}) {on_paper(option.text)} ")[1]
                if letter == choice.key:
                    assert after.startswith("Right. ")
                else:
                    idea = re.escape(option.misconception)
                    assert re.match(rf"Idea: {idea}\. Next: {re.escape(MOVES[option.misconception])}", after)


def test_every_misconception_of_the_usual_lessons_has_a_move_of_its_own():
    """And no move is there for a misconception that nobody can have."""
    usual = {option.misconception for number in (1, 4) for item in
             (*LESSONS[number].items.values(), *LESSONS[number].recall) if item.kind == "choice"
             for option in item.options} - {""}
    everywhere = {option.misconception for choice in choices() for option in choice.options}
    assert usual <= set(MOVES) <= everywhere


@pytest.mark.parametrize("letter", sorted(SUMS))
def test_calculations_have_round_answers_that_differ_from_the_usual_mistakes(letter):
    """Over all that a class may get: whole seconds, whole bytes, and four different numbers."""
    drawn = [sheet.sum_data for sheet in worksheets(count=MOST_SHEETS).sheets if sheet.sum_letter == letter]
    assert len(drawn) > 50
    for data in drawn:
        right, wrong = worked_out(SUMS[letter].question(data))
        assert right == int(right) == SUMS[letter].right(data)
        assert [mistake.function(data) for mistake in SUMS[letter].mistakes] == wrong
        assert len({right, *wrong}) == 4
