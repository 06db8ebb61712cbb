"""Lesson 8, record it twice and mend it: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

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

LESSON = Lesson(8, "Record it twice and mend it", recall=RECALL)
