"""Lesson 12, copy a copy: what is worked out by hand."""

from math import log10

from .items import Entry, Mistake
from .words import short_line

__all__ = ["BY_HAND", "GATHERED", "LAST_COPY"]

STRAY = "#%&*?"


def _drawn_short(draws):
    """Twelve characters, and what arrived of them: some wrong, the last two missing."""
    sent = short_line(draws)
    got = list(sent[:-2])
    for place in draws.some_of(range(1, len(got) - 1), 2):
        got[place] = draws.one_of(STRAY)
    return [sent, "".join(got)]


def _marks(data):
    sent, got = data
    return [int(got[place : place + 1] != letter) for place, letter in enumerate(sent)]


BY_HAND = Entry(
    kind="bits",
    question=lambda data: (
        f"Sent was “{data[0]}”, and “{data[1]}” arrived. Write a 1 for each character of what was sent that is "
        "wrong or missing, and a 0 for each that arrived; a blank counts, too."
    ),
    draw=_drawn_short,
    right=_marks,
    mistakes=(
        Mistake(
            "inverted",
            lambda data: [1 - mark for mark in _marks(data)],
            "marks what arrived",
            "Each mark is the other one.",
            "Which ones get a 1: those that arrived?",
            "“Wind 5” sent, “W#nd” arrived: 0 1 0 0 1 1.",
        ),
        Mistake(
            "end left out",
            lambda data: _marks(data)[: len(data[1])],
            "stops where what arrived ends",
            "There are fewer marks than characters that were sent.",
            "What about those after the end of what arrived?",
            "“Wind 5” sent, “W#nd” arrived: six marks, the last two are 1.",
        ),
        Mistake(
            "all after",
            lambda data: [int(place >= _marks(data).index(1)) for place in range(len(data[0]))],
            "takes all that follows a wrong character for wrong",
            "From the first wrong one on, you mark everything.",
            "Did some arrive after that one?",
            "“Wind 5” sent, “W#nd” arrived: n and d are right, 0 1 0 0 1 1.",
        ),
        Mistake(
            "end is right",
            lambda data: [mark * (place < len(data[1])) for place, mark in enumerate(_marks(data))],
            "takes what is missing for right",
            "You mark what is wrong, but not what is missing.",
            "Did the last ones arrive?",
            "“Wind 5” sent, “W#nd” arrived: blank and 5 are missing, so they get a 1.",
        ),
    ),
    look="Write one below the other, and go from place to place.",
    worked="“Wind 5” sent, “W#nd” arrived: 0 1 0 0 1 1.",
    reply="Right: that is how one sees what a copy did to the words.",
)

GATHERED = Entry(
    kind="number",
    question=lambda data: (
        f"Every recording adds hiss of the same power, independent of the others. After {data} recordings, one "
        "after the other, how many dB stronger than after the first is the hiss?"
    ),
    draw=lambda draws: draws.between(3, 16),
    right=lambda data: 10 * log10(data),
    mistakes=(
        Mistake(
            "levels",
            lambda data: 20 * log10(data),
            "adds levels instead of powers",
            "This is twice too much.",
            "Is it the levels of independent hisses that add, or their powers?",
            "Two hisses have twice the power: 10 log10 2 is 3.01 dB.",
        ),
        Mistake(
            "three each",
            lambda data: 10 * log10(2) * (data - 1),
            "adds 3 dB for each further recording",
            "You add 3 dB for each further recording.",
            "The second doubles the power; does the third double it again?",
            "Four hisses have four times the power: 6.02 dB, and not 9.03.",
        ),
        Mistake(
            "bels",
            lambda data: log10(data),
            "forgets the factor ten",
            "This is ten times too small.",
            "A logarithm gives bels; how many decibels make one?",
            "Two hisses: log10 2 is 0.301, so 3.01 dB.",
        ),
        Mistake(
            "times",
            lambda data: data,
            "takes the factor for decibels",
            "So many times the power: this is not yet in dB.",
            "How does a ratio of powers become decibels?",
            "A hundred times the power is 20 dB.",
        ),
    ),
    look="How many times the power is that, and what is it in dB?",
    worked="Two hisses have twice the power: 10 log10 2 is 3.01 dB.",
    reply="Right: it grows, but slower and slower.",
    tolerance=0.02,
)


def _drawn_margin(draws):
    """How far the hiss of the first recording lies below the data, and how far it must, in dB."""
    needed = draws.between(12, 30)
    return [needed + draws.one_of((5.5, 6.5, 7.5, 8)), needed]


def _copies(data, per_decade):
    return int(10 ** ((data[0] - data[1]) / per_decade))


LAST_COPY = Entry(
    kind="number",
    question=lambda data: (
        f"In the first recording the hiss lies {data[0]:g} dB below the data. A loader needs {data[1]} dB. If "
        "nothing but hiss gathered, with the same power from each recording: which recording, counting the first "
        "as 1, would be the last to load?"
    ),
    draw=_drawn_margin,
    right=lambda data: _copies(data, 10),
    mistakes=(
        Mistake(
            "levels",
            lambda data: _copies(data, 20),
            "adds levels instead of powers",
            "The hiss may gather longer than that.",
            "Is it the levels of independent hisses that add, or their powers?",
            "7 dB of room: the power may grow 5.01 times, so 5 recordings.",
        ),
        Mistake(
            "three each",
            lambda data: 1 + int((data[0] - data[1]) / (10 * log10(2))),
            "adds 3 dB for each further recording",
            "The hiss may gather longer: each further recording adds less.",
            "The second adds 3 dB; how much does the third add?",
            "7 dB of room: the power may grow 5.01 times, so 5 recordings.",
        ),
        Mistake(
            "one more",
            lambda data: 1 + _copies(data, 10),
            "counts the first one twice",
            "This is the first one that fails.",
            "Is the first recording among those you counted?",
            "7 dB of room: five hisses have 6.99 dB more, six have 7.78: the fifth is the last.",
        ),
        Mistake(
            "difference",
            lambda data: data[0] - data[1],
            "takes decibels for a number of recordings",
            "So many dB there are to spare.",
            "How many times the power is that?",
            "7 dB are 5.01 times the power: 5 recordings.",
        ),
    ),
    look="How many dB may the hiss gather, and how many times the power is that?",
    worked="7 dB of room: the power may grow 5.01 times, so 5 recordings.",
    reply="Right. On a real recorder the highs that are lost may end it sooner.",
)
