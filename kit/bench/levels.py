"""Level: how loud a tape must be played to be read, with hiss on it and a reader whose threshold stands still."""

import functools
import zlib
from dataclasses import dataclass

import numpy as np

from ..deck import Deck
from ..shown import BLACK, BLUE, SKY, VERMILLION
from ..sound import Sound
from .fields import MINUS, State, number, text
from .leveltape import (
    FORMAT,
    HIGHEST_DB,
    LEADER_CYCLES,
    LOWEST_DB,
    RATE,
    STEP_DB,
    TAIL_CYCLES,
    at_level,
    longest_run,
    message_wave,
    threshold_edges,
    wrong_at,
)
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene, Stretch

__all__ = ["LEVELS", "Levels", "LevelsState", "find", "seed_of", "threshold_edges"]

TEXT = "Gulls 3"
TAPE_PEAK = 0.1  # how the wave lies on the tape; what counts is the level it is played at
REPLAY_SPACING_UM = 1.0  # a little dirt on the head: a wave without it has no slopes
SEED = 7
SHOWN_MS = 6.0


@dataclass(frozen=True)
class LevelsState(State):
    """How loud the tape is played, how hissy it is, and where the reader's threshold lies."""

    level_db: int = number(-10, LOWEST_DB, HIGHEST_DB, STEP_DB, "dB", "Playing level",
                           hint="of the wave; 0 dB is full scale, beyond it the input clips")
    hiss_db: int = number(-12, -60, -4, 1, "dB", "Hiss on the tape", hint="relative to the wave")
    threshold_percent: int = number(10, 0, 60, 1, "%", "Threshold of the reader",
                                    hint="of full scale: the wave must go beyond it, up and down")
    words: str = text(TEXT, 70, "Text", hint="each text lies on a tape with hiss of its own")


@dataclass(frozen=True, eq=False)
class Levels(Result):
    """The wave as it arrives, and how many bits are wrong at every level.

    Attributes
    ----------
    samples : ndarray of float32, shape (samples,)
        At the level chosen, clipped at full scale.
    edges_ms : ndarray of float64, shape (edges,)
        Where the reader says the wave turned.
    data_ms : float
        Where the first bit begins, as it was written.
    wrong : int
        Bits that are wrong or were not read, at the level chosen.
    bits : int
        Of the message.
    levels_db : ndarray of int64, shape (levels,)
    wrong_at : ndarray of int64, shape (levels,)
        The same at each level.
    good_db : ndarray of int64, shape (2,) or (0,)
        The longest row of levels without a wrong bit: its first and last.
    """

    samples: np.ndarray
    edges_ms: np.ndarray
    data_ms: float
    wrong: int
    bits: int
    levels_db: np.ndarray
    wrong_at: np.ndarray
    good_db: np.ndarray


@functools.lru_cache(maxsize=8)
def _message(words):
    """Bits, the wave on the tape, and where its first cell begins, in seconds."""
    return message_wave(words.encode("utf-8"), TAPE_PEAK)


@functools.lru_cache(maxsize=8)
def _off_the_head(words):
    """The wave with what the head loses: by the deck's response at once, which spares a second of imports."""
    _, sound, _ = _message(words)
    hertz = np.maximum(np.fft.rfftfreq(sound.frames, 1 / RATE), 1.0)
    passes = 10 ** (Deck(replay_spacing_um=REPLAY_SPACING_UM).response(hertz) / 20)
    return Sound(np.fft.irfft(np.fft.rfft(sound.samples) * passes, sound.frames), RATE)


def seed_of(words):
    """Of the hiss: each text lies on a tape of its own."""
    return zlib.crc32(words.encode("utf-8"), SEED)


@functools.lru_cache(maxsize=8)
def _tape(words, hiss_db):
    """The tape as it is heard, the wave of its leader being 1."""
    deck = Deck(hiss_dbfs=hiss_db + 20 * np.log10(TAPE_PEAK))
    return deck.play(_off_the_head(words), seed=seed_of(words)).samples.astype(float) / TAPE_PEAK


@functools.lru_cache(maxsize=8)
def _sweep(words, hiss_db, threshold_percent):
    bits, _, _ = _message(words)
    return wrong_at(bits, _tape(words, hiss_db), threshold_percent / 100)


def find(state):
    """Play the tape at the level chosen and at all others, and read it.

    Parameters
    ----------
    state : LevelsState

    Returns
    -------
    Levels
    """
    bits, _, data_s = _message(state.words)
    samples = at_level(_tape(state.words, state.hiss_db), state.level_db)
    edges_s = threshold_edges(samples, state.threshold_percent / 100) / RATE
    levels, wrong_levels = _sweep(state.words, state.hiss_db, state.threshold_percent)
    wrong = int(wrong_levels[levels == state.level_db][0])
    good = longest_run(levels, wrong_levels == 0)
    figures = (
        ("bits wrong", f"{wrong} of {len(bits)}"),
        ("edges found", f"{len(edges_s)} of {_written_edges(len(bits))}"),
        ("reads without fault", _range_in_words(good)),
    )
    return Levels(_in_words(state, wrong, len(bits), len(edges_s), good), figures, samples, 1000 * edges_s,
                  1000 * data_s, wrong, len(bits), levels, wrong_levels, good)


def _written_edges(bits):
    """Edges of so many bits with their leader, the first and the last, where all begins and ends, left out."""
    return 2 * (LEADER_CYCLES + FORMAT.leader.sync_cycles + bits + TAIL_CYCLES) - 1


def _range_in_words(good):
    return f"{good[0]} to {good[1]} dB".replace("-", MINUS) if len(good) else "at no level"


def _in_words(state, wrong, bits, crossings, good):
    read = "every bit is right" if not wrong else f"{wrong} of {bits} bits are wrong or missing"
    missing = _written_edges(bits) - crossings
    words = f"The reader finds {crossings} edges where {_written_edges(bits)} were written; {read}. "
    if missing > 0:
        words += "Where the wave does not go beyond the threshold, edges are missing. "
    elif missing < 0:
        words += "Hiss adds edges of its own: near zero it alone goes beyond the threshold. "
    else:
        words += "The wave goes beyond the threshold in every half-cycle, and hiss alone does not. "
    if state.level_db > 0:
        words += "The input cuts the wave off at full scale, which leaves its edges where they were. "
    if not len(good):
        return words + "This tape reads without fault at no level: turning it up or down does not help."
    return words + f"Without fault this tape reads from {_range_in_words(good)}."


def draw(state, result):
    """The wave with the threshold above, the sweep over all levels below."""
    from_ms = result.data_ms - 1.0
    times_ms = 1000 * (np.arange(len(result.samples)) + 0.5) / RATE
    near = (times_ms >= from_ms) & (times_ms <= from_ms + SHOWN_MS)
    crossings = result.edges_ms[(result.edges_ms >= from_ms) & (result.edges_ms <= from_ms + SHOWN_MS)]
    threshold = state.threshold_percent / 100
    wave = Pane(
        (from_ms, from_ms + SHOWN_MS), (-1.15, 1.15), "time in ms", "level",
        (Line(times_ms[near], result.samples[near], "wave", BLUE),
         Level(threshold, name="threshold", colour=VERMILLION), Level(-threshold, colour=VERMILLION),
         Marks(crossings, np.full(len(crossings), -1.06), "edges the reader finds", BLACK, "|")),
        title="What arrives", share=1.4,
    )
    return Scene((wave, _sweep_pane(state, result)), _picture_in_words(state, result), height=470)


def _sweep_pane(state, result):
    good = result.good_db
    window = [Stretch(good[0] - STEP_DB / 2, good[1] + STEP_DB / 2, "reads", SKY)] if len(good) else []
    most = max(1, result.bits)
    return Pane(
        (LOWEST_DB, HIGHEST_DB), (-0.07 * most, 1.08 * most), "playing level in dB", "bits wrong",
        (*window, Line(result.levels_db, result.wrong_at, "bits wrong", BLACK, look="dots"),
         Marks([state.level_db], [result.wrong], "here", VERMILLION, "o"),
         Level(0.0, "full scale", upright=True, dash="dot")),
        title="At every level",
    )


def _picture_in_words(state, result):
    worst = int(result.wrong_at.max())
    return (f"Above, the wave at {state.level_db} dB, its largest level {np.abs(result.samples).max():.2f} of full "
            f"scale, with the threshold at ±{state.threshold_percent / 100:.2f}. Below, the bits that are wrong at "
            f"every level from {LOWEST_DB} to {HIGHEST_DB} dB: {result.wrong} here, at most {worst}; without fault: "
            f"{_range_in_words(result.good_db)}.").replace(" -", f" {MINUS}")


def sound(state, result):
    """The wave as it arrives."""
    return Sound(result.samples.astype(np.float32), RATE)


def pick(state, pane, x):
    """Pointing at the sweep chooses a level."""
    if pane != 1 or not LOWEST_DB <= x <= HIGHEST_DB:
        return {}
    return {"level_db": STEP_DB * round(x / STEP_DB)}


LEVELS = Experiment(
    "levels",
    "Find the level",
    "How loud must a tape be played to be read, and does it help to turn up a hissy one?",
    LevelsState, find, draw, sound, pick,
)
