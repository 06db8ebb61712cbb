"""Levels of a recorder: what comes out for what went in, stair by stair, and from which level on data loads."""

from dataclasses import dataclass

import numpy as np

from kit.known import find_format
from kit.meters import tone_level_dbfs
from kit.testtape import plan
from kit.testtape.figures import Figure

__all__ = ["Levels", "read_levels"]

EDGE_S = 0.03
REFERENCE_DB = -24  # where nothing bends the wave yet
CONTROLLED_AT_DB = -12  # tape does not bend here, so what falls short is a level control's work
FULL_SCALE = 0.999
MOST_AT_FULL_SCALE = 20  # samples
CONTROL_DB = 3.0


@dataclass(frozen=True)
class Levels:
    """What the level stairs say.

    Attributes
    ----------
    into_db : tuple of int
        Level of each stair; 0 dB is as loud as data on every tape of the kit.
    out_dbfs : tuple of Figure
        Level of its leader in the recording, rms, in dBFS.
    shortfall : Figure
        By how much the loudest stair comes out weaker than the stairs below promise, in dB.
    control : bool or None
        Whether a level control is at work; None if it cannot be told.
    loads_from, loads_to : Figure
        The quietest and the loudest stair down to which all load, in dB.
    clipped : bool
        Whether the recording reaches full scale and stays there.
    """

    into_db: tuple
    out_dbfs: tuple
    shortfall: Figure
    control: bool | None
    loads_from: Figure
    loads_to: Figure
    clipped: bool

    @property
    def data_dbfs(self):
        """Figure: level of data in the recording, rms, in dBFS."""
        return self.out_dbfs[-1]


def read_levels(place, stairs, noise_rise_db):
    """Read the levels of a recording.

    Parameters
    ----------
    place : Place
    stairs : tuple of Loads
        The quietest first.
    noise_rise_db : float
        How far the noise rises in silence.

    Returns
    -------
    Levels
    """
    out = tuple(_out(place, section) for section in plan.programme().of("stair"))
    shortfall = _shortfall(out, plan.STAIRS_DB[-1])
    held = _shortfall(out, CONTROLLED_AT_DB)
    control = None if not held.known else held.value > CONTROL_DB or noise_rise_db > CONTROL_DB
    return Levels(plan.STAIRS_DB, out, shortfall, control, *_range(stairs), _clipped(place.sound))


def _out(place, section):
    if place.presence(section) != "whole":
        return Figure.missing("dBFS", "its stair is not in the recording")
    start_s, stop_s = place.at(section.start_s + EDGE_S), place.at(section.start_s + plan.LEADER_S - EDGE_S)
    house = find_format(plan.FORMAT)
    pace = (plan.LEADER_S - 2 * EDGE_S) / (stop_s - start_s)
    hz = house.unit_hz / house.leader.leader_units * pace
    level = tone_level_dbfs(place.sound.part(start_s, stop_s), hz, place.side)
    return Figure(float(level), "dBFS") if np.isfinite(level) else Figure.missing("dBFS", "nothing is heard of it")


def _shortfall(out, at_db):
    at, reference = out[plan.STAIRS_DB.index(at_db)], out[plan.STAIRS_DB.index(REFERENCE_DB)]
    if not (at.known and reference.known):
        return Figure.missing("dB", "its stairs are not in the recording")
    return Figure((at_db - REFERENCE_DB) - (at.value - reference.value), "dB", note=f"from {REFERENCE_DB} dB up")


def _range(stairs):
    """From the loudest stair that loads whole, down to the last below it without a gap."""
    present = [stair for stair in stairs if stair.read is not None]
    whole = [stair.number for stair in present if stair.whole]
    if not whole:
        why = "no stair loads whole" if len(present) == len(stairs) else "louder stairs are not in the recording"
        return Figure.missing("dB", why), Figure.missing("dB", why)
    top = bottom = whole[-1]
    while bottom - 1 in whole:
        bottom -= 1
    least = "or less: it is the quietest on the tape" if bottom == 0 else ""
    most = "or more: it is the loudest on the tape" if top == len(plan.STAIRS_DB) - 1 else ""
    return (Figure(float(plan.STAIRS_DB[bottom]), "dB", note=least),
            Figure(float(plan.STAIRS_DB[top]), "dB", note=most))  # fmt: skip


def _clipped(sound):
    return int(np.count_nonzero(np.abs(sound.samples) >= FULL_SCALE)) > MOST_AT_FULL_SCALE
