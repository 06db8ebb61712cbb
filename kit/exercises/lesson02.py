"""Lesson 2, build a square wave: what a filter leaves of it, and what a loader makes of that."""

from .items import Choice, Entry, Mistake, Option
from .lesson02square import BUILD_SQUARE
from .lessons import Lesson

__all__ = ["LESSON"]

FILTERED = Choice(
    "A square wave of 1200 Hz goes through a low-pass filter with its cut-off at 2 kHz. What comes out?",
    (
        Option(
            "A smooth wave of 1200 Hz, as only its first sine gets through.",
            "So it was: of all its sines, the first one alone lies below the cut-off.",
        ),
        Option(
            "The same square wave: 1200 Hz lies well below the cut-off.",
            "The wave lost its corners: 1200 Hz is only the first of its sines, and the next has 3600 Hz.",
            "a wave of one pitch is one sine",
        ),
        Option(
            "A square wave of 1200 Hz that is smaller, with its corners.",
            "It is not smaller, it is rounder: the filter took the fast sines, and hardly touched the first.",
            "a filter only turns the volume down",
        ),
        Option(
            "Nothing at all, since a square wave needs all of its sines.",
            "The first sine came through alone: each passes or not by its own frequency.",
            "a filter lets a wave pass whole or not",
        ),
    ),
    "A filter deals with each sine by itself. The one at 1200 Hz lies below the cut-off and passes almost whole; "
    "the next, at 3600 Hz, is weakened to a tenth, and those above to less. Corners were the work of these.",
)

LOADED = Choice(
    "The tape with your words goes through the same filter; it has cycles of 1200 and of 2400 Hz. What is read?",
    (
        Option(
            "Nothing: without corners, no bit can be told from another.",
            "All was read: the loader asks when the wave crosses zero, and a smooth wave does that, too.",
            "bits are kept in the corners of a wave",
        ),
        Option(
            "Ones alone: cycles of 2400 Hz do not get through at 2 kHz.",
            "The short cycles got through, weaker: a filter is a slope and no wall.",
            "a filter ends like a wall",
        ),
        Option(
            "Every word, as the smooth wave still crosses zero in time.",
            "So it was: rounder waves, the same crossings, the same words.",
        ),
        Option(
            "Other words: the filter makes all of the cycles longer.",
            "The words are the same: a filter takes strength from a sine, and leaves its frequency.",
            "a filter changes the frequency",
        ),
    ),
    "A loader needs the times at which the wave crosses zero. The first sine of each cycle crosses where the square "
    "wave does, and it gets through: at 1200 Hz almost whole, at 2400 Hz by some two fifths. So a recorder "
    "needs to carry little more than the shortest cycle itself.",
)

ORDINALS = {3: "third", 4: "fourth", 5: "fifth", 6: "sixth", 7: "seventh"}

NEXT_SINE = Entry(
    kind="number",
    question=lambda data: (
        f"Another square wave has {data[0]} Hz. Which frequency has the {ORDINALS[data[1]]} of its sines, in Hz?"
    ),
    draw=lambda draws: [50 * draws.between(3, 40), draws.between(3, 7)],
    right=lambda data: (2 * data[1] - 1) * data[0],
    mistakes=(
        Mistake(
            "all multiples",
            lambda data: data[1] * data[0],
            "counts every multiple as a sine of the square wave",
            "You count every multiple, also those that are not there.",
            "In the picture, which multiple came second: 2 or 3?",
            "Of 50 Hz, the sines have 50, 150, 250, 350 Hz: the fourth is no 200 Hz.",
        ),
        Mistake(
            "even",
            lambda data: 2 * data[1] * data[0],
            "takes the even multiples",
            "This is an even multiple: no such sine is in it.",
            "The first sine has the frequency itself: is that odd or even?",
            "Of 50 Hz, the sines have 50, 150, 250 Hz: 1, 3, 5 times.",
        ),
        Mistake(
            "one further",
            lambda data: (2 * data[1] + 1) * data[0],
            "does not count the fundamental",
            "You are one sine too far.",
            "Did you count the sine at the frequency itself as the first?",
            "Of 50 Hz, the first sine has 50 Hz, the second 150 Hz.",
        ),
        Mistake(
            "threefold",
            lambda data: 3 ** (data[1] - 1) * data[0],
            "takes three times the one before",
            "You take three times the one before, again and again.",
            "How far is it from each sine to the next: is it always as far?",
            "Of 50 Hz, the sines have 50, 150, 250 Hz: always 100 Hz further.",
        ),
    ),
    look="Write the row down: once, three times, five times … How does it go on?",
    worked="Of 50 Hz, the sines have 50, 150, 250, 350 Hz: the fourth has 350 Hz.",
    reply="Right: odd multiples only, the fundamental being the first.",
)

HOW_MANY = Entry(
    kind="number",
    question=lambda data: (
        f"A recorder carries all up to {data[1]} Hz, and nothing above. "
        f"How many sines of a square wave of {data[0]} Hz does it carry?"
    ),
    draw=lambda draws: [f := 20 * draws.between(10, 40), 2 * f * draws.between(3, 9) + f // 2],
    right=lambda data: (data[1] // data[0] + 1) // 2,
    mistakes=(
        Mistake(
            "all multiples",
            lambda data: data[1] // data[0],
            "counts every multiple as a sine of the square wave",
            "You count every multiple, also those that are not there.",
            "Which multiples of its frequency does a square wave have?",
            "Of 50 Hz up to 325 Hz: 50, 150 and 250 Hz, so three.",
        ),
        Mistake(
            "highest",
            lambda data: 2 * ((data[1] // data[0] + 1) // 2) - 1,
            "gives the highest multiple for how many there are",
            "This is the multiple of the fastest sine that passes.",
            "How many odd numbers are there up to it?",
            "Up to 5 there are three odd numbers: 1, 3 and 5.",
        ),
        Mistake(
            "no fundamental",
            lambda data: (data[1] // data[0] + 1) // 2 - 1,
            "does not count the fundamental",
            "You are one short.",
            "Did you count the sine at the frequency itself?",
            "Of 50 Hz up to 325 Hz: 50, 150 and 250 Hz, so three, not two.",
        ),
        Mistake(
            "one cut off",
            lambda data: (data[1] // data[0] + 1) // 2 + 1,
            "counts one that lies above the limit",
            "You are one over: your last sine lies above the limit.",
            "What is the frequency of your last sine?",
            "Of 50 Hz up to 325 Hz: 350 Hz is too high, so three, not four.",
        ),
    ),
    look="Write down the frequencies of its sines until you pass the limit.",
    worked="Of 50 Hz up to 325 Hz: 50, 150 and 250 Hz pass, so three.",
    reply="Right. The higher the wave, the fewer of its sines a recorder carries.",
)

EXIT = Choice(
    "A recorder carries nothing above 4000 Hz. What does a square wave of 600 Hz lose on it?",
    (
        Option(
            "Nothing, because 600 Hz lies far below the limit.",
            "Its first sine does, but its corners are made of faster ones. Try another answer.",
            "a wave of one pitch is one sine",
        ),
        Option(
            "Its sines from 4200 Hz on, and with them the corners.",
            "So it does: 600, 1800 and 3000 Hz are left of it.",
        ),
        Option(
            "Its edges, as they no longer cross zero in time.",
            "What is left crosses zero where it did: a loader reads on. Try another answer.",
            "bits are kept in the corners of a wave",
        ),
        Option(
            "Most of its power, which lies in its fast sines.",
            "The faster, the weaker: most of the power is in the first sine. Try another answer.",
            "edges are made of the strongest harmonics",
        ),
    ),
)

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

LESSON = Lesson(
    2,
    "Build a square wave",
    items={"a": FILTERED, "b": LOADED, "c": NEXT_SINE, "e": EXIT, "m": BUILD_SQUARE, "s": HOW_MANY},
    can=(
        ("say which sines a square wave is made of", "c"),
        ("write a function that builds a square wave of sines", "m"),
        ("say what a recorder without highs takes from a square wave", "e"),
        ("work out how many sines of a wave a recorder carries", "s"),
    ),
    recall=RECALL,
)
