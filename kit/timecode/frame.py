"""A frame of time code: a time of day in 80 bits, with room for 32 bits of the user's own.

Every digit is a binary-coded decimal, its least significant bit first, and after each group of them come four
of the user's bits. A sync word that no data can hold ends the frame; read backwards it is another word, so the
direction of play shows.

Source
------
SMPTE 12M / IEC 60461. Sync word, order of bits and the place of the polarity correction were seen in secondary
copies; the places of the flags are those in the public header of a general time-code library; what is from
memory says so.
"""

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from ..errors import ReadingError, SettingError
from .counting import count_of, frames_a_day, is_left_out, time_of

__all__ = ["BITS", "FRAME_RATES", "SYNC_WORD", "TimecodeFrame", "has_even_zeros"]

BITS = 80
FRAME_RATES = (24, 25, 30)
SYNC_WORD = tuple(map(int, "0011111111111101"))
"""Bits 64 to 79 of every frame."""
DROP_FRAME_RATE = 30
DROP_FRAME_BIT, COLOUR_FRAME_BIT = 10, 11
USER_GROUPS = tuple(range(4, 64, 8))  # first bit of each group of four


class Digits(NamedTuple):
    """Where a number of two decimal digits lies."""

    units_bit: int
    tens_bit: int
    tens_width: int


PLACES = {
    "frames": Digits(0, 8, 2),
    "seconds": Digits(16, 24, 3),
    "minutes": Digits(32, 40, 3),
    "hours": Digits(48, 56, 2),
}


def polarity_bit(fps):
    """Number of the bit that makes the number of zeros even."""
    return 59 if fps == 25 else 27


def flag_bits(fps):
    """Numbers of the bits of binary group flags 0, 1 and 2."""
    return (27, 58, 43) if fps == 25 else (43, 58, 59)


def has_even_zeros(bits):
    """Whether the number of zeros is even: so is that of half-cycles then, and every frame begins alike."""
    return int(np.count_nonzero(np.asarray(bits) == 0)) % 2 == 0


@dataclass(frozen=True)
class TimecodeFrame:
    """What one frame says.

    Parameters
    ----------
    hours, minutes, seconds, frames : int
        The time of day; `frames` counts from 0 within each second.
    fps : {24, 25, 30}
        Frames counted to a second.
    drop_frame : bool
        At 30 frames only: two numbers are left out at the start of each minute but every tenth.
    colour_frame : bool
        The flag that says that frames are numbered in step with the colour signal.
    user_groups : tuple of int, length 8
        The user's bits, in groups of four, 0 to 15 each.
    binary_group_flags : tuple of bool, length 3
        What the user's bits are; all False says nothing of it.

    Raises
    ------
    SettingError
        There is no such frame.

    Examples
    --------
    >>> frame = TimecodeFrame.of("10:59:59:24")
    >>> frame.pack()[-16:].tolist() == list(SYNC_WORD)
    True
    >>> print(frame.next_frame())
    11:00:00:00
    """

    hours: int = 0
    minutes: int = 0
    seconds: int = 0
    frames: int = 0
    fps: int = 25
    drop_frame: bool = False
    colour_frame: bool = False
    user_groups: tuple = (0,) * 8
    binary_group_flags: tuple = (False,) * 3

    def __post_init__(self):
        _check_rate(self.fps, self.drop_frame)
        for name, stop in (("hours", 24), ("minutes", 60), ("seconds", 60), ("frames", self.fps)):
            if not _is_whole(getattr(self, name), stop):
                raise SettingError(
                    f"{name} must be a whole number from 0 to {stop - 1}, got {getattr(self, name)!r}: change it"
                )
        if self.drop_frame and is_left_out(self.minutes, self.seconds, self.frames):
            raise SettingError(
                "drop-frame counting must leave out frames 00 and 01 of each minute but every tenth, "
                f"got {self}: take frame 02"
            )
        object.__setattr__(self, "user_groups", _checked_groups(self.user_groups))
        object.__setattr__(self, "binary_group_flags", _checked_flags(self.binary_group_flags))
        for kind, names in ((bool, ("drop_frame", "colour_frame")), (int, ("fps", *PLACES))):
            for name in names:
                object.__setattr__(self, name, kind(getattr(self, name)))

    @classmethod
    def of(cls, text, fps=25, **more):
        """The frame of a time written ``hh:mm:ss:ff``, or ``hh:mm:ss;ff`` for drop-frame counting.

        Examples
        --------
        >>> TimecodeFrame.of("01:02:03;04", fps=30).drop_frame
        True
        """
        parts = str(text).replace(";", ":").split(":")
        if len(parts) != 4 or not all(part.isascii() and part.isdigit() and len(part) <= 2 for part in parts):
            raise SettingError(f"a time must be written hh:mm:ss:ff, got {text!r}: write 10:00:00:00")
        if ";" in str(text):
            more.setdefault("drop_frame", True)
        return cls(*map(int, parts), fps=fps, **more)

    def __str__(self):
        before_frames = ";" if self.drop_frame else ":"
        return f"{self.hours:02}:{self.minutes:02}:{self.seconds:02}{before_frames}{self.frames:02}"

    # -- counting ---------------------------------------------------------------------------------------

    @property
    def count(self):
        """int: frames since midnight."""
        return count_of(self.hours, self.minutes, self.seconds, self.frames, self.fps, self.drop_frame)

    @property
    def frames_a_day(self):
        """int: how many frames there are from midnight to midnight."""
        return frames_a_day(self.fps, self.drop_frame)

    @property
    def real_fps(self):
        """float: frames that pass in a second of tape: 30000/1001 if drop-frame, else `fps`."""
        return self.fps * 1000 / 1001 if self.drop_frame else float(self.fps)

    def later(self, frames):
        """The frame so many frames later, or earlier if negative; midnight comes after the last of a day."""
        time = dict(zip(("hours", "minutes", "seconds", "frames"), self._time_after(frames), strict=True))
        return replace(self, **time)

    def _time_after(self, frames):
        if isinstance(frames, bool) or not isinstance(frames, int | np.integer):
            raise SettingError(f"frames must be a whole number, got {frames!r}: count frames, not seconds")
        return time_of(self.count + int(frames), self.fps, self.drop_frame)

    def next_frame(self):
        """The frame that follows."""
        return self.later(1)

    def previous_frame(self):
        """The frame before this one."""
        return self.later(-1)

    # -- bits -------------------------------------------------------------------------------------------

    def pack(self):
        """The bits of the frame, in the order they are written.

        Returns
        -------
        ndarray of uint8, shape (80,)
            Bits 0 to 79: digits and the user's groups least significant bit first, the sync word last.
        """
        bits = np.zeros(BITS, np.uint8)
        for name, place in PLACES.items():
            tens, units = divmod(getattr(self, name), 10)
            _put(bits, place.units_bit, 4, units)
            _put(bits, place.tens_bit, place.tens_width, tens)
        for first, group in zip(USER_GROUPS, self.user_groups, strict=True):
            _put(bits, first, 4, group)
        bits[[DROP_FRAME_BIT, COLOUR_FRAME_BIT]] = self.drop_frame, self.colour_frame
        bits[list(flag_bits(self.fps))] = self.binary_group_flags
        bits[-len(SYNC_WORD) :] = SYNC_WORD
        bits[polarity_bit(self.fps)] = not has_even_zeros(bits)
        return bits

    @classmethod
    def unpack(cls, bits, fps=25):
        """The frame that some bits spell, however their polarity bit stands (see `has_even_zeros`).

        Parameters
        ----------
        bits : array_like of int, shape (80,)
            Bits 0 to 79, in the order they are written.
        fps : {24, 25, 30}
            Frames counted to a second: the bits do not say.

        Raises
        ------
        SettingError
            They are not 80 bits, or there is no such rate.
        ReadingError
            They are no frame: the sync word is missing, or there is no such time.
        """
        bits = _checked_bits(bits)
        if not np.array_equal(bits[-len(SYNC_WORD) :], SYNC_WORD):
            raise ReadingError(f"bits 64 to 79 must be the sync word, got {_spelt(bits[64:])}: not a whole frame")
        _check_rate(fps, False)
        time = {name: _number(bits, name, place) for name, place in PLACES.items()}
        try:
            return cls(
                **time,
                fps=fps,
                drop_frame=bool(bits[DROP_FRAME_BIT]),
                colour_frame=bool(bits[COLOUR_FRAME_BIT]),
                user_groups=tuple(_take(bits, first, 4) for first in USER_GROUPS),
                binary_group_flags=tuple(bool(bits[place]) for place in flag_bits(fps)),
            )
        except SettingError as refused:
            raise ReadingError(f"no frame of {fps} a second has these bits: {refused}") from None


def _check_rate(fps, drop_frame):
    if isinstance(fps, bool) or fps not in FRAME_RATES:
        raise SettingError(f"fps must be one of {', '.join(map(str, FRAME_RATES))}, got {fps!r}: choose one")
    if drop_frame and fps != DROP_FRAME_RATE:
        raise SettingError(f"drop-frame counting must have {DROP_FRAME_RATE} fps, got {fps}: turn it off")


def _is_whole(value, stop):
    return isinstance(value, int | np.integer) and not isinstance(value, bool) and 0 <= value < stop


def _checked_groups(groups):
    row = tuple(groups) if isinstance(groups, tuple | list | np.ndarray | bytes) else ()
    if len(row) != len(USER_GROUPS) or not all(_is_whole(group, 16) for group in row):
        raise SettingError(f"user_groups must be 8 whole numbers from 0 to 15, got {groups!r}: four bits each")
    return tuple(map(int, row))


def _checked_flags(flags):
    row = tuple(flags) if isinstance(flags, tuple | list | np.ndarray) else ()
    if len(row) != 3 or not all(flag in (0, 1) for flag in row):
        raise SettingError(f"binary_group_flags must be three of True or False, got {flags!r}: all False is usual")
    return tuple(map(bool, row))


def _checked_bits(bits):
    bits = np.asarray(bits)
    if bits.shape != (BITS,) or not np.isin(bits, (0, 1)).all():
        raise SettingError(f"a frame must be {BITS} bits of 0 or 1, got shape {bits.shape}: cut frames apart first")
    return bits.astype(np.uint8)


def _put(bits, first, width, number):
    bits[first : first + width] = number >> np.arange(width) & 1


def _take(bits, first, width):
    return int(bits[first : first + width].astype(int) @ (1 << np.arange(width)))


def _number(bits, name, place):
    units = _take(bits, place.units_bit, 4)
    if units > 9:
        raise ReadingError(f"the units of {name} must be a digit, got {units}: a bit is wrong")
    return 10 * _take(bits, place.tens_bit, place.tens_width) + units


def _spelt(bits):
    return "".join(map(str, bits))
