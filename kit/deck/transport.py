"""Speed: how fast the tape runs at each moment, and which moment of the source is heard when.

`SpeedLaw` says how fast; `Clock` adds it up into the way the tape has gone. Recording writes the sound along
that way, replay reads it back along another: both are a warp of time, done by `kit.deck.warp`.
"""

import math
from dataclasses import dataclass

import numpy as np

from kit.deck.pieces import by_side
from kit.deck.warp import Course, warp

__all__ = ["SpeedLaw", "speed_in_recording", "speed_in_replay", "speed_law"]

KNOT_S = 0.0007  # speed is worked out this often; between the knots, time follows a cubic
START_SPEED = 0.1  # of nominal, of a motor just switched on: from 0, recording would press time into no tape
GAUSS = ((0.5 - math.sqrt(0.15), 5 / 18), (0.5, 8 / 18), (0.5 + math.sqrt(0.15), 5 / 18))  # quadrature


@dataclass(frozen=True)
class SpeedLaw:
    """The speed of a tape over time, relative to nominal.

    Attributes
    ----------
    offset : float
        Steady error; 0.01 is 1 % fast.
    swings : tuple of (peak, rate_hz, start_turns)
        Wow, flutter, drift: peak as a part of the speed, rate, and phase in whole turns.
    motor_start_s : float
        Time constant of the motor's start; 0 runs at once.
    """

    offset: float = 0.0
    swings: tuple = ()
    motor_start_s: float = 0.0

    @property
    def neutral(self):
        """bool: whether the speed is exactly right all the time."""
        return self.offset == 0 and not self.swings and self.motor_start_s == 0

    def speed(self, time_s):
        """Speed relative to nominal.

        Parameters
        ----------
        time_s : numpy.ndarray
            float64, any shape.

        Returns
        -------
        numpy.ndarray
            float64, the same shape; 1 is nominal.
        """
        speed = np.ones_like(time_s)
        for peak, rate_hz, start_turns in self.swings:
            speed += peak * np.sin(2 * np.pi * (rate_hz * time_s + start_turns))
        if self.motor_start_s:
            speed *= 1 - (1 - START_SPEED) * np.exp(-time_s / self.motor_start_s)
        return speed * (1 + self.offset)


def speed_law(deck, which, rng):
    """The law of one of a deck's passes.

    Parameters
    ----------
    deck : Deck
    which : {"record", "replay"}
    rng : numpy.random.Generator
        For the phases of wow, flutter and drift.

    Returns
    -------
    SpeedLaw
    """
    of = {name: getattr(deck, f"{which}_{name}") for name in (
        "speed_percent", "wow_percent", "wow_hz", "flutter_percent", "flutter_hz", "drift_percent",
        "drift_period_s", "motor_start_s")}
    wow_turns, flutter_turns, drift_turns = rng.random(3)
    swings = ((of["wow_percent"] / 100, of["wow_hz"], wow_turns),
              (of["flutter_percent"] / 100, of["flutter_hz"], flutter_turns),
              (of["drift_percent"] / 100, 1 / of["drift_period_s"], drift_turns))
    return SpeedLaw(of["speed_percent"] / 100, tuple(s for s in swings if s[0]), of["motor_start_s"])


@dataclass(frozen=True)
class Clock:
    """How far the tape has gone at each knot, in seconds at nominal speed: three float64 arrays, (knots,)."""

    time_s: np.ndarray
    way_s: np.ndarray
    speed: np.ndarray


def run(law, time_s):
    """Let the tape run.

    Parameters
    ----------
    law : SpeedLaw
    time_s : float
        At least for so long.

    Returns
    -------
    Clock
    """
    knots = np.arange(math.ceil(time_s / KNOT_S) + 2) * KNOT_S
    steps = sum(weight * law.speed(knots[:-1] + place * KNOT_S) for place, weight in GAUSS)
    return Clock(knots, np.concatenate([[0], np.cumsum(steps * KNOT_S)]), law.speed(knots))


def _run_to(law, way_s):
    """Let the tape run until it has gone so far."""
    time_s = way_s / (1 + law.offset) * 1.01 + 5 * law.motor_start_s
    while (clock := run(law, time_s)).way_s[-1] < way_s:
        time_s *= 1.2
    return clock


def _cubic(x, knots, values, slopes):
    """Values and slopes at x, by cubics between knots at any distance."""
    at = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, len(knots) - 2)
    gap = knots[at + 1] - knots[at]
    t = (x - knots[at]) / gap
    rise = values[at + 1] - values[at]
    left, right = slopes[at] * gap, slopes[at + 1] * gap
    bend, twist = 3 * rise - 2 * left - right, left + right - 2 * rise
    value = values[at] + t * (left + t * (bend + t * twist))
    return value, (left + t * (2 * bend + 3 * t * twist)) / gap


@by_side
def speed_in_recording(samples, rate, law):
    """What lies on the tape, as a replay at exactly nominal speed would give it.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    law : SpeedLaw

    Returns
    -------
    numpy.ndarray
        As long as the stretch of tape used; the same object if the law is neutral.
    """
    if law.neutral or not len(samples):
        return samples
    clock = run(law, len(samples) / rate)
    used_s, _ = _cubic(np.array([len(samples) / rate]), clock.time_s, clock.way_s, clock.speed)
    return _warped(samples, rate, float(used_s[0]), clock.way_s, clock.time_s, 1 / clock.speed)


@by_side
def speed_in_replay(samples, rate, law):
    """A tape read back: fast is high and short.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,) or (frames, channels).
    rate : int
        In Hz.
    law : SpeedLaw

    Returns
    -------
    numpy.ndarray
        As long as it takes; the same object if the law is neutral.
    """
    if law.neutral or not len(samples):
        return samples
    clock = _run_to(law, len(samples) / rate)
    taken_s, _ = _cubic(np.array([len(samples) / rate]), clock.way_s, clock.time_s, 1 / clock.speed)
    return _warped(samples, rate, float(taken_s[0]), clock.time_s, clock.way_s, clock.speed)


def _warped(samples, rate, length_s, out_s, source_s, slopes):
    """The source read at `source_s` when the output's time is `out_s`."""
    frames = max(1, round(length_s * rate))
    step = max(4, round(KNOT_S * rate))
    at_s = np.arange(-(-frames // step) + 1) * (step / rate)
    position_s, pace = _cubic(at_s, out_s, source_s, slopes)
    return warp(samples, Course(position_s * rate, pace, step), frames)
