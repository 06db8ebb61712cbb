"""Lesson 6, say what is coming: what a header decides, and what becomes of a file when a bit of it is flipped."""

from .items import Choice, Option
from .lesson06header import PARSE_HEADER
from .lesson06numbers import BY_HAND, FLIP
from .lessons import Lesson

__all__ = ["LESSON"]

PICTURE = Choice(
    "The tape with the picture has been played to its middle. What is to be seen of the picture?",
    (
        Option(
            "All of it, but coarse: the more bytes come, the sharper it gets.",
            "What is there is as sharp as it will ever be: each byte is one point of the picture.",
            "a picture comes as a whole, and gets sharper",
        ),
        Option(
            "Its upper rows, as sharp as ever; below, nothing is there yet.",
            "So it was: the rows come one after the other, in the order in which they are stored.",
        ),
        Option(
            "Its left half, as sharp as ever; to the right, nothing is there.",
            "It grows downwards: what is stored first is the whole of the uppermost row.",
            "tape and picture run the same way",
        ),
        Option(
            "Nothing at all: a file is there when its last byte has come.",
            "Each byte goes into memory when it comes; only the check has to wait for a block's end.",
            "a file is there as a whole or not",
        ),
    ),
    "The header says where in memory the first byte goes, and each further byte goes one place further. The points "
    "of a picture are stored row by row, so it grows from the top. In the middle of the tape it is less than half "
    "done, for leaders and headers take their time as well.",
)

UNCHECKED = Choice(
    "On the tape, the length 32 arrives as 160. The loader does not check the header, and another file follows. "
    "What will lie in memory?",
    (
        Option(
            "The 32 bytes of your file: it stops where your file ends.",
            "It did not stop there: nothing on the tape says that a file ends, but its header.",
            "a file ends by itself",
        ),
        Option(
            "Nothing: it finds that 160 bytes are too many for such a file.",
            "It found nothing: 160 is as good a number as 32.",
            "a machine sees what is unlikely",
        ),
        Option(
            "The 32 bytes of your file, and after them 128 of the next.",
            "So it was: it took the beginning of the next file for the rest of yours.",
        ),
        Option(
            "The 32 bytes of your file, and zeros where 128 are missing.",
            "It made nothing up: it took what came next on the tape.",
            "what is missing is filled up",
        ),
    ),
    "A loader knows no other end of a file than the one in its header. 160 is 32 and 128: the bit worth 128 was "
    "flipped. Where no file follows, it waits for 128 bytes that never come. A check over the whole file tells "
    "that it is wrong, but not before its last byte is there.",
)

CHECKED = Choice(
    "The same bit is flipped once more, but now the loader checks the header when it has read it. What does it do?",
    (
        Option(
            "It turns the flipped bit back, and loads the 32 bytes.",
            "It did not: a check says that something is wrong, not which bit.",
            "a check mends what it finds",
        ),
        Option(
            "It loads the 160 bytes, and says at the end: wrong.",
            "It said so sooner: the header has a check of its own, right behind it.",
            "a check comes at the end of everything",
        ),
        Option(
            "It loads as before: checks are there for data only.",
            "It did not load: a header is a block like any other, and has its check.",
            "only data needs a check",
        ),
        Option(
            "It refuses the header, and loads not a single byte.",
            "So it was: the check does not agree, and the header is not believed.",
        ),
    ),
    "The header block ends with a check over all its bytes, and no single flipped bit gets past it, whichever it is. "
    "The loader then knows nothing of the file; but the header stands on the tape once more, behind the data.",
)


EXIT = Choice(
    "Why does a loader need a header at all?",
    (
        Option(
            "To know how fast the tape runs, and where its first bit lies.",
            "Leader and sync mark say that; without them it could not read the header. Try another answer.",
            "the header does the leader's work",
        ),
        Option(
            "To know what comes, how much of it, and where it has to go.",
            "So it is. And since it is believed, it has to be checked.",
        ),
        Option(
            "To know if the bytes that follow have arrived without fault.",
            "It holds a check value, but what it is needed for is more than that. Try another answer.",
            "the header is there to check the data",
        ),
        Option(
            "To know what the words in the file mean before it loads them.",
            "Bytes are numbers to a loader, whatever they mean. Try another answer.",
            "a loader understands what it reads",
        ),
    ),
)

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

LESSON = Lesson(
    6,
    "Say what is coming",
    items={"a": PICTURE, "b": UNCHECKED, "c": CHECKED, "d": BY_HAND, "e": EXIT, "m": PARSE_HEADER, "s": FLIP},
    can=(
        ("say what a header is for", "e"),
        ("work out a number that is kept in several bytes", "d"),
        ("write a function that takes a header apart", "m"),
        ("work out what a flipped bit makes of a length", "s"),
    ),
    recall=RECALL,
)
