"""The key: each learner's answers, then what wrong answers mean and what to do next."""

from functools import partial

from .flow import Writer, flowed
from .learnerpages import draw_page, plain_quotes
from .moves import STRIP, next_move
from .paper import PAPERS, Look
from .sheets import bits_of
from .sums import SUMS
from .typeset import printable

__all__ = ["key_pages"]

GAP_MM, INDENT_MM = 3.0, 6.0
ROMAN = ("i", "ii", "iii")
HOW = (
    "Keep this from the class. All have the same prediction, so that they can vote, talk, vote again, and see it "
    "together; letters, numbers and the last question differ. Show or tell what happens between parts 3 and 4. "
    "“Next” is what to do about a wrong answer, and it takes no more than the sheet and a pencil where it can."
)


def key_pages(worksheet_set):
    """What draws each page of a set's key, in order.

    Parameters
    ----------
    worksheet_set : WorksheetSet

    Returns
    -------
    list of callable
        Each takes a `Page`.
    """
    look = Look(PAPERS[worksheet_set.paper])
    placed = flowed(list(_blocks(worksheet_set, Writer(look))), look.height_mm)
    return [
        partial(draw_page, look=look, blocks=blocks, foot=f"key, page {number} of {len(placed)}")
        for number, blocks in enumerate(placed, 1)
    ]


def _blocks(worksheet_set, writer):
    code = f" for class {printable(worksheet_set.class_code)}" * bool(worksheet_set.class_code)
    yield writer.lines(f"Key to the worksheets{code}", size_pt=writer.look.title_pt, bold=True)
    yield writer.lines(HOW)
    yield writer.gap(GAP_MM)
    yield from _question(writer, "1. The prediction of all", worksheet_set.prediction)
    yield writer.gap(GAP_MM)
    yield writer.heading("2 to 5. Answers of each sheet")
    for sheet in worksheet_set.sheets:
        yield writer.gap(1.0)
        yield from _answers(writer, sheet, worksheet_set.exits[sheet.exit_number].choice.key)
    yield writer.gap(GAP_MM)
    yield from _strips(writer)
    for letter in sorted({sheet.sum_letter for sheet in worksheet_set.sheets}):
        yield writer.gap(GAP_MM)
        yield from _sum(writer, letter)
    for number in sorted({sheet.exit_number for sheet in worksheet_set.sheets}):
        yield writer.gap(GAP_MM)
        yield from _question(writer, f"5. Last question {number + 1}", worksheet_set.exits[number])


def _answers(writer, sheet, exit_key):
    """What is right on a sheet, and what the usual mistakes would give."""
    name = printable(sheet.shown) if sheet.shown else "no name"
    bits = (f"{letter} {''.join(map(str, bits_of(letter)))} = {ord(letter)}" for letter in sheet.letters)
    item, data = SUMS[sheet.sum_letter], sheet.sum_data
    wrong = (f"{mistake.function(data):g} ({mark})" for mark, mistake in zip(ROMAN, item.mistakes, strict=True))
    yield writer.lines(f"sheet {sheet.number}: {name}", bold=True, keep=True)
    yield writer.lines(f"2. {', '.join(bits)}", indent_mm=INDENT_MM, keep=True)
    sum_line = f"3. calculation {sheet.sum_letter}: {item.right(data):g}; wrong: {', '.join(wrong)}"
    yield writer.lines(sum_line, indent_mm=INDENT_MM, keep=True)
    yield writer.lines(f"5. last question {sheet.exit_number + 1}: {exit_key}", indent_mm=INDENT_MM)


def _question(writer, heading, question):
    """A choice: what is right, and of each wrong option the idea behind it and the next move."""
    choice = question.choice
    yield writer.heading(heading)
    yield writer.lines(plain_quotes(choice.question), keep=True)
    for letter, option in choice.lettered:
        yield writer.lines(plain_quotes(option.text), mark=f"{letter})", keep=True)
        if option.misconception:
            yield from _next(writer, option.misconception, _move(option, question.lesson))
        else:
            why = plain_quotes(choice.explanation or option.reply)
            yield writer.lines(f"Right. {why}", indent_mm=INDENT_MM)


def _move(option, lesson):
    return plain_quotes(next_move(option.misconception, option.reply, lesson))


def _next(writer, idea, move):
    """The idea behind a wrong answer, and what to do about it."""
    yield writer.lines(ended(f"Idea: {idea}"), indent_mm=INDENT_MM, keep=True)
    yield writer.lines(ended(f"Next: {move}"), indent_mm=INDENT_MM)


def ended(text):
    """A sentence with its full stop, if it has no end of its own.

    Examples
    --------
    >>> ended("so it is"), ended("is it?")
    ('so it is.', 'is it?')
    """
    return text if text[-1] in ".?!" else f"{text}."


def _strips(writer):
    yield writer.heading("2. If a strip went wrong")
    for seen, idea, move in STRIP:
        yield writer.lines(f"{seen}:", mark="–", keep=True)
        yield from _next(writer, idea, move)


def _sum(writer, letter):
    item = SUMS[letter]
    yield writer.heading(f"3. If calculation {letter} went wrong")
    for mark, mistake in zip(ROMAN, item.mistakes, strict=True):
        yield writer.lines(mistake.shows, mark=f"({mark})", keep=True)
        yield from _next(writer, mistake.means, mistake.look)
    yield writer.lines(f"Any other number: {item.look}. For example: {item.worked}.", mark="–")
