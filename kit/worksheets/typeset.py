"""Type: how wide words are, and how they are broken into lines."""

from functools import cache
from pathlib import Path

from .naming import LONGEST_SHOWN
from .paper import MM_PER_POINT

__all__ = ["font_path", "printable", "width_mm", "wrapped"]

FONTS = {False: "DejaVuSans.ttf", True: "DejaVuSans-Bold.ttf"}  # they come with matplotlib, so are the same anywhere
UNITS_PER_POINT = 64  # FreeType counts in 64ths


@cache
def font_path(bold=False):
    """Where a font is."""
    import matplotlib

    return str(Path(matplotlib.get_data_path()) / "fonts" / "ttf" / FONTS[bold])


@cache
def _font(bold):
    from matplotlib.font_manager import get_font

    return get_font(font_path(bold))


@cache
def width_mm(text, size_pt, bold=False):
    """How wide a text is.

    Parameters
    ----------
    text : str
        On one line.
    size_pt : float
    bold : bool

    Returns
    -------
    float
        mm.
    """
    font = _font(bold)
    font.set_size(size_pt, 72)
    font.set_text(text)
    return font.get_width_height()[0] / UNITS_PER_POINT * MM_PER_POINT


def printable(text):
    """A name in which letters that the font does not have are spelt as their code numbers.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        At most 40 characters, as `cut` leaves at most.

    Examples
    --------
    >>> printable("tern 2, é, Ω"), printable("島")
    ('tern 2, é, Ω', '[U+5CF6]')
    """
    known = _font(False).get_charmap()
    spelt = [each if ord(each) in known else f"[U+{ord(each):04X}]" for each in text]
    if sum(map(len, spelt)) <= LONGEST_SHOWN:
        return "".join(spelt)
    while sum(map(len, spelt)) >= LONGEST_SHOWN:
        spelt.pop()
    return "".join(spelt) + "…"


def wrapped(text, size_pt, room_mm, bold=False):
    """A text in lines that fit.

    Parameters
    ----------
    text : str
    size_pt : float
    room_mm : float
    bold : bool

    Returns
    -------
    list of str
        A word that is longer than a line is broken.
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".lstrip()
        if width_mm(longer, size_pt, bold) <= room_mm:
            lines[-1] = longer
            continue
        lines += [""] * bool(lines[-1])
        lines[-1:] = _broken(word, size_pt, room_mm, bold)
    return lines


def _broken(word, size_pt, room_mm, bold):
    """A word in pieces that fit, most often one."""
    pieces = [""]
    for letter in word:
        if pieces[-1] and width_mm(pieces[-1] + letter, size_pt, bold) > room_mm:
            pieces.append("")
        pieces[-1] += letter
    return pieces
