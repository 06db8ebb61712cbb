"""The exercise of lesson 1: letters to bits."""

from .checking import FunctionTask, Mistake, pick

__all__ = ["check_to_bits", "right_bits"]

# Letters have numbers of 7 bits, spaces and digits of 6: each text has both, to tell mistakes apart.
WORDS = ("gale 9", "calm 0", "fog till 8", "swell 2 m", "3 puffins", "barge 14", "hail at 6", "40 knots")


def right_bits(text):
    """Eight bits for each byte of the text in UTF-8, most significant first.

    Parameters
    ----------
    text : str

    Returns
    -------
    list of int
        0 and 1.

    Examples
    --------
    >>> right_bits("A")
    [0, 1, 0, 0, 0, 0, 0, 1]
    """
    return [int(bit) for byte in text.encode("utf-8") for bit in f"{byte:08b}"]


def _strings(text):
    return [f"{byte:08b}" for byte in text.encode("utf-8")]


_MISTAKES = (
    Mistake("stub", lambda text: [], "It returns an empty list so far: write the part that adds bits."),
    Mistake("reversed", lambda text: [int(bit) for each in _strings(text) for bit in each[::-1]],
            "Each letter's bits are back to front: the 128s come first."),
    Mistake("all reversed", lambda text: right_bits(text)[::-1],
            "The whole message is back to front: the first letter's bits come first."),
    Mistake("seven", lambda text: [int(bit) for byte in text.encode("utf-8") for bit in f"{byte:07b}"],
            "You have 7 bits for each letter: keep the zero in front, too."),
    Mistake("uneven", lambda text: [int(bit) for byte in text.encode("utf-8") for bit in f"{byte:b}"],
            "Small numbers come out short: every letter needs 8 bits, zeros in front."),
    Mistake("text bits", lambda text: list("".join(_strings(text))),
            "Your bits are text, '0' and '1' in quotes: int() makes numbers of them."),
    Mistake("text", lambda text: "".join(_strings(text)),
            "You return one piece of text: return a list with a number for each bit."),
    Mistake("text per letter", _strings, "You return a text for each letter: split it into single bits."),
    Mistake("nested", lambda text: [[int(bit) for bit in each] for each in _strings(text)],
            "You have a list for each letter: put all bits into one list."),
    Mistake("numbers", lambda text: list(text.encode("utf-8")),
            "These are the letters' numbers: now turn each into 8 bits."),
)


def _accepts(result):
    """A plain list of 0 and 1, from a list, tuple or array of them."""
    if isinstance(result, (str, bytes, dict, set)) or not hasattr(result, "__len__"):
        return None
    try:
        return [int(bit) for bit in result] if all(bit in (0, 1) for bit in result) else None
    except (TypeError, ValueError):
        return None


_TASK = FunctionTask(
    name="to_bits",
    right=right_bits,
    mistakes=_MISTAKES,
    what="a list of 0 and 1",
    accepts=_accepts,
    fresh=lambda own: pick(WORDS, 3, "to_bits", own),
    edge="",
)


def check_to_bits(function, own):
    """Check a learner's `to_bits(text)` on their own words, on three others and on none.

    Parameters
    ----------
    function : callable
        str → list of int.
    own : str

    Returns
    -------
    Outcome
        Shows as one line.
    """
    return _TASK.check(function, own)
