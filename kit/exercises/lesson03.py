"""Lesson 3, find out why raw bits do not survive: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

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

LESSON = Lesson(3, "Find out why raw bits do not survive", recall=RECALL)
