"""Coupling: raw levels and another code through a coupling capacitor, on a tape that may run too fast or slow."""

import functools
from dataclasses import dataclass

import numpy as np

from ..comparison import CODES
from ..passage import Carried, Condition, carried
from ..shown import BLACK, BLUE, VERMILLION
from ..sound import Sound
from .bitrows import bit_row, differing
from .fields import State, choice, number, text
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene

__all__ = ["COUPLING", "Coupling", "CouplingState", "find"]

RAW = "raw levels"
CONTENTS = ("text", "random bits", "black picture")
BITS_PER_SECOND = 1200
RATE = 48_000
BYTES = 4
NOISE = {"eb_n0_db": 26.0}  # a little hiss: where nothing else sounds, it is what is heard
SEED = 3
AROUND_BITS = 1.5  # shown before the message and after it


@dataclass(frozen=True)
class CouplingState(State):
    """What is written, in which code beside raw levels, and what the way to the reader does to it."""

    content: str = choice("text", CONTENTS, "What is written")
    words: str = text("Wind", BYTES, "Text", hint=f"up to {BYTES} characters")
    code: str = choice("cycle length", tuple(name for name in CODES if name != RAW), "The other code")
    corner_hz: int = number(50, 0, 500, 10, "Hz", "Corner of the coupling",
                            hint="held levels and lower tones are lost; 0 Hz loses nothing")
    speed_percent: float = number(0.0, -10.0, 10.0, 0.5, "%", "Speed error",
                                  hint="how much faster the tape runs than the reader is told")


@dataclass(frozen=True, eq=False)
class Coupling(Result):
    """Both codes on their way.

    Attributes
    ----------
    bits : ndarray of uint8, shape (bits,)
    raw, other : Carried
    raw_wrong, other_wrong : ndarray of bool, shape (bits,)
        True where a bit was read wrongly or not at all.
    run_bits : int
        Longest row of equal bits.
    run_level : float
        What is left of the raw level at its end, without hiss; 1 is all.
    written_edges, found_edges : int
        Of raw levels, inside the message.
    """

    bits: np.ndarray
    raw: Carried
    other: Carried
    raw_wrong: np.ndarray
    other_wrong: np.ndarray
    run_bits: int
    run_level: float
    written_edges: int
    found_edges: int


def _bits(state):
    if state.content == "black picture":
        return np.zeros(8 * BYTES, np.uint8)
    if state.content == "random bits":
        return np.random.default_rng(SEED).integers(0, 2, 8 * BYTES).astype(np.uint8)
    return np.unpackbits(np.frombuffer(state.words.encode("utf-8")[:BYTES], np.uint8))


def _longest_run(bits):
    """Where the longest row of equal bits begins and ends."""
    if not len(bits):
        return 0, 0
    turns = np.concatenate(([0], np.flatnonzero(np.diff(bits.astype(int))) + 1, [len(bits)]))
    longest = int(np.argmax(np.diff(turns)))
    return int(turns[longest]), int(turns[longest + 1])


@functools.lru_cache(maxsize=32)
def _carried(name, bits, corner_hz, speed_percent, noisy, seed):
    condition = Condition(coupling_hz=corner_hz, speed_percent=speed_percent, **(NOISE if noisy else {}))
    bits = np.frombuffer(bits, np.uint8)
    return carried(CODES[name], bits, condition, bits_per_second=BITS_PER_SECOND, rate=RATE, seed=seed)


def _cell_s(state):
    """How long a bit of raw levels lasts as it is heard."""
    return 1 / BITS_PER_SECOND / (1 + state.speed_percent / 100)


def _raw_start_s(state, raw):
    """Where the first bit of the message begins: a one is written before it, to tell which level is which."""
    return raw.start_s + _cell_s(state)


def find(state):
    """Write the bits in both codes, send them through the coupling, and read them.

    Parameters
    ----------
    state : CouplingState

    Returns
    -------
    Coupling
    """
    bits = _bits(state)
    way = bits.tobytes(), state.corner_hz, state.speed_percent
    raw, other = (_carried(name, *way, True, SEED) for name in (RAW, state.code))
    raw_wrong, other_wrong = (differing(bits, one.cells.bits) for one in (raw, other))
    first, stop = _longest_run(bits)
    begin_s = _raw_start_s(state, raw)
    clean = _carried(RAW, *way, False, SEED).arrived
    end = round((begin_s + stop * _cell_s(state)) * RATE) - 2
    left = abs(float(clean[end])) if len(bits) else 1.0
    written = int(np.count_nonzero(np.diff(bits.astype(int))))
    inner_s = begin_s + _cell_s(state) * np.array([0.5, len(bits) - 0.5])
    found = int(np.count_nonzero((raw.edges_s > inner_s[0]) & (raw.edges_s < inner_s[1])))
    figures = (
        ("raw levels: bits wrong", f"{raw_wrong.sum()} of {len(bits)}"),
        (f"{state.code}: bits wrong", f"{other_wrong.sum()} of {len(bits)}"),
        ("longest run of equal bits", f"{stop - first}, of its level {100 * left:.0f} % left"),
        ("edges of the raw levels", f"{written} written, {found} found"),
    )
    words = _in_words(state, bits, raw_wrong, other_wrong, stop - first, left, written, found)
    return Coupling(words, figures, bits, raw, other, raw_wrong, other_wrong, stop - first, left, written, found)


def _in_words(state, bits, raw_wrong, other_wrong, run, left, written, found):
    if not len(bits):
        return "There is nothing to write: type a text. Only the tone before and after it is there."
    held_ms = 1000 * run / BITS_PER_SECOND
    words = f"In raw levels the longest run of equal bits is {run}: a level held for {held_ms:.0f} ms. "
    if state.corner_hz:
        words += f"The coupling lets it sag to {100 * left:.0f} % of itself"
        words += ", so that it is lost in the hiss. " if left < 0.1 else ". "
    else:
        words += "With no coupling it stays where it is. "
    words += f"The message has {written} edges in raw levels, and the reader finds {found}. "
    if not written and found:
        words += "Those are of the hiss: nothing on the tape tells how many bits went by. "
    elif not written:
        words += "Without an edge there is nothing by which to count how many bits went by. "
    slip = run * abs(state.speed_percent) / 100
    if slip >= 0.5:
        words += f"Over that run the speed error adds up to {slip:.1f} bits, with no edge to put the clock right. "
    both = (("Raw levels", raw_wrong), (state.code.capitalize(), other_wrong))
    return words + " ".join(_wrong_in_words(*one) for one in both)


def _wrong_in_words(name, wrong):
    if not wrong.any():
        return f"{name}: every bit is right."
    first = 1 + int(np.argmax(wrong))
    return f"{name}: {wrong.sum()} of {len(wrong)} bits are wrong or missing, the first of them bit {first}."


def draw(state, result):
    """For each code its wave before and after, and the bits that are read."""
    cell_ms = 1000 * _cell_s(state)
    begin_ms = 1000 * _raw_start_s(state, result.raw)
    length_ms = max(len(result.bits), 8) * cell_ms
    around = AROUND_BITS * cell_ms
    shift_ms = {"raw": begin_ms, "other": 1000 * result.other.start_s}
    axis = {"x_span": (-around, length_ms + around), "x_label": "time in ms from the first bit on"}
    written = bit_row("written", result.bits, cell_ms * np.arange(len(result.bits) + 1), title="Raw levels", **axis)
    panes = [
        written,
        _wave_pane(result.raw, shift_ms["raw"], axis, "threshold"),
        bit_row("read", result.raw.cells.bits, 1000 * result.raw.cells.times - shift_ms["raw"],
                wrong=result.raw_wrong, **axis),
        _wave_pane(result.other, shift_ms["other"], axis, "", state.code.capitalize()),
        bit_row("read", result.other.cells.bits, 1000 * result.other.cells.times - shift_ms["other"],
                wrong=result.other_wrong, **axis),
    ]
    return Scene(tuple(panes), _picture_in_words(state, result), height=560)


def _wave_pane(one, shift_ms, axis, label, title=""):
    from_ms, to_ms = axis["x_span"]
    times_ms = 1000 * (np.arange(len(one.sent)) + 0.5) / RATE - shift_ms
    near = (times_ms > from_ms) & (times_ms < to_ms)
    edges_ms = 1000 * one.edges_s - shift_ms
    edges_ms = edges_ms[(edges_ms > from_ms) & (edges_ms < to_ms)]
    items = (Line(times_ms[near], one.sent[near], "as written", BLACK, "dot"),
             Line(times_ms[near], one.heard[near], "as the reader sees it", BLUE),
             Level(0.0, label, name="", colour=VERMILLION),
             Marks(edges_ms, np.full(len(edges_ms), -1.75), "edges found", VERMILLION, "|"))
    return Pane(y_span=(-2.0, 2.0), y_label="level", items=items, title=title, **axis)


def _picture_in_words(state, result):
    bits = "".join(map(str, result.bits)) or "nothing"
    read = ["".join(map(str, one.cells.bits)) or "nothing" for one in (result.raw, result.other)]
    return (f"Two waves, each as written and as the reader sees it after a coupling of {state.corner_hz} Hz. "
            f"Written {bits}. Above, raw levels: at the end of the longest run {100 * result.run_level:.0f} % of the "
            f"level is left; read {read[0]}. Below, {state.code}: read {read[1]}.")


def sound(state, result):
    """Raw levels as they arrive, hiss and all."""
    return Sound((0.25 * np.clip(result.raw.arrived, -2, 2)).astype(np.float32), RATE)


COUPLING = Experiment(
    "coupling",
    "Raw bits through a capacitor",
    "Why can bits not be put on a tape as they are, high for one and low for zero?",
    CouplingState, find, draw, sound,
)
