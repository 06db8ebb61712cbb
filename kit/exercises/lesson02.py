"""Lesson 2, build a square wave: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

RECALL = (
    Choice(
        "A square wave is a sum of sine waves. Which ones?",
        (
            Option(
                "All multiples of its frequency, equally strong",
                "Only the odd ones, and the higher the weaker: 1, 1/3, 1/5 …",
                "all harmonics take part, equally",
            ),
            Option(
                "The odd multiples, the higher the weaker",
                "The odd multiples, with 1, 1/3, 1/5 … of the first one's size.",
            ),
            Option(
                "Only a single one, of the same frequency",
                "One sine wave is smooth: corners need higher ones.",
                "a wave of one pitch is one sine",
            ),
            Option(
                "The even multiples, the higher the stronger",
                "The even ones would make its halves unequal, and the higher ones are weaker.",
                "edges are made of the strongest harmonics",
            ),
        ),
    ),
    Choice(
        "A square wave of 1200 Hz goes through a filter that ends at 2 kHz. What comes out?",
        (
            Option(
                "A square wave of 1200 Hz, only quieter",
                "Its corners are made of 3600 Hz and more, which do not pass.",
                "a filter only turns the volume down",
            ),
            Option(
                "A square wave that now has 2000 Hz",
                "A filter takes parts away; it does not move them.",
                "a filter changes the frequency",
            ),
            Option(
                "Silence, as square waves cannot pass",
                "The part at 1200 Hz passes: it lies below 2 kHz.",
                "a filter lets a wave pass whole or not",
            ),
            Option(
                "A smooth wave of 1200 Hz, no corners",
                "Only the first part passes, a sine; the next lies at 3600 Hz.",
            ),
        ),
    ),
)

LESSON = Lesson(2, "Build a square wave", recall=RECALL)
