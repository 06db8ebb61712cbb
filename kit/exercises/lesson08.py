"""Lesson 8, record it twice and mend it: where a second copy helps, and what two copies cannot tell."""

from .items import Choice, Option
from .lesson08hand import BOTH_LOST, BY_HAND, HAMMING
from .lesson08repair import REPAIR
from .lessons import Lesson

__all__ = ["LESSON"]

SIDE_BY_SIDE = Choice(
    "A log lies on a tape twice, each block with its copy right behind it. A scratch of 1.5 seconds goes through "
    "the middle; a block is much shorter. What comes back?",
    (
        Option(
            "All of it: whatever is torn in the one copy is whole in the other.",
            "It was not: some blocks lay under the scratch with their copies, and both are gone.",
            "copies help wherever they are",
        ),
        Option(
            "None of it: once it has been scratched so badly, a file is lost.",
            "Most of it came: each block is read by itself, and those outside the scratch are whole.",
            "one fault spoils a whole file",
        ),
        Option(
            "All but half of what was hit, since one in two copies is spared.",
            "The scratch spared none: of what lay in its middle, both copies are gone.",
            "two copies halve the loss",
        ),
        Option(
            "All but the blocks of which the scratch has taken both copies.",
            "So it was: neighbours share their fate, and so do copies that are neighbours.",
        ),
    ),
    "A copy helps against what does not hit it as well. Side by side, original and copy are lost together wherever a "
    "scratch is longer than a block. Far apart, the same scratch takes one of each at most, and all comes back, on "
    "about the same length of tape.",
)

NOT_WHICH = Choice(
    "Two copies lie far apart, and neither has a check. One bit of a byte was written wrong in one of them, and both "
    "are read without any trouble. What can the loader know of that byte?",
    (
        Option(
            "Its value: where two differ, it is the first copy that counts.",
            "It cannot: the fault was in the first one, and nothing told the loader so.",
            "the first copy is the original",
        ),
        Option(
            "That one copy at least is wrong, though not which one it is.",
            "So it was: the byte is marked, and left open.",
        ),
        Option(
            "Its value: it lies halfway between what the two copies say.",
            "Halfway lies a third number, which was never on the tape.",
            "errors are small and average out",
        ),
        Option(
            "Nothing at all: what was read without trouble looks right.",
            "It does know something: the two disagree, so they cannot both be right.",
            "only a check can show a fault",
        ),
    ),
    "Two copies show a fault, and do not say whose it is. To choose, it takes one thing more: a check for each copy, "
    "or a doubt from reading the wave, or a third copy that is asked to vote. Switch the check on: the copy that "
    "disagrees with its own check is the wrong one, and the other mends it.",
)

EXIT = Choice(
    "You have tape for two copies of the log, and expect one long scratch. What gives the log the best chance?",
    (
        Option(
            "Two copies far apart, and a check for every block of each.",
            "So it is: the distance saves one of them, and the check says which.",
        ),
        Option(
            "Two copies far apart, and no check, which only takes tape.",
            "Where they differ, you would not know which one to believe. Try another answer.",
            "two copies tell which one is right",
        ),
        Option(
            "Two copies block by block, so that each is found at once.",
            "One long scratch takes neighbours together. Try another answer.",
            "copies help wherever they are",
        ),
        Option(
            "A single copy at double volume, which no scratch can harm.",
            "A scratch takes a loud wave as well as a quiet one. Try another answer.",
            "what is loud is safe",
        ),
    ),
)

RECALL = (
    Choice(
        "Two copies of a byte differ, and neither has a check. What do you know?",
        (
            Option(
                "The first one is right, it was written first",
                "Which was written first says nothing about which was damaged.",
                "the first copy is the original",
            ),
            Option(
                "At least one of them is wrong, but not which",
                "Two copies show a fault; to choose between them takes a check, a doubt, or a third.",
            ),
            Option(
                "Both are wrong, since neither one is backed",
                "One of them may well be right: it is only not known which.",
                "what is not backed is wrong",
            ),
            Option(
                "The byte halfway between the two is closest",
                "A flipped bit may change a byte by 128: halfway is simply a third value.",
                "errors are small and average out",
            ),
        ),
    ),
    Choice(
        "A scratch may be a second long. Where should the second copy of a block lie?",
        (
            Option(
                "Right behind the first, to be found at once",
                "Then one scratch takes both.",
                "copies help wherever they are",
            ),
            Option(
                "Inside the first, bit by bit and turn by turn",
                "Then whatever tears a bit tears its copy, too.",
                "the closer the copy, the safer",
            ),
            Option(
                "At the tape's very edge, where it is cleanest",
                "Edges of tape wear first; what matters is the distance between the copies.",
                "there is a safe place on a tape",
            ),
            Option(
                "Far from the first, by more than the scratch",
                "Then a scratch that takes one leaves the other.",
            ),
        ),
    ),
    Choice(
        "A block is lost once in ten times, and so is its copy, each by its own bad luck. How often are both lost?",
        (
            Option(
                "Once in a hundred times",
                "A tenth of a tenth: chances of independent things are multiplied.",
            ),
            Option(
                "Once in every ten times",
                "In nine of these ten the copy is there.",
                "a copy is lost together with its original",
            ),
            Option(
                "Once in some twenty times",
                "Half as often would take one loss in two to spare the copy; nine in ten do.",
                "two copies halve the risk",
            ),
            Option(
                "Never, as there are two",
                "Bad luck may strike twice, only seldom.",
                "a copy makes it safe",
            ),
        ),
    ),
)

LESSON = Lesson(
    8,
    "Record it twice and mend it",
    items={"a": SIDE_BY_SIDE, "b": NOT_WHICH, "c": BOTH_LOST, "d": BY_HAND, "e": EXIT, "m": REPAIR, "s": HAMMING},
    can=(
        ("work out how seldom two copies are both lost", "c"),
        ("mend a line from two copies by hand", "d"),
        ("write a function that makes one of two copies", "m"),
        ("say where a second copy belongs, and what it needs", "e"),
        ("find and mend a wrong bit with an error-correcting code", "s"),
    ),
    recall=RECALL,
)
