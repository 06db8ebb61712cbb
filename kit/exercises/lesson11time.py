"""Lesson 11, choose a loader speed: the function that tells the time to a good load, and the ways to get it wrong."""

from math import ceil

from .checking import FunctionTask
from .items import Mistake

__all__ = ["NEVER", "TIME_TO_GOOD_LOAD", "mean_time_s"]

NEVER = "never"


def mean_time_s(load_s, whole, tried):
    """How long it takes on average until a load has come out whole, if one tries until it does.

    Parameters
    ----------
    load_s : float
        What one load takes, in seconds, whole or not.
    whole, tried : int
        Of so many loads tried, so many came out whole.

    Returns
    -------
    float or str
        In seconds; "never" if none came out whole.

    Notes
    -----
    With a share p of good loads, the first try is good with p, the second with (1 − p)p, and so on: the mean
    number of tries is 1/p.

    Examples
    --------
    >>> mean_time_s(20.0, 1, 4), mean_time_s(20.0, 0, 4)
    (80.0, 'never')
    """
    return load_s * tried / whole if whole else NEVER


def _drawn_loads(draws):
    """What one load takes, in seconds; how many came out whole, and how many were tried."""
    tried = draws.between(9, 40)
    return draws.between(400, 2400) / 10, draws.between(tried // 4, tried - 2), tried


def _accepts_time(result):
    """The result if it is a number or the word for never; None otherwise."""
    return result if result == NEVER or type(result) in (int, float) else None


def _else(wrong):
    """A wrong function that knows at least what never is."""
    return lambda load_s, whole, tried: wrong(load_s, whole, tried) if whole else NEVER


MISTAKES = (
    Mistake(
        "stub",
        lambda load_s, whole, tried: 0,
        "has not begun",
        "It returns 0 so far.",
        "Begin with the share of loads that came out whole.",
    ),
    Mistake(
        "times",
        _else(lambda load_s, whole, tried: load_s * whole / tried),
        "multiplies by the share of good loads",
        "Your time is shorter than one load.",
        "Fewer good loads: should the time become shorter or longer?",
        "20 s, 1 of 4 whole: four tries on average, 80 s and not 5 s.",
    ),
    Mistake(
        "one try",
        _else(lambda load_s, whole, tried: load_s),
        "forgets that failed loads are tried again",
        "You give the time of one load, whole or not.",
        "What happens after a load that failed?",
        "20 s, 1 of 4 whole: three tries fail for one that works, 80 s.",
    ),
    Mistake(
        "second surely",
        _else(lambda load_s, whole, tried: load_s * (2 - whole / tried)),
        "takes it that a second try always works",
        "You give each failed load one more try, and no third.",
        "May the second try fail as well, and the third?",
        "20 s, 1 of 4 whole: 80 s on average; one more try alone would make 35 s.",
    ),
    Mistake(
        "failures",
        _else(lambda load_s, whole, tried: load_s * tried / (tried - whole)),
        "divides by the share of failures",
        "So long one waits for a load that fails.",
        "Which loads do you wait for, and how many were there of these?",
        "20 s, 1 of 4 whole: one in four is good, so 80 s.",
    ),
    Mistake(
        "all tries",
        _else(lambda load_s, whole, tried: load_s * tried),
        "adds up all tries",
        "You give the time of all tries together.",
        "How many good loads came of all these tries?",
        "20 s, 2 of 8 whole: 160 s for two good loads, 80 s for each.",
    ),
    Mistake(
        "failed tries",
        _else(lambda load_s, whole, tried: load_s * (tried - whole) / whole),
        "counts the failed tries alone",
        "Your time lacks one load.",
        "Does the try that works take no time?",
        "20 s, 1 of 4 whole: three that fail and one that works, 80 s.",
    ),
    Mistake(
        "one more",
        _else(lambda load_s, whole, tried: load_s * (tried + whole) / whole),
        "adds the good load to an average that holds it already",
        "Your time is one load too long.",
        "Is the try that works among your tries, or beside them?",
        "20 s, 1 of 4 whole: four tries, the good one among them, 80 s.",
    ),
    Mistake(
        "rounded tries",
        _else(lambda load_s, whole, tried: load_s * ceil(tried / whole)),
        "rounds the number of tries up",
        "Your number of tries is a whole one.",
        "An average of tries may lie between two whole numbers.",
        "20 s, 2 of 3 whole: one and a half tries on average, 30 s.",
    ),
    Mistake(
        "rounded time",
        _else(lambda load_s, whole, tried: round(load_s * tried / whole, 2)),
        "rounds the result",
        "Your time is rounded.",
        "Return the number as it comes, and round only what you print.",
        "20 s, 3 of 7 whole: 46.666…, all its digits, not 46.67.",
    ),
    Mistake(
        "percent",
        _else(lambda load_s, whole, tried: load_s / (100 * whole / tried)),
        "takes percents for a share",
        "Your time is a hundred times too short.",
        "Half of the loads: is that 50, or 0.5?",
        "20 s, 1 of 4 whole: the share is 0.25, and 20 / 0.25 = 80.",
    ),
    Mistake(
        "tries",
        _else(lambda load_s, whole, tried: tried / whole),
        "stops at the number of tries",
        "This is a number of tries, not of seconds.",
        "How long does each of these tries take?",
        "20 s, 1 of 4 whole: four tries, of 20 s each.",
    ),
    Mistake(
        "text",
        _else(lambda load_s, whole, tried: f"{load_s * tried / whole} s"),
        "gives a text for a number",
        "You return a piece of text.",
        "A number of seconds is wanted, without its unit.",
        "20 s, 1 of 4 whole: return 80.0, not '80.0 s'.",
    ),
)

TIME_TO_GOOD_LOAD = FunctionTask(
    name="time_to_good_load",
    right=mean_time_s,
    mistakes=MISTAKES,
    what='a number of seconds, or "never"',
    accepts=_accepts_time,
    draw=_drawn_loads,
    edge=(90.0, 0, 12),
    edge_words="no good load",
    about=lambda load_s, whole, tried: f"{whole} of {tried} loads whole",
    look="How many tries are there, on average, for one that comes out whole?",
    worked="20 s, 1 of 4 whole: four tries for one good load, 80 s.",
)
