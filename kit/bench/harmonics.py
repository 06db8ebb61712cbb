"""Harmonics: a square wave built of sines, and what a limited bandwidth leaves of it."""

from dataclasses import dataclass

import numpy as np

from ..shown import BLACK, BLUE, SKY, VERMILLION
from ..sound import Sound
from .fields import State, choice, number
from .model import Experiment, Result
from .scene import Level, Line, Pane, Scene

__all__ = ["HARMONICS", "Harmonics", "HarmonicsState", "find"]

CYCLES = 2.0
POINTS = 1200
FILTER_ORDER = 4
SOUND_RATE = 48000
SPECTRUM_HZ = (100.0, 60_000.0)
QUIET = 1e-3  # a part of a sine that no eye sees in the wave


@dataclass(frozen=True)
class HarmonicsState(State):
    """Which sines are added, and where the low-pass filter begins to take them away."""

    sines: int = number(3, 1, 25, 1, "", "Sines added", hint="the fundamental and odd harmonics")
    cutoff_hz: float = number(20000, 200, 20000, 48, "Hz", "Cut-off of the filter", log=True)
    tone_hz: int = choice(1200, (600, 1200, 2400), "Square wave", unit="Hz")


@dataclass(frozen=True, eq=False)
class Harmonics(Result):
    """The wave and its spectrum.

    Attributes
    ----------
    times_ms, square, wave : ndarray of float64, shape (points,)
        Two cycles: the square wave of ±1 that is aimed at, and what was built.
    harmonics_hz, sizes, passed : ndarray of float64, shape (sines,)
        Of each sine its frequency, its size in the square wave, and its size after the filter.
    error_percent : float
        Root mean square of the difference from the square wave, as a part of the latter's.
    """

    times_ms: np.ndarray
    square: np.ndarray
    wave: np.ndarray
    harmonics_hz: np.ndarray
    sizes: np.ndarray
    passed: np.ndarray
    error_percent: float


def passing(hz, cutoff_hz):
    """What part of a sine passes a low-pass filter of fourth order (Butterworth), whose delay is made good.

    Examples
    --------
    >>> round(float(passing(2000.0, 2000.0)), 4)
    0.7071
    """
    return 1 / np.sqrt(1 + (np.asarray(hz) / cutoff_hz) ** (2 * FILTER_ORDER))


def find(state):
    """Build the wave.

    Parameters
    ----------
    state : HarmonicsState

    Returns
    -------
    Harmonics

    Notes
    -----
    The sines of a square wave of ±1 have the sizes 4 / (π n), n = 1, 3, 5, …; the error follows from them
    by Parseval's theorem, those that are not added included.
    """
    order = 2 * np.arange(state.sines) + 1
    hertz = order * float(state.tone_hz)
    sizes = 4 / (np.pi * order)
    passed = sizes * passing(hertz, state.cutoff_hz)
    turns = (np.arange(POINTS) + 0.5) / POINTS * CYCLES
    wave = passed @ np.sin(2 * np.pi * np.outer(order, turns))
    square = np.where(turns % 1 < 0.5, 1.0, -1.0)
    missing = 1 - (sizes**2).sum() / 2 + ((sizes - passed) ** 2).sum() / 2
    error = 100 * float(np.sqrt(max(missing, 0.0)))
    figures = (
        ("difference from the square", f"{error:.1f} %"),
        ("highest level", f"{np.abs(wave).max():.2f}"),
        ("sines that pass", f"{_passing_count(passed, sizes)} of {state.sines}"),
    )
    return Harmonics(_in_words(state, passed, sizes, wave, error), figures, 1000 * turns / state.tone_hz,
                     square, wave, hertz, sizes, passed, error)


def _passing_count(passed, sizes):
    return int(np.count_nonzero(passed >= sizes / 2))


def _in_words(state, passed, sizes, wave, error):
    count, kept = state.sines, _passing_count(passed, sizes)
    built = "One sine, filtered, makes" if count == 1 else f"{count} sines, filtered, make"
    words = f"{built} a wave that differs from the square wave by {error:.1f} %. "
    if kept == count:
        words += "The filter lets through at least half of each sine. "
    elif kept:
        words += f"The filter lets through at least half of only {kept} of them: the fast ones are lost. "
    else:
        words += "The filter takes away more than half of every sine: little is left of the wave. "
    if kept > 1 and np.abs(wave).max() > 1.05:
        words += f"Beside each edge the wave overshoots, to {np.abs(wave).max():.2f}. "
    elif kept == 1 or (count == 1 and kept):
        words += "What is left is nearly a smooth sine: no corner is left. "
    return words + _crossings_in_words(wave)


def _crossings_in_words(wave):
    """How often and where it crosses zero, counted in the wave itself."""
    above = wave > 0
    at = np.flatnonzero(above[1:] != above[:-1]) + 1
    wanted = np.arange(1, 2 * CYCLES) * POINTS / (2 * CYCLES)
    same = len(at) == len(wanted) and np.all(np.abs(at - wanted) <= 2) and np.abs(wave).max() > QUIET
    if same:
        return "It still crosses zero just where the square wave does, which is what a loader goes by."
    return "It no longer crosses zero where the square wave does."


def draw(state, result):
    """The wave above, its spectrum below."""
    wave = Pane(
        (0.0, 1000 * CYCLES / state.tone_hz), (-1.45, 1.45), "time in ms", "level",
        (Line(result.times_ms, result.square, "square wave", BLACK, "dot"),
         Line(result.times_ms, result.wave, "built and filtered", BLUE)),
        title="Wave", share=1.5,
    )
    spectrum = Pane(
        SPECTRUM_HZ, (0.0, 1.4), "frequency in Hz", "size",
        (Line(*_filter_curve(state), "filter", SKY, "dash"),
         Line(result.harmonics_hz, result.sizes, "added", BLACK, "dot", "stems"),
         Line(result.harmonics_hz, result.passed, "after the filter", VERMILLION, "", "stems"),
         Level(state.cutoff_hz, "cut-off", upright=True)),
        title="Spectrum", log_x=True,
    )
    first = result.passed[0]
    text = (f"Above, two cycles of a {state.tone_hz} Hz square wave, and the wave built of {state.sines} "
            f"{'sine' if state.sines == 1 else 'sines'}, its highest level {np.abs(result.wave).max():.2f}. "
            f"Below, the sizes of the sines: {first:.2f} at {state.tone_hz} Hz after the filter, falling to "
            f"{result.passed[-1]:.3f} at {result.harmonics_hz[-1]:.0f} Hz; "
            f"the filter cuts off at {state.cutoff_hz:g} Hz.")
    return Scene((wave, spectrum), text, height=470)


def _filter_curve(state):
    hz = np.geomspace(*SPECTRUM_HZ, 200)
    return hz, passing(hz, state.cutoff_hz)


def sound(state, result):
    """A second of the wave; sines that no rate of the player carries are left out, as no ear hears them."""
    hertz, passed = result.harmonics_hz, result.passed
    heard = hertz < SOUND_RATE / 2
    times_s = np.arange(SOUND_RATE) / SOUND_RATE
    wave = sum(size * np.sin(2 * np.pi * hz * times_s) for hz, size in zip(hertz[heard], passed[heard], strict=True))
    return Sound(0.25 * wave, SOUND_RATE)


HARMONICS = Experiment(
    "harmonics",
    "Build a square wave",
    "How many sines does a square wave need, and what does a tape that cuts off the high ones leave of it?",
    HarmonicsState, find, draw, sound,
)
