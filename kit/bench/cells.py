"""Cells and edges: a text as bits, bits as cycles of two lengths, and what a reader makes of the wave."""

from dataclasses import dataclass

import numpy as np

from ..known import SPEEDS, find_format
from ..shown import BLACK, BLUE, VERMILLION
from ..sound import Sound
from ..waves import edges, render
from .fields import State, choice, number, text
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene, Stretch, Words
from .shortreading import read_bits

__all__ = ["CELLS", "Cells", "CellsState", "find"]

FORMAT = find_format("house")
LEADER_CYCLES, TAIL_CYCLES = 12, 8
SHOWN_MS = 7.6  # one byte of ones at ordinary speed, with room on either side
BEFORE_MS = 0.4
EDGE_MS = 0.12  # nearer to the end of the picture a figure would be cut
FULL_16_BIT = 32767
WAV_HEADER_BYTES = 44  # RIFF, format chunk and the data chunk's head, common practice
MOST_DOTTED = 130  # samples that are told apart as dots


@dataclass(frozen=True)
class CellsState(State):
    """A text, how it is written, and which byte of it is looked at."""

    words: str = text("Wind W5", 12, "Text", hint="up to 12 characters")
    byte: int = number(1, 1, 24, 1, "", "Byte to look at", hint="counted from 1")
    speed: str = choice("ordinary", ("half", "ordinary", "double", "quadruple"), "Speed")
    volume_percent: int = number(50, 1, 100, 1, "%", "Volume")
    rate_hz: int = choice(44100, (8000, 11025, 22050, 44100, 48000), "Sample rate", unit="Hz")


@dataclass(frozen=True, eq=False)
class Cells(Result):
    """The wave, what was written and what is read.

    Attributes
    ----------
    samples : ndarray of float32, shape (samples,)
        As a 16-bit file holds them.
    written, read : ndarray of uint8, shape (bits,)
        Bits; of those read there may be fewer.
    written_ms, read_ms : ndarray of float64, shape (bits + 1,)
        Where each cell begins, and the last one ends; of what was not read nothing.
    edges_ms : ndarray of float64, shape (edges,)
        Where the wave crosses zero.
    wrong : ndarray of bool, shape (written bits,)
        True where a bit was read wrongly or not at all.
    byte : int
        Number of the byte looked at, from 0; at most the last.
    """

    samples: np.ndarray
    written: np.ndarray
    written_ms: np.ndarray
    read: np.ndarray
    read_ms: np.ndarray
    edges_ms: np.ndarray
    wrong: np.ndarray
    byte: int


def find(state):
    """Write the text as a wave and read it again.

    Parameters
    ----------
    state : CellsState

    Returns
    -------
    Cells
    """
    data = state.words.encode("utf-8")
    unit_s = FORMAT.unit_s(SPEEDS[state.speed])
    written = FORMAT.frame.to_bits(data)
    leader = FORMAT.leader.encode(LEADER_CYCLES)
    cells = FORMAT.code.encode(written)
    halves_s = unit_s * np.concatenate((leader, cells, FORMAT.leader.encode(TAIL_CYCLES, sync=False)))
    written_s = unit_s * np.concatenate(([0.0], np.cumsum(cells.reshape(-1, 2).sum(axis=1)))) + unit_s * leader.sum()
    wave = render(halves_s, state.rate_hz, state.volume_percent / 100)
    samples = (np.round(wave * FULL_16_BIT) / FULL_16_BIT).astype(np.float32)
    crossings = edges(samples, state.rate_hz)
    read, read_s = read_bits(FORMAT, crossings, len(written))
    wrong = np.ones(len(written), bool)
    wrong[: len(read)] = read != written[: len(read)]
    rate = len(written) / (written_s[-1] - written_s[0]) if len(written) else 0.0
    size = WAV_HEADER_BYTES + 2 * len(samples)
    spare = unit_s / 2 * state.rate_hz
    figures = (
        ("bits wrong", f"{wrong.sum()} of {len(written)}"),
        ("bits per second", f"{rate:.0f}"),
        ("file size", f"{size} bytes"),
        ("samples in the shortest half-cycle", f"{spare:.1f}"),
    )
    words = _in_words(state, data, written, wrong, read, len(crossings), spare)
    return Cells(words, figures, samples, written, 1000 * written_s, read, 1000 * read_s, 1000 * crossings,
                 wrong, max(0, min(state.byte, len(data)) - 1))


def _in_words(state, data, written, wrong, read, crossings, spare):
    if not data:
        return "There is nothing to write: type a text. The wave is leader and sync mark only, without a bit."
    zero_ms, one_ms = (1000 * length * FORMAT.unit_s(SPEEDS[state.speed]) for length in FORMAT.code._cells_units)
    words = (f"{len(data)} {'byte is' if len(data) == 1 else 'bytes are'} {len(written)} bits, each one cycle of "
             f"the wave: a zero lasts {zero_ms:.2f} ms, a one {one_ms:.2f} ms. The reader finds {crossings} edges, ")
    if not len(read):
        words += "but no sync mark, so it does not know where the bits begin and reads nothing."
    else:
        words += f"measures the time between them, and reads “{_readable(FORMAT.frame.to_bytes(read)[0])}”: "
        words += _wrong_in_words(wrong) if wrong.any() else "every bit is right."
    if wrong.any() and spare < 1.5:
        words += f" With {spare:.1f} samples to the shortest half-cycle, edges fall between the samples and are lost."
    return words


def _wrong_in_words(wrong):
    return f"{wrong.sum()} of {len(wrong)} bits are wrong; in the picture they are hatched."


def _readable(data):
    """What was read as text; what is none, or cannot be shown, as a dot in the middle of the line."""
    letters = bytes(data).decode("utf-8", errors="replace")
    return "".join(each if each.isprintable() and each != "\ufffd" else "·" for each in letters)


def draw(state, result):
    """Written bits, wave with edges, read bits: on one time axis."""
    first = result.written_ms[min(8 * result.byte, len(result.written_ms) - 1)] - BEFORE_MS
    span = (float(first), float(first + SHOWN_MS))
    grid = tuple(place for place in result.written_ms if span[0] <= place <= span[1])
    axis = {"x_span": span, "x_label": "time in ms from the start of the recording", "grid": grid}
    ends = tuple(Level(place, name="", upright=True, colour=BLACK, dash="")
                 for place in _byte_ends(result) if place <= span[1])
    written = Pane(y_span=(0, 1), y_label="written", bare=True, share=0.22, title=_byte_in_words(state, result),
                   items=(*ends, _bits(result.written, result.written_ms, span)), **axis)
    wrong = np.flatnonzero(result.wrong[: len(result.read)])
    hatched = [Stretch(*result.read_ms[k : k + 2]) for k in wrong if _inside(result.read_ms[k], span)]
    read = Pane(y_span=(0, 1), y_label="read", bare=True, share=0.22,
                items=(*hatched, *ends, _bits(result.read, result.read_ms, span)), **axis)
    panes = written, _wave_pane(state, result, axis, ends), read
    return Scene(panes, _picture_in_words(state, result, span), height=400)


def _byte_ends(result):
    """Where the byte looked at begins and ends, in ms; nothing if there is none."""
    return tuple(float(place) for place in result.written_ms[8 * result.byte :][:9:8]) if len(result.written) else ()


def _wave_pane(state, result, axis, ends):
    from_ms, to_ms = axis["x_span"]
    times_ms = 1000 * (np.arange(len(result.samples)) + 0.5) / state.rate_hz
    near = (times_ms > from_ms - 0.5) & (times_ms < to_ms + 0.5)
    look = "dots" if np.count_nonzero(near) <= MOST_DOTTED else "line"
    crossings = result.edges_ms[(result.edges_ms >= from_ms) & (result.edges_ms <= to_ms)]
    name = "wave, its samples as dots" if look == "dots" else "wave"
    items = (*ends, Line(times_ms[near], result.samples[near], name, BLUE, look=look),
             Marks(crossings, np.zeros(len(crossings)), "edges the reader finds", VERMILLION))
    return Pane(y_span=(-1.1, 1.1), y_label="level", items=items, **axis)


def _inside(place, span):
    return span[0] - 0.5 <= place <= span[1] + 0.5


def _bits(bits, times_ms, span):
    """Each bit in the middle of its cell, those that are in sight."""
    if not len(bits):
        return Words((), ())
    middles = (times_ms[:-1] + times_ms[1:]) / 2
    seen = (middles > span[0] + EDGE_MS) & (middles < span[1] - EDGE_MS)
    return Words(middles[seen], tuple(str(bit) for bit in bits[seen]))


def _byte_in_words(state, result):
    data = state.words.encode("utf-8")
    if not data:
        return "Nothing written"
    value = data[result.byte]
    letter = f" “{chr(value)}”" if 32 <= value < 127 else ""
    return f"Byte {result.byte + 1} of {len(data)}:{letter} = {value} = {value:08b}"


def _picture_in_words(state, result, span):
    bits = "".join(str(bit) for bit in result.written[8 * result.byte :][:8])
    read = "".join(str(bit) for bit in result.read[8 * result.byte :][:8]) or "nothing"
    count = np.count_nonzero((result.edges_ms >= span[0]) & (result.edges_ms <= span[1]))
    ends = _ends_in_words(result, span)
    return (f"{_byte_in_words(state, result)}, from {span[0]:.1f} to {span[1]:.1f} ms.{ends} "
            f"Written {bits or 'nothing'}, read {read}; the wave reaches {np.abs(result.samples).max():.2f} of "
            f"full scale and has {count} edges here.")


def _ends_in_words(result, span):
    ends = _byte_ends(result)
    if not ends:
        return ""
    words = f" The byte lasts from {ends[0]:.2f} to {ends[1]:.2f} ms: "
    if ends[1] > span[1]:
        return words + "a solid line marks where it begins, and it ends beyond the picture."
    return words + "solid lines mark where it begins and ends."


def sound(state, result):
    """The wave with its leader, as it would go to a recorder, only quietly."""
    return Sound(result.samples, state.rate_hz)


CELLS = Experiment(
    "cells",
    "From letters to edges",
    "What changes on the tape, and in what is read from it, when text, speed, volume or sample rate change?",
    CellsState, find, draw, sound,
)
