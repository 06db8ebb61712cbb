"""Lesson 10, find the right level: the function that chooses a level of those tried, and the ways to get it wrong."""

from itertools import groupby

from .checking import FunctionTask
from .items import Mistake

__all__ = ["BEST_LEVEL", "drawn_levels", "middle_of_longest", "runs_of"]

STEP_DB = 2  # between two levels


def runs_of(passed):
    """Rows of neighbours that passed.

    Parameters
    ----------
    passed : list of bool

    Returns
    -------
    list of (int, int)
        Number of the first and of the last of each row, counted from 0.

    Examples
    --------
    >>> runs_of([False, True, True, False, True])
    [(1, 2), (4, 4)]
    """
    rows = [list(row) for right, row in groupby(range(len(passed)), passed.__getitem__) if right]
    return [(row[0], row[-1]) for row in rows]


def middle_of_longest(gains, passed):
    """The level halfway between the first and the last of the longest row that passed; of several, of the first.

    Parameters
    ----------
    gains : list of float
        Levels that were tried, in dB, from the lowest to the highest, in equal steps.
    passed : list of bool
        Of each level, whether all was read without fault; at least one was.

    Returns
    -------
    float

    Examples
    --------
    >>> middle_of_longest([-20, -18, -16, -14, -12], [True, False, True, True, True])
    -14.0
    """
    first, last = _longest(passed)
    return (gains[first] + gains[last]) / 2


def _longest(passed):
    return max(runs_of(passed), key=lambda run: run[1] - run[0])


def drawn_levels(draws):
    """Levels in dB and which of them passed: a long row, and on either side a short one, passed by luck.

    The long row has an odd number of levels, so that its middle is one that was tried.
    """
    longest = draws.one_of((5, 7))
    passed = []
    for right, count in (
        (False, draws.between(1, 4)), (True, draws.between(1, 3)), (False, draws.between(1, 3)), (True, longest),
        (False, draws.between(1, 3)), (True, draws.between(1, 2)), (False, draws.between(0, 3)),
    ):
        passed += [right] * count
    first_db = -STEP_DB * draws.between(14, 20)
    return [first_db + STEP_DB * k for k in range(len(passed))], passed


def _drawn_gains(draws):
    """As `drawn_levels`, but of a knob that gives no whole decibels: steps of 1 to 3 dB."""
    gains, passed = drawn_levels(draws)
    first, step = 10 * gains[0] + draws.between(0, 19), draws.between(10, 30)
    return [(first + step * k) / 10 for k in range(len(gains))], passed


def _passing(gains, passed):
    return [gain for gain, right in zip(gains, passed, strict=True) if right]


def _between(gains, run):
    return (gains[run[0]] + gains[run[1]]) / 2


def _beyond(gains, passed):
    first, last = _longest(passed)
    return (gains[first] + gains[min(last + 1, len(gains) - 1)]) / 2


MISTAKES = (
    Mistake(
        "stub",
        lambda gains, passed: gains[0],
        "has not begun",
        "It gives the lowest level of all, read or not.",
        "Which levels passed, and where do they stand beside each other?",
        "Of no, yes, yes, yes, no, the middle yes is the third.",
    ),
    Mistake(
        "loudest",
        lambda gains, passed: max(_passing(gains, passed)),
        "takes louder for safer",
        "You take the loudest level that passed.",
        "What happens there to a tape that is a little louder?",
        "Levels −8, −6 and −4 pass: at −4 there is no room above, at −6 there is.",
    ),
    Mistake(
        "quietest",
        lambda gains, passed: min(_passing(gains, passed)),
        "takes the first level that works",
        "You take the quietest level that passed.",
        "What happens there to a tape that is a little quieter?",
        "Levels −8, −6 and −4 pass: at −8 there is no room below, at −6 there is.",
    ),
    Mistake(
        "across gaps",
        lambda gains, passed: (min(_passing(gains, passed)) + max(_passing(gains, passed))) / 2,
        "takes all between the first and the last that passed, gaps and all",
        "You go halfway between the quietest and the loudest that passed.",
        "Did everything between these two pass?",
        "Of yes, no, no, yes, yes, yes, the middle of the long row is the fifth, not between third and fourth.",
    ),
    Mistake(
        "mean",
        lambda gains, passed: sum(_passing(gains, passed)) / len(_passing(gains, passed)),
        "takes the mean of all levels that passed",
        "You take the mean of all that passed, also of those that passed by luck.",
        "Which of them have neighbours that passed as well?",
        "If −20, −8, −6 and −4 pass, −20 stands alone: leave it out, and take −6.",
    ),
    Mistake(
        "first row",
        lambda gains, passed: _between(gains, runs_of(passed)[0]),
        "takes the first row, not the longest",
        "You take the middle of the first row that passed.",
        "Is there a longer row further on?",
        "Of yes, no, yes, yes, yes, the first row has one level, the second has three.",
    ),
    Mistake(
        "last row",
        lambda gains, passed: _between(gains, runs_of(passed)[-1]),
        "takes the last row, not the longest",
        "You take the middle of the last row that passed.",
        "Was there a longer row before it?",
        "Of yes, yes, yes, no, yes, the first row has three levels, the last has one.",
    ),
    Mistake(
        "row begins",
        lambda gains, passed: gains[_longest(passed)[0]],
        "takes the beginning of the right row",
        "The row is the right one, and you take its quietest level.",
        "How far is it from there to the level that fails?",
        "Levels −8, −6 and −4 pass: −8 has a neighbour that fails, −6 has none.",
    ),
    Mistake(
        "row ends",
        lambda gains, passed: gains[_longest(passed)[1]],
        "takes the end of the right row",
        "The row is the right one, and you take its loudest level.",
        "How far is it from there to the level that fails?",
        "Levels −8, −6 and −4 pass: −4 has a neighbour that fails, −6 has none.",
    ),
    Mistake(
        "one beyond",
        _beyond,
        "counts the first level that fails as part of the row",
        "Nearly: your row ends one level late.",
        "When you meet a level that fails, which was the last that passed?",
        "Levels −8, −6 and −4 pass, −2 fails: the row ends at −4, and its middle is −6.",
    ),
    Mistake(
        "middle of all",
        lambda gains, passed: (gains[0] + gains[-1]) / 2,
        "does not look at which levels passed",
        "You take the middle of all levels that were tried.",
        "Where in your function do you look at passed?",
        "Of no, no, no, yes, yes, yes, the middle of what passed is the fifth.",
    ),
    Mistake(
        "number",
        lambda gains, passed: sum(_longest(passed)) / 2,
        "gives the place in the list, not the level",
        "This is a place in the list, and not a level.",
        "Which level stands at that place?",
        "In the list −8, −6, −4, place 1 holds −6.",
    ),
)

BEST_LEVEL = FunctionTask(
    name="best_level",
    right=middle_of_longest,
    mistakes=MISTAKES,
    what="one number",
    accepts=lambda result: result if type(result) in (int, float) else None,
    draw=_drawn_gains,
    edge=([-6], [True]),
    edge_words="a single level that passed",
    about=lambda gains, passed: f"{len(gains)} levels, {sum(passed)} passed",
    look="Write the levels in a row, mark those that passed, and look for the longest stretch of marks.",
    worked="Of −20, −8, −6 and −4 that pass, three stand beside each other: the middle one is −6.",
)
