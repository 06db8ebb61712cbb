"""Two scenes in which a reader goes wrong and another setting, or another reader, does not: level, and time."""

import numpy as np

from ..bench.levels import threshold_edges
from ..bench.speeds import heard_at
from ..deck import Deck
from ..known import find_format
from ..player import play
from ..readers import Counter
from ..shown import BLACK, BLUE, GREEN, SKY, VERMILLION, Shown
from ..sound import Sound
from ..waves import render
from .sheet import TYPE_PT, sheet, title
from .slide import Slide, scene
from .strips import LINE, RATE, as_bytes, quoted, read_strip, written

__all__ = ["clock", "loud"]

HISS_DB = -12  # relative to the wave
SPACING_UM = 1.0  # a little dirt on the head: a wave without it has no slopes
THRESHOLD = 0.1  # of full scale
LOUD_DB, RIGHT_DB = 20, -10
SHOWN_MS = 4.0
SEED = 7

STEADY = find_format("steady")
LOG = b"Mon wind W5, gulls 31. Tue wind N3, boat came. Wed storm, no boat."
WOW_PERCENT, WOW_HZ = 1.5, 0.8
LEADER_S = 1.6
LOOP_S = 5e-6  # fine, so that the speed alone matters


@scene("The tape hisses. Does it help to turn it up?")
def loud():
    """A hissy tape played too loud, and turned down.

    Returns
    -------
    Slide
    """
    strip = written(LINE, leader_s=0.9)
    peak = float(np.abs(strip.sound.samples).max())
    tape = Deck(replay_spacing_um=SPACING_UM, hiss_dbfs=HISS_DB + 20 * np.log10(peak)).play(strip.sound, seed=SEED)
    figure, rows = sheet(2, sharex=True)
    said, outcomes, words, heard = [], {"sent": LINE}, [], []
    for axes, (name, level_db) in zip(rows, (("too loud", LOUD_DB), ("turned down", RIGHT_DB)), strict=True):
        samples = np.clip(tape.samples.astype(float) / peak * 10 ** (level_db / 20), -1, 1)
        turns_s = threshold_edges(samples, THRESHOLD) / RATE
        cells = read_strip(strip, tape, edges_s=turns_s)
        outcomes[name], wrong = as_bytes(strip, cells), _wrong(strip, cells)
        shown = _draw_level(axes, samples, turns_s, strip.data_s)
        title(axes, f"{name}: {wrong} of {len(strip.bits)} bits wrong")
        said.append(f"{name.capitalize()} it reads {quoted(outcomes[name], 24)}")
        words.append(f"{name}, {level_db} dB: {shown} turns found in {SHOWN_MS:g} ms, {wrong} bits wrong in all")
        heard.append(Sound(samples, RATE))
    rows[-1].set_xlabel("time in ms; marks: turns the reader finds")
    text = (f"The wave with hiss, and the reader's thresholds at ±{THRESHOLD:g} of full scale; {'; '.join(words)}. "
            f"Written were {_turns_written(strip)} in that time.")
    return Slide(
        tuple(said),
        "The hiss grows with the wave, until it crosses the reader's threshold by itself.",
        Shown(figure, text), outcomes, play(heard[0]),
    )


def _turns_written(strip):
    turns_ms = 1000 * (np.cumsum(strip.halves_s) - strip.data_s)
    return int(np.count_nonzero((turns_ms > -1e-6) & (turns_ms <= SHOWN_MS)))


def _wrong(strip, cells):
    """Bits that are wrong or were not read."""
    read = cells.bits if cells is not None else strip.bits[:0]
    return len(strip.bits) - int(np.count_nonzero(read == strip.bits[: len(read)]))


def _draw_level(axes, samples, turns_s, data_s):
    """A few milliseconds of wave with the thresholds; gives how many turns the reader finds there."""
    times_ms = 1000 * ((np.arange(len(samples)) + 0.5) / RATE - data_s)
    seen = (times_ms >= 0) & (times_ms <= SHOWN_MS)
    turns_ms = 1000 * (turns_s - data_s)
    turns_ms = turns_ms[(turns_ms >= 0) & (turns_ms <= SHOWN_MS)]
    axes.plot(times_ms[seen], samples[seen], color=BLUE, linewidth=2)
    for level in (THRESHOLD, -THRESHOLD):
        axes.axhline(level, color=VERMILLION, linewidth=1.5, linestyle="--")
    axes.plot(turns_ms, np.full(len(turns_ms), -1.3), "|", color=BLACK, markersize=14, markeredgewidth=2)
    axes.set(xlim=(0, SHOWN_MS), ylim=(-1.6, 1.2), yticks=[-1, 0, 1])
    return len(turns_ms)


@scene("The tape wavers slowly. Does a good clock help?")
def clock():
    """Cells of one length on a tape with slow wow, read by a clock that never adjusts, and by one that follows.

    Returns
    -------
    Slide
    """
    strip = written(LOG, STEADY.changed(tail_cycles=100), LEADER_S)
    way = 0.0, WOW_PERCENT, WOW_HZ, 0.0
    turns_s, _ = heard_at(np.concatenate(([0.0], np.cumsum(strip.halves_s))), *way)
    true_s, _ = heard_at(strip.borders_s, *way)
    tape = Sound(render(np.diff(turns_s), RATE), RATE)
    fixed = read_strip(strip, tape, Counter(LOOP_S))
    following = read_strip(strip, tape)
    late = {"fixed clock": _late(strip, fixed, true_s), "follows the tape": _late(strip, following, true_s)}
    outcomes = {"sent": LOG, "fixed clock": as_bytes(strip, fixed), "follows the tape": as_bytes(strip, following)}
    figure, (axes,) = sheet()
    _draw_late(axes, true_s - true_s[0], late)
    wrong = {name: _wrong(strip, cells) for name, cells in zip(late, (fixed, following), strict=True)}
    title(axes, "How far each reader is off")
    most = {name: float(np.abs(bits).max()) for name, bits in late.items()}
    text = (f"How far two readers are off on a tape whose speed wavers by {WOW_PERCENT:g} % at {WOW_HZ:g} Hz: the "
            f"fixed clock by up to {most['fixed clock']:.1f} bits, the one that follows by "
            f"{most['follows the tape']:.2f} at most; beyond half a bit the neighbour is read. Wrong bits of "
            f"{len(strip.bits)}: {wrong['fixed clock']} and {wrong['follows the tape']}.")
    said = tuple(f"{name.capitalize()}: {wrong[name]} of {len(strip.bits)} bits wrong, {quoted(outcomes[name], 16)}"
                 for name in late)
    return Slide(
        said, "A clock set only once adds up every small error, until it reads the neighbour's bit.",
        Shown(figure, text), outcomes, play(tape),
    )


def _late(strip, cells, true_s):
    """How much later than each bit a reader looks for it, in bits."""
    cell_s = float(np.mean(np.diff(strip.borders_s)))
    return (cells.times[: len(cells.bits)] - true_s[: len(cells.bits)]) / cell_s


def _draw_late(axes, times_s, late):
    styles = ((VERMILLION, "-", -0.9), (GREEN, "--", -1.05))  # colour, dashes, how far below its line a name stands
    for (name, bits), (colour, dashes, below) in zip(late.items(), styles, strict=True):
        times = times_s[: len(bits)]
        axes.plot(times, bits, color=colour, linestyle=dashes, linewidth=3)
        middle = len(bits) // 2
        axes.text(times[middle], bits[middle] + below, name, ha="center", color=colour, fontsize=TYPE_PT)
    for level in (-0.5, 0.5):
        axes.axhline(level, color=SKY, linewidth=2, linestyle=":")
    axes.text(times_s[-1], 0.55, "half a bit", ha="right", va="bottom", fontsize=TYPE_PT)
    axes.set(xlabel="time in seconds", ylabel="bits late", ylim=(-1.3, 3.5), xlim=(0, times_s[-1]))
