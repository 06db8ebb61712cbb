"""Code names for worksheets: untrusted text, made fit to be printed."""

from dataclasses import dataclass

from ..errors import SettingError
from ..exercises.owning import clean

__all__ = ["LONGEST_SHOWN", "MOST_SHEETS", "NAMES_ONLY", "Named", "anonymous", "cut", "even", "named"]

MOST_SHEETS = 200
LONGEST_SHOWN = 40
NAMES_ONLY = "Code names only, never a real name."


@dataclass(frozen=True)
class Named:
    """Who a sheet is for.

    Attributes
    ----------
    seed_name : str
        What the sheet's data come from: without what cannot be printed, and with blanks and capitals made even.
    shown : str
        What is printed: at most 40 characters, "" on an anonymous sheet.
    """

    seed_name: str
    shown: str


def cut(text):
    """Text on one line, without control characters, cut where it is long.

    Parameters
    ----------
    text : str
        Anything.

    Returns
    -------
    str
        At most 40 characters; "" if nothing is left.

    Examples
    --------
    >>> cut("  gull\\x07   7 "), len(cut("x" * 1000))
    ('gull 7', 40)
    """
    text = " ".join(clean(text).split())
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"


def even(text):
    """Text with blanks and capitals made even: "Gull  7" and "gull 7" are the same.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Not cut.
    """
    return " ".join(clean(text).split()).casefold()


def named(names):
    """Code names, checked.

    Parameters
    ----------
    names : iterable of str

    Returns
    -------
    list of Named

    Raises
    ------
    SettingError
        There are none, too many, two that are the same, or one of which nothing can be printed.
    """
    found = [_named(name) for name in names]
    _check_count(len(found), "names")
    seen = set()
    for each in found:
        if each.seed_name in seen:
            raise SettingError(f"code names must differ, got {each.shown!r} twice: change one of them")
        seen.add(each.seed_name)
    return found


def anonymous(count):
    """Sheets without a name, told apart by their numbers.

    Parameters
    ----------
    count : int

    Returns
    -------
    list of Named

    Raises
    ------
    SettingError
        There are none or too many.
    """
    _check_count(count, "sheets")
    return [Named(f"sheet {number}", "") for number in range(1, count + 1)]


def _named(name):
    shown = cut(name)
    if not shown:
        raise SettingError(
            f"a code name must have something to print, got {str(name)[:20]!r}: take letters and digits"
        )
    return Named(even(name), shown)


def _check_count(count, what):
    if not 1 <= count <= MOST_SHEETS:
        raise SettingError(
            f"there must be 1 to {MOST_SHEETS} {what}, got {count}: give code names, or how many sheets"
        )
