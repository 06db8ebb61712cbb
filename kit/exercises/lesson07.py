"""Lesson 7, know whether it arrived: what parity, sums and a CRC notice, and what they miss."""

from .items import Choice, Option
from .lesson07hand import BY_HAND, SMALL_CRC, SUM
from .lesson07sum import CHECKSUM
from .lessons import Lesson

__all__ = ["LESSON"]

PARITY = Choice(
    "Each byte has a parity bit that makes its number of ones even. Now two bits of the same byte flip. "
    "What does the parity bit do?",
    (
        Option(
            "It disagrees, for the byte is not what it was when the bit was worked out.",
            "It did not: it knows nothing of the byte but odd or even, and even it was again.",
            "a check sees every change",
        ),
        Option(
            "It agrees, and the loader takes the byte that arrived for a good one.",
            "So it was: two flips, and the number of ones is even as before.",
        ),
        Option(
            "It disagrees two times, so that the loader can count both of the flips.",
            "It did not: one bit can only say odd or even, and two flips leave that alone.",
            "a check counts the errors",
        ),
        Option(
            "It agrees in the end, once the loader has turned both of the bits back.",
            "No bit was turned back: the wrong letter is what arrived. A check compares, it does not mend.",
            "a check repairs what it finds",
        ),
    ),
    "One flip makes an odd number of ones of an even one, and the next makes it even again. So parity sees one flip "
    "in a byte, or three, and misses two, or four: whichever bits they are. CRC saw these two at once.",
)

CHANCE = Choice(
    "Noise has torn a thousand blocks, and each of their bits fell as a coin would. Their sums arrived unharmed. "
    "In how many blocks does the sum of 8 bits agree all the same?",
    (
        Option(
            "In none: what is torn cannot have the sum of what was sent.",
            "It can: a sum has 256 values only, and many other blocks share each of them.",
            "a matching check proves that data is right",
        ),
        Option(
            "In about half of them: a check agrees, or else it does not.",
            "That holds for one bit of parity over all; a sum has not two values but 256.",
            "a check has two outcomes, so chance passes half",
        ),
        Option(
            "In a few: now and then, chance hits upon just the same sum.",
            "So it is: one torn block in 256 has the right sum, by chance alone.",
        ),
        Option(
            "In about an eighth: the sum of a block is eight bits long.",
            "Eight bits make not 8 values but 256, and chance must hit the right one.",
            "chance goes by the number of bits",
        ),
    ),
    "A sum of 8 bits has 256 values, and chance hits each as often: of 256 torn blocks one passes, of a thousand "
    "about 4. You may have had none, or 9: chance has no memory. So a sum that agrees makes it probable that all "
    "arrived, not certain. Each further bit of check halves what is missed: with 16 bits it is one in 65,536.",
)

EXIT = Choice(
    "All data of a block arrived unharmed, but a scratch has hit the check behind it. There is no other check. "
    "What can the loader say?",
    (
        Option(
            "Damaged: the two disagree, and the check tells which byte is wrong.",
            "It tells only that the two disagree; and here no byte is wrong. Try another answer.",
            "a check says where damage is",
        ),
        Option(
            "Checked: the data is right, and that is what the check is about.",
            "Nobody tells the loader that the data is right: it has the two to compare, no more. Try another answer.",
            "a loader knows the data by itself",
        ),
        Option(
            "Mended: it puts the check right with the one it has worked out.",
            "Then every damaged block would be put right with its own damage. Try another answer.",
            "a check repairs what it finds",
        ),
        Option(
            "Damaged: the two disagree, and it cannot know which one is wrong.",
            "So it is. To disagree is certain: something has changed. To agree is only probable.",
        ),
    ),
)

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
                "A single parity bit over all bytes",
                "The number of ones is the same in any order.",
                "parity knows where the ones are",
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

LESSON = Lesson(
    7,
    "Know whether it arrived",
    items={"a": PARITY, "b": CHANCE, "c": BY_HAND, "d": SUM, "e": EXIT, "m": CHECKSUM, "s": SMALL_CRC},
    words=("m", lambda data: bytes(data[0]).decode()),
    can=(
        ("work out parity bits by hand", "c"),
        ("work out a sum of 8 bits by hand", "d"),
        ("write a function that works out a check", "m"),
        ("say what a check that disagrees tells, and what it does not", "e"),
        ("work out a small CRC by hand", "s"),
    ),
    recall=RECALL,
)
