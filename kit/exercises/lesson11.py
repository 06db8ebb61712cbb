"""Lesson 11, choose a loader speed: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

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

LESSON = Lesson(11, "Choose a loader speed", recall=RECALL)
