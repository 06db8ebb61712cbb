"""Plain data: numbers, text and lists of them, which is all an answer may be made of."""

import hashlib
import json
import math

__all__ = ["NOT_PLAIN", "alike", "digest", "plain"]

MOST_PARTS = 20_000  # far more than an answer needs
DEEPEST = 4
SAME = 1e-9  # numbers this close, as a part of themselves, are the same one worked out another way


class _NotPlain:
    def __repr__(self):
        return "something else"


NOT_PLAIN = _NotPlain()


def plain(result):
    """What a learner's function returned, as numbers, text and lists.

    Parameters
    ----------
    result : object
        Tuples and arrays become lists, truth values 0 and 1.

    Returns
    -------
    int, float, str, list or None
        Or `NOT_PLAIN`, if it is of any other kind, not finite, nested too deeply or too long.

    Examples
    --------
    >>> plain((True, 0)), plain({0: 1})
    ([1, 0], something else)
    """
    try:
        return _plain(result, DEEPEST, [MOST_PARTS])
    except Exception:  # an object of the learner's own may do anything when it is looked at
        return NOT_PLAIN


def _plain(result, depth, room):
    room[0] -= 1
    if depth < 0 or room[0] < 0:
        return NOT_PLAIN
    if result is None or type(result) is str:
        return result
    if isinstance(result, (bool, int, float)):
        return _number(result)
    if hasattr(result, "tolist"):  # an array, or a number out of one
        return _plain(result.tolist(), depth, room)
    if not isinstance(result, (list, tuple)):
        return NOT_PLAIN
    parts = [_plain(part, depth - 1, room) for part in result]
    return NOT_PLAIN if any(part is NOT_PLAIN for part in parts) else parts


def _number(value):
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else NOT_PLAIN
    return int(value) if abs(value) < 1 << 64 else NOT_PLAIN


def alike(one, other):
    """Whether two plain results are the same: numbers to nine places, text and lists exactly.

    Parameters
    ----------
    one, other : as `plain` gives them

    Returns
    -------
    bool
    """
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(alike, one, other))
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return math.isclose(one, other, rel_tol=SAME, abs_tol=SAME * SAME)
    return type(one) is type(other) and one == other


def digest(data):
    """Twenty hexadecimal digits that tell data apart.

    Parameters
    ----------
    data : plain data

    Returns
    -------
    str

    Examples
    --------
    >>> digest(["b", 1]) == digest(("b", True)), digest([1]) == digest([2])
    (True, False)
    """
    text = json.dumps(plain(data), ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:20]
