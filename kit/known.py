"""What is known by name: formats and speeds."""

from .errors import SettingError
from .formats import Format
from .frames import Frame
from .linecodes import BiphaseMark, DelayModulation, OnOffTone, PhaseEncoding, PhaseFlips, RawLevels
from .marks import Marks
from .repair_outer import Outer
from .tonepairs import TONE_PAIRS, TonePair
from .tones import TwoTones

__all__ = ["COMPARED", "FORMATS", "SPEEDS", "find_format", "find_speed", "register"]

SPEEDS = {"quarter": 0.25, "half": 0.5, "ordinary": 1.0, "double": 2.0, "quadruple": 4.0}
FORMATS = {}
# To compare ways of writing a bit: damaged cells of these codes take long to read, so no effort is spent on them
# before a whole block was met.
COMPARED = {}


def register(format):
    """Give a format a place among the named ones; gives the format back.

    Raises
    ------
    SettingError
        When another format has that name.
    """
    if {**COMPARED, **FORMATS}.get(format.name, format) != format:
        raise SettingError(f"a format must have a name of its own, got {format.name!r}: choose another")
    FORMATS[format.name] = format
    return format


def find_format(format):
    """A format from a `Format` or the name of one.

    Raises
    ------
    SettingError
        For an unknown name; the message lists the known ones.
    """
    if isinstance(format, Format):
        return format
    if format in COMPARED:
        return COMPARED[format]
    if format not in FORMATS:
        raise SettingError(f"format must be one of {', '.join([*FORMATS, *COMPARED])}, got {format!r}")
    return FORMATS[format]


def find_speed(speed):
    """A speed from the name of one or a number, as a part of ordinary speed.

    Examples
    --------
    >>> find_speed("double"), find_speed("0.5"), find_speed(4)
    (2.0, 0.5, 4.0)
    """
    try:
        value = float(SPEEDS.get(speed, speed))
    except (TypeError, ValueError):
        value = float("nan")
    if not 0.1 <= value <= 16:
        known = ", ".join(f"{name} ({value:g})" for name, value in SPEEDS.items())
        raise SettingError(f"speed must be one of {known} or a number from 0.1 to 16, got {speed!r}")
    return value


register(
    Format(
        "house",
        about="four, three, two, one: leader, sync, one and zero in whole units; CRC-16 on every block",
    )
)
register(
    Format(
        "framed",
        frame=Frame(order="lsb", start_bits="0", stop_bits="1", parity="even"),
        # Not Fletcher: it takes 00 for FF, so a torn block of FF would pass with 00 in its holes.
        check="crc-16/ibm-sdlc",
        block_bytes=256,
        about="the same cycles, each byte between a start and a stop bit with even parity; small blocks",
    )
)
register(
    Format(
        "twice",
        frame=Frame(order="lsb", start_bits="0", stop_bits="1", parity="even"),
        # Not Fletcher: it takes 00 for FF, and that is what tells a byte from its inverted copy.
        check="crc-16/ibm-3740",
        block_bytes=256,
        copies=2,
        inverted_copies=True,
        about="framed bytes, every block twice, the second time with every bit inverted: one mends the other",
    )
)
register(
    Format(
        "steady",
        code=TwoTones(),
        about="each bit takes the same time: a zero one long cycle, a one two short ones; blocks as in house",
    )
)
register(
    Format(
        "sturdy",
        block_bytes=64,
        leader_s=0.6,
        gap_s=0.1,
        outer=Outer(data_blocks=16, parity_blocks=4, interleave=3),
        about="the blocks of house, short ones, and parity blocks that bring back those a scratch takes",
    )
)
register(
    # Source: M. & V. Peschke, "BYTE's Audio Cassette Standards Symposium", BYTE, February 1976, pp. 72-73.
    Format(
        "kansas",
        code=TwoTones(8, 16, cell_units=8.0),
        leader=Marks(),
        frame=Frame(order="lsb", start_bits="0", stop_bits="11"),
        check="none",
        leader_s=5.0,
        tail_cycles=240,
        about="the audio cassette standard of 1976: bytes alone, 300 bits a second; no names, no check",
    )
)


def _compare(format):
    COMPARED[format.name] = format


# Where nothing changes for long, no clock can be kept: a start and a stop bit see to it that something does.
CLOCKED = Frame(start_bits="0", stop_bits="1", parity="odd")

_compare(
    Format(
        "levels",
        code=RawLevels(cell_units=3.0),
        frame=CLOCKED,
        about="a one is one level, a zero the other: simple, but no recorder lets a level through for long",
    )
)
_compare(
    Format(
        "on-off",
        code=OnOffTone(cycles=4, cell_units=4.0),
        frame=CLOCKED,
        about="a one is four short cycles, a zero nothing: start and stop bits keep the time in the silence",
    )
)
_compare(
    Format(
        "tones",
        code=TonePair.of_hz(*TONE_PAIRS["bell202"]),
        about="two tones of an open standard, 1200 Hz for a one and 2200 Hz for a zero, joined without a break",
    )
)
_compare(
    Format(
        "flips",
        code=PhaseFlips(cycles=2, cell_units=2.0),
        about="one tone throughout: a zero is a one turned upside down",
    )
)
_compare(
    Format(
        "biphase",
        code=BiphaseMark(cell_units=1.0),
        about="an edge after every bit, and one more in the middle of a one: it can even lie upside down",
    )
)
_compare(
    Format(
        "phase",
        code=PhaseEncoding(cell_units=1.0),
        about="each bit is an edge, up for a one and down for a zero, or all the other way",
    )
)
_compare(
    Format(
        "delay",
        code=DelayModulation(cell_units=0.5),
        about="a one is an edge in mid-bit, a zero mostly none: three times the bits of house from the same cycles",
    )
)
