"""What frequencies pass: each step of the test tape against the pilot that sounds with it."""

from dataclasses import dataclass

import numpy as np

from kit.meters import tone_against_pilot
from kit.testtape import plan
from kit.testtape.figures import Figure

__all__ = ["Response", "read_response"]

SHORTER_S = 0.06
ABOVE_NOISE_DB = 25.0  # nearer to the noise than this, a level may be off by more than 1 dB
PILOT_DB = 20 * np.log10(plan.STEP_PEAK / plan.PILOT_PEAK)
HIDDEN = "which is too near to the noise"
LOWEST_DB = -45.0  # below it, traces of distortion may pass for the step
HIGHEST_PART = 0.45  # of the rate


@dataclass(frozen=True)
class Response:
    """Frequency response of one side, relative to 1000 Hz.

    Attributes
    ----------
    hz : tuple of float
        As recorded.
    level_db : tuple of Figure
        For each frequency.
    """

    hz: tuple
    level_db: tuple

    @property
    def curve(self):
        """Two arrays, (n,): the frequencies at which a level is known, and the levels in dB."""
        pairs = [(hz, figure.value) for hz, figure in zip(self.hz, self.level_db, strict=True) if figure.known]
        return np.array(pairs, float).reshape(-1, 2).T

    def passes_to(self, down_db=6.0):
        """The highest frequency before the level is down by so much: a Figure in Hz."""
        hz, level_db = self.curve
        hz, level_db = hz[hz > plan.PILOT_HZ], level_db[hz > plan.PILOT_HZ]
        if not len(hz):
            why = "are not in the recording" if not self._hidden else f"all have a level {HIDDEN}"
            return Figure.missing("Hz", f"the steps {why}")
        below = np.flatnonzero(level_db < -down_db)
        if not len(below):
            return Figure(float(hz[-1]), "Hz", note=f"or more: {self._why_no_further(down_db)}")
        k = int(below[0])
        log_hz, levels = np.log(np.append(plan.PILOT_HZ, hz)), np.append(0.0, level_db)
        at = np.interp(down_db, -levels[k : k + 2], log_hz[k : k + 2])
        return Figure(float(np.exp(at)), "Hz", note=f"{down_db:g} dB down")

    def _why_no_further(self, down_db):
        return "what lies above is too near to the noise" if self._hidden else f"{down_db:g} dB down is not reached"

    @property
    def _hidden(self):
        """Whether noise hides any of the steps."""
        return any(figure.unknown.endswith(HIDDEN) for figure in self.level_db)


def read_response(place, side):
    """Read the response of one side.

    Parameters
    ----------
    place : Place
    side : int

    Returns
    -------
    Response
    """
    sections = plan.programme().of("step")
    figures = [_figure(place, section, hz, side) for section, hz in zip(sections, plan.STEPS_HZ, strict=True)]
    return Response(plan.STEPS_HZ, tuple(figures))


def _figure(place, section, hz, side):
    if place.presence(section) != "whole":
        return Figure.missing("dB", "its step is not in the recording")
    start_s, stop_s = place.span(section)
    pace = section.seconds / (stop_s - start_s)
    if hz * pace > HIGHEST_PART * place.sound.rate:
        return Figure.missing("dB", f"a recording at {place.sound.rate} Hz does not hold it")
    level, floor = tone_against_pilot(place.part(section, SHORTER_S), hz, plan.PILOT_HZ, pace, side)
    level, floor = level - PILOT_DB, floor - PILOT_DB
    if level < max(floor + ABOVE_NOISE_DB, LOWEST_DB):
        return Figure.missing("dB", f"about {level:.0f} dB or less, {HIDDEN}")
    # How far noise of that strength beside the tone can bend the reading (twice its rms), and the steps themselves.
    most = 0.2 + 20 * np.log10(1 + 2 * 10 ** ((floor - level) / 20))
    return Figure(float(level), "dB", float(level - most), float(level + most))
