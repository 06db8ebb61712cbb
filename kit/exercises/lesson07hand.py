"""Lesson 7, know whether it arrived: parity, a sum and a small CRC worked out by hand."""

from .items import Entry, Mistake

__all__ = ["BY_HAND", "SMALL_CRC", "SUM", "remainder"]

DIVISOR, CHECK_BITS = 0b1011, 3


def _drawn_bytes(draws):
    return [draws.below(256) for _ in range(6)]


def _even(data):
    return [byte.bit_count() % 2 for byte in data]


BY_HAND = Entry(
    kind="bits",
    question=lambda data: (
        f"Six bytes: {', '.join(f'{byte:08b}' for byte in data)}. Each gets a parity bit that makes its number of "
        "ones even, the parity bit included. Which six bits are these?"
    ),
    draw=_drawn_bytes,
    right=_even,
    mistakes=(
        Mistake(
            "odd parity",
            lambda data: [1 - bit for bit in _even(data)],
            "makes the number of ones odd",
            "Each bit is the other one.",
            "With your bit, how many ones has the first byte: odd or even?",
            "00000111 has three ones; a 1 makes four of them, which is even.",
        ),
        Mistake(
            "last bit",
            lambda data: [byte % 2 for byte in data],
            "asks whether the number is even, not the number of its ones",
            "These are the last bits of the bytes.",
            "It is not the byte that is to be even: count its ones.",
            "00000110 has two ones: even already, so its parity bit is 0.",
        ),
        Mistake(
            "first bit",
            lambda data: [byte >> 7 for byte in data],
            "copies a bit instead of counting",
            "These are the first bits of the bytes.",
            "All eight bits take part: count the ones.",
            "10000001 has two ones: even already, so its parity bit is 0.",
        ),
        Mistake(
            "backwards",
            lambda data: _even(data)[::-1],
            "begins at the last byte",
            "Your bits are back to front.",
            "Which byte comes first?",
            "00000001, 00000011: the first has one 1 and needs a 1: the bits are 1, 0.",
        ),
    ),
    look="Go from byte to byte: how many ones, and is that odd or even?",
    worked="00000111 has three ones, so 1; 00000101 has two, so 0.",
    reply="Right: with these, every byte has an even number of ones.",
)

SUM = Entry(
    kind="number",
    question=lambda data: (
        f"Five bytes: {', '.join(map(str, data))}. What is their sum, if it begins again at 0 after 255?"
    ),
    draw=lambda draws: [draws.between(110, 250) for _ in range(5)],
    right=lambda data: sum(data) % 256,
    mistakes=(
        Mistake(
            "no remainder",
            sum,
            "forgets that a sum of 8 bits ends at 255",
            "This is the whole sum, too large for one byte.",
            "Take 256 away, as often as it goes.",
            "200 + 100 = 300, and 300 - 256 = 44.",
        ),
        Mistake(
            "once",
            lambda data: sum(data) - 256,
            "begins again only once",
            "It is still larger than 255.",
            "How many times does 256 fit into the whole sum?",
            "250 + 250 + 250 = 750; twice 256 is 512, and 238 are left.",
        ),
        Mistake(
            "255",
            lambda data: sum(data) % 255,
            "takes 255 away, the largest value, and not the number of values",
            "It is off by a little: by one for each time you began again.",
            "From 0 to 255, how many values are there?",
            "After 255 comes 0, so 256 is 0, and 300 is 44, not 45.",
        ),
        Mistake(
            "quotient",
            lambda data: sum(data) // 256,
            "takes how often 256 fits in for what is left",
            "This is how many times the sum begins again.",
            "And where does it stand then?",
            "300 begins again once, and then stands at 44.",
        ),
    ),
    look="Add all five on paper; then take 256 away as often as it goes.",
    worked="200 + 100 + 3 = 303, and 303 - 256 = 47.",
    reply="Right: this is the check that would be sent along.",
    tolerance=1e-9,
)


def remainder(bits):
    """What a small CRC sends along: the remainder of the bits, with zeros behind, divided by 1011 without borrowing.

    Parameters
    ----------
    bits : list of int
        0 and 1, most significant first.

    Returns
    -------
    list of int
        Three of them.

    Examples
    --------
    >>> remainder([1, 1, 0, 1])
    [0, 0, 1]
    """
    return _digits(_left_of(_number(bits) << CHECK_BITS, len(bits)), CHECK_BITS)


def _left_of(row, steps):
    """What is left of a row of bits, as a number, after some steps of the division."""
    for shift in reversed(range(steps)):
        if row >> (shift + CHECK_BITS) & 1:
            row ^= DIVISOR << shift
    return row


def _digits(number, count):
    return [number >> place & 1 for place in reversed(range(count))]


def _number(bits):
    return int("".join(map(str, bits)), 2)


def _borrowed(bits):
    """What is left by ordinary division; above 7 it takes four bits."""
    left = (_number(bits) << CHECK_BITS) % DIVISOR
    return _digits(left, max(CHECK_BITS, left.bit_length()))


SMALL_CRC = Entry(
    kind="bits",
    question=lambda data: (
        f"Your five bits are {''.join(map(str, data))}. Put three zeros behind them, and divide by 1011 as above. "
        "Which three bits are left?"
    ),
    draw=lambda draws: [1, *(draws.below(2) for _ in range(4))],
    right=remainder,
    mistakes=(
        Mistake(
            "no zeros",
            lambda data: _digits(_left_of(_number(data), len(data) - CHECK_BITS), CHECK_BITS),
            "divides the data itself, and leaves no room for the check",
            "This is left of your five bits alone.",
            "What is to stand behind the bits before you divide?",
            "1101 becomes 1101000 before the first step.",
        ),
        Mistake(
            "borrowing",
            _borrowed,
            "divides as numbers are divided, with borrowing",
            "This is left if you borrow, as in ordinary division.",
            "Here each column stands alone: equal bits give 0, different ones 1.",
            "1101 and 1011: column by column 0110, nothing is borrowed.",
        ),
        Mistake(
            "backwards",
            lambda data: remainder(data)[::-1],
            "writes the remainder from the right",
            "Your three bits are back to front.",
            "Read the last row from left to right.",
            "Of 0000110, the last three are 110, not 011.",
        ),
        Mistake(
            "inverted",
            lambda data: [1 - bit for bit in remainder(data)],
            "takes different bits for a 0",
            "Each of the three is the other one.",
            "Two bits that differ: do they give 0 or 1?",
            "1101 and 1011 give 0110: equal bits give 0.",
        ),
    ),
    look="Write 1011 below the first 1 that is left, again and again.",
    worked="1101000, then 0110000, 0011100, 0001010, 0000001: what is left is 001.",
    reply="Right. A CRC of 16 bits does the same, with a longer divisor, and hardly anything slips through.",
)
