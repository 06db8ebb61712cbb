"""Lesson 6, say what is coming: numbers of several bytes, and what a flipped bit makes of them."""

from .items import Entry, Mistake

__all__ = ["BY_HAND", "FLIP"]


def _big_endian(data):
    return 256 * data[2] + data[3]


BY_HAND = Entry(
    kind="number",
    question=lambda data: (
        f"A length is kept in four bytes, the largest part first: {', '.join(map(str, data))}. How many bytes does "
        "the file have?"
    ),
    draw=lambda draws: [0, 0, draws.between(2, 12), draws.between(100, 250)],
    right=_big_endian,
    mistakes=(
        Mistake(
            "little",
            lambda data: 256 * data[3] + data[2],
            "takes the smaller part of a number to come first",
            "You made the number from the wrong end.",
            "Which of the two bytes counts 256s, the first or the last?",
        ),
        Mistake(
            "sum",
            lambda data: data[2] + data[3],
            "adds the bytes up as if all counted the same",
            "You added the bytes up.",
            "The third byte counts more than ones: how many times as much?",
        ),
        Mistake(
            "digits",
            lambda data: int(f"{data[2]}{data[3]}"),
            "writes bytes one behind the other like decimal digits",
            "You wrote the bytes one behind the other.",
            "A decimal place counts ten times as much as the next; a byte?",
        ),
        Mistake(
            "255",
            lambda data: 255 * data[2] + data[3],
            "takes the largest byte for the number of values it has",
            "You counted 255s.",
            "From 0 to 255: how many values are that?",
            "As 9 is the largest digit and places count 10s, so 255 and 256.",
        ),
    ),
    look="The last byte counts ones; what does the one before it count?",
    worked="0, 0, 1, 44 are 1 times 256 and 44 more: 300.",
    reply="Right: so many bytes does the header announce.",
    tolerance=1e-6,
)


def _flipped(length, bit):
    return length ^ (1 << bit)


FLIP = Entry(
    kind="number",
    question=lambda data: (
        f"A header says {data[0]} bytes. On the way, bit {data[1]} of this number is flipped, where bit 0 is worth "
        "one. How many bytes will an unchecked loader want?"
    ),
    draw=lambda draws: [draws.between(33, 250), draws.between(3, 7)],
    right=lambda data: _flipped(*data),
    mistakes=(
        Mistake(
            "other way",
            lambda data: data[0] - (_flipped(*data) - data[0]),
            "does not look whether the bit was a 0 or a 1",
            "You went the wrong way: up instead of down, or down instead of up.",
            "Is the bit a 0 or a 1 before it is flipped?",
            "In 5, which is 101, bit 2 is a 1: flipped it leaves 1, not 9.",
        ),
        Mistake(
            "from one",
            lambda data: _flipped(data[0], data[1] - 1),
            "calls the bit worth one number 1",
            "You flipped the bit beside it, worth half as much.",
            "Bit 0 is worth one: what is bit 1 worth?",
            "Bit 2 is worth 4: bits 0, 1 and 2 are worth 1, 2 and 4.",
        ),
        Mistake(
            "worth",
            lambda data: 1 << data[1],
            "gives what the bit is worth",
            "This is what the bit is worth.",
            "What becomes of the number when this bit is flipped?",
            "In 5, which is 101, bit 1 is a 0: flipped it makes 7.",
        ),
        Mistake(
            "plus number",
            lambda data: data[0] + data[1],
            "adds the number of the bit instead of what it is worth",
            "You added the number of the bit.",
            "What is that bit worth: 1, 2, 4, 8, …?",
            "Bit 2 is worth 4, not 2.",
        ),
        Mistake(
            "from the left",
            lambda data: _flipped(data[0], 7 - data[1]),
            "counts bits from the left",
            "You counted the bits from the left.",
            "Bit 0 is worth one: at which end does it stand?",
            "In 00000101, bit 0 stands at the right end.",
        ),
    ),
    look="Write the number with the digits 0 and 1, and change one of them.",
    worked="5 is 101; with bit 1 flipped it is 111, that is 7.",
    reply="Right. The higher the bit, the longer it will wait, or the sooner it stops.",
    tolerance=1e-6,
)
