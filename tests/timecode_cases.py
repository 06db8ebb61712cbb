"""Frames of time code that are written one after another, and how they are told when they are read."""

from kit.timecode import TimecodeFrame

START = TimecodeFrame.of("09:59:58:20", user_groups=(1, 9, 7, 4, 12, 3, 5, 15))
COUNT = 60


def wanted(first=0, stop=COUNT):
    return [START.later(number) for number in range(first, stop)]


def said(found):
    return [each.frame for each in found]
