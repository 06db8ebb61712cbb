"""Speeds: a tape that does not run steadily, and four readers, in fixed cells and in cycle length."""

from dataclasses import dataclass

import numpy as np

from ..blocks import DATA, DataPart
from ..frames import Frame
from ..known import find_format
from ..readers.counter import Counter
from ..shown import BLUE, VERMILLION
from ..sound import Sound
from ..waves import render
from .bitrows import differing
from .fields import MINUS, State, choice, number
from .longwork import as_parts
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene
from .shortreading import read_cells

__all__ = ["SPEEDS", "Speeds", "SpeedsState", "find", "heard_at"]

CHARACTERS = Frame(start_bits="0", stop_bits="11")  # so that a clock can be set at each one
TAIL_CYCLES = 100  # so that a clock that runs slow finds edges to its end
FORMATS = {
    "fixed cells": find_format("steady").changed(frame=CHARACTERS, tail_cycles=TAIL_CYCLES),
    "cycle length": find_format("house").changed(frame=CHARACTERS, tail_cycles=TAIL_CYCLES),
}
BLOCK, CHARACTER = "fixed clock, set once a block", "fixed clock, set at each character"
TIMER, PATIENT = "timer", "patient reader"
DATA_BYTES = 96
FIXED_CELLS_A_SECOND = FORMATS["fixed cells"].bits_per_second
LEADER_S = 0.25
LOOP_S = 5e-6  # of the fixed clock: fine, so that its speed alone matters
RATE = 44100
SEED = 4
STEP_S = 1e-4  # between two moments at which the way of the tape is worked out
MOST_LATE = 3.0  # bits shown
NOWHERE = np.zeros(0)
BEGUN = 0.1  # part that is done before reading


@dataclass(frozen=True)
class SpeedsState(State):
    """How the tape runs, and who reads what."""

    code: str = choice("fixed cells", tuple(FORMATS), "Code")
    reader: str = choice(BLOCK, (BLOCK, CHARACTER, TIMER, PATIENT), "Reader")
    wow_percent: float = number(1.0, 0.0, 12.0, 0.5, "%", "Wobble, how deep", hint="peak change of the speed")
    wow_hz: float = number(2.0, 0.2, 20.0, 20, "Hz", "Wobble, how often", log=True)
    steady_percent: float = number(0.0, -40.0, 40.0, 0.5, "%", "Steady speed error", hint="faster is plus")


@dataclass(frozen=True, eq=False)
class Speeds(Result):
    """The tape as it ran, and what was read.

    Attributes
    ----------
    bits, read : ndarray of uint8, shape (bits,)
        Of those read there may be fewer.
    wrong : ndarray of bool, shape (written bits,)
    edges_s : ndarray of float64, shape (edges,)
        Where the wave turns, as it is heard.
    borders_s : ndarray of float64, shape (bits + 1,)
        Where each cell begins as it is heard, and the last one ends.
    speed_percent : ndarray of float64, shape (bits + 1,)
        How much faster than nominal the tape runs there.
    late_bits : ndarray of float64, shape (read bits,)
        How much later than the bit itself the reader has it, in bits.
    units : ndarray of float64, shape (bits,)
        How long each cell is as it is heard, in nominal units.
    threshold_units : ndarray of float64, shape (read bits,)
        Of cycle length: beyond which length the reader takes a cycle for a one, in nominal units.
    """

    bits: np.ndarray
    read: np.ndarray
    wrong: np.ndarray
    edges_s: np.ndarray
    borders_s: np.ndarray
    speed_percent: np.ndarray
    late_bits: np.ndarray
    units: np.ndarray
    threshold_units: np.ndarray


def heard_at(places_s, steady_percent, wow_percent, wow_hz, turns):
    """When places of a tape pass the head.

    Parameters
    ----------
    places_s : ndarray of float64, shape (n,)
        Along the tape, in seconds at nominal speed.
    steady_percent, wow_percent, wow_hz : float
        Speed error, peak of the wow, and its rate.
    turns : float
        Where the wow begins, in turns.

    Returns
    -------
    times_s : ndarray of float64, shape (n,)
    speed : ndarray of float64, shape (n,)
        Relative to nominal, at these times.

    Examples
    --------
    >>> heard_at(np.array([0.0, 1.1]), 10.0, 0.0, 1.0, 0.0)[0].round(6).tolist()
    [0.0, 1.0]
    """
    mean, depth, angle = 1 + steady_percent / 100, wow_percent / 100, 2 * np.pi * wow_hz
    slowest = mean - depth
    times = np.arange(0, places_s[-1] / slowest + 2 * STEP_S, STEP_S)
    way = mean * times + depth / angle * (np.cos(2 * np.pi * turns) - np.cos(angle * times + 2 * np.pi * turns))
    heard = np.interp(places_s, way, times)
    return heard, mean + depth * np.sin(angle * heard + 2 * np.pi * turns)


def _tape(format):
    """Bits of a block of random bytes, its half-cycles, and where its cells begin along the tape, in seconds."""
    rng = np.random.default_rng(SEED)
    content = DataPart(0x1D5E, 0, rng.bytes(DATA_BYTES)).body()
    bits = format.block_bits(content)
    halves_s = format.block_half_cycles(content, LEADER_S)
    lengths = format.code._cells_units
    cells_s = format.unit_s() * np.where(bits, lengths[1], lengths[0])
    tail_s = format.tail_cycles * format.leader.leader_units * format.unit_s()
    stop_s = halves_s.sum() - tail_s
    borders = stop_s - cells_s.sum() + np.concatenate(([0.0], np.cumsum(cells_s)))
    return bits, halves_s, borders, rng.random()


def find(state):
    """Play the tape and read it; a generator, as the patient reader takes its time.

    Parameters
    ----------
    state : SpeedsState

    Yields
    ------
    float
        Part that is done.

    Returns
    -------
    Speeds
    """
    format = FORMATS[state.code]
    bits, halves_s, borders, turns = _tape(format)
    way = state.steady_percent, state.wow_percent, state.wow_hz, turns
    edges_s, _ = heard_at(np.concatenate(([0.0], np.cumsum(halves_s))), *way)
    borders_s, speed = heard_at(borders, *way)
    yield BEGUN
    read, times_s, unit_s = yield from _read(state, format, edges_s, len(bits))
    wrong = differing(bits, read)
    cell_s = format.unit_s() * np.mean(format.code._cells_units)
    late = (times_s[: len(read)] - borders_s[: len(read)]) / cell_s
    units = np.diff(borders_s) / format.unit_s()
    threshold = format.code.threshold_units * unit_s / format.unit_s() if state.code == "cycle length" else NOWHERE
    result = Speeds("", (), bits, read, wrong, edges_s, borders_s, 100 * (speed - 1), late, units, threshold)
    return _with_words(state, result)


def _read(state, format, edges_s, count):
    """Bits, times of their cells, and the length of a unit as it was tracked, all as a reader finds them."""
    if state.reader == PATIENT:
        return (yield from _patiently(format, edges_s))
    restart = {BLOCK: "block", CHARACTER: "character"}.get(state.reader)
    counter = None if restart is None else Counter(LOOP_S, restart=restart)
    opening = format.frame.to_bits(bytes([DATA]))  # the kind of block
    cells = read_cells(format, edges_s[1:-1], count, counter, opening)
    if cells is None:
        return np.zeros(0, np.uint8), NOWHERE, NOWHERE
    return cells.bits, cells.times, cells.unit


def _patiently(format, edges_s):
    from ..readers.patient import PatientLane

    lane = PatientLane([format], RATE)
    blocks = lane.feed(render(np.diff(edges_s), RATE))
    blocks += yield from as_parts(lane.finishing(), BEGUN)
    if not blocks:
        return np.zeros(0, np.uint8), NOWHERE, NOWHERE
    block = max(blocks, key=lambda one: len(one.bits))
    return block.bits, block.start_s + block.cell_s.astype(float), np.full(len(block.bits), block.unit_s)


def _with_words(state, found):
    """The result with its text and figures."""
    wrong = found.wrong
    half = np.flatnonzero(np.abs(found.late_bits) > 0.5)
    first = f"bit {1 + int(np.argmax(wrong))}" if wrong.any() else "none"
    slip = f"from bit {1 + int(half[0])} on" if len(half) else "nowhere"
    error = abs(state.steady_percent) / 100
    rule = f"{0.5 / error:.0f} bits" if error else "no steady error"
    figures = (("bits wrong", f"{wrong.sum()} of {len(wrong)}"), ("first wrong bit", first),
               ("half a bit off", slip), ("0.5 / steady error", rule))
    values = {name: getattr(found, name) for name in Speeds.__dataclass_fields__ if name not in ("text", "figures")}
    return Speeds(_in_words(state, found, half), figures, **values)


def _in_words(state, found, half):
    if not len(found.read):
        name = state.reader.split(",")[0]
        return f"The {name} reads nothing: it does not see where the block begins, or gives up. Every bit is missing."
    words = "Every bit is right. "
    if found.wrong.any():
        words = f"{found.wrong.sum()} of {len(found.bits)} bits are wrong or missing. "
    if state.reader in (TIMER, PATIENT):
        return words + f"The {state.reader} measures how fast the tape runs and follows it from bit to bit."
    if state.code == "cycle length":
        low, high = found.units.min(), found.units.max()
        return words + ("A fixed threshold judges each cycle for itself, so no error adds up: cycles last "
                        f"{low:.2f} to {high:.2f} units, and only one that crosses 1.5 units is taken for the other.")
    return words + _clock_in_words(state, found, half)


def _clock_in_words(state, found, half):
    most = float(np.abs(found.late_bits).max())
    if state.reader == CHARACTER:
        words = "The clock is set anew at each start bit, so the error adds up over one character of 11 bits only"
        return words + (", and stays below half a bit." if not len(half) else
                        ", but here that is too much: start bits are missed, and with them whole characters.")
    words = f"The clock never adjusts, so the error adds up from bit to bit, here to {most:.1f} bits. "
    if len(half):
        words += f"From bit {1 + int(half[0])} on it is more than half a bit off and reads the neighbour. "
    if state.wow_percent:
        swing = state.wow_percent / 100 / (np.pi * state.wow_hz) * FIXED_CELLS_A_SECOND
        wobble = f"A wobble of {state.wow_percent:g} % at {state.wow_hz:g} Hz"
        words += f"{wobble} carries it {swing:.1f} bits to and fro: "
        words += "the slower the wobble, the longer it adds up."
    return words.strip()


def draw(state, result):
    """Speed above; what matters to the reader in the middle; wrong bits below."""
    start_s = result.borders_s[0]
    axis = {"x_span": (0.0, float(result.borders_s[-1] - start_s)), "x_label": "time in s from the first bit on"}
    times = result.borders_s - start_s
    reach = max(2.0, 1.15 * float(np.abs(result.speed_percent).max()))
    speed = Pane(y_span=(-reach, reach), y_label="speed in %", title="How much faster the tape runs",
                 items=(Level(0.0, dash="dot"), Line(times, result.speed_percent, "", BLUE)), share=0.8, **axis)
    middle = _length_pane if state.code == "cycle length" else _clock_pane
    bad = times[:-1][result.wrong]
    wrong = Pane(y_span=(0, 1), y_label="wrong", bare=True, share=0.25,
                 items=(Marks(bad, np.full(len(bad), 0.5), "", VERMILLION, "|"),), **axis)
    return Scene((speed, middle(result, times, axis), wrong), _picture_in_words(state, result), height=460)


def _clock_pane(result, times, axis):
    late = np.clip(result.late_bits, -MOST_LATE, MOST_LATE)
    items = (Level(0.5, "half a bit late", colour=VERMILLION), Level(-0.5, "half a bit early", colour=VERMILLION),
             Line(times[: len(late)], late, "reader's clock", BLUE))
    return Pane(y_span=(-MOST_LATE, MOST_LATE), y_label="bits late", title="How far the reader's clock is off",
                items=items, share=1.4, **axis)


def _length_pane(result, times, axis):
    top = max(2.6, 1.1 * float(result.units.max()))
    count = len(result.threshold_units)
    items = (Marks(times[:-1], result.units, "cycles, as heard", BLUE, "|"),
             Line(times[:count], result.threshold_units, "threshold of the reader", VERMILLION, "dash"))
    return Pane(y_span=(0.0, top), y_label="length in units", title="How long each cycle is: zero 1, one 2",
                items=items, share=1.4, **axis)


def _picture_in_words(state, result):
    low, high = result.speed_percent.min(), result.speed_percent.max()
    words = f"Above, the speed, between {low:+.1f} and {high:+.1f} %. ".replace("-", MINUS)
    if state.code == "cycle length":
        words += f"In the middle, cycles between {result.units.min():.2f} and {result.units.max():.2f} units long. "
    elif len(result.late_bits):
        early, late = result.late_bits.min(), result.late_bits.max()
        early, late = max(0, -early), max(0, late)
        words += f"In the middle, the reader's clock, from {early:.1f} bits early to {late:.1f} bits late. "
    return words + f"Below, where the {result.wrong.sum()} wrong bits of {len(result.bits)} lie."


def sound(state, result):
    """The tape as it is heard, wobble and all."""
    return Sound(render(np.diff(result.edges_s), RATE), RATE)


SPEEDS = Experiment(
    "speeds",
    "A tape that does not run steadily",
    "Which reader loses its place when the tape runs too fast, too slow or unevenly, and why?",
    SpeedsState, find, draw, sound,
)
