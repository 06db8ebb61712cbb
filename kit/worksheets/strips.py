"""The strip of a letter: an outline to measure, its lengths in figures, and boxes for what is read."""

from .drawing import STRONG
from .flow import Block
from .sheets import half_cycles

__all__ = ["BAR_MM", "PLACES", "alphabet", "bar", "boxes", "lengths_lines", "strip", "strip_with_boxes", "trace"]

PLACES = (128, 64, 32, 16, 8, 4, 2, 1)
BAR_MM = 40.0
LONGEST_MM = 78.0  # a letter with five ones, at 6 mm a short cycle
TAIL_MM = 1.5  # level line before the first edge and after the last
RISE_MM = {False: 9.0, True: 14.0}  # from the low to the high level


def trace(lengths_mm, rise_mm):
    """Points of a two-level wave, from the middle to the middle.

    Parameters
    ----------
    lengths_mm : list of float
        Half-cycles; the first is high.
    rise_mm : float
        From low to high.

    Returns
    -------
    xs, ys : list of float
        mm to the right of the first edge, and downward from the middle.
    """
    xs, ys, at = [-TAIL_MM, 0.0], [0.0, 0.0], 0.0
    for k, length in enumerate(lengths_mm):
        level = rise_mm / 2 if k % 2 else -rise_mm / 2
        xs += [at, at + length]
        ys += [level, level]
        at += length
    return [*xs, at, at + TAIL_MM], [*ys, 0.0, 0.0]


def strip(letter, look, keep=True):
    """The outline of a letter, by itself on its line.

    Returns
    -------
    Block
    """
    rise = RISE_MM[look.large]
    return Block(rise + 3.0, lambda page, y: draw_strip(page, y + rise / 2 + 1.0, letter, look), keep)


def draw_strip(page, middle_mm, letter, look):
    """Draw the outline of a letter about a height."""
    xs, ys = trace(half_cycles(letter, look.unit_mm), RISE_MM[look.large])
    first = look.left_mm + TAIL_MM
    page.line([first + x for x in xs], [middle_mm + y for y in ys], STRONG)


def lengths_lines(writer, which, letter, keep=False):
    """The half-cycles of a letter in figures; in large print on a line of their own.

    Yields
    ------
    Block
    """
    label = f"Half-cycles of the {which} letter, in mm:"
    figures = ", ".join(f"{each:g}" for each in half_cycles(letter, writer.look.unit_mm))
    if writer.look.large:
        yield writer.lines(label, keep=True)
        yield writer.lines(figures, keep=keep)
    else:
        yield writer.lines(f"{label} {figures}", keep=keep)


class Boxes:
    """Boxes for eight bits, a number and a letter, in a row.

    Parameters
    ----------
    look : Look
    left_mm : float
    """

    def __init__(self, look, left_mm):
        self.look = look
        self.cell = 13.5 if look.large else 8.4
        self.height = 12.0 if look.large else 8.0
        self.xs = [left_mm + k * self.cell for k in range(len(PLACES))]
        after = left_mm + len(PLACES) * self.cell
        self.number = (after + 1.5, 2.0 * self.cell if look.large else 14.0)
        self.letter = (sum(self.number) + 1.5, 2.0 * self.cell if look.large else 11.0)

    def draw_heads(self, page, base_mm):
        """Write what each box counts, above them."""
        for x, place in zip(self.xs, PLACES, strict=True):
            page.text(x + self.cell / 2, base_mm, str(place), self.look.type_pt, align="center")
        for (left, width), head in ((self.number, "sum"), (self.letter, "letter")):
            page.text(left + width / 2, base_mm, head, self.look.type_pt, align="center")

    def draw(self, page, top_mm):
        """Draw the boxes."""
        for x in self.xs:
            page.box(x, top_mm, self.cell, self.height)
        page.box(self.number[0], top_mm, self.number[1], self.height)
        page.box(self.letter[0], top_mm, self.letter[1], self.height)


def boxes(look, keep=False):
    """Boxes by themselves on their line, with their heads.

    Returns
    -------
    Block
    """
    row = Boxes(look, look.left_mm)

    def draw(page, y):
        row.draw_heads(page, y + 0.75 * look.line_mm)
        row.draw(page, y + look.line_mm)

    return Block(look.line_mm + row.height + 2.0, draw, keep)


def strip_with_boxes(letter, look, heads):
    """The outline of a letter with its boxes beside it, and heads above them where wanted.

    Returns
    -------
    Block
    """
    rise, longest = RISE_MM[False], LONGEST_MM
    row = Boxes(look, look.left_mm + longest + 2 * TAIL_MM + 2.0)
    above = look.line_mm if heads else 0.0

    def draw(page, y):
        if heads:
            row.draw_heads(page, y + 0.75 * look.line_mm)
        middle = y + above + rise / 2 + 2.0
        draw_strip(page, middle, letter, look)
        row.draw(page, middle - row.height / 2)

    return Block(above + rise + 3.0, draw, keep=True)


def alphabet(look):
    """The letters with their numbers, in columns.

    Returns
    -------
    Block
    """
    across = 7 if look.large else 13
    column = look.width_mm / across
    entries = [f"{chr(code)} {code}" for code in range(ord("A"), ord("Z") + 1)]

    def draw(page, y):
        for k, entry in enumerate(entries):
            base = y + (k // across + 0.8) * look.line_mm
            page.text(look.left_mm + k % across * column, base, entry, look.type_pt)

    return Block(look.line_mm * -(-len(entries) // across), draw)


def bar(look):
    """A bar that tells whether the page was printed at full size, on the line of the heads beside it.

    Returns
    -------
    Block
        Of no height where the heads stand beside it.
    """

    def draw(page, y):
        middle = y + 0.55 * look.line_mm
        page.line([look.left_mm, look.left_mm + BAR_MM], [middle, middle])
        for x in (look.left_mm, look.left_mm + BAR_MM):
            page.line([x, x], [middle - 1.2, middle + 1.2])
        words = f"{BAR_MM:g} mm at full size"
        page.text(look.left_mm + BAR_MM + 1.5, y + 0.8 * look.line_mm, words, look.type_pt)

    return Block(look.line_mm if look.large else 0.0, draw, keep=True)
