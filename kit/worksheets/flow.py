"""Blocks that follow one another down a page, and on the next where there is no room left."""

from collections.abc import Callable
from dataclasses import dataclass

from .paper import MM_PER_POINT
from .typeset import width_mm, wrapped

__all__ = ["Block", "Writer", "flowed"]

MOST_STRETCH_MM = 4.0
MARK = 0.55  # room for a mark before a paragraph, in mm for each point of type


@dataclass(frozen=True)
class Block:
    """Something of a certain height.

    Attributes
    ----------
    height_mm : float
    draw : callable
        Takes a `Page` and the y of its upper edge, in mm.
    keep : bool
        Whether what follows must stand on the same page.
    gap : bool
        Whether it is empty: it may grow, and falls away at the end of a page.
    """

    height_mm: float
    draw: Callable
    keep: bool = False
    gap: bool = False


def flowed(blocks, room_mm):
    """Blocks on pages.

    Parameters
    ----------
    blocks : list of Block
    room_mm : float
        Height of a page.

    Returns
    -------
    list of list of (Block, float)
        For each page its blocks with the y of their upper edges, from the first line's.
    """
    pages, used = [[]], 0.0
    for group in _groups(blocks):
        height = sum(block.height_mm for block in group)
        if pages[-1] and used + height > room_mm and not group[0].gap:
            pages.append([])
            used = 0.0
        if pages[-1] or not group[0].gap:
            pages[-1] += group
            used += height
    return [_placed(page, room_mm) for page in pages if page]


def _groups(blocks):
    group = []
    for block in blocks:
        group.append(block)
        if not block.keep:
            yield group
            group = []
    if group:
        yield group


def _placed(page, room_mm):
    """Blocks with their places; what room is left goes into the gaps."""
    while page and page[-1].gap:
        page = page[:-1]
    gaps = sum(block.gap for block in page)
    left = room_mm - sum(block.height_mm for block in page)
    stretch = min(MOST_STRETCH_MM, left / gaps) if gaps and left > 0 else 0.0
    placed, y = [], 0.0
    for block in page:
        placed.append((block, y))
        y += block.height_mm + stretch * block.gap
    return placed


class Writer:
    """Blocks of type in a look.

    Parameters
    ----------
    look : Look
    """

    def __init__(self, look):
        self.look = look

    def gap(self, height_mm):
        """An empty block."""
        return Block(height_mm, lambda page, y: None, gap=True)

    def heading(self, text):
        """A heading, on the page of what follows."""
        return self.lines(text, size_pt=self.look.head_pt, bold=True, keep=True)

    def lines(self, text, indent_mm=0.0, mark="", size_pt=None, bold=False, keep=False):
        """A paragraph, with a mark that stands before its first line.

        Returns
        -------
        Block
        """
        size_pt = size_pt or self.look.type_pt
        lead = self.look.leading * size_pt * MM_PER_POINT
        before = indent_mm
        indent_mm += max(MARK * size_pt, width_mm(mark + " ", size_pt)) if mark else 0.0
        broken = wrapped(text, size_pt, self.look.width_mm - indent_mm, bold)
        left = self.look.left_mm

        def draw(page, y):
            first = y + 0.8 * lead
            if mark:
                page.text(left + before, first, mark, size_pt, bold)
            for k, line in enumerate(broken):
                page.text(left + indent_mm, first + k * lead, line, size_pt, bold)

        return Block(lead * len(broken), draw, keep)

    def ruled(self, label, count=1, keep=False):
        """A label and lines to write on."""
        size_pt, lead = self.look.type_pt, 1.55 * self.look.line_mm
        left, right = self.look.left_mm, self.look.left_mm + self.look.width_mm
        begin = left + width_mm(label, size_pt) + 2.0

        def draw(page, y):
            page.text(left, y + 0.75 * lead, label, size_pt)
            for k in range(count):
                base = y + (k + 0.8) * lead
                page.line([begin if k == 0 else left, right], [base, base])

        return Block(lead * count, draw, keep)
