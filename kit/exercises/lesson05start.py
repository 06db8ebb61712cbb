"""Lesson 5, find the start: the functions that find it in a row of bits, and the ways to get them wrong."""

from .checking import FunctionTask
from .items import Mistake
from .lesson01 import right_bits
from .words import log_line

__all__ = ["FIND_START", "NEAR_START", "SYNCS", "near_start", "start_of"]

SYNC_BITS = 8


def start_of(bits, sync):
    """Number of the first bit of data: the one right behind the first place where the sync mark stands.

    Parameters
    ----------
    bits, sync : list of int
        0 and 1.

    Returns
    -------
    int
        -1 if the mark is nowhere.

    Examples
    --------
    >>> start_of([1, 1, 1, 0, 1, 0, 0, 1], [0, 1, 0]), start_of([1, 1, 1], [0, 1, 0])
    (6, -1)
    """
    return near_start(bits, sync, wrong=0)


def near_start(bits, sync, wrong=1):
    """As `start_of`, but so many bits of the mark may be wrong.

    Parameters
    ----------
    bits, sync : list of int
        0 and 1.
    wrong : int

    Returns
    -------
    int

    Examples
    --------
    >>> near_start([1, 1, 1, 0, 1, 0, 1, 1], [0, 1, 1, 1])
    7
    """
    places = (place for place in _places(bits, sync) if _differ(bits, sync, place) <= wrong)
    return next((place + len(sync) for place in places), -1)


def _places(bits, sync):
    return range(len(bits) - len(sync) + 1)


def _differ(bits, sync, place):
    """How many bits differ from the mark, if it is laid on at a place."""
    return sum(one != other for one, other in zip(bits[place : place + len(sync)], sync, strict=True))


def _stands_out(mark):
    """Whether a mark differs in 3 bits at least from itself moved into a leader of ones, and begins as that does."""
    moved = ([1] * count + mark for count in range(1, SYNC_BITS + 1))
    return mark[0] == 1 and min(_differ(row, mark, 0) for row in moved) >= 3


SYNCS = tuple(mark for number in range(1 << SYNC_BITS) if _stands_out(mark := [int(b) for b in f"{number:08b}"]))
"""Marks that are not found too early, even with one wrong bit."""


def _drawn(draws, spoil):
    """A leader of ones, a sync mark, and a line of the station's log."""
    sync = draws.one_of(SYNCS)
    written = list(sync)
    if spoil:
        written[draws.below(SYNC_BITS)] ^= 1
    return [1] * draws.between(21, 60) + written + right_bits(log_line(draws)), sync


def _last_of(bits, sync):
    places = [place for place in _places(bits, sync) if _differ(bits, sync, place) == 0]
    return places[-1] + len(sync) if places else -1


def _byte_by_byte(bits, sync):
    places = (place for place in _places(bits, sync)[::SYNC_BITS] if _differ(bits, sync, place) == 0)
    return next((place + len(sync) for place in places), -1)


def _moved(by):
    """A wrong function that gives another place than the one behind the mark."""
    return lambda bits, sync: start_of(bits, sync) + by


STUB = Mistake(
    "stub",
    lambda bits, sync: 0,
    "has not begun",
    "It returns 0 so far, whatever it is given.",
    "Begin at place 0: are the bits there the same as those of sync?",
)
BITS_BEHIND = Mistake(
    "bits",
    lambda bits, sync: bits[start_of(bits, sync):],
    "gives the data where its place is wanted",
    "You return the bits of the data.",
    "What is wanted is one number: where the data begins.",
)

FIND_START = FunctionTask(
    name="find_start",
    right=start_of,
    mistakes=(
        STUB,
        Mistake(
            "the mark",
            _moved(-SYNC_BITS),
            "takes the beginning of the mark for the beginning of the data",
            "You found the mark, and give the number of its own first bit.",
            "How many bits further does the data begin?",
        ),
        Mistake(
            "too early",
            _moved(-1),
            "gives the last bit of the mark",
            "You give the number of the last bit of the mark.",
            "Which number has the bit after it?",
        ),
        Mistake(
            "too late",
            _moved(1),
            "counts the first bit as number 1",
            "You are one bit too late: the first bit of data is skipped.",
            "Which number does the first bit of all have?",
        ),
        Mistake(
            "last",
            _last_of,
            "goes on searching behind the first mark",
            "You give a later place, in the data, which looks like the mark by chance.",
            "When your function has found a mark: does it stop?",
        ),
        Mistake(
            "whole bytes",
            _byte_by_byte,
            "looks for the mark at every eighth bit only",
            "You look at every eighth bit only, and miss the mark.",
            "Must a leader have 8, 16 or 24 bits?",
        ),
        Mistake(
            "first zero",
            lambda bits, sync: bits.index(0),
            "takes the end of the leader for the beginning of the data",
            "You give the first 0 of all.",
            "A mark may begin with ones: compare all its bits.",
        ),
        Mistake(
            "backwards",
            lambda bits, sync: start_of(bits, sync[::-1]),
            "compares the mark from its end",
            "You look for the mark back to front.",
            "Which bit of the mark comes first on the tape?",
        ),
        BITS_BEHIND,
    ),
    what="one whole number",
    accepts=lambda result: result if type(result) is int else None,
    draw=lambda draws: _drawn(draws, spoil=False),
    edge=([1] * 12 + [0, 1, 1], [1, 0, 0, 1]),
    edge_words="bits without the mark",
    about=lambda bits, sync: f"{len(bits)} bits",
    look="Lay sync on the bits at place 0, then at 1, and so on: where does it fit?",
    worked="In 1 1 1 0 1 0 0 1 the mark 0 1 0 stands at number 3: data begins at 6.",
)

NEAR_START = FunctionTask(
    name="near_start",
    right=near_start,
    mistakes=(
        STUB,
        Mistake(
            "exact",
            start_of,
            "allows no wrong bit",
            "You allow no wrong bit, and miss the spoilt mark.",
            "Count the bits that differ, instead of asking whether all are the same.",
            "0 1 1 against 0 1 0: one bit differs, so it counts as the mark.",
        ),
        Mistake(
            "two",
            lambda bits, sync: near_start(bits, sync, wrong=2),
            "allows two wrong bits",
            "You stop too early, at a place where two bits differ.",
            "How many bits may differ at most?",
            "1 0 0 against 0 1 0: two bits differ, so it is not the mark.",
        ),
        Mistake(
            "the mark",
            lambda bits, sync: near_start(bits, sync) - SYNC_BITS,
            "takes the beginning of the mark for the beginning of the data",
            "You found the mark, and give the number of its own first bit.",
            "How many bits further does the data begin?",
        ),
        Mistake(
            "last spared",
            lambda bits, sync: (found := start_of(bits[:-1], sync[:-1])) + (found >= 0),
            "lets the last bit of the mark alone be wrong",
            "You let the last bit of the mark be wrong, and no other.",
            "Any one of them may be wrong: count those that differ.",
            "0 1 1 and 1 1 0 both differ from 0 1 0 in one bit.",
        ),
        Mistake(
            "how many ones",
            lambda bits, sync: next(
                (k + len(sync) for k in _places(bits, sync) if abs(sum(bits[k : k + len(sync)]) - sum(sync)) <= 1), -1
            ),
            "compares how many ones there are, not where",
            "You compare how many ones there are, not where they stand.",
            "Compare bit with bit, each at its own place.",
            "1 0 0 and 0 1 0 have as many ones, and differ in two bits.",
        ),
    ),
    what="one whole number",
    accepts=FIND_START.accepts,
    draw=lambda draws: _drawn(draws, spoil=True),
    edge=([1] * 12, [1, 0, 0, 1]),
    edge_words="bits of leader alone",
    about=FIND_START.about,
    look="At each place, count how many bits differ: where is it one at most, for the first time?",
    worked="In 11101011 the mark 0111 fits at number 3, but for one bit: data begins at 7.",
)
