"""Lesson 3, find out why raw bits do not survive: the function that finds the longest run, and its mistakes."""

from itertools import groupby

from .checking import FunctionTask
from .items import Mistake

__all__ = ["LONGEST_RUN", "longest_of"]


def longest_of(bits):
    """Length of the longest row of equal bits.

    Parameters
    ----------
    bits : list of int
        0 and 1.

    Returns
    -------
    int

    Examples
    --------
    >>> longest_of([1, 1, 0, 0, 0, 1])
    3
    """
    return max(_runs(bits), default=0)


def _runs(bits, only=(0, 1)):
    return [len(list(group)) for bit, group in groupby(bits) if bit in only]


def _drawn_row(draws):
    """A row of a picture: marks on it, and black to its end, which is the longest run."""
    count = draws.between(4, 8)  # runs before the black end; the last of them is of ones
    lengths = [draws.between(1, 9) for _ in range(count)]
    ones = [place for place in range(count) if (count - place) % 2 and place]
    zeros = [place for place in range(1, count - 1) if place not in ones]
    lengths[draws.one_of(ones)] = draws.between(10, 14)
    lengths[draws.one_of(zeros)] = draws.between(15, 19)
    lengths.append(draws.between(21, 40))
    return ([(count - place) % 2 for place, length in enumerate(lengths) for _ in range(length)],)


def _before_the_last(bits):
    return max(_runs(bits)[:-1], default=0)


MISTAKES = (
    Mistake(
        "stub",
        lambda bits: 0,
        "has not begun",
        "It gives 0 for any row so far.",
        "Begin with two bits: when are they of one run, and when not?",
        "1, 1, 0: the second bit goes on with the run, the third begins a new one.",
    ),
    Mistake(
        "last missing",
        _before_the_last,
        "looks for a longer run only where a run has ended by a change",
        "You overlook the last run: after it comes no change.",
        "Your row ends in a long run: what tells your function that it is over?",
        "1, 0, 0, 0: the run of three ends with the row, not with a change.",
    ),
    Mistake(
        "ones only",
        lambda bits: max(_runs(bits, (1,)), default=0),
        "looks at ones only, as if a zero were nothing",
        "You count ones; your longest run is one of zeros.",
        "Does a held low level sag less than a held high one?",
        "1, 0, 0, 0, 1, 1: the longest run has 3 bits, and they are zeros.",
    ),
    Mistake(
        "all equal",
        lambda bits: max(bits.count(0), bits.count(1)),
        "counts equal bits wherever they stand",
        "You count all bits of a kind, also those that stand apart.",
        "What must become of your count where the bit changes?",
        "0, 0, 1, 0: there are three zeros, and the longest run has 2.",
    ),
    Mistake(
        "no reset",
        lambda bits: len(bits) - len(_runs(bits)) + 1,
        "does not begin anew at a change",
        "Your count goes on over the changes, and never starts again.",
        "Where the bit changes, how long is the new run at that moment?",
        "0, 0, 1, 1: the counts go 1, 2, then 1, 2 again.",
    ),
    Mistake(
        "one short",
        lambda bits: longest_of(bits) - 1,
        "counts the borders inside a run, not its bits",
        "You are one short: you count where two neighbours are equal.",
        "In three equal bits, how many pairs of neighbours are there?",
        "0, 0, 0: two pairs of equal neighbours, and three bits.",
    ),
    Mistake(
        "first run",
        lambda bits: _runs(bits)[0] if bits else 0,
        "stops at the first change",
        "You give the length of the first run.",
        "What does your function do at the first change: stop, or go on?",
        "0, 1, 1, 1, 0: the first run has 1 bit, the longest has 3.",
    ),
    Mistake(
        "how many",
        lambda bits: len(_runs(bits)),
        "counts runs",
        "You say how many runs there are.",
        "Wanted is how long the longest of them is.",
        "0, 1, 1, 1, 1: there are 2 runs, and the longest has 4 bits.",
    ),
    Mistake(
        "changes",
        lambda bits: max(0, len(_runs(bits)) - 1),
        "counts edges",
        "You say how many edges there are.",
        "Wanted is how many bits go by without one.",
        "0, 1, 1, 1, 1: one edge, and then a run of 4.",
    ),
    Mistake(
        "place",
        lambda bits: max(range(len(bits)), key=lambda k: _runs(bits[k:])[0], default=0),
        "gives where the longest run begins",
        "You say where the longest run begins.",
        "Wanted is how many bits it has.",
        "0, 1, 1, 1, 1: it begins at place 1 and has 4 bits.",
    ),
    Mistake(
        "list",
        lambda bits: [0] * longest_of(bits),
        "gives the run itself",
        "You return the bits of the run.",
        "Wanted is one number: how many they are.",
        "len([1, 1, 1]) is 3.",
    ),
)


def _number(result):
    return result if type(result) in (int, float) else None


LONGEST_RUN = FunctionTask(
    name="longest_run",
    right=longest_of,
    mistakes=MISTAKES,
    what="a number",
    accepts=_number,
    draw=_drawn_row,
    edge=([1, 1, 1, 0],),
    edge_words="three ones and a zero",
    about=lambda bits: f"a row of {len(bits)} bits",
    look="Try a short row such as [1, 1, 0, 0, 0, 1], and follow your function bit by bit.",
    worked="1, 1, 0, 0, 0, 1: the counts go 1, 2, then 1, 2, 3, then 1; the highest is 3.",
)
