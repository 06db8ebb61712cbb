"""Lesson 11, choose a loader speed: the time to a good load, and the ceiling that a recorder sets."""

from .items import Choice, Option
from .lesson11numbers import BY_HAND, CEILING, WAVELENGTH
from .lesson11time import TIME_TO_GOOD_LOAD
from .lessons import Lesson

__all__ = ["LESSON"]

FASTER = Choice(
    "The loader is made faster, step by step, up to sixteen times. What becomes of the time to a good load?",
    (
        Option(
            "It shrinks all the way: twice the speed, half the time.",
            "It shrank only as far as tapes loaded; beyond that there was no good load at all.",
            "a faster loader always saves time",
        ),
        Option(
            "It shrinks at first, and from some speed on it is never.",
            "So it was: shorter and shorter, and then no tape came out whole.",
        ),
        Option(
            "It shrinks, then slowly grows again, as more tries fail.",
            "There was no slow growth: from the best speed to never it was a step or two.",
            "reliability fades little by little",
        ),
        Option(
            "It grows from the first step on: haste makes mistakes.",
            "At first all tapes loaded as before, in less time: there was room to spare.",
            "every bit of speed costs reliability",
        ),
    ),
    "While every load comes out whole, a faster one is simply shorter; not half as long at twice the speed, since "
    "leaders stay as long as they were. But the edge is steep: a file is good only if each of its bits is right, "
    "and there are well over a thousand. Where one bit in a hundred goes wrong, hardly any try comes out whole, "
    "and trying again does not help.",
)

HISS = Choice(
    "The hiss of the home recorder becomes four times as strong. What becomes of its best loader speed?",
    (
        Option(
            "A quarter of it is left: four times the hiss, a quarter of the speed.",
            "It did not fall at all: all tapes loaded at the same speeds as before.",
            "speed falls in proportion to the noise",
        ),
        Option(
            "It falls by about a quarter, by as much as the ceiling comes down.",
            "The ceiling came down by a quarter, but this loader works far below it.",
            "a loader's speed follows the ceiling",
        ),
        Option(
            "None is left: through so much hiss, no tape loads whole any more.",
            "All tapes loaded as before: even so, the hiss is far below the wave.",
            "any strong noise spoils every bit",
        ),
        Option(
            "It stays as it was, as something else sets the limit of this one.",
            "So it was: the same best speed, under a lower ceiling.",
        ),
    ),
    "At the best speed the shortest cycles are near the highest frequencies this recorder carries. One step "
    "faster, they shrink and lean on their neighbours, and edges are lost, even with no hiss at all. Hiss counts "
    "once it is no longer small beside the smallest wave. The ceiling comes down with any hiss, for it tells what "
    "the best possible code could do.",
)


EXIT = Choice(
    "The station tries two speeds. At one, each load takes 100 s and all come out whole; at the other, each takes "
    "60 s and half of them do. Which one is quicker, and why?",
    (
        Option(
            "The one of 60 s, as each of its loads is shorter than the others.",
            "Its failed loads take time, too: two tries for a good one. Try another answer.",
            "the time of one load is what counts",
        ),
        Option(
            "They are alike, as 60 s and a half are as good as 100 s and all.",
            "Work it out: 60 s divided by a half. Try another answer.",
            "speed and reliability always balance",
        ),
        Option(
            "The one of 100 s, as the other takes 120 s on average to be good.",
            "So it is: 60 s divided by a half.",
        ),
        Option(
            "The one of 100 s, as a load that may fail is never of any use.",
            "It is of use if it is short enough: at 40 s it would win. Try another answer.",
            "only a load that never fails counts",
        ),
    ),
)

RECALL = (
    Choice(
        "A loader is made faster and faster. What becomes of the time until the file has come out whole?",
        (
            Option(
                "It shrinks all the way, and ends close to zero",
                "It shrinks only as long as tapes load; then no try comes out whole.",
                "a faster loader always saves time",
            ),
            Option(
                "It grows all the way: haste makes more errors",
                "At first there is room to spare, and a faster load is simply shorter.",
                "every bit of speed costs reliability",
            ),
            Option(
                "It shrinks for a while, then it jumps to never",
                "Shorter loads while they work; past the edge, trying again does not help.",
            ),
            Option(
                "It stays as it was, since the file is as large",
                "The bytes are as many, but they come faster.",
                "the size of a file alone decides how long it loads",
            ),
        ),
    ),
    Choice(
        "A load takes 60 s, and every second one fails, by chance. How long does it take on average until one has "
        "worked?",
        (
            Option(
                "30 s, as half of the loads work",
                "No load is shorter for working only now and then.",
                "a chance of half halves the time",
            ),
            Option(
                "120 s, two loads being needed",
                "On average two tries are needed, of 60 s each: 60 divided by a half.",
            ),
            Option(
                "60 s, as long as one load takes",
                "Those who fail at first must load again.",
                "failed tries cost nothing",
            ),
            Option(
                "It never works, being unsafe",
                "What fails by chance works another time.",
                "what fails once fails always",
            ),
        ),
    ),
    Choice(
        "What sets the ceiling: the most bits a second that a recorder could ever carry?",
        (
            Option(
                "The range of frequencies it passes, and its noise",
                "Bandwidth and noise together, as Shannon showed.",
            ),
            Option(
                "The number of samples a second in the sound file",
                "Samples describe what comes off the tape; they add nothing to it.",
                "samples are bits of data",
            ),
            Option(
                "How quickly the computer that loads can calculate",
                "A slow loader may stay below the ceiling; no fast one gets above it.",
                "the computer alone is the limit",
            ),
            Option(
                "How loudly the tape is recorded, and nothing else",
                "Louder helps a little, against the noise; without highs it helps no more.",
                "volume alone is the limit",
            ),
        ),
    ),
)

LESSON = Lesson(
    11,
    "Choose a loader speed",
    items={"a": FASTER, "b": HISS, "c": BY_HAND, "d": WAVELENGTH, "e": EXIT, "m": TIME_TO_GOOD_LOAD, "s": CEILING},
    can=(
        ("work out the time to a good load by hand", "c"),
        ("say how long a cycle is on the tape", "d"),
        ("write a function that tells the time to a good load", "m"),
        ("choose between a fast loader and a sure one", "e"),
        ("work out the ceiling of bits a second of a recorder", "s"),
    ),
    recall=RECALL,
)
