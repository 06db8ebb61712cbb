"""Lesson 13, design your own loader: so far only what is asked about it later."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

RECALL = (
    Choice(
        "A format is twice as fast, and half of its tapes load. How many useful bits a second come home?",
        (
            Option(
                "Twice as many as they were before",
                "Tapes that do not load bring nothing home, however fast they run.",
                "speed is counted, whether it loads or not",
            ),
            Option(
                "As many as before the format changed",
                "Twice the speed times half of the tapes: the two cancel out.",
            ),
            Option(
                "None at all, since some do not load",
                "The tapes that do load count: half of them, at twice the speed.",
                "a single failure makes a format worthless",
            ),
            Option(
                "Half as many as they were before",
                "The speed counts as well: half of the tapes, but each twice as fast.",
                "only the share that loads is counted",
            ),
        ),
    ),
    Choice(
        "You change the check and the block size at once, and the score rises. What do you know?",
        (
            Option(
                "That the larger blocks were the reason",
                "It may have been the check, or both: one change at a time tells.",
                "the change one thinks of is the reason",
            ),
            Option(
                "That both of the changes were needed",
                "One may have helped and the other done harm, and the sum still rises.",
                "a better result proves every part of it",
            ),
            Option(
                "That the two together did some good",
                "No more than that: which of them did, only a tape with one change tells.",
            ),
            Option(
                "Nothing, since scores are only chance",
                "The same tapes were tried before and after: that much is known.",
                "measured figures say nothing",
            ),
        ),
    ),
)

LESSON = Lesson(13, "Design your own loader", recall=RECALL)
