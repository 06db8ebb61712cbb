"""Lesson 13, design your own loader: the function that scores a design, and the ways to get it wrong."""

from .checking import FunctionTask
from .items import Mistake

__all__ = ["USEFUL_RATE", "useful_rate"]

TAPES = 20


def useful_rate(file_bytes, tape_s, right, vouched):
    """Useful bits a second: those of a file over the seconds of its tape, times the share of tapes that count.

    Parameters
    ----------
    file_bytes : int
        Bytes of the file.
    tape_s : float
        Seconds that one tape plays.
    right, vouched : list of int
        1 for each tape that came out right, and for each that the loader's check vouches for; 0 for others.

    Returns
    -------
    float
        0 if there are no tapes.

    Examples
    --------
    >>> useful_rate(100, 4.0, [1, 1, 0, 1], [1, 0, 1, 1])
    100.0
    """
    return _rate(file_bytes, tape_s, _share(right, vouched, min))


def _rate(file_bytes, tape_s, share):
    return 8 * file_bytes / tape_s * share


def _share(right, vouched, of):
    counted = [of(pair) for pair in zip(right, vouched, strict=True)]
    return sum(counted) / len(counted) if counted else 0.0


MISTAKES = (
    Mistake(
        "stub",
        lambda file_bytes, tape_s, right, vouched: 0.0,
        "has not begun",
        "It gives 0 so far, whatever the tapes did.",
        "Begin with one tape: how many bits go by in a second?",
        "100 bytes in 4 s are 800 bits in 4 s: 200 a second.",
    ),
    Mistake(
        "bytes",
        lambda *given: useful_rate(*given) / 8,
        "counts bytes for bits",
        "Your number is too small, by the same factor for every tape.",
        "In what is the file's length given, and in what the score?",
        "100 bytes are 800 bits.",
    ),
    Mistake(
        "all tapes",
        lambda file_bytes, tape_s, right, vouched: _rate(file_bytes, tape_s, 1),
        "scores speed alone, whether it loads or not",
        "This is what you would have if every tape counted.",
        "What do tapes that did not load bring home?",
        "200 bits a second on each tape, and 2 of 4 count: 100 come home.",
    ),
    Mistake(
        "right alone",
        lambda file_bytes, tape_s, right, vouched: _rate(file_bytes, tape_s, _share(right, right, min)),
        "counts what is right although nobody can know it",
        "You count every tape that is right.",
        "Could the loader know it of each of them?",
        "right 1, 1 and vouched 1, 0: only the first of the two counts.",
    ),
    Mistake(
        "vouched alone",
        lambda file_bytes, tape_s, right, vouched: _rate(file_bytes, tape_s, _share(vouched, vouched, min)),
        "trusts every check",
        "You count every tape that the check vouches for.",
        "A weak check may agree by chance: what came out then?",
        "right 0, 1 and vouched 1, 1: only the second of the two counts.",
    ),
    Mistake(
        "either",
        lambda file_bytes, tape_s, right, vouched: _rate(file_bytes, tape_s, _share(right, vouched, max)),
        "takes or for and",
        "You count too many tapes.",
        "Must a tape be right, be vouched for, or both?",
        "right 1, 0, 1 and vouched 1, 1, 0: only the first counts.",
    ),
    Mistake(
        "number",
        lambda file_bytes, tape_s, right, vouched: useful_rate(file_bytes, tape_s, right, vouched) * len(right),
        "takes a number of tapes for a share",
        "Your number grows with the tapes tried, though none is better.",
        "Two of four tapes: which part of them is that?",
        "200 bits a second, and 2 of 4 count: 200 times a half.",
    ),
    Mistake(
        "percent",
        lambda *given: 100 * useful_rate(*given),
        "takes percent for a share",
        "Your number is too large, by the same factor for every tape.",
        "Half of the tapes: is that 50 times the bits, or 0.5 times?",
        "200 bits a second, and 2 of 4 count: 200 times 0.5.",
    ),
)


def _drawn_tapes(draws):
    """Twenty tapes: most are right, of most of those the loader knows it, and a weak check errs at times."""
    right = [int(draws.below(5) > 0) for _ in range(TAPES)]
    vouched = [int(draws.below(5) > 0) if each else int(draws.below(3) == 0) for each in right]
    return 8 * draws.between(8, 64), draws.between(100, 400) / 100, right, vouched


USEFUL_RATE = FunctionTask(
    name="useful_rate",
    right=useful_rate,
    mistakes=MISTAKES,
    what="a number",
    accepts=lambda result: result if isinstance(result, (int, float)) else None,
    draw=_drawn_tapes,
    edge=(128, 2.0, [], []),
    edge_words="no tapes",
    about=lambda file_bytes, tape_s, right, vouched: f"{file_bytes} bytes in {tape_s} s",
    look="Take one tape first, then two of which one counts: what should come out?",
    worked="100 bytes in 4 s, and 2 of 4 tapes count: 800 / 4 times 0.5 is 100.",
)
