"""Lesson 12, copy a copy: the function that compares sent and received words, and the ways to get it wrong."""

from .checking import FunctionTask
from .items import Mistake
from .words import log_line

__all__ = ["COMPARE", "differing_places", "sent_of"]

STRAY = "#%&*?@^~"  # what stands where a letter was misread; none of them is in the station's words


def differing_places(sent, got):
    """Numbers of the letters that did not arrive, from 0: those that are wrong, and those that are missing.

    Parameters
    ----------
    sent, got : str
        `got` may be shorter.

    Returns
    -------
    list of int

    Examples
    --------
    >>> differing_places("Wind 5", "W#nd")
    [1, 4, 5]
    """
    return [place for place, letter in enumerate(sent) if got[place : place + 1] != letter]


def sent_of(data):
    """The words that were sent, of the data of the task."""
    return data[0]


def _drawn_pair(draws):
    """A line of the log, and what arrived: some letters wrong, the last ones missing."""
    sent = log_line(draws)
    got = list(sent[: -draws.between(2, 5)])
    for place in draws.some_of(range(3, len(got) - 3), draws.between(3, 6)):
        got[place] = draws.one_of(STRAY)
    return sent, "".join(got)


def _accepts_places(result):
    """The result if it is a list of whole numbers; None otherwise."""
    return result if isinstance(result, list) and all(type(place) is int for place in result) else None


def _first(sent, got):
    return differing_places(sent, got)[:1]


def _within(sent, got):
    """Places that differ as far as both go."""
    return [place for place, (one, other) in enumerate(zip(sent, got, strict=False)) if one != other]


MISTAKES = (
    Mistake(
        "stub",
        lambda sent, got: [],
        "has not begun",
        "It returns an empty list so far.",
        "Begin with the first letter: is sent[0] the same as got[0]?",
    ),
    Mistake(
        "agreeing",
        lambda sent, got: [place for place in range(len(sent)) if place not in differing_places(sent, got)],
        "gives the places that agree",
        "These are all the other letters.",
        "Which places are asked for: those that agree, or those that differ?",
        "'Wind' and 'W#nd' differ at place 1: [1], not [0, 2, 3].",
    ),
    Mistake(
        "missing left out",
        _within,
        "compares only as far as both go",
        "What you give is right, but some places are not there.",
        "Which of the two is shorter, and what became of its end?",
        "'Wind 5' and 'W#nd': place 1 is wrong, 4 and 5 are missing: [1, 4, 5].",
    ),
    Mistake(
        "wrong left out",
        lambda sent, got: list(range(len(got), len(sent))),
        "looks for missing letters alone",
        "You give the end of the text only.",
        "May a letter be there and still be wrong?",
        "'Wind 5' and 'W#nd': not [4, 5] alone, but [1, 4, 5].",
    ),
    Mistake(
        "from one",
        lambda sent, got: [place + 1 for place in differing_places(sent, got)],
        "counts places from 1",
        "Each of your numbers is one too large.",
        "Which number has the first letter, sent[0]?",
        "'Wind' and 'W#nd': i is number 1, as W is number 0.",
    ),
    Mistake(
        "first only",
        _first,
        "stops at the first difference",
        "You give a single place.",
        "Where does your function return: inside its loop, or after it?",
        "'Wind' and '#i#d': [0, 2], both places.",
    ),
    Mistake(
        "all after",
        lambda sent, got: list(range(_first(sent, got)[0], len(sent))) if _first(sent, got) else [],
        "takes all that follows the first difference for wrong",
        "From the first one on, you give every place.",
        "After a wrong letter, may the next one be right?",
        "'Wind' and 'W#nd': [1] alone, for n and d arrived.",
    ),
    Mistake(
        "anywhere",
        lambda sent, got: [place for place, letter in enumerate(sent) if letter not in got],
        "asks whether a letter is anywhere in what arrived",
        "You miss letters that stand elsewhere in what arrived.",
        "Compare each letter with the one at the same place.",
        "'sees' and 's#es': e is in 's#es', but not at place 1: [1].",
    ),
    Mistake(
        "count",
        lambda sent, got: len(differing_places(sent, got)),
        "counts instead of listing",
        "You give how many there are, not which.",
        "Keep each place in a list, instead of adding 1.",
        "'Wind' and '#i#d': [0, 2], not 2.",
    ),
    Mistake(
        "flags",
        lambda sent, got: [int(got[place : place + 1] != letter) for place, letter in enumerate(sent)],
        "gives a mark for each letter",
        "You give a mark for each letter, not the places.",
        "Add the number of a place where your mark says that it differs.",
        "'Wind' and 'W#nd': [1], not [0, 1, 0, 0].",
    ),
    Mistake(
        "letters",
        lambda sent, got: [sent[place] for place in differing_places(sent, got)],
        "gives the letters instead of their places",
        "These are the letters, not their places.",
        "Add the place to your list, not what stands there.",
        "'Wind' and 'W#nd': [1], not ['i'].",
    ),
)

COMPARE = FunctionTask(
    name="compare",
    right=differing_places,
    mistakes=MISTAKES,
    what="a list of whole numbers",
    accepts=_accepts_places,
    draw=_drawn_pair,
    edge=("Gulls: 7", ""),
    edge_words="nothing that arrived",
    about=lambda sent, got: f"{len(got)} of {len(sent)} letters",
    look="Go from place to place in sent: what is at the same place in got, if anything?",
    worked="'Wind 5' and 'W#nd': place 1 is wrong, 4 and 5 are missing: [1, 4, 5].",
)
