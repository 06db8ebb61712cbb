"""The programme of the test tape: what is on it, when, how loud. The writer and the measurer share it.

All times are in seconds from the beginning of the file, at the speed the file was made for. Seven marks, short
rising tones, lie between the parts, so that each part is found however the recording begins or ends. From the
first mark to the last it is two minutes.
"""

import hashlib
from dataclasses import dataclass
from functools import cache

import numpy as np

from kit.blocks import DataPart
from kit.known import find_format

__all__ = [
    "LADDER_SPEEDS",
    "LEVEL_SECONDS",
    "MARK",
    "PILOT_HZ",
    "RUNG_BYTES",
    "STAIRS_DB",
    "STEPS_HZ",
    "TONE_HZ",
    "WIRING",
    "Mark",
    "Programme",
    "Section",
    "half_cycles_of",
    "parts_of",
    "programme",
]

TONE_HZ = 3150.0  # AES6-2008
TONE_PEAK = 0.25
DATA_PEAK = 0.5  # as `encode` writes it; 0 dB of the level stairs
# A tone and its octave, whose phases tell which way up the wave is; 730 Hz is no multiple of a mains frequency.
WIRING_HZ, WIRING_PEAK, OCTAVE_PEAK, WIRING_S = 730.0, 0.2, 0.1, 1.2
WIRING = ("left", "right", "both", "opposed")
PILOT_HZ, PILOT_PEAK, STEP_PEAK, STEP_S = 1000.0, 0.1, 0.03, 0.8  # -20 and -30 dB: the tape must not bend them
# No multiple of the pilot or of its halves, so that no product of distortion falls on a step.
STEPS_HZ = (63.0, 125.0, 260.0, 430.0, 640.0, 1640.0, 2430.0, 3370.0, 4680.0, 6360.0, 8260.0, 9840.0, 12_340.0,
            14_260.0, 16_340.0)  # fmt: skip
STAIRS_DB = tuple(range(-60, 1, 6))  # rising, so that a level control that is slow to turn up is up already
STAIR_BLOCKS, STAIR_BYTES = 2, 16
LADDER_SPEEDS = (0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.6)  # about half an octave apart
RUNG_BYTES = 64
LEADER_S = 0.25
QUIET_S = 8.0
CLOSING_TONE_S = 14.0
WHOLE_S = 120.0  # from the first mark to the last
PAUSE_S = 0.12
LEAD_S = 1.5  # silence before the first mark, while a motor comes up to speed, and after the last
LEVEL_SECONDS = 20.0
TAG = 0x7A9E  # of the data blocks: they belong to no file
FORMAT = "house"
FIRST_NUMBER = {"stair": 0, "rung": 256}  # of the data blocks


@dataclass(frozen=True)
class Mark:
    """A short rising tone.

    Attributes
    ----------
    seconds, low_hz, high_hz, peak : float
    """

    seconds: float = 0.12
    low_hz: float = 700.0
    high_hz: float = 2900.0
    peak: float = 0.25

    def wave(self, rate, speed=1.0):
        """The mark as a complex wave of peak 1, whose real part is what is played.

        Parameters
        ----------
        rate : int
            In Hz.
        speed : float
            As it sounds when the tape runs at this speed.

        Returns
        -------
        numpy.ndarray
            complex128, (n,).
        """
        time_s = np.arange(round(self.seconds / speed * rate)) / rate * speed
        rise = (self.high_hz - self.low_hz) / self.seconds
        turns = time_s * (self.low_hz + rise * time_s / 2)
        edge_s = np.minimum(time_s, self.seconds - time_s)
        return np.exp(2j * np.pi * turns) * np.sin(np.pi / 2 * np.clip(edge_s / 0.03, 0, 1)) ** 2


MARK = Mark()


@dataclass(frozen=True)
class Section:
    """A stretch of the programme.

    Attributes
    ----------
    kind : str
        One of tone, quiet, stair, wiring, step, rung.
    number : int
        Which one of its kind, from 0.
    start_s, seconds : float
    """

    kind: str
    number: int
    start_s: float
    seconds: float

    @property
    def stop_s(self):
        """float: when it ends."""
        return self.start_s + self.seconds


@dataclass(frozen=True)
class Programme:
    """All that is on the test tape.

    Attributes
    ----------
    sections : tuple of Section
    marks_s : tuple of float
        When each mark begins.
    seconds : float
    """

    sections: tuple
    marks_s: tuple
    seconds: float

    def of(self, kind):
        """tuple of Section: those of one kind."""
        return tuple(section for section in self.sections if section.kind == kind)


def blocks_in(kind, number):
    """How many data blocks a stair or a rung holds."""
    if kind == "stair":
        return STAIR_BLOCKS
    return 3 if LADDER_SPEEDS[number] < 1 else 6


def speed_of(kind, number):
    """Loader speed of a stair's or a rung's blocks, as a part of ordinary speed."""
    return 1.0 if kind == "stair" else LADDER_SPEEDS[number]


@cache
def parts_of(kind, number):
    """The data blocks of a stair or a rung.

    Parameters
    ----------
    kind : {"stair", "rung"}
    number : int

    Returns
    -------
    tuple of DataPart
        Bytes that repeat nowhere; the same on every test tape.
    """
    size = STAIR_BYTES if kind == "stair" else RUNG_BYTES
    first = FIRST_NUMBER[kind] + 16 * number
    names = range(first, first + blocks_in(kind, number))
    return tuple(DataPart(TAG, k, hashlib.shake_256(b"test tape %d" % k).digest(size)) for k in names)


@cache
def half_cycles_of(kind, number):
    """The half-cycles of a stair's or a rung's blocks, in seconds: float64, (n,)."""
    house, speed = find_format(FORMAT), speed_of(kind, number)
    return np.concatenate([house.block_half_cycles(p.body(), LEADER_S, speed) for p in parts_of(kind, number)])


def _seconds_of(kind, number):
    return float(half_cycles_of(kind, number).sum())


@cache
def programme():
    """The programme: a `Programme`.

    Examples
    --------
    >>> marks = programme().marks_s
    >>> len(marks), round(marks[-1] - marks[0], 6), round(programme().seconds, 2)
    (7, 120.0, 123.12)
    """
    groups = _groups()
    used = sum(sum(lengths) + len(lengths) * PAUSE_S for _, lengths in groups)
    marks = sum(map(_begins_with_a_mark, groups), 1) * (MARK.seconds + PAUSE_S)
    return _laid_out([("tone", [WHOLE_S - used - marks - PAUSE_S]), *groups])


def _begins_with_a_mark(group):
    """All do but the stairs: a mark before them would turn a level control down."""
    return group[0] != "stair"


def _groups():
    """Kinds and lengths of all but the first tone, in their order."""
    return [
        ("quiet", [QUIET_S]),
        ("stair", [_seconds_of("stair", k) for k in range(len(STAIRS_DB))]),
        ("wiring", [WIRING_S] * len(WIRING)),
        ("step", [STEP_S] * len(STEPS_HZ)),
        ("rung", [_seconds_of("rung", k) for k in range(len(LADDER_SPEEDS))]),
        ("tone", [CLOSING_TONE_S]),
    ]


def _laid_out(groups):
    now, marks, sections, counts = LEAD_S, [], [], {}
    for kind, lengths in groups:
        if _begins_with_a_mark((kind, lengths)):
            marks.append(now)
            now += MARK.seconds + PAUSE_S
        for seconds in lengths:
            sections.append(Section(kind, counts.setdefault(kind, 0), now, seconds))
            counts[kind] += 1
            now += seconds + PAUSE_S
    return Programme(tuple(sections), (*marks, now), now + MARK.seconds + LEAD_S)
