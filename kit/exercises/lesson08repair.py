"""Lesson 8, record it twice and mend it: the function that makes one of two copies, and the ways to get it wrong."""

from .checking import FunctionTask
from .items import Mistake

__all__ = ["REPAIR", "mended"]

HOURS = 16
MOST_MM = 30  # rain in an hour, in millimetres


def mended(a, b):
    """One copy made of two: what either has, and None where neither is to be believed.

    Parameters
    ----------
    a, b : list of int or None
        Two readings of the same bytes, equally long; None where a byte is in doubt.

    Returns
    -------
    list of int or None
        None where both are in doubt, and where they differ: one is wrong then, and it is not known which.

    Examples
    --------
    >>> mended([7, None, 0, None, 5], [7, 3, None, None, 4])
    [7, 3, 0, None, None]
    """
    return _each(a, b, lambda one, other: None)


def _each(a, b, where_they_differ):
    """Place by place; what is said where both have a byte, and not the same one, is left open."""
    return [_one(one, other, where_they_differ) for one, other in zip(a, b, strict=True)]


def _one(one, other, where_they_differ):
    if one is None or other is None:
        return other if one is None else one
    return one if one == other else where_they_differ(one, other)


def _drawn_copies(draws):
    """Rain, hour by hour, as two tapes gave it back: some hours lost in one, in both, or told differently."""
    rain = [draws.between(1, MOST_MM) for _ in range(HOURS)]
    places = draws.some_of(range(HOURS), 8)
    rain[places[0]] = rain[places[2]] = rain[places[7]] = 0  # dry hours: a 0 is a value like any other
    a, b = list(rain), list(rain)
    a[places[0]] = a[places[1]] = a[places[4]] = None
    b[places[2]] = b[places[3]] = b[places[4]] = None
    a[places[5]] = b[places[5]] + (1 << draws.below(4))
    b[places[6]] = a[places[6]] + (1 << draws.below(4))
    return a, b


def _by_truth(one, other):
    """As is got by asking "if one and other": 0 counts as nothing."""
    return (one if one == other else None) if one and other else one or other


def _without_those_that_differ(a, b):
    return [_one(one, other, None) for one, other in zip(a, b, strict=True) if None in (one, other) or one == other]


MISTAKES = (
    Mistake(
        "stub",
        lambda a, b: [],
        "has not begun",
        "It returns an empty list so far.",
        "Begin with number 0: what do a[0] and b[0] say, and what follows?",
    ),
    Mistake(
        "first copy",
        lambda a, b: list(a),
        "leaves the first copy as it is",
        "This is copy a, unchanged.",
        "Where a has None, what does b have there?",
        "a = [5, None], b = [5, 6]: number 1 can be had from b.",
    ),
    Mistake(
        "second copy",
        lambda a, b: list(b),
        "leaves the second copy as it is",
        "This is copy b, unchanged.",
        "Where b has None, what does a have there?",
        "a = [5, 6], b = [5, None]: number 1 can be had from a.",
    ),
    Mistake(
        "first believed",
        lambda a, b: _each(a, b, lambda one, other: one),
        "believes the first copy where two differ",
        "Where both have a number and they differ, you take that of a.",
        "How do you know that a is right there, and not b?",
        "a = [5], b = [4]: one is wrong, it is not known which, so None.",
    ),
    Mistake(
        "second believed",
        lambda a, b: _each(a, b, lambda one, other: other),
        "believes the second copy where two differ",
        "Where both have a number and they differ, you take that of b.",
        "How do you know that b is right there, and not a?",
        "a = [5], b = [4]: one is wrong, it is not known which, so None.",
    ),
    Mistake(
        "halfway",
        lambda a, b: _each(a, b, lambda one, other: (one + other) / 2),
        "takes the middle of two numbers that differ",
        "Where they differ, you give what lies halfway between them.",
        "Was that number on either tape?",
        "a = [4], b = [6]: either may be right, and 5 is not on any tape: None.",
    ),
    Mistake(
        "larger",
        lambda a, b: _each(a, b, max),
        "takes the larger of two numbers that differ",
        "Where they differ, you give the larger one.",
        "A bit that turned over: does it always make a number smaller?",
        "a = [4], b = [6]: a flip may have added 2, or taken 2 away: None.",
    ),
    Mistake(
        "or",
        lambda a, b: [one or other for one, other in zip(a, b, strict=True)],
        "takes 0 for nothing, and believes the first copy",
        "Some dry hours have gone, and where the two differ you take a.",
        "Is 0 the same as None? Ask for None by name: is None.",
        "0 or 7 is 7 in Python, though 0 is a number; 0 is None is False.",
    ),
    Mistake(
        "zero lost",
        lambda a, b: [_by_truth(one, other) for one, other in zip(a, b, strict=True)],
        "takes 0 for nothing",
        "Nearly: yet some dry hours have gone.",
        "What does your if make of a 0? Ask for None by name: is None.",
        "if 0 counts as no; 0 is None is False: a dry hour is known.",
    ),
    Mistake(
        "both needed",
        lambda a, b: [one if one == other else None for one, other in zip(a, b, strict=True)],
        "believes only what stands in both copies",
        "You keep only what both copies have.",
        "If only one of them is in doubt, what does the other one say?",
        "a = [None], b = [6]: a says nothing against 6, so 6.",
    ),
    Mistake(
        "all or nothing",
        lambda a, b: list(a) if a == b else [None] * len(a),
        "compares the copies as wholes",
        "You give up all of it, as the copies are not the same.",
        "Compare number by number: most of them agree.",
        "a = [5, None], b = [5, 6]: number 0 agrees, whatever number 1 does.",
    ),
    Mistake(
        "left out",
        lambda a, b: [each for each in mended(a, b) if each is not None],
        "leaves out what is not known",
        "Your list is shorter than the copies: every hour behind a gap has moved.",
        "What stands for a number that is not known?",
        "a = [5, None, 7], b = [5, None, 7]: [5, None, 7] again, three places.",
    ),
    Mistake(
        "case missing",
        _without_those_that_differ,
        "has no answer where two differ",
        "Your list is shorter: where two numbers differ, nothing is added.",
        "Same, only a, only b: which case is left, and what is known then?",
        "a = [5, 7], b = [4, 7]: [None, 7], two places.",
    ),
    Mistake(
        "zero for unknown",
        lambda a, b: [each or 0 for each in mended(a, b)],
        "puts a value for what is not known",
        "You write 0 where nothing is known.",
        "How would a reader tell that from a dry hour?",
        "a = [None], b = [None]: None, since 0 would be a claim.",
    ),
)


def _list(result):
    """A plain result if it is a list of numbers and None, else None."""
    fits = isinstance(result, list) and all(each is None or type(each) in (int, float) for each in result)
    return result if fits else None


REPAIR = FunctionTask(
    name="repair",
    right=mended,
    mistakes=MISTAKES,
    what="a list of numbers and None",
    accepts=_list,
    draw=_drawn_copies,
    edge=([], []),
    edge_words="two empty copies",
    about=lambda a, b: f"a = [{a[0]}, {a[1]}, …]",
    look="Four cases: the same, only a, only b, neither or different. What comes out of each?",
    worked="a = [7, None, None, 5], b = [7, 3, None, 4] gives 7, 3, None, None.",
)
