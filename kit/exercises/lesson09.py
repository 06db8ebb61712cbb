"""Lesson 9, follow a tape that will not run steadily: a clock that is set once, wobbles, and speed by the leader."""

from math import pi

from .items import Choice, Entry, Mistake, Option
from .lesson09speed import FIX_SPEED
from .lessons import Lesson

__all__ = ["LESSON"]

WOBBLE = Choice(
    "The speed swings by 1 % to and fro. A clock, set once, reads your words. Which wobble spoils more letters?",
    (
        Option(
            "The one of 20 Hz: it shakes the clock ten times as often.",
            "It shakes oftener, but each swing ends before much has added up.",
            "the faster a wobble, the more harm it does",
        ),
        Option(
            "Neither: one part in a hundred is too little to be noticed.",
            "One part in a hundred of every bit is a whole bit after a hundred bits.",
            "a small error stays small",
        ),
        Option(
            "The one of 2 Hz: it has more time before it turns round.",
            "So it was: the clock went wrong for longer before the wobble took it back.",
        ),
        Option(
            "Both the same: what counts is the depth, 1 % in each case.",
            "The depth says how wrong the speed is, and not for how long it stays so.",
            "the depth of a wobble is all that counts",
        ),
    ),
    "While the tape runs too fast, every bit comes a little sooner than the clock believes, and each of these little "
    "errors is added to those before it. Only when the tape runs too slow are they taken back. At 2 Hz it runs too "
    "fast for a quarter of a second, or 300 bits, at 20 Hz for 30, and in 30 bits the clock is not even a quarter of "
    "a bit off. Where it is off by half a bit, for some bits even sooner, it reads the neighbour; when the wobble "
    "carries it back, letters may come right again.",
)

CYCLES = Choice(
    "The same words in long and short cycles, the same wobble of 1 % at 2 Hz. How many letters will be wrong?",
    (
        Option(
            "As many as before: the tape is running just as unevenly.",
            "The tape was as uneven as before, but this reader lets nothing add up.",
            "a wobble hurts every code alike",
        ),
        Option(
            "More than before: now the bits are unequal by themselves.",
            "That they are unequal is what tells them apart: twice as long is far more than 1 %.",
            "cells of equal length are the safer ones",
        ),
        Option(
            "A few: those read while it runs its fastest or slowest.",
            "Even there a cycle is only 1 % shorter or longer, and nobody takes it for the other.",
            "bits are lost where the speed error is largest",
        ),
        Option(
            "None: no cycle becomes so long that it is taken for another.",
            "So it was: each cycle is measured from its own beginning, and 1 % of it is little.",
        ),
    ),
    "The line between short and long lies halfway, at one and a half times a short cycle. A cycle would have to "
    "change by a quarter at least to come to lie beyond it, and here it changes by a hundredth. What is more, each "
    "cycle is measured from its own first edge, so the error of one is forgotten when the next begins. A clock that "
    "is set once forgets nothing.",
)


def _slip(percent):
    return 50 / percent


SLIP = Entry(
    kind="number",
    question=lambda data: (
        f"A tape runs {data[0] / 100:g} % too fast, all the time. A clock is set at the first bit and never again. "
        "After how many bits is it half a bit off?"
    ),
    draw=lambda draws: [draws.one_of((10, 20, 25, 40, 50, 125, 200, 250, 500))],
    right=lambda data: _slip(data[0] / 100),
    mistakes=(
        Mistake(
            "whole bit",
            lambda data: 2 * _slip(data[0] / 100),
            "waits until the clock is a whole bit off",
            "By then it is a whole bit off.",
            "Half a bit is enough to read the neighbour.",
            "At 10 % each bit adds a tenth: half a bit after 5 bits, not 10.",
        ),
        Mistake(
            "no percent",
            lambda data: 50 / data[0],
            "takes percent for whole numbers",
            "So soon? Then each bit would be off by a good part of itself.",
            "What part of one bit is a percent of it?",
            "10 % is 0.1: half a bit is 0.5, and 0.5 / 0.1 = 5 bits.",
        ),
        Mistake(
            "times",
            lambda data: 0.5 * data[0] / 100,
            "multiplies, so that a larger error would take longer",
            "With this rule, a tape twice as wrong would last twice as long.",
            "The larger the error of each bit, the fewer bits it takes.",
            "At 10 %: 0.5 / 0.1 = 5 bits; at 20 %: 0.5 / 0.2 = 2.5 bits.",
        ),
    ),
    look="By what part of a bit does each bit put the clock off, and how many of them make a half?",
    worked="At 10 % each bit adds a tenth of a bit: 5 of them make half a bit.",
    reply="Right: 0.5 divided by the error, which is the number of bits that such a clock can count.",
    tolerance=0.02,
)


def _drawn_leader(draws):
    """Length of a leader cycle in microseconds, how many were counted, and how long they took, in microseconds."""
    nominal, count = 10 * draws.between(120, 200), draws.between(20, 60)
    return [nominal, count, nominal * count * (1000 + draws.one_of((-1, 1)) * draws.between(30, 120)) // 1000]


FACTOR = Entry(
    kind="number",
    question=lambda data: (
        f"A cycle of leader should last {data[0] / 1000:.2f} ms. You count {data[1]} cycles in "
        f"{data[2] / 1000:.2f} ms. By which number must every time on this tape be multiplied, so that its speed "
        "comes out right?"
    ),
    draw=_drawn_leader,
    right=lambda data: data[0] * data[1] / data[2],
    mistakes=(
        Mistake(
            "upside down",
            lambda data: data[2] / (data[0] * data[1]),
            "divides the wrong way round",
            "With this, the tape would be twice as wrong as it is.",
            "If a cycle came out too long, should times grow, or shrink?",
            "10 cycles of 2 ms in 25 ms: they are too long, so 20 / 25 = 0.8.",
        ),
        Mistake(
            "one cycle",
            lambda data: data[0] / data[2],
            "compares all cycles with one",
            "You compare one cycle with the time of all of them.",
            "How long should all of them have taken?",
            "10 cycles of 2 ms should take 20 ms; in 25 ms: 20 / 25 = 0.8.",
        ),
        Mistake(
            "difference",
            lambda data: (data[2] / data[1] - data[0]) / 1000,
            "subtracts where it should divide",
            "This is by how many ms one cycle was off.",
            "A number to multiply by: what makes the measured time the right one?",
            "From 25 to 20 ms: not minus 5, but times 0.8.",
        ),
    ),
    look="How long should so many cycles have taken, and how long did they take?",
    worked="10 cycles of 2 ms should take 20 ms; if they took 25, multiply by 20 / 25 = 0.8.",
    reply="Right: from the leader alone, and it holds for all that comes behind it, as long as the speed stays.",
)

EXIT = Choice(
    "A clock is set at the first bit and never again. Which of these blocks does it read without a fault?",
    (
        Option(
            "A block of 1000 bits, on a tape that runs 1 % too fast.",
            "After 50 bits the clock is half a bit off. Try another answer.",
            "a small error stays small",
        ),
        Option(
            "A block of 20 bits, on a tape which runs 1 % too slowly.",
            "So it is: 20 times a hundredth is a fifth of a bit, and then the block is over.",
        ),
        Option(
            "A block of 1000 bits, on one that runs 1 % too slowly.",
            "Too slow is as bad as too fast: now the clock comes too early. Try another answer.",
            "a slow tape gives the clock more time",
        ),
        Option(
            "A block of 1000 bits, on a tape with 1 % of slow wobble.",
            "It comes back after a whole swing, but until then it is bits off. Try another answer.",
            "to and fro cancels out, so nothing is lost",
        ),
    ),
)

SWING = Entry(
    kind="number",
    question=lambda data: (
        f"A wobble of {data[0] / 10:g} % peak at {data[1] / 10:g} Hz; bits last {data[2] / 100:.2f} ms. While the "
        "tape runs too fast, half a swing long, its speed is off by 2/π of the peak on average. By how many bits "
        "does that put a clock off?"
    ),
    draw=lambda draws: [draws.between(4, 30), draws.between(5, 60), draws.between(40, 330)],
    right=lambda data: _swing_bits(*data),
    mistakes=(
        Mistake(
            "peak",
            lambda data: pi / 2 * _swing_bits(*data),
            "takes the peak for the average",
            "You let the tape be at its worst all the time.",
            "The speed is at its peak for a moment: what is it on average?",
            "With 10 % at 1 Hz: 0.5 s long 6.4 % on average, which is 0.032 s.",
        ),
        Mistake(
            "whole swing",
            lambda data: 2 * _swing_bits(*data),
            "takes a whole swing for half of one",
            "You let the tape run too fast for a whole swing.",
            "How much of a swing is it too fast, and how much too slow?",
            "At 1 Hz a swing takes 1 s: it is too fast for 0.5 s of that.",
        ),
        Mistake(
            "seconds",
            lambda data: _swing_bits(*data) * data[2] / 100_000,
            "stops at the time, in seconds",
            "This is the time by which the clock is off, in seconds.",
            "How many bits fit into that time?",
            "Off by 0.032 s, with bits of 4 ms: 8 bits.",
        ),
    ),
    look="Half a swing in seconds, times the average error: how many bits last so long?",
    worked="10 % at 1 Hz, bits of 4 ms: 0.5 s × 0.1 × 2/π = 0.032 s, which is 8 bits.",
    reply="Right. Set the bench to such a wobble, and look how far its clock swings.",
    tolerance=0.03,
)


def _swing_bits(tenths_percent, tenths_hz, hundredths_ms):
    """How many bits a clock is carried to and fro: depth / (π · rate), over the length of a bit."""
    return tenths_percent / 1000 / (pi * tenths_hz / 10) / (hundredths_ms / 100_000)


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


LESSON = Lesson(
    9,
    "Follow a tape that will not run steadily",
    items={"a": WOBBLE, "b": CYCLES, "c": SLIP, "d": FACTOR, "e": EXIT, "m": FIX_SPEED, "s": SWING},
    can=(
        ("work out after how many bits a clock that is set once has slipped", "c"),
        ("find from a leader how wrong a tape's speed is", "d"),
        ("write a function that puts the speed of a tape right", "m"),
        ("say which blocks a clock that is set once can read", "e"),
        ("work out how far a wobble carries a clock", "s"),
    ),
    recall=RECALL,
)
