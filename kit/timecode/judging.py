"""Judging frames: what they say, whether they count on from one another, and what speaks against each.

A frame has no check but a parity. Its best witness is the next one: it must be later by as many frames as had
time to pass.
"""

from math import log

import numpy as np

from ..errors import ReadingError
from .frame import FRAME_RATES, SYNC_WORD, TimecodeFrame

__all__ = ["judged"]

REACH = 3  # how many frames on either side may bear witness
SLACK, SLACK_EACH = 0.45, 0.03  # frames by which the time passed may be off, and how many more for each frame passed
PLAIN = 0.6  # margin of cells that need no witness for what they say beside the time
USUAL_SPEED, STEADY = 2.5, 0.02  # what it is worth, in frames that count on, that a tape runs as fast as it should
USUAL = 0.75  # part of all clear frames whose polarity bit agrees, if it is used at all


def judged(found, fps=None):
    """Frames with what they say, whether they follow, and their doubts.

    Parameters
    ----------
    found : sequence of FoundFrame
        In order of time.
    fps : int, optional
        Frames counted to a second. If not given: the rate at which most frames are times and count on, or, where all
        do as well, the one at which the tape's speed was nearest to what it should be.

    Returns
    -------
    list of FoundFrame
    """
    rates = FRAME_RATES if fps is None else (fps,)
    best = max((_told(found, rate) for rate in rates), key=_rank)
    heeded = _polarity_is_used(best)
    return [_with_doubts(best, number, heeded) for number in range(len(best))]


def _told(found, fps):
    """The frames as they say at a rate, with whether each follows the one before."""
    told, before = [], None
    for each in found:
        each = each.changed(frame=_frame_of(each.bits, fps))
        if each.frame is not None:
            each = _linked(before, each)
            before = each
        told.append(each)
    return told


def _frame_of(bits, fps):
    """What bits say at a rate, even if their sync word is damaged; or None."""
    try:
        return TimecodeFrame.unpack(np.append(bits[: -len(SYNC_WORD)], SYNC_WORD), fps)
    except ReadingError:
        return None


def _linked(before, each):
    if before is None or before.backwards != each.backwards:
        return each.changed(follows=None, missing=0)
    passed = _passed(before, each)
    return each.changed(follows=passed > 0, missing=max(0, passed - 1))


def _passed(before, each):
    """How many frames a frame is later than one heard before it; 0 if that is not what had time to pass."""
    first, second = (each, before) if each.backwards else (before, each)
    if first.frame.drop_frame != second.frame.drop_frame:
        return 0
    steps = (second.frame.count - first.frame.count) % first.frame.frames_a_day
    length = ((before.stop_s - before.start_s) + (each.stop_s - each.start_s)) / 2
    passed = (each.start_s + each.stop_s - before.start_s - before.stop_s) / 2 / length
    return steps if steps and abs(passed - steps) < SLACK + SLACK_EACH * steps else 0


def _rank(told):
    """How well a rate explains what was found: by times of day, by counting from one to the next, and by speed.

    A tape that was cut and joined may count on by chance at another rate: it must do so more than twice.
    """
    clear = [each for each in told if each.clear and each.polarity_agrees]
    times = [each for each in clear if each.frame is not None]
    off = sum(abs(log(each.speed)) for each in times) / max(1, len(times))
    follow = sum(bool(each.follows) and not each.missing for each in clear)
    return len(times) + follow + USUAL_SPEED * (off < STEADY), -off


def _polarity_is_used(told):
    """Not every writer sets the polarity bit: where it is wrong as often as right it says nothing."""
    agrees = [each.polarity_agrees for each in told if each.clear]
    return sum(agrees) >= USUAL * len(agrees)


def _with_doubts(told, number, heeded):
    each, doubts = told[number], []
    if not np.array_equal(each.bits[-len(SYNC_WORD) :], SYNC_WORD):
        doubts.append("its sync word is damaged")
    elif not each.fits:
        doubts.append("its cells do not fit")
    elif not each.clear:
        doubts.append("a cell may be the other bit")
    if heeded and not each.polarity_agrees:
        doubts.append("its polarity bit disagrees")
    if each.frame is None:
        doubts.append("there is no such time")
    else:
        doubts += _doubts_of_count(told, number)
    return each.changed(doubts=tuple(doubts))


def _doubts_of_count(told, number):
    each = told[number]
    near = told[max(0, number - REACH) : number], told[number + 1 : number + 1 + REACH]
    before, after = ([one for one in some if _can_witness(one, each)] for some in near)
    if not before and not after:
        return ["there is no other to count with"]
    agree = [one for one in before if _passed(one, each)] + [one for one in after if _passed(each, one)]
    if not agree:
        return ["it does not count on"]
    return _doubts_beside_time(each, agree)


def _doubts_beside_time(each, agree):
    """A frame alone with its user bits is in doubt if it was not read plainly, or if all others are at one."""
    others = {_beside_time(one) for one in agree}
    if _beside_time(each) in others or (each.margin >= PLAIN and (len(agree) == 1 or len(others) > 1)):
        return []
    return ["its user bits or flags are like no other's near it"]


def _beside_time(each):
    """What a frame says beside the time: nothing but its likes can bear witness for that."""
    frame = each.frame
    return frame.user_groups, frame.colour_frame, frame.binary_group_flags


def _can_witness(one, each):
    return one.frame is not None and one.backwards == each.backwards
