"""Lesson 5, find the start: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

RECALL = (
    Choice(
        "What does a sync mark tell the loader?",
        (
            Option(
                "How fast the tape is running now",
                "The leader tells that: it has many cycles, all of them alike.",
                "the sync mark gives the measure",
            ),
            Option(
                "Where the first bit of data begins",
                "The leader only says that data is coming; the sync mark says: here.",
            ),
            Option(
                "How many bytes are to be expected",
                "That is said in the data itself, and the loader must find its first bit before.",
                "the sync mark holds data",
            ),
            Option(
                "Whether all of the bytes arrived",
                "The check tells that, at the end.",
                "the sync mark is a check",
            ),
        ),
    ),
    Choice(
        "Bits in the middle of the data happen to look like a sync mark. How does the loader know better?",
        (
            Option(
                "A true sync mark is always louder",
                "All parts of a tape are equally loud.",
                "what matters is marked by volume",
            ),
            Option(
                "Data can never look like a mark",
                "It can, and noise can make a mark as well.",
                "a sync mark cannot be forged",
            ),
            Option(
                "A false mark is always the last one",
                "It may come before the true one, or after it.",
                "the first mark is the true one",
            ),
            Option(
                "After a false mark no check agrees",
                "It may try each place: only where a block really begins does the check agree.",
            ),
        ),
    ),
    Choice(
        "A block was recorded while the motor was still starting, and played at full speed. What has become of it?",
        (
            Option(
                "Its waves lie too close on the tape",
                "Little tape went by while it was written, so its waves are short, and a dirty head loses them.",
            ),
            Option(
                "Its waves came out higher than others",
                "The motor moves the tape; it does not make the wave any stronger.",
                "speed makes a recording louder",
            ),
            Option(
                "It was written twice on the same tape",
                "The tape moved on slowly, but it did not stop or go back.",
                "a slow tape is written twice",
            ),
            Option(
                "It takes longer to play than planned",
                "It takes less: a short piece of tape, played at full speed.",
                "what is recorded slowly plays slowly",
            ),
        ),
    ),
)

LESSON = Lesson(5, "Find the start", recall=RECALL)
