"""Tracer: from a byte to its place on the tape, its cells and samples; from a time to the byte that lies there."""

import functools
from dataclasses import dataclass

import numpy as np

from ..blocks import DATA
from ..deck import Deck
from ..known import find_format
from ..sound import Sound
from ..tape import encode
from ..waves import edges
from .fields import State, choice, number, text
from .model import Experiment, Result
from .quickreading import read_at_once
from .tracerviews import BYTE, TIME, draw, place_in_words, value

__all__ = ["TRACER", "Tracer", "TracerState", "find"]

FORMAT = find_format("house").changed(lead_in_s=0.2, gap_s=0.1)
RATE = 44100
NAME = "log.txt"
WEAR = {
    "none": (Deck(), 0.0),
    "a little": (Deck(replay_speed_percent=-1.5, replay_wow_percent=0.3, hiss_dbfs=-45), 0.5),
    "much": (Deck(replay_speed_percent=-3, replay_wow_percent=1.5, hiss_dbfs=-27), 2.0),
}
SEED = 4


@dataclass(frozen=True)
class TracerState(State):
    """A text on a tape, a byte of it, and a time."""

    words: str = text("Wind W5, gulls 31", 24, "Text", hint="up to 24 characters")
    byte: int = number(6, 1, 24, 1, "", "Byte of the text")
    time_s: float = number(0.35, 0.0, 1.4, 0.005, "s", "Time on the tape")
    follows: str = choice(BYTE, (BYTE, TIME), "The wave shown is that of")
    wear: str = choice("a little", tuple(WEAR), "Wear of tape and recorder")
    scratch_ms: int = number(0, 0, 40, 2, "ms", "Scratch in the data block", hint="in its middle")


@dataclass(frozen=True, eq=False)
class Tape:
    """A tape and all that was read off it.

    Attributes
    ----------
    sent : bytes
    sound : Sound
    edges_s : ndarray of float64, shape (edges,)
    reading : Reading
    """

    sent: bytes
    sound: Sound
    edges_s: np.ndarray
    reading: object


@dataclass(frozen=True, eq=False)
class Tracer(Result):
    """Two questions and their answers.

    Attributes
    ----------
    tape : Tape
    byte : int
        Number of the byte asked for, from 0; at most the last.
    span : Span or None
        Where it lies; None if it was lost.
    at_byte, at_time : Place or None
        What lies in the middle of that span, and at the time asked for.
    """

    tape: Tape
    byte: int
    span: object
    at_byte: object
    at_time: object


@functools.lru_cache(maxsize=16)
def _tape(words, wear, scratch_ms):
    """The tape, played by a worn recorder, and read."""
    sent = words.encode("utf-8")
    sound = encode(sent, name=NAME, format=FORMAT, rate=RATE)
    if scratch_ms:
        clean = [block for block in read_at_once(sound, FORMAT).blocks if block.kind == DATA]
        middle = clean[0].middle_s if clean else sound.seconds / 2  # there is no data block of no text
        sound = sound.scratch(max(0.0, middle - scratch_ms / 2000), scratch_ms / 1000, seed=SEED)
    deck, spacing_um = WEAR[wear]
    sound = deck.play(_off_the_head(sound, spacing_um), seed=SEED)
    return Tape(sent, sound, edges(sound.samples, RATE), read_at_once(sound, FORMAT))


def _off_the_head(sound, spacing_um):
    """What a dirty head leaves: by the deck's response at once, which spares a second of imports."""
    if not spacing_um:
        return sound
    size = 1 << (sound.frames - 1).bit_length()  # quick to transform, with silence behind the end
    hertz = np.maximum(np.fft.rfftfreq(size, 1 / RATE), 1.0)
    passes = 10 ** (Deck(replay_spacing_um=spacing_um).response(hertz) / 20)
    return Sound(np.fft.irfft(np.fft.rfft(sound.samples, size) * passes, size)[: sound.frames], RATE)


def find(state):
    """Ask the reading both ways.

    Parameters
    ----------
    state : TracerState

    Returns
    -------
    Tracer
    """
    tape = _tape(state.words, state.wear, state.scratch_ms)
    byte = max(0, min(state.byte, len(tape.sent)) - 1)
    span = at_byte = None
    if tape.reading.files and byte < len(tape.reading.files[0].data):
        span = tape.reading.where(byte)
        at_byte = tape.reading.at((span.start_s + span.stop_s) / 2)
    at_time = tape.reading.at(state.time_s)
    found = Tracer("", (), tape, byte, span, at_byte, at_time)
    figures = (
        ("byte read", value(at_byte) if span else "lost"),
        ("lies at", f"{span.start_s:.4f} s" if span else "lost"),
        ("smallest margin of its bits", f"{span.margin:.2f}" if span else "0"),
        ("at the time chosen", place_in_words(at_time)),
    )
    return Tracer(_in_words(state, found), figures, tape, byte, span, at_byte, at_time)


def _in_words(state, found):
    tape, at_time = found.tape, found.at_time
    if not tape.sent:
        return ("There is no text, and so no data block: only the header lies on the tape, twice. "
                f"At {state.time_s:.3f} s: {place_in_words(at_time)}.")
    words = _byte_in_words(found) + f" At {state.time_s:.3f} s: {place_in_words(at_time)}"
    if at_time is None:
        return words + "; leader and blocks lie elsewhere."
    if at_time.block_byte is None:
        return words + ", a steady tone before it."
    words += f", read as {value(at_time)}"
    if at_time.part == "mark":
        words += "; the first bytes of a data block say which file it belongs to, and where in it"
    return words + (", in doubt." if at_time.block.doubtful[at_time.block_byte] else ".")


def _byte_in_words(found):
    sent = found.tape.sent[found.byte]
    letter = f"“{chr(sent)}” = " if 32 <= sent < 127 else ""
    words = f"Byte {found.byte + 1} of the text was sent as {letter}{sent} = {sent:08b}. "
    if found.span is None:
        return words + "It was not read: it is lost."
    words += f"It lies at {found.span.start_s:.4f} to {found.span.stop_s:.4f} s"
    place = found.at_byte
    if place is None or place.byte != found.byte:
        return words + ", in a gap in which nothing was read."
    read = place.block.content[place.block_byte]
    words += ", and was read right" if read == sent else f", and was read as {value(place)}, which is wrong"
    if place.block.doubtful[place.block_byte]:
        words += "; it is in doubt, as the check of its block does not agree"
    return words + f". The smallest margin of its bits is {place.margin:.2f}: 1 is a cycle of just the right length."


def sound(state, result):
    """The whole tape, as it was played."""
    return result.tape.sound


def pick(state, pane, x):
    """Pointing at the whole tape or at the wave asks for a time, at a letter for its byte."""
    reading = _tape(state.words, state.wear, state.scratch_ms).reading
    if pane == 1:
        place = reading.at(x / 1000)
        return {"byte": place.byte + 1, "follows": BYTE} if place is not None and place.byte is not None else {}
    return {"time_s": x, "follows": TIME} if pane == 0 else {}


TRACER = Experiment(
    "tracer",
    "Trace a byte",
    "Where on the tape does a byte lie, and which byte lies at a given time?",
    TracerState, find, draw, sound, pick,
)
