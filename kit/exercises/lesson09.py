"""Lesson 9, follow a tape that will not run steadily: so far only what later lessons ask about it."""

from .items import Choice, Option
from .lessons import Lesson

__all__ = ["LESSON"]

RECALL = (
    Choice(
        "A clock is set once, at the first bit, and then counts on its own. Which wobble of 1 % hurts it most?",
        (
            Option(
                "One of 20 Hz, as there are more swings in it",
                "More swings, but each is so short that little adds up before the next one takes it back.",
                "the faster a wobble, the more harm it does",
            ),
            Option(
                "One of 2 Hz, as the error adds up for longer",
                "Half a swing lasts ten times as long as at 20 Hz, and the clock is carried ten times as far.",
            ),
            Option(
                "Both hurt alike, since the depth is the same",
                "The depth says how wrong the speed is, not for how long it stays so.",
                "the depth of a wobble is all that counts",
            ),
            Option(
                "Neither does any harm, as 1 % is very little",
                "A hundredth of each bit, bit after bit: after fifty of them, half a bit is lost.",
                "a small error stays small",
            ),
        ),
    ),
    Choice(
        "Why does a reader of long and short cycles bear a wobble that a fixed clock does not?",
        (
            Option(
                "It measures the tape first, and smooths its speed",
                "It does not smooth anything: it compares each cycle with a length.",
                "a reader can make the tape run evenly",
            ),
            Option(
                "It reads every bit twice, and takes the better one",
                "It looks at each cycle once.",
                "reading again mends what the tape did",
            ),
            Option(
                "Its cycles are louder than those that a clock counts",
                "Volume has no part in it: both look at edges.",
                "volume and time depend on each other",
            ),
            Option(
                "It judges each cycle by itself, so no error adds up",
                "Each cycle starts anew: the errors of those before it are forgotten.",
            ),
        ),
    ),
)

LESSON = Lesson(9, "Follow a tape that will not run steadily", recall=RECALL)
