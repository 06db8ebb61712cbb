"""Lesson 3, find out why raw bits do not survive: a level that is held, and a clock without edges."""

from itertools import pairwise
from math import pi

from .items import Choice, Entry, Mistake, Option
from .lesson03run import LONGEST_RUN
from .lessons import Lesson

__all__ = ["LESSON"]

BLACK = Choice(
    "A picture is black all over: every bit is 0. In raw levels it goes through a coupling. What arrives?",
    (
        Option(
            "A steady low level, just as it was written, bit for bit.",
            "The level did not stay: the coupling passes changes, and here nothing changes.",
            "a recorder passes any level",
        ),
        Option(
            "An edge at the border of each bit, so that all can be counted.",
            "There is no such edge: between two equal bits the level stays where it is.",
            "each bit has an edge",
        ),
        Option(
            "Silence from its very first bit on, as black holds no data.",
            "Its beginning is there, low like any other zero: it takes some bits until the level is gone.",
            "a zero is nothing, and nothing is written for it",
        ),
        Option(
            "A level that sags to zero, and not one edge for counting.",
            "So it was: the low level crept back to zero, and the edges that were found are of the hiss.",
        ),
    ),
    "A capacitor fills up while a level is held, and then passes no more of it: what arrives sags to zero, and the "
    "hiss is louder than what is left. Edges that the reader finds there are of the hiss, and tell nothing. In "
    "cycle length, a zero is a whole cycle: never a level that is held, and two edges for each bit.",
)

LOST_COUNT = Choice(
    "No coupling now, but a tape 3 % too fast. In raw levels come 40 black bytes, then your words. Which arrive?",
    (
        Option(
            "The words arrive whole: three percent is too little to matter.",
            "Three percent of a few bits is little; of the whole black it was several bits.",
            "small errors do not add up",
        ),
        Option(
            "No word arrives: in the black, the reader loses count of bits.",
            "So it was: behind the black, each bit was taken for another.",
        ),
        Option(
            "The words arrive whole, as black is the easiest to be read.",
            "The black was read as black, but as fewer bits than it has, and all behind it slid.",
            "equal bits are the safest",
        ),
        Option(
            "Most letters arrive: three percent of them are cut at the end.",
            "Not the last letters were lost: all were garbled, from the first on.",
            "a speed error takes its part off the end",
        ),
    ),
    "Between edges a reader can only count time, and its clock ran 3 % behind the tape: after 320 equal bits it was "
    "some nine bits short. Random bits hurt no word, as their edges put the clock right again and again. (Edges "
    "before the black teach a reader the pace of the tape; that helps until the pace changes.) In cycle length, "
    "each bit brings its own edges, and the black is as easy as anything else.",
)

EDGES = Entry(
    kind="number",
    question=lambda data: (
        f"These twelve bits are written in raw levels: {' '.join(map(str, data))}. "
        "How many edges lie between the first bit and the last?"
    ),
    draw=lambda draws: [draws.below(2) for _ in range(12)],
    right=lambda data: _changes(data),
    mistakes=(
        Mistake(
            "each bit",
            lambda data: len(data),
            "expects an edge for each bit",
            "You count an edge for each bit.",
            "Between two equal bits, what does the level do?",
            "1 1 0: between the two ones, the level stays; one edge.",
        ),
        Mistake(
            "each border",
            lambda data: len(data) - 1,
            "expects an edge at each border",
            "You count an edge at each border.",
            "Between two equal bits, what does the level do?",
            "1 1 0: two borders, and one edge, where the bits differ.",
        ),
        Mistake(
            "each one",
            lambda data: sum(data),
            "expects an edge for each one",
            "You count the ones.",
            "Is there an edge between two ones? And from a one to a zero?",
            "1 1 0: two ones, and one edge, where the bits differ.",
        ),
        Mistake(
            "runs",
            lambda data: _changes(data) + 1,
            "counts runs, which are one more than the edges between them",
            "You are one over: you count runs.",
            "Of two runs, how many edges are between them?",
            "1 1 0 0: two runs, and one edge between them.",
        ),
    ),
    look="Put a mark wherever a bit differs from the one before it, and count marks.",
    worked="1 1 0 1: an edge before the zero and one after it, so two.",
    reply="Right: edges come only where the bit changes.",
)


def _changes(bits):
    return sum(before != after for before, after in pairwise(bits))


SAGGED = Entry(
    kind="number",
    question=lambda data: (
        f"Another recorder's coupling has its corner at {data[0]} Hz, and {data[1]} raw bits come in a second. "
        "After how many equal bits is e^(−1) of the level left, about 37 %?"
    ),
    draw=lambda draws: [5 * draws.between(2, 20), 300 * draws.between(2, 10)],
    right=lambda data: data[1] / (2 * pi * data[0]),
    mistakes=(
        Mistake(
            "no turn",
            lambda data: data[1] / data[0],
            "leaves out 2π",
            "You leave out 2π.",
            "Which product must be 1, so that e^(−1) is left?",
            "With 1 Hz, 2π·1·t is 1 after 0.159 s, not after 1 s.",
        ),
        Mistake(
            "upside down",
            lambda data: 2 * pi * data[0] / data[1],
            "divides the wrong way round",
            "You divided the other way round: this is less than a bit, or little more.",
            "Does a level last longer with a higher corner, or with a lower one?",
            "2π·f·t = 1 gives t = 1 / (2π·f); that many seconds, times bits a second.",
        ),
        Mistake(
            "milliseconds",
            lambda data: 1000 / (2 * pi * data[0]),
            "stops at the time, in milliseconds",
            "This is the time in milliseconds.",
            "How many bits go by in that time?",
            "In 2 ms, at 1000 bits a second, go by 2 bits.",
        ),
        Mistake(
            "seconds",
            lambda data: 1 / (2 * pi * data[0]),
            "stops at the time, in seconds",
            "This is the time in seconds.",
            "How many bits go by in that time?",
            "In 0.002 s, at 1000 bits a second, go by 2 bits.",
        ),
    ),
    look="First the time at which 2π·f·t is 1, then the bits that go by in it.",
    worked="With 1 Hz, 2π·1·t is 1 after 0.159 s; at 100 bits a second, 15.9 bits.",
    reply="Right: so few equal bits, and most of the level is gone.",
    tolerance=0.02,
)

EXIT = Choice(
    "Why does a black picture come through in cycle length, and not in raw levels?",
    (
        Option(
            "Each of its zeros is a cycle, and brings edges of its own.",
            "So it is: no level is held for long, and no bit goes by without an edge.",
        ),
        Option(
            "Each of its zeros is louder, so that the hiss is drowned.",
            "Both are equally loud: a held level sags, however loud it was. Try another answer.",
            "volume would help a held level",
        ),
        Option(
            "Its zeros are left out on the tape, and put in by the reader.",
            "Nothing is left out: each zero is on the tape as a cycle. Try another answer.",
            "a zero is nothing, and nothing is written for it",
        ),
        Option(
            "It needs no edges, as the reader goes by its clock alone.",
            "It is the other way round: it goes by edges alone. Try another answer.",
            "a clock can do without edges",
        ),
    ),
)

RECALL = (
    Choice(
        "Raw bits: high for a 1, low for a 0. A picture is black all over. What arrives?",
        (
            Option(
                "A level that sags to zero, with no edges",
                "A tape passes changes only, and here nothing changes.",
            ),
            Option(
                "A steady high level, just as was written",
                "A tape does not pass a steady level: it sags to zero.",
                "a recorder passes any level",
            ),
            Option(
                "A loud tone, since all of the bits are on",
                "A tone needs changes; equal bits make none.",
                "more ones make more sound",
            ),
            Option(
                "A row of edges, one for each of the bits",
                "Edges come only where one bit differs from the next.",
                "each bit has an edge",
            ),
        ),
    ),
    Choice(
        "In raw bits come 200 equal ones in a row. Why is it hard to count them?",
        (
            Option(
                "They wear the tape out at a single place",
                "Tape does not wear from levels.",
                "data wears the tape",
            ),
            Option(
                "They grow louder, one after the other",
                "The level sags, it does not grow.",
                "equal bits add up",
            ),
            Option(
                "They have no edges to put a clock right",
                "Without edges only time tells how many there are, and a tape does not run evenly.",
            ),
            Option(
                "They are too short to be told from hiss",
                "Together they last long: it is counting that fails.",
                "hiss is the only fault of a tape",
            ),
        ),
    ),
)

LESSON = Lesson(
    3,
    "Find out why raw bits do not survive",
    items={"a": BLACK, "b": LOST_COUNT, "c": EDGES, "e": EXIT, "m": LONGEST_RUN, "s": SAGGED},
    can=(
        ("say where raw levels have an edge, and where not", "c"),
        ("write a function that finds the longest run of equal bits", "m"),
        ("say what cycle length has that raw levels lack", "e"),
        ("work out how soon a held level is gone", "s"),
    ),
    recall=RECALL,
)
