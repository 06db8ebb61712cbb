"""One page on a class: who got which items right, as a grid of signs, and the commonest wrong ideas in words."""

import textwrap

from ..shown import BLACK, GREEN, ORANGE, VERMILLION, Shown
from .classcounts import idea_in_words, item_in_words, misconceptions, questions
from .classtables import TABLE, and_more, in_words, lesson_number
from .lessons import LESSONS
from .marking import MISMATCH, RIGHT, UNANSWERED, WRONG

__all__ = ["class_page"]

PAPERS_IN = ((11.69, 8.27), (8.27, 11.69), (16.54, 11.69), (11.69, 16.54), (23.39, 16.54), (16.54, 23.39))  # A4 … A2
LEFT_IN, RIGHT_IN, TOP_IN, BOTTOM_IN = 1.75, 0.8, 1.15, 2.0
LEAST_CELL_IN = 0.105  # smaller signs cannot be told apart in print
MOST_CELL_IN = 0.3
SIGNS = {
    RIGHT: {"marker": "o", "color": GREEN, "label": "right"},
    WRONG: {"marker": "x", "color": VERMILLION, "label": "wrong"},
    UNANSWERED: {"marker": ".", "color": BLACK, "label": "not answered"},
    MISMATCH: {"marker": "D", "color": ORANGE, "label": "answers other data"},
}
SMALLER = {UNANSWERED: 0.35, WRONG: 0.9}
TITLE_SIZE, TEXT_SIZE, SMALL_SIZE = 13, 9.5, 8
LONGEST_NAME = 22
LEADING = 1.2
TALLEST = 1.03  # a line of this type to its size
LINE_IN = TEXT_SIZE * LEADING * TALLEST / 72
EDGE_IN = 0.14
LETTERS_AN_INCH = 12.5
COLUMN_IN = 5.5  # of wrong ideas; narrower ones break most of them
LINES_OF_AN_IDEA = 2
OPENING_NOTE = "r1 to r3: what a lesson asks about earlier ones."
IDEAS_NOTE = "What to say about each idea: ideas.md in lessons/teaching."


def class_page(marks, table=TABLE):
    """A page on a class.

    Parameters
    ----------
    marks : ClassMarks
    table : str
        What the table of questions is called, which has the wrong ideas there is no room for.

    Returns
    -------
    Shown
        A page of A4, or a larger one where A4 has no room; its text equal is the report in words. Learners and
        items for which the largest page has no room are counted, and said to be left out.
    """
    from matplotlib.figure import Figure

    paper, learners, keys = _room(marks)
    figure = Figure(figsize=paper, facecolor="white")
    width = min(paper[0] - LEFT_IN - RIGHT_IN, MOST_CELL_IN * max(1, len(keys)))
    height = min(paper[1] - TOP_IN - BOTTOM_IN, MOST_CELL_IN * max(1, len(learners)))
    below = paper[1] - TOP_IN - height
    axes = figure.add_axes((LEFT_IN / paper[0], below / paper[1], width / paper[0], height / paper[1]))
    column_in = width / max(1, len(keys))
    _draw_signs(axes, learners, keys, min(column_in, height / max(1, len(learners))))
    _label(axes, learners, keys, column_in)
    figure.legend(handles=_signs_explained(axes), loc="upper left", ncols=len(SIGNS), frameon=False,
                  fontsize=TEXT_SIZE, borderaxespad=0, bbox_to_anchor=(0.012, 1 - 0.4 / paper[1]))  # fmt: skip
    figure.text(0.012, 1 - 0.12 / paper[1], marks.title, fontsize=TITLE_SIZE, va="top")
    notes = _notes(marks, learners, keys)
    left_in = _write_ideas(figure, marks, below, notes, table)
    _write_items(figure, _items_in_words(marks, keys), left_in)
    return Shown(figure, in_words(marks, table))


def _room(marks):
    """The smallest paper that has room, and the learners and items there is room for."""
    for paper in PAPERS_IN:
        across = int((paper[0] - LEFT_IN - RIGHT_IN) / LEAST_CELL_IN)
        down = int((paper[1] - TOP_IN - BOTTOM_IN) / LEAST_CELL_IN)
        if len(marks.keys) <= across and len(marks.learners) <= down:
            break
    return paper, marks.learners[:down], marks.keys[:across]


def _notes(marks, learners, keys):
    """What else is to say: of opening questions only where there are any."""
    rest = len(marks.learners) - len(learners), len(marks.keys) - len(keys)
    refused = f"{len(marks.refused)} files were not counted: the report says which." if marks.refused else ""
    return [each for each in (
        IDEAS_NOTE if misconceptions(questions(marks)) else "",
        OPENING_NOTE if any(map(_is_opening, keys)) else "",
        f"No room for {rest[0]} more learners and {rest[1]} more items: the tables have them." if any(rest) else "",
        refused,
    ) if each]  # fmt: skip


def _is_opening(key):
    return key[len(lesson_number(key)) :].startswith("r")


def _items_in_words(marks, keys):
    """What each item asks; those of an opening are others for each learner."""
    items = {result.key: result.item for learner in marks.learners for result in learner.results
             if result.item is not None}  # fmt: skip
    return [f"{key}: {_asked_in_words(key, items[key])}" for key in keys if key in items and not _is_opening(key)]


def _asked_in_words(key, item):
    """The question, or, where each has data of their own, what a right answer shows that one can do."""
    number = lesson_number(key)
    can = [words for words, letter in LESSONS[int(number)].can if f"{number}{letter}" == key]
    return can[0] if can and item.kind != "choice" else item_in_words(item).replace("`", "")


def _draw_signs(axes, learners, keys, cell_in):
    column = {key: place for place, key in enumerate(keys)}
    size = 72 * 0.55 * cell_in
    for verdict, sign in SIGNS.items():
        places = [(column[result.key], row) for row, learner in enumerate(learners)
                  for result in learner.results if result.verdict == verdict and result.key in column]  # fmt: skip
        x, y = zip(*places, strict=True) if places else ((), ())
        axes.plot(x, y, linestyle="", marker=sign["marker"], color=sign["color"],
                  markersize=size * SMALLER.get(verdict, 1), label=sign["label"], clip_on=False,
                  markerfacecolor="none" if verdict == MISMATCH else None,
                  markeredgewidth=max(0.6, size / 6))  # fmt: skip
    axes.set_xlim(-0.5, max(1, len(keys)) - 0.5)
    axes.set_ylim(max(1, len(learners)) - 0.5, -0.5)


def _label(axes, learners, keys, column_in):
    """Names, items and lessons, thin lines to follow by eye, and how many each learner got right."""
    axes.set(xticks=[], yticks=[])
    axes.spines[:].set_visible(False)
    for row, learner in enumerate(learners):
        axes.axhline(row + 0.5, color=BLACK, linewidth=0.2)
        name = learner.name
        cut = name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"
        axes.text(-0.7, row, cut, ha="right", va="center", fontsize=SMALL_SIZE, parse_math=False)
        answered = sum(result.verdict != UNANSWERED for result in learner.results)
        axes.text(len(keys) - 0.3, row, f"{learner.count(RIGHT)} of {answered}", ha="left", va="center",
                  fontsize=SMALL_SIZE)  # fmt: skip
    axes.text(len(keys) - 0.3, -0.6, "right of\nanswered", ha="left", va="bottom", fontsize=SMALL_SIZE)
    for place, key in enumerate(keys):
        axes.text(place, -0.6, key[:8], ha="center", va="bottom", rotation=90, parse_math=False,
                  fontsize=min(SMALL_SIZE, 72 * 0.75 * column_in))  # fmt: skip
        if place and lesson_number(key) != lesson_number(keys[place - 1]):
            axes.axvline(place - 0.5, color=BLACK, linewidth=0.8)


def _signs_explained(axes):
    """The signs of the legend, all of one size whatever that in the grid is."""
    from matplotlib.lines import Line2D

    return [
        Line2D([], [], linestyle="", marker=line.get_marker(), color=line.get_color(), markersize=7,
               markerfacecolor=line.get_markerfacecolor(), label=line.get_label())
        for line in axes.get_lines() if line.get_label() in {sign["label"] for sign in SIGNS.values()}
    ]  # fmt: skip


def _write_ideas(figure, marks, below_in, notes, table):
    """The commonest wrong ideas below the grid, as many as have room, then notes; gives the inches that are left."""
    rows = int((below_in - 2 * EDGE_IN) / LINE_IN)
    width_in, height_in = figure.get_figwidth(), figure.get_figheight()
    columns = max(1, int(width_in / COLUMN_IN))
    each_in = (width_in - 2 * EDGE_IN) / columns
    ideas = misconceptions(questions(marks))
    heading = "Wrong ideas, commonest first:" if ideas else "No wrong answer of a known kind was given."
    told, more = _in_columns(ideas, columns, rows - len(notes) - 2, int(each_in * LETTERS_AN_INCH), table)
    top_in = below_in - EDGE_IN
    for place, lines in enumerate([[heading], *told]):
        column, down = max(0, place - 1), bool(place)
        figure.text((EDGE_IN + column * each_in) / width_in, (top_in - down * LINE_IN) / height_in, "\n".join(lines),
                    fontsize=TEXT_SIZE, va="top", linespacing=LEADING, parse_math=False)  # fmt: skip
    lowest_in = top_in - (1 + max(map(len, told), default=0)) * LINE_IN
    last = [*more, *notes]
    figure.text(EDGE_IN / width_in, lowest_in / height_in, "\n".join(last), fontsize=TEXT_SIZE, va="top",
                linespacing=LEADING, parse_math=False)  # fmt: skip
    return lowest_in - len(last) * LINE_IN


def _write_items(figure, items, room_in):
    """What is asked, in columns below all else, if there is room for all of it; nothing if not."""
    width_in, height_in = figure.get_figwidth(), figure.get_figheight()
    columns = max(1, int(width_in / COLUMN_IN))
    each_in = (width_in - 2 * EDGE_IN) / columns
    wrapped = [textwrap.wrap(each, int(each_in * LETTERS_AN_INCH), subsequent_indent="   ",
                             max_lines=LINES_OF_AN_IDEA, placeholder=" …") for each in items]  # fmt: skip
    rows = -(-len(items) // columns)
    parts = [[line for lines in wrapped[k * rows :][:rows] for line in lines] for k in range(columns)]
    if not items or (max(map(len, parts)) + 2) * LINE_IN + EDGE_IN > room_in:  # a line apart, and the heading
        return
    for column, lines in enumerate(parts):
        text = "\n".join([" " if column else "What was asked:", *lines])
        figure.text((EDGE_IN + column * each_in) / width_in, (room_in - LINE_IN) / height_in, text,
                    fontsize=TEXT_SIZE, va="top", linespacing=LEADING, parse_math=False)  # fmt: skip


def _in_columns(ideas, columns, rows, letters, table):
    """Lines of the ideas that have room in columns, no idea parted, and the line on those that have none."""
    filled, count = [[]], 0
    for idea in ideas:
        lines = textwrap.wrap(idea_in_words(*idea), letters, subsequent_indent="   ", max_lines=LINES_OF_AN_IDEA,
                              placeholder=" …")  # fmt: skip
        if len(filled[-1]) + len(lines) > rows:
            if len(filled) == columns:
                break
            filled.append([])
        filled[-1] += lines
        count += 1
    return filled, and_more(len(ideas), count, table)
