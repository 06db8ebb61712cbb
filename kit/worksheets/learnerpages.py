"""A learner's pages: predict, measure, work out, say what you saw, and one question at the end."""

from functools import partial
from re import sub

from ..exercises.items import LETTERS
from .flow import Block, Writer, flowed
from .naming import NAMES_ONLY
from .paper import LEADINGS, MM_PER_POINT, PAPERS, Look
from .strips import alphabet, bar, boxes, lengths_lines, strip, strip_with_boxes
from .sums import SUMS
from .typeset import printable, width_mm

__all__ = ["learner_pages", "plain_quotes"]

GAP_MM = 1.5
LARGE_PAGES = 3  # in large print, printed on two leaves
TITLE = "Read a tape with a ruler"
WORDS = (  # that a sheet asks with: on paper alone nobody else explains them
    "A loader turns sound back into data. A leader is the tone before the data. A byte is eight bits, "
    "here a letter. A check is a number worked out from the data and kept behind it."
)
RULES = (
    "Three buoys signed your log with one letter each. This is what a loader hears of them: 8 cycles a letter, each "
    "made of two half-cycles, one up and one down. A short cycle is a 0; a long one, twice as long, is a 1."
)
TASK = (
    "Measure from edge to edge with a ruler, or take the lengths in figures. Write 0 or 1 into each box, add what "
    "stands above each 1, and look the sum up:"
)
NAMES_OF_LETTERS = ("first", "second", "third")
THOUGHTS = ("I thought", "I saw", "so")


def learner_pages(worksheet_set):
    """What draws each page of a set, in order.

    Parameters
    ----------
    worksheet_set : WorksheetSet

    Returns
    -------
    list of callable
        Each takes a `Page`.
    """
    look, flows = _fitting(worksheet_set)
    pages = []
    for sheet, placed in zip(worksheet_set.sheets, flows, strict=True):
        for number, blocks in enumerate(placed, 1):
            foot = f"sheet {sheet.number}" + f", page {number} of {len(placed)}" * (len(placed) > 1)
            pages.append(partial(draw_page, look=look, blocks=blocks, foot=foot))
    return pages


def _fitting(worksheet_set):
    """A look in which each sheet has as few pages as it should, if there is one, and the pages of each sheet."""
    for leading in LEADINGS:
        look = Look(PAPERS[worksheet_set.paper], worksheet_set.large, leading)
        sheets = worksheet_set.sheets
        flows = [flowed(list(_blocks(worksheet_set, sheet, look)), look.height_mm) for sheet in sheets]
        if max(map(len, flows)) <= (LARGE_PAGES if look.large else 1):
            break
    return look, flows


def draw_page(page, look, blocks, foot):
    """Draw blocks in their places, and a line at the foot."""
    for block, y in blocks:
        block.draw(page, look.top_mm + y)
    base = look.paper.height_mm - look.top_mm
    if not look.large:  # where it stands at the top, for want of room
        page.text(look.left_mm, base, NAMES_ONLY, look.type_pt)
    page.text(look.left_mm + look.width_mm, base, foot, look.type_pt, align="right")


def plain_quotes(text):
    """A text for paper: what a notebook sets as code stands in quotes.

    Examples
    --------
    >>> plain_quotes("a file `checked` by it")
    'a file “checked” by it'
    """
    return sub("`([^`]*)`", "“\\1”", text)


def _blocks(worksheet_set, sheet, look):
    writer = Writer(look)
    yield from _top(writer, worksheet_set, sheet)
    yield writer.lines(WORDS)
    yield writer.gap(GAP_MM)
    yield from _choice(writer, "1. Predict", worksheet_set.prediction.choice, "Tick one, before you know.")
    yield writer.gap(GAP_MM)
    yield from _reading(writer, sheet)
    yield writer.gap(GAP_MM)
    yield writer.heading("3. Work out")
    yield writer.lines(SUMS[sheet.sum_letter].question(sheet.sum_data), keep=True)
    yield writer.ruled("My way and my answer:", 3 if look.large else 2)
    yield writer.gap(GAP_MM)
    yield writer.heading("4. Look back at your prediction")
    for label in THOUGHTS:
        yield writer.ruled(label, 2 if look.large else 1, keep=label != THOUGHTS[-1])
    yield writer.gap(GAP_MM)
    yield from _choice(writer, "5. Before you go", worksheet_set.exits[sheet.exit_number].choice)


def _top(writer, worksheet_set, sheet):
    """Title, and who it is for."""
    look = writer.look
    yield writer.lines(TITLE, size_pt=look.title_pt, bold=True)
    code = f"class {printable(worksheet_set.class_code)}" if worksheet_set.class_code else ""
    if sheet.shown:
        name = f"code name: {printable(sheet.shown)}"
        together = " · ".join(filter(None, (name, code)))
        fits = width_mm(together, look.type_pt) < look.width_mm
        yield from map(writer.lines, [together] if fits else filter(None, [name, code]))
    else:
        yield writer.ruled("code name:")
        yield from map(writer.lines, filter(None, [code]))
    if look.large:
        yield writer.lines(NAMES_ONLY)


def _choice(writer, heading, choice, more=""):
    """A question with four boxes to tick."""
    yield writer.heading(heading)
    yield writer.lines(plain_quotes(f"{choice.question} {more}"), keep=True)
    for letter, option in zip(LETTERS, choice.options, strict=True):
        yield _option(writer, letter, plain_quotes(option.text), keep=letter != LETTERS[-1])


def _option(writer, letter, text, keep):
    """An option with its box."""
    look = writer.look
    side = 0.8 * look.type_pt * MM_PER_POINT
    words = writer.lines(text, indent_mm=side + 2.0, mark=f"{letter})")

    def draw(page, y):
        page.box(look.left_mm, y + 0.8 * look.line_mm - 0.9 * side, side, side)
        words.draw(page, y)

    return Block(words.height_mm + 0.3, draw, keep)


def _reading(writer, sheet):
    """The strip, or rather one for each letter, with all it takes to read it."""
    look = writer.look
    yield writer.heading("2. Measure and read")
    yield writer.lines(RULES)
    yield writer.gap(0.5)
    yield writer.lines(TASK)
    yield alphabet(look)
    yield writer.gap(0.5)
    yield bar(look)
    for k, (letter, name) in enumerate(zip(sheet.letters, NAMES_OF_LETTERS, strict=True)):
        if look.large:
            yield from (strip(letter, look), *lengths_lines(writer, name, letter, keep=True), boxes(look))
            yield writer.gap(2.0)
        else:
            yield from (strip_with_boxes(letter, look, heads=k == 0), *lengths_lines(writer, name, letter))
