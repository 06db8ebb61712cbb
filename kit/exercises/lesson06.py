"""Lesson 6, say what is coming: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

RECALL = (
    Choice(
        "A header says 160 bytes where 32 were written, and the loader does not check it. What will it do?",
        (
            Option(
                "Load 32 bytes, as the tape has no more",
                "It goes by the header: it does not know where the file ends otherwise.",
                "a file ends by itself",
            ),
            Option(
                "Refuse the header as an unlikely one",
                "160 is as good a number as 32: without a check nothing looks wrong.",
                "a machine sees what is unlikely",
            ),
            Option(
                "Want 128 bytes more than there are",
                "It takes them from what comes next on the tape, or waits for them.",
            ),
            Option(
                "Load the same 32 bytes five times over",
                "It goes on along the tape; nothing on it comes again.",
                "missing bytes are made up from others",
            ),
        ),
    ),
    Choice(
        "What does the start address in a header say?",
        (
            Option(
                "Where in memory the first byte goes",
                "The others follow, byte after byte.",
            ),
            Option(
                "Where on the tape the file begins",
                "The leader and the sync mark show that, not a number.",
                "an address is a place on the tape",
            ),
            Option(
                "Which computer the file comes from",
                "An address is a place in the memory of the computer that loads it.",
                "an address names a computer",
            ),
            Option(
                "How many bytes the file consists of",
                "That is the length, another number in the header.",
                "address and length are the same",
            ),
        ),
    ),
    Choice(
        "In a header the bytes 1 and 0 stand for one number, the larger part first (big-endian). Which is it?",
        (
            Option(
                "1, as a zero behind adds nothing",
                "So it would be with the smaller part first. The first byte counts 256s here.",
                "the smaller part comes first",
            ),
            Option(
                "10, as its digits are a 1 and a 0",
                "A byte is no digit from 0 to 9: it goes to 255, so the next place counts 256s.",
                "bytes are decimal digits",
            ),
            Option(
                "2, as these are the bits 1 and 0",
                "They are bytes, not bits: the first one counts 256s, not 2s.",
                "bytes are bits",
            ),
            Option(
                "256, as the first byte counts 256s",
                "One times 256, and nothing more.",
            ),
        ),
    ),
)

LESSON = Lesson(6, "Say what is coming", recall=RECALL)
