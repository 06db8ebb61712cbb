"""Lesson 4, put bits into timing: the function that reads bits from edges, and the ways to get it wrong."""

from itertools import pairwise

from .checking import FunctionTask
from .items import Mistake
from .lesson01 import accepts_bits, right_bits
from .words import short_line

__all__ = ["READ_BITS", "bits_of_edges", "words_of"]

UNEVEN = 0.16  # of a short cycle: how far an edge lies off at most, as on a cheap recorder; an assumption


def bits_of_edges(edges_s, short_s, long_s):
    """Bits from the times of edges: a cycle, from an edge to the second one after it, is long for a 1.

    Parameters
    ----------
    edges_s : list of float
        Seconds; two edges for each cycle, and one that ends the last.
    short_s, long_s : float
        How long a whole cycle lasts for a 0 and for a 1, in seconds.

    Returns
    -------
    list of int

    Examples
    --------
    >>> bits_of_edges([0.000, 0.001, 0.002, 0.004, 0.006], 0.002, 0.004)
    [0, 1]
    """
    middle_s = (short_s + long_s) / 2
    return [int(cycle_s > middle_s) for cycle_s in _cycles(edges_s)]


def words_of(bits):
    """The text of some bits, eight for each byte, most significant first; what is no text becomes "�".

    Parameters
    ----------
    bits : list of int

    Returns
    -------
    str
    """
    places = range(0, len(bits) - 7, 8)
    data = bytes(int("".join(str(int(bit)) for bit in bits[place : place + 8]), 2) for place in places)
    return data.decode("utf-8", errors="replace")


def _cycles(edges_s, step=2):
    return [stop - start for start, stop in zip(edges_s[:-2:step], edges_s[2::step], strict=False)]


def _halves(edges_s):
    return [stop - start for start, stop in pairwise(edges_s)]


def _drawn_edges(draws):
    """Edges of twelve characters, in seconds, with a short cycle of their own; not quite even."""
    short = draws.between(3000, 7000)  # tenths of a microsecond, as whole numbers: the same on every machine
    long = short * draws.between(18, 22) // 10
    most = int(UNEVEN * short / 2)
    at, edges = draws.between(1, 9) * 10_000, []
    for length in (
        length for bit in right_bits(short_line(draws)) for length in 2 * (long if bit else short,)
    ):
        edges.append(at + draws.between(-most, most))
        at += length // 2
    edges.append(at + draws.between(-most, most))
    return [each / 1e7 for each in edges], short / 1e7, long / 1e7


def _against(limit):
    """A wrong function that compares each cycle with another limit than the middle."""
    return lambda edges_s, short_s, long_s: [int(limit(cycle, short_s, long_s)) for cycle in _cycles(edges_s)]


MISTAKES = (
    Mistake(
        "stub",
        lambda edges_s, short_s, long_s: [],
        "has not begun",
        "It returns an empty list so far.",
        "Begin with one cycle: it runs from edges_s[0] to edges_s[2].",
    ),
    Mistake(
        "inverted",
        _against(lambda cycle, short, long: cycle <= (short + long) / 2),
        "takes a long cycle for a 0",
        "The number of bits is right, and each is the other one.",
        "Which bit did a long cycle stand for?",
        "Short 2 ms, long 4 ms: a cycle of 3.9 ms is a 1.",
    ),
    Mistake(
        "half cycles",
        lambda edges_s, short_s, long_s: [int(half > (short_s + long_s) / 2) for half in _halves(edges_s)],
        "takes the time between neighbouring edges for a cycle",
        "You give two bits for each cycle, and all are 0.",
        "From one edge to the next is half a cycle: which edge ends it?",
        "Edges at 0, 1, 2, 4, 6 ms: one cycle from 0 to 2, one from 2 to 6.",
    ),
    Mistake(
        "every half",
        lambda edges_s, short_s, long_s: [int(half > (short_s + long_s) / 4) for half in _halves(edges_s)],
        "takes each half-cycle for a bit",
        "You give a bit for each half-cycle: every bit comes twice.",
        "How many edges further does the next bit begin?",
        "Edges at 0, 1, 2, 4, 6 ms are two bits: they begin at 0 and at 2 ms.",
    ),
    Mistake(
        "overlapping",
        lambda edges_s, short_s, long_s: [int(c > (short_s + long_s) / 2) for c in _cycles(edges_s, 1)],
        "begins a cycle at every edge",
        "You give almost twice as many bits as there are cycles.",
        "At which edge does your second cycle begin, and where did the first end?",
        "Edges at 0, 1, 2, 4, 6 ms: the second cycle begins at 2, not at 1.",
    ),
    Mistake(
        "last missing",
        lambda *given: bits_of_edges(*given)[:-1],
        "stops one cycle early",
        "Your bits are right, but the last one is missing.",
        "At which edge does the last cycle begin?",
        "Of 5 edges, numbered 0 to 4, the last cycle runs from number 2 to number 4.",
    ),
    Mistake(
        "first missing",
        lambda *given: bits_of_edges(*given)[1:],
        "begins one cycle late",
        "Your bits are right, but the first one is missing.",
        "At which edge does the first cycle begin?",
        "Of 5 edges, numbered 0 to 4, the first cycle runs from number 0 to number 2.",
    ),
    Mistake(
        "exact",
        _against(lambda cycle, short, long: cycle == long),
        "expects cycles of exactly the nominal length",
        "The number of bits is right, but all are 0: no cycle passes your comparison.",
        "Is any cycle exactly long_s, to the last digit?",
        "Short 2 ms, long 4 ms: 3.9 ms is nearer to long; 3 ms parts the two.",
    ),
    Mistake(
        "one half",
        lambda edges_s, short_s, long_s: [int(half > (short_s + long_s) / 2) for half in _halves(edges_s)[::2]],
        "takes half of a cycle for the whole of it",
        "The number of bits is right, but all are 0: you measure too little.",
        "Take the first cycle: at which edge does it begin, where does it end?",
        "Edges at 0, 1, 2, 4, 6 ms: one cycle from 0 to 2, not to 1; one from 2 to 6.",
        like="exact",
    ),
    Mistake(
        "sum",
        _against(lambda cycle, short, long: cycle > short + long),
        "draws the line at the sum of both lengths",
        "The number of bits is right, but all are 0: your limit is too long.",
        "Is your limit shorter than a long cycle?",
        "Short 2 ms, long 4 ms: together 6 ms, and no cycle is as long; 3 ms parts them.",
        like="exact",
    ),
    Mistake(
        "only zeros",
        lambda edges_s, short_s, long_s: [0 for _ in _cycles(edges_s)],
        "gives a 0 for every cycle",
        "The number of bits is right, but every one of them is 0.",
        "Print a length you measure beside your limit: is it ever the longer one?",
        "Short 2 ms, long 4 ms: whole cycles of 2.1 and 3.9 ms, with 3 ms between them.",
        like="exact",
    ),
    Mistake(
        "at short",
        _against(lambda cycle, short, long: cycle > short),
        "draws the line at the short cycle",
        "Every 1 is right, but many a 0 comes out as 1.",
        "A short cycle may last a little more than short_s: where to draw the line?",
        "Short 2 ms, long 4 ms: 2.1 ms is still short; 3 ms parts the two.",
    ),
    Mistake(
        "at long",
        _against(lambda cycle, short, long: cycle >= long),
        "draws the line at the long cycle",
        "Every 0 is right, but many a 1 comes out as 0.",
        "A long cycle may last a little less than long_s: where to draw the line?",
        "Short 2 ms, long 4 ms: 3.9 ms is still long; 3 ms parts the two.",
    ),
    Mistake(
        "lengths",
        lambda edges_s, short_s, long_s: _cycles(edges_s),
        "stops at lengths",
        "These are the lengths of the cycles, in seconds.",
        "Compare each with a length between short_s and long_s.",
        "Short 2 ms, long 4 ms: lengths 2.1 and 3.9 become 0 and 1.",
    ),
    Mistake(
        "text",
        lambda *given: "".join(map(str, bits_of_edges(*given))),
        "takes a text of digits for a list of bits",
        "You return one piece of text.",
        "A list is wanted, with one number for each bit.",
        "Two cycles, short and long: [0, 1], not '01'.",
    ),
)

# Lopsided cycles as no recorder makes them, on which the ways to get nothing but zeros part: of exactly 4 with a long
# first half, of exactly 4 with a short one, of more than 6, and of 2.
UNLIKELY_EDGES = [0, 3.5, 4, 5, 8, 10, 15, 16, 17]

READ_BITS = FunctionTask(
    name="read_bits",
    right=bits_of_edges,
    mistakes=MISTAKES,
    what="a list of 0 and 1",
    accepts=accepts_bits,
    draw=_drawn_edges,
    edge=([], 0.0005, 0.001),
    edge_words="no edges",
    about=lambda edges_s, short_s, long_s: f"short_s = {1000 * short_s:.4g} ms",
    look="Take the first three edges: what does your function make of them?",
    worked="Edges at 0, 1, 2, 4, 6 ms, short 2, long 4: cycles of 2 and 4 ms, bits 0, 1.",
    probe=(UNLIKELY_EDGES, 2, 4),
)
