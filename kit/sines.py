"""Sines: a square wave taken apart and put together again, drawn and heard.

Pure functions; `sines_view` gives a `Shown`, a figure with its text equal.
"""

from itertools import pairwise

import numpy as np

from .errors import SettingError
from .shown import BLACK, BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILLION, Shown, blank_figure
from .sound import Sound
from .waves import edges

__all__ = ["built_of_sines", "low_passed", "sines_view"]

MOST_SINES = 25
CYCLES, POINTS = 2.0, 1200
FILTER_ORDER = 4
PEAK = 0.35  # of a wave of ±1 built of sines: its highest level, 4/π for one sine, stays below half of full scale
STYLES = ((VERMILLION, "-"), (GREEN, "--"), (PURPLE, "-."), (ORANGE, ":"), (SKY, "-"))


def sines_view(hertz, count):
    """The first sines of a square wave one by one, and their sum beside the square wave.

    Parameters
    ----------
    hertz : float
        Of the square wave.
    count : int
        How many sines, 1 to 25.

    Returns
    -------
    Shown
    """
    if not (1 <= count <= MOST_SINES and hertz > 0):
        raise SettingError(f"there must be 1 to {MOST_SINES} sines of more than 0 Hz, got {count!r} of {hertz!r} Hz")
    turns = (np.arange(POINTS) + 0.5) / POINTS * CYCLES
    order = 2 * np.arange(count) + 1
    waves = 4 / np.pi / order[:, None] * np.sin(2 * np.pi * order[:, None] * turns)
    times_ms = 1000 * turns / hertz
    figure, (above, below) = blank_figure(2, height_in=4.8, sharex=True)
    for k, wave in enumerate(waves):
        colour, dashes = STYLES[k % len(STYLES)]
        above.plot(times_ms, wave, color=colour, linestyle=dashes, label=f"{order[k] * hertz:g} Hz" if k < 5 else "")
    below.plot(times_ms, np.where(turns % 1 < 0.5, 1.0, -1.0), color=BLACK, linestyle=":", label="square wave")
    below.plot(times_ms, waves.sum(0), color=BLUE, linewidth=2, label="sum")
    for axes, title in ((above, "One by one"), (below, "Added up")):
        axes.set(ylabel="level", ylim=(-1.5, 1.5), xlim=(0, times_ms[-1]))
        axes.set_title(title, loc="left")
        axes.legend(loc="lower right", bbox_to_anchor=(1, 1), ncols=5, frameon=False, borderpad=0)
    below.set_xlabel("time in ms")
    return Shown(figure, _in_words(hertz, order, waves.sum(0)))


def _in_words(hertz, order, wave):
    sizes = ", ".join(f"{4 / np.pi / n:.2f} at {n * hertz:g} Hz" for n in order)
    words = "one sine" if len(order) == 1 else f"{len(order)} sines"
    middle = wave[round(POINTS / CYCLES / 4)]
    return (f"Two cycles of a square wave of {hertz:g} Hz, and {words}, with the highest level {sizes}.\n"
            f"Added up they come to {middle:.2f} in the middle of the first half-cycle, where the square wave "
            f"is at 1, and cross zero where it does.")


def low_passed(sound, cutoff_hz):
    """A sound through a low-pass filter of fourth order (Butterworth) whose delay is made good.

    Parameters
    ----------
    sound : Sound
    cutoff_hz : float
        At this frequency 71 % of a sine passes; of higher ones ever less.

    Returns
    -------
    Sound
    """
    if not cutoff_hz > 0:
        raise SettingError(f"cutoff_hz must lie above 0 Hz, got {cutoff_hz!r} Hz: 2000 takes the corners of a tape")
    table = sound.samples.reshape(sound.frames, -1)
    twice = 2 * sound.frames  # silence behind, so that the end does not reach round to the start
    hertz = np.fft.rfftfreq(twice, 1 / sound.rate)
    passing = 1 / np.sqrt(1 + (hertz / cutoff_hz) ** (2 * FILTER_ORDER))
    spectrum = np.fft.rfft(table, twice, axis=0)
    heard = np.fft.irfft(spectrum * passing[:, None], axis=0)[: sound.frames]
    return Sound(heard.astype(np.float32).reshape(sound.samples.shape), sound.rate)


def built_of_sines(sound, build, count):
    """A tape drawn anew: each of its half-cycles by a function that builds square waves of sines.

    Parameters
    ----------
    sound : Sound
        Mono.
    build : callable
        f in Hz, number of sines, time in seconds since the wave rose -> level.
    count : int
        Sines in each half-cycle.

    Returns
    -------
    Sound
        Silent before the first edge and after the last.
    """
    at = edges(sound.samples, sound.rate)
    times = (np.arange(sound.frames) + 0.5) / sound.rate
    levels = np.zeros(sound.frames)
    borders = np.searchsorted(times, at)
    rising = sound.samples[min(borders[0], sound.frames - 1)] > 0 if len(at) else True
    for k, (start, stop) in enumerate(pairwise(borders)):
        f = 0.5 / (at[k + 1] - at[k])
        sign = PEAK if (k % 2 == 0) == rising else -PEAK
        levels[start:stop] = [sign * build(f, count, float(t - at[k])) for t in times[start:stop]]
    return Sound(levels, sound.rate)
