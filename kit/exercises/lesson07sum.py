"""Lesson 7, know whether it arrived: the function that works out a check, and the ways to get it wrong."""

from functools import reduce
from operator import xor

from .checking import FunctionTask
from .items import Mistake
from .words import short_line

__all__ = ["CHECKSUM", "sum_of"]


def sum_of(data):
    """The sum of all bytes, modulo 256.

    Parameters
    ----------
    data : list of int, or bytes
        Each 0 to 255.

    Returns
    -------
    int
        0 to 255.

    Examples
    --------
    >>> sum_of([200, 100, 3])
    47
    """
    return sum(data) % 256


MISTAKES = (
    Mistake(
        "stub",
        lambda data: 0,
        "has not begun",
        "It returns 0, whatever the data.",
        "What should happen to total with each byte the loop comes to?",
    ),
    Mistake(
        "no remainder",
        sum,
        "forgets that a check of 8 bits ends at 255",
        "This is the whole sum, too large for one byte.",
        "How many times does 256 fit into it, and what is left?",
        "The bytes 200 and 100 make 300: one time 256, and 44 are left.",
    ),
    Mistake(
        "quotient",
        lambda data: sum(data) // 256,
        "takes how often 256 fits in for what is left",
        "You give how many times 256 fits into the sum.",
        "What is left after that? Two signs divide: one gives times, one the rest.",
        "300 // 256 is 1, how many times; 300 % 256 is 44, what is left.",
    ),
    Mistake(
        "255",
        lambda data: sum(data) % 255,
        "takes the largest value for the number of values",
        "Your sum begins again at 0 once too early.",
        "From 0 to 255, how many different values are there?",
        "The bytes 200 and 55 make 255, which still fits; 200 and 56 make 0.",
    ),
    Mistake(
        "capped",
        lambda data: min(sum(data), 255),
        "stops at the largest value instead of beginning again",
        "Your sum stays at 255 once it is there.",
        "What comes after 255? Think of a clock after midnight.",
        "The bytes 200 and 100 make 300, which is 44, not 255.",
    ),
    Mistake(
        "last byte",
        lambda data: data[-1] if data else 0,
        "puts each byte in place of the total",
        "Only the last byte counts in yours.",
        "Does your loop add to the total, or begin it anew?",
        "The bytes 5, 6, 7: the total is 5, then 11, then 18.",
    ),
    Mistake(
        "first byte",
        lambda data: data[0] if data else 0,
        "returns from inside the loop",
        "Only the first byte counts in yours.",
        "How far in does your return stand: inside the loop, or behind it?",
        "The bytes 5, 6, 7: after the first the total is 5, and two are still to come.",
    ),
    Mistake(
        "first missing",
        lambda data: sum(data[1:]) % 256,
        "begins at number 1",
        "Yours would not notice if the first byte changed.",
        "At which number does a list begin?",
        "In [5, 6, 7], number 0 is 5; all three make 18.",
    ),
    Mistake(
        "last missing",
        lambda data: sum(data[:-1]) % 256,
        "stops one byte early",
        "Yours would not notice if the last byte changed.",
        "Which byte does your loop come to last?",
        "[5, 6, 7] has three bytes, numbers 0 to 2; all three make 18.",
    ),
    Mistake(
        "count",
        len,
        "counts the bytes instead of adding them",
        "You give how many bytes there are.",
        "What is added for a byte: 1, or its value?",
        "The bytes 5, 6, 7 make 18, not 3.",
    ),
    Mistake(
        "ones",
        lambda data: sum(byte.bit_count() for byte in data) % 256,
        "counts ones, as parity does",
        "You give how many bits are ones.",
        "That is on the way to parity; a sum adds the values of the bytes.",
        "The bytes 5 and 6 make 11; they have 4 ones.",
    ),
    Mistake(
        "exclusive or",
        lambda data: reduce(xor, data, 0),
        "combines bits without carrying",
        "You combine the bits of each column, and nothing is carried over.",
        "Which sign adds two numbers?",
        "5 + 6 is 11; 5 ^ 6 is 3.",
    ),
    Mistake(
        "text",
        lambda data: f"{sum(data) % 256:02x}",
        "takes the digits of a number for the number",
        "You return text, the digits of a number.",
        "A check is compared as a number: leave it as it was worked out.",
        "18 is a number; '12' in quotes is text.",
    ),
    Mistake(
        "on the way",
        lambda data: [sum(data[: k + 1]) % 256 for k in range(len(data))],
        "keeps every total on the way",
        "You return a list, with a total for each byte.",
        "Only one of these is sent along: which of them has seen all bytes?",
        "The bytes 5, 6, 7: 18, not [5, 11, 18].",
    ),
)


def _drawn_note(draws):
    """Sixteen characters, as many as the bench of damage takes: what was seen, the wind, and the rain."""
    return f"{short_line(draws)} {draws.below(10)}mm"


def _number(result):
    """A plain result if it is a number, else None."""
    return result if type(result) in (int, float) else None


CHECKSUM = FunctionTask(
    name="checksum",
    right=sum_of,
    mistakes=MISTAKES,
    what="a number",
    accepts=_number,
    draw=lambda draws: (list(_drawn_note(draws).encode()),),
    edge=([],),
    edge_words="no bytes",
    about=lambda data: f"“{bytes(data).decode()}”",
    look="Take the bytes 200, 100 and 3, and work it out on paper first.",
    worked="The bytes 200, 100 and 3 make 303: one time 256, and 47 are left.",
)
