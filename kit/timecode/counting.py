"""Counting frames: from a time of day to the number of frames since midnight, and back.

Where 30 frames are counted to a second but only 30000/1001 pass, the count runs ahead of the clock. Drop-frame
counting leaves two numbers out at the start of each minute but every tenth one: no frame is lost, only numbers.
"""

__all__ = ["count_of", "frames_a_day", "is_left_out", "time_of"]

LEFT_OUT = 2  # frame numbers 00 and 01 (from memory of SMPTE 12M: not seen in print here)
MINUTES_A_DAY = 24 * 60


def is_left_out(minutes, seconds, frames):
    """Whether drop-frame counting has no such number."""
    return seconds == 0 and frames < LEFT_OUT and minutes % 10 != 0


def frames_a_day(fps, drop_frame):
    """How many frame numbers there are from midnight to midnight."""
    return MINUTES_A_DAY * 60 * fps - drop_frame * LEFT_OUT * (MINUTES_A_DAY - MINUTES_A_DAY // 10)


def count_of(hours, minutes, seconds, frames, fps, drop_frame):
    """Frames since midnight, which is 0.

    Examples
    --------
    >>> count_of(0, 1, 0, 2, fps=30, drop_frame=True)
    1800
    """
    all_minutes = 60 * hours + minutes
    left_out = LEFT_OUT * (all_minutes - all_minutes // 10) if drop_frame else 0
    return (60 * all_minutes + seconds) * fps + frames - left_out


def time_of(count, fps, drop_frame):
    """Hours, minutes, seconds and frames of a count; the inverse of `count_of`, and a day later the same again.

    Examples
    --------
    >>> time_of(1800, fps=30, drop_frame=True)
    (0, 1, 0, 2)
    >>> time_of(-1, fps=25, drop_frame=False)
    (23, 59, 59, 24)
    """
    number = int(count) % frames_a_day(fps, drop_frame)
    if drop_frame:
        number += _left_out_before(number, fps)
    seconds, frames = divmod(number, fps)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return hours, minutes, seconds, frames


def _left_out_before(count, fps):
    """How many numbers have been left out by a count; the first minute of ten is a whole one."""
    whole_minute = 60 * fps
    short_minute = whole_minute - LEFT_OUT
    tens, rest = divmod(count, whole_minute + 9 * short_minute)
    short_ones = 0 if rest < whole_minute else 1 + (rest - whole_minute) // short_minute
    return LEFT_OUT * (9 * tens + short_ones)
