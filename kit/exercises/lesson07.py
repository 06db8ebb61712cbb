"""Lesson 7, know whether it arrived: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

RECALL = (
    Choice(
        "Two bits of one byte have flipped. What does the parity bit of that byte say?",
        (
            Option(
                "It disagrees: something in it changed",
                "It counts whether the ones are odd or even, and two flips leave that as it was.",
                "a check sees every change",
            ),
            Option(
                "It disagrees twice, once for each flip",
                "It is a single bit: it cannot count, and two flips leave it as it was.",
                "a check counts the errors",
            ),
            Option(
                "It agrees: an even number has changed",
                "Odd or even stays as it was with two flips, or four.",
            ),
            Option(
                "It agrees: it turned one of them back",
                "It says whether something is odd; it turns nothing back.",
                "a check repairs what it finds",
            ),
        ),
    ),
    Choice(
        "The sum recorded with a block is the sum of what was read. What do you know?",
        (
            Option(
                "It has probably arrived, not certainly",
                "Damage that leaves the sum alone is rare, and it does happen.",
            ),
            Option(
                "It has arrived: equal sums, equal data",
                "Many blocks have the same sum; one of them may have become another.",
                "a matching check proves that data is right",
            ),
            Option(
                "Nothing yet: sums match half the time",
                "One bit matches by chance half the time; a sum of 8 bits once in 256.",
                "a check has two outcomes, so chance passes half",
            ),
            Option(
                "It is damaged, but only in the middle",
                "A sum knows no places, and this one gives no sign of damage at all.",
                "a check says where damage is",
            ),
        ),
    ),
    Choice(
        "Two different bytes of a block have changed places. Which check sees it?",
        (
            Option(
                "A parity bit, as part of each byte",
                "The bit is part of its byte and moves with it: each byte still agrees with its own.",
                "parity knows which byte it stands by",
            ),
            Option(
                "A sum, in which all bytes take part",
                "A sum is the same in any order.",
                "what counts all bytes also counts their order",
            ),
            Option(
                "None, as no byte has been damaged",
                "Each byte is as it was, but the block is not, and some checks weigh places.",
                "data is damaged only where bits flip",
            ),
            Option(
                "A CRC, in which each place counts",
                "It shifts before each bit, so the same bit weighs differently in another place.",
            ),
        ),
    ),
)

LESSON = Lesson(7, "Know whether it arrived", recall=RECALL)
