"""Calculations for worksheets, each learner with numbers of their own, and the usual ways to go wrong."""

from ..exercises.items import Entry, Mistake
from ..known import FORMATS, SPEEDS

__all__ = ["SUMS"]

BITS = 8  # a byte, in a format without start and stop bits
# Bits a second of the kit's own format, as often a one as a zero, at the speeds that give round numbers.
RATES = [round(FORMATS["house"].bits_per_second * SPEEDS[name]) for name in ("quarter", "half", "ordinary", "double")]


def _drawn_file(draws):
    """Bytes of a file, bits a second, seconds of leader: such that the file plays whole seconds."""
    rate = draws.one_of(RATES)
    return [draws.between(6, 40) * rate // BITS, rate, draws.between(2, 6)]


def _drawn_room(draws):
    """Seconds left on a side, bits a second, seconds of leader."""
    return [draws.between(20, 90), draws.one_of(RATES), draws.between(2, 6)]


SECONDS = Entry(
    kind="number",
    question=lambda data: (
        f"Your log has {data[0]} bytes of 8 bits each. The tape carries {data[1]} bits a second, and begins with a "
        f"leader of {data[2]} s. After how many seconds has all of it been played?"
    ),
    draw=_drawn_file,
    right=lambda data: BITS * data[0] / data[1] + data[2],
    mistakes=(
        Mistake(
            "bytes",
            lambda data: data[0] / data[1] + data[2],
            "takes bytes for bits",
            "This is far too short.",
            "ask how many bits one letter of the strip took, and how many the whole log takes",
        ),
        Mistake(
            "no leader",
            lambda data: BITS * data[0] / data[1],
            "leaves the leader out",
            "This is the data alone.",
            "ask what is heard before the first byte comes, and for how long",
        ),
        Mistake(
            "seven",
            lambda data: 7 * data[0] / data[1] + data[2],
            "takes a letter for seven bits, without the zero in front",
            "This is a little too short.",
            "have the bits of one letter on the strip counted: the zero in front takes its time as well",
        ),
    ),
    look="have it worked out in two steps: how many bits, then how many seconds",
    worked="300 bytes are 2400 bits; at 1200 bits a second that is 2 s, and with a leader of 3 s it is 5 s",
    reply="",
)

ROOM = Entry(
    kind="number",
    question=lambda data: (
        f"A side of your tape has {data[0]} s left. It carries {data[1]} bits a second, and a leader of {data[2]} s "
        "comes first. How many bytes of 8 bits each fit on it?"
    ),
    draw=_drawn_room,
    right=lambda data: (data[0] - data[2]) * data[1] / BITS,
    mistakes=(
        Mistake(
            "bits",
            lambda data: (data[0] - data[2]) * data[1],
            "gives bits for bytes",
            "This is far too much.",
            "ask how many bits one letter of the strip took, and how many letters so many bits make",
        ),
        Mistake(
            "no leader",
            lambda data: data[0] * data[1] / BITS,
            "leaves the leader out",
            "This is a little too much.",
            "ask what is heard before the first byte comes, and what that leaves for data",
        ),
        Mistake(
            "added",
            lambda data: (data[0] + data[2]) * data[1] / BITS,
            "adds the leader where it takes room away",
            "This is a little too much.",
            "have the side drawn as a line, with the leader on it: how much of the line is left?",
        ),
    ),
    look="have it worked out in two steps: how many seconds are left for data, then how many bits and bytes",
    worked="of 10 s with a leader of 2 s, 8 s are left; at 1200 bits a second that is 9600 bits, so 1200 bytes",
    reply="",
)

SUMS = {"S": SECONDS, "R": ROOM}  # by the letter the key calls them
