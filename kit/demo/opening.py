"""Three scenes that open: words become sound and words again, what one letter looks like, where a loader begins."""

from itertools import pairwise

import numpy as np

from ..deck import decks
from ..player import play
from ..shown import BLACK, BLUE, SKY, VERMILLION, Shown
from ..sound import Sound
from ..tape import decode, encode
from ..waves import edges, render
from .sheet import TYPE_PT, sheet, title
from .slide import Slide, scene
from .strips import HOUSE, LINE, RATE, as_bytes, quoted, read_strip, written

__all__ = ["outline", "parts", "wave", "words"]

LETTER = b"W"
DECK, SEED = "home", 5  # a simulated recorder
LEAD_IN_S = 0.4
TONE_S = 1.0
COLUMNS = 360  # points along the outline of a tape
PARTS = {1: "name", 2: "words"}  # what the two kinds of block hold
LEADER_SHOWN = 14  # half-cycles


@scene("Can a cassette recorder keep words?")
def words():
    """A line of words becomes sound, and the sound words again.

    Returns
    -------
    Slide
    """
    sent = encode(LINE, name="log.txt", lead_in_s=LEAD_IN_S)
    tape = decks[DECK].copy(sent, seed=SEED)
    reading = decode(tape)
    (file,) = reading.files
    figure, (axes,) = sheet()
    times_s, low, high = outline(tape)
    axes.plot(times_s, high, color=BLUE, linewidth=1.5)
    axes.plot(times_s, low, color=BLUE, linewidth=1.5)
    _label_blocks(axes, reading.blocks)
    axes.text(tape.seconds / 2, 0, "the outline of the sound", ha="center", va="center", fontsize=TYPE_PT, color=BLUE)
    axes.text(0, 1.12, f"in:   {quoted(LINE)}", fontsize=TYPE_PT)
    axes.text(0, -1.02, f"out: {quoted(file.data)}", fontsize=TYPE_PT)
    axes.set(xlabel="time in seconds", xlim=(0, tape.seconds), ylim=(-1.15, 1.3), yticks=[])
    axes.spines["left"].set_visible(False)
    text = (f"The outline of {tape.seconds:.1f} s of sound as a simulated recorder plays it, between the words that "
            f"went in, {quoted(LINE)}, and those that came out, {quoted(file.data)}. Its blocks: "
            f"{_blocks_in_words(reading.blocks)}; the rest is leader.")
    return Slide(
        (f"{len(LINE)} letters went onto a cassette as {sent.seconds:.1f} s of sound.",
         f"Off the cassette came {len(file.data)} letters{', the very same.' if file.data == LINE else '.'}"),
        "A letter is a number, a number is ones and zeros, and each of these is a piece of wave, long or short.",
        Shown(figure, text), {"sent": LINE, "read": file.data}, play(tape),
    )


def outline(sound):
    """Times, lowest and highest level of a sound in so many columns."""
    borders = np.linspace(0, sound.frames, COLUMNS + 1).astype(int)
    pieces = [sound.samples[first:stop] for first, stop in pairwise(borders)]
    return borders[:-1] / sound.rate, [piece.min() for piece in pieces], [piece.max() for piece in pieces]


def _label_blocks(axes, blocks):
    """A bracket over each block, and what it holds."""
    for block in blocks:
        start, stop = block.span_s
        axes.plot([start, start, stop, stop], [0.62, 0.7, 0.7, 0.62], color=BLACK, linewidth=2)
        axes.text((start + stop) / 2, 0.74, PARTS[block.kind], ha="center", va="bottom", fontsize=TYPE_PT)


def _blocks_in_words(blocks):
    spans = [f"{PARTS[block.kind]} at {block.span_s[0]:.2f} to {block.span_s[1]:.2f} s" for block in blocks]
    return ", ".join(spans)


@scene("What does one letter look like on tape?")
def wave():
    """One letter as wave and as bits; zeros and ones to listen to.

    Returns
    -------
    Slide
    """
    strip = written(LETTER)
    cells = read_strip(strip, strip.sound)
    times_ms = 1000 * (cells.times - cells.times[0])
    start_s, stop_s = cells.times[0], cells.times[-1]
    figure, (axes,) = sheet()
    seen_ms, levels = _levels(strip.sound, start_s, stop_s)
    axes.plot(seen_ms, levels, color=BLUE, linewidth=3)
    for border in times_ms:
        axes.axvline(border, color=SKY, linewidth=1.5, linestyle=":")
    for bit, middle in zip(cells.bits, (times_ms[:-1] + times_ms[1:]) / 2, strict=True):
        axes.text(middle, 0.7, str(bit), ha="center", va="center", fontsize=1.5 * TYPE_PT)
    axes.set(xlabel="time in thousandths of a second", ylabel="level", ylim=(-0.65, 0.9), yticks=[-0.5, 0, 0.5])
    axes.set_xlim(times_ms[0] - 0.05, times_ms[-1] + 0.05)
    bits = " ".join(map(str, cells.bits))
    zero_ms, one_ms = (np.diff(times_ms)[cells.bits == bit].mean() for bit in (0, 1))
    title(axes, f"{quoted(LETTER)} = {LETTER[0]} = {LETTER[0]:08b}")
    text = (f"The wave of {quoted(LETTER)}, number {LETTER[0]}: eight cycles, read as {bits}; "
            f"a zero lasts {zero_ms:.2f} ms, a one {one_ms:.2f} ms.")
    return Slide(
        (f"Short cycle: 0, {zero_ms:.2f} ms.", f"Long cycle: 1, {one_ms:.2f} ms.",
         "To hear: a second of zeros, then a second of ones, an octave lower."),
        "Tape holds no steady level, but it keeps when the wave turns.",
        Shown(figure, text), {"sent": LETTER, "read": as_bytes(strip, cells)}, play(_zeros_and_ones()),
    )


def _levels(sound, start_s, stop_s):
    """Times in ms from `start_s` on, and samples."""
    first, stop = int(start_s * sound.rate), int(stop_s * sound.rate) + 1
    return 1000 * ((np.arange(first, stop) + 0.5) / sound.rate - start_s), sound.samples[first:stop]


def _zeros_and_ones():
    lengths = [HOUSE.code.encode([bit]).sum() * HOUSE.unit_s() for bit in (0, 1)]
    bits = np.repeat([0, 1], [round(TONE_S / length) for length in lengths])
    return Sound(render(HOUSE.unit_s() * HOUSE.code.encode(bits), RATE), RATE)


@scene("How does a loader know where the words begin?")
def parts():
    """Leader, sync mark and data, by how long the wave's half-cycles last.

    Returns
    -------
    Slide
    """
    strip = written(LINE, leader_s=1.5)
    sound = strip.sound
    cells = read_strip(strip, sound)
    turns_s = edges(sound.samples, sound.rate)
    halves_ms = 1000 * np.diff(turns_s)
    data = int(np.argmin(np.abs(turns_s - cells.times[0])))
    sync = data - 2 * HOUSE.leader.sync_cycles
    bits = np.repeat(cells.bits[:8], 2)  # of the first letter, for each half-cycle
    shown = {"leader": halves_ms[sync - LEADER_SHOWN : sync], "sync": halves_ms[sync:data],
             "data": halves_ms[data : data + len(bits)]}
    lengths = {"leader": shown["leader"].mean(), "sync": shown["sync"].mean(),
               "ones": shown["data"][bits == 1].mean(), "zeros": shown["data"][bits == 0].mean()}
    read = as_bytes(strip, cells)
    text = (f"Lengths of half-cycles: leader {lengths['leader']:.2f} ms; sync, {len(shown['sync'])} of "
            f"{lengths['sync']:.2f} ms; then data, {lengths['zeros']:.2f} ms for zeros and {lengths['ones']:.2f} ms "
            f"for ones.")
    return Slide(
        ("Leader: an even tone.", f"Sync: {HOUSE.leader.sync_cycles} cycles that are shorter.",
         f"Then data: {quoted(read)}"),
        "The leader shows how fast the tape runs, and nothing else looks like the sync mark.",
        Shown(_draw_parts(shown, lengths), text), {"sent": LINE, "read": read}, play(sound),
    )


def _draw_parts(shown, lengths):
    """A mark for each half-cycle, as high as it is long."""
    figure, (axes,) = sheet()
    first = 0
    for (name, halves), colour, mark in zip(shown.items(), (BLUE, VERMILLION, BLACK), "os^", strict=True):
        numbers = first + np.arange(len(halves))
        axes.plot(numbers, halves, mark, color=colour, markersize=9)
        axes.text(numbers.mean(), 1.02, name, ha="center", fontsize=TYPE_PT, color=colour)
        first += len(halves)
        axes.axvline(first - 0.5, color=SKY, linewidth=1.5, linestyle=":")
    for name in ("ones", "zeros"):
        axes.text(first - 0.7, lengths[name] + 0.05, name, ha="right", fontsize=TYPE_PT)
    axes.set(xlabel="half-cycles, one after the other", ylabel="length in ms", ylim=(0, 1.15), xlim=(-1, first))
    axes.set_xticks([])
    axes.set_yticks([0, *lengths.values()], ["0", *(f"{length:.2f}" for length in lengths.values())])
    return figure
