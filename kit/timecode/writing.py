"""Writing time code: frames to bits, to cells of biphase mark, to half-cycles, to sound."""

from itertools import islice

import numpy as np

from ..errors import SettingError
from ..linecodes import BiphaseMark
from ..samples import checked_number, checked_rate
from ..sound import Sound
from ..waves import PEAK, Renderer
from .frame import BITS, TimecodeFrame

__all__ = ["CODE", "encode_frames", "encode_timecode"]

CODE = BiphaseMark()
EDGE_BITS = (1,)  # a bit before the first frame and after the last: the edges that bound these are drawn whole
FEWEST_SAMPLES = 1.5  # in the shortest half-cycle
BATCH = 256  # frames drawn at a time
LONGEST_S = 24 * 3600.0


def encode_timecode(start, count=None, seconds=None, *, speed=1.0, rate=48000, peak=PEAK):
    """Time code as sound, counting on from a frame.

    Parameters
    ----------
    start : TimecodeFrame
        The first frame; all that follow have its user bits and flags.
    count : int, optional
        How many frames; or give `seconds`.
    seconds : float, optional
        How long the tape runs: as many frames as fit whole.
    speed : float
        2 writes it as heard when the tape is played at twice its speed.
    rate : int
        Samples per second.
    peak : float
        Level, as a part of full scale.

    Returns
    -------
    Sound
        One bit more lies before the first frame and one after the last, so that the edges that bound them are there.

    Raises
    ------
    SettingError
        There is nothing to write, or the rate cannot carry it.

    Examples
    --------
    >>> encode_timecode(TimecodeFrame.of("10:00:00:00"), seconds=1)
    Sound(1.001 s, 48000 Hz, mono)
    """
    if not isinstance(start, TimecodeFrame):
        raise SettingError(f'start must be a TimecodeFrame, got {start!r}: take TimecodeFrame.of("10:00:00:00")')
    frames = (start.later(number) for number in range(_checked_count(start, count, seconds, speed)))
    return encode_frames(frames, speed=speed, rate=rate, peak=peak)


def encode_frames(frames, *, speed=1.0, rate=48000, peak=PEAK):
    """As `encode_timecode`, of any row of frames: their user bits may change, and so may their count.

    Parameters
    ----------
    frames : iterable of TimecodeFrame
        All with the same frames in a second of tape.
    speed, rate, peak
        See `encode_timecode`.
    """
    frames = iter(frames)
    batch = list(islice(frames, BATCH))
    if not batch:
        raise SettingError("there must be one frame at least, got none: give a count of 1 or more")
    cell_s = _cell_s(batch[0], speed, checked_rate(rate))
    renderer, real_fps, pieces, bits = Renderer(rate, peak), batch[0].real_fps, [], [EDGE_BITS]
    while batch:
        if any(frame.real_fps != real_fps for frame in batch):
            raise SettingError("all frames must run at one rate, got several: write them one after the other")
        pieces.append(_drawn(renderer, [*bits, *(frame.pack() for frame in batch)], cell_s))
        batch, bits = list(islice(frames, BATCH)), []
    pieces.append(_drawn(renderer, [EDGE_BITS], cell_s))
    return Sound(np.concatenate([*pieces, renderer.finish()]), rate)


def _drawn(renderer, bits, cell_s):
    return renderer.feed(CODE.encode(np.concatenate(bits)) * (cell_s / CODE.longest_units))


def _cell_s(frame, speed, rate):
    """How long a bit lasts; refused if the rate cannot carry half of it."""
    if not checked_number("speed", speed) > 0:
        raise SettingError(f"speed must lie above 0, got {speed!r}: to play backwards turn the samples round")
    cell_s = 1 / (BITS * frame.real_fps * speed)
    if cell_s * rate / 2 < FEWEST_SAMPLES:
        needed = int(np.ceil(2 * FEWEST_SAMPLES / cell_s))
        raise SettingError(f"rate must be at least {needed} Hz for this speed, got {rate} Hz: raise it")
    return cell_s


def _checked_count(start, count, seconds, speed):
    if (count is None) == (seconds is None):
        raise SettingError(f"give either count or seconds, got {count!r} and {seconds!r}: leave one out")
    if count is None:
        if not 0 < checked_number("seconds", seconds) <= LONGEST_S:
            raise SettingError(f"seconds must lie above 0 and be {LONGEST_S:.0f} s at most, got {seconds!r} s")
        count = int(seconds * start.real_fps * checked_number("speed", speed) + 1e-9)
    if isinstance(count, bool) or not isinstance(count, int | np.integer) or not 0 < count <= start.frames_a_day:
        raise SettingError(f"count must be 1 to {start.frames_a_day} frames, got {count!r}: a day holds no more")
    return int(count)
