"""Names off a tape, made safe before they touch a disk."""

import re
import unicodedata
from pathlib import PurePath

__all__ = ["free_name", "safe_name"]

LONGEST_BYTES = 200  # of UTF-8; file systems take 255, and " (2)" must still fit
# Names some systems take for a device, with or without an extension.
_DEVICE = re.compile(r"(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³]|conin\$|conout\$)", re.IGNORECASE)
_FORBIDDEN = set('<>:"/\\|?*')


def safe_name(name, fallback="unnamed"):
    """A name that stays inside its folder and that every common system accepts.

    Parameters
    ----------
    name : str
        As read from a tape: anything.
    fallback : str
        Used when nothing is left.

    Returns
    -------
    str

    Examples
    --------
    >>> safe_name("../../x"), safe_name("CON.txt"), safe_name("a/b<c>\\x07.txt"), safe_name("...")
    ('_.._x', '_CON.txt', 'a_b_c_.txt', 'unnamed')
    """
    kept = []
    for character in unicodedata.normalize("NFC", name):
        if character in _FORBIDDEN:
            kept.append("_")
        elif unicodedata.category(character) not in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"):
            kept.append(character)
    text = _cut(unicodedata.normalize("NFC", "".join(kept)).lstrip(". "))
    if _DEVICE.fullmatch(text.split(".")[0].strip()):
        text = _cut("_" + text)
    return text or fallback


def _cut(text):
    """At most so many bytes, and no dot or space at the end."""
    return text.encode("utf-8")[:LONGEST_BYTES].decode("utf-8", errors="ignore").rstrip(". ")


def free_name(name, taken):
    """The name, or the first of "name (2)", "name (3)", … not taken; letter case does not tell names apart.

    Parameters
    ----------
    name : str
    taken : collection of str
        Casefolded names.

    Examples
    --------
    >>> free_name("log.txt", {"log.txt", "log (2).txt"})
    'log (3).txt'
    """
    if name.casefold() not in taken:
        return name
    path = PurePath(name)
    number = 2
    while (numbered := f"{path.stem} ({number}){path.suffix}").casefold() in taken:
        number += 1
    return numbered
