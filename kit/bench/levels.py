"""Level: how loud a tape must be played to be read, with hiss on it and a reader whose threshold stands still."""

import functools
from dataclasses import dataclass

import numpy as np

from ..deck import Deck
from ..known import find_format
from ..shown import BLACK, BLUE, SKY, VERMILLION
from ..sound import Sound
from ..waves import render
from .fields import MINUS, State, number
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene, Stretch
from .shortreading import read_bits

__all__ = ["LEVELS", "Levels", "LevelsState", "find", "threshold_edges"]

FORMAT = find_format("house")
RATE = 44100
MESSAGE = b"Gulls 3"
TAPE_PEAK = 0.1  # how the wave lies on the tape; what counts is the level it is played at
REPLAY_SPACING_UM = 1.0  # a little dirt on the head: a wave without it has no slopes
LEADER_CYCLES, TAIL_CYCLES = 24, 8
LOWEST_DB, HIGHEST_DB, STEP_DB = -40, 20, 2
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


def threshold_edges(samples, threshold):
    """Where a reader with a fixed threshold on either side of zero says that a wave turned.

    Parameters
    ----------
    samples : ndarray of float, shape (n,)
    threshold : float
        It says "up" once the wave is above this, and "down" once it is below minus this; between the two it
        stays with what it said.

    Returns
    -------
    ndarray of float64, shape (edges,)
        In samples, the middle of the first sample being 0.5; between samples by linear interpolation.

    Examples
    --------
    >>> threshold_edges(np.array([0.5, 0.1, -0.1, -0.5, 0.5]), 0.3).tolist()
    [3.0, 4.3]
    """
    beyond = np.flatnonzero(np.abs(samples) > threshold)
    above = samples[beyond] > 0
    at = beyond[1:][above[1:] != above[:-1]]
    before, after = samples[at - 1].astype(float), samples[at].astype(float)
    line = np.where(after > 0, threshold, -threshold)
    return at - 0.5 + (line - before) / (after - before)


@functools.lru_cache(maxsize=1)
def _message():
    """Bits, the wave on the tape, and where its first cell begins, in seconds."""
    bits = FORMAT.frame.to_bits(MESSAGE)
    leader = FORMAT.leader.encode(LEADER_CYCLES)
    tail = FORMAT.leader.encode(TAIL_CYCLES, sync=False)
    halves_s = FORMAT.unit_s() * np.concatenate((leader, FORMAT.code.encode(bits), tail))
    return bits, Sound(render(halves_s, RATE, TAPE_PEAK), RATE), FORMAT.unit_s() * leader.sum()


@functools.lru_cache(maxsize=1)
def _off_the_head():
    """The wave with what the head loses: by the deck's response at once, which spares a second of imports."""
    _, sound, _ = _message()
    hertz = np.maximum(np.fft.rfftfreq(sound.frames, 1 / RATE), 1.0)
    passes = 10 ** (Deck(replay_spacing_um=REPLAY_SPACING_UM).response(hertz) / 20)
    return Sound(np.fft.irfft(np.fft.rfft(sound.samples) * passes, sound.frames), RATE)


@functools.lru_cache(maxsize=8)
def _tape(hiss_db):
    """The tape as it is heard, the wave of its leader being 1."""
    deck = Deck(hiss_dbfs=hiss_db + 20 * np.log10(TAPE_PEAK))
    return deck.play(_off_the_head(), seed=SEED).samples.astype(float) / TAPE_PEAK


@functools.lru_cache(maxsize=8)
def _sweep(hiss_db, threshold_percent):
    levels = np.arange(LOWEST_DB, HIGHEST_DB + 1, STEP_DB)
    return levels, np.array([_bits_wrong(_edges(hiss_db, level, threshold_percent)[1]) for level in levels])


def _edges(hiss_db, level_db, threshold_percent):
    """Samples as they arrive, and the edges found in them, in seconds."""
    samples = np.clip(_tape(hiss_db) * 10 ** (level_db / 20), -1, 1)
    return samples, threshold_edges(samples, threshold_percent / 100) / RATE


def _bits_wrong(edges_s):
    bits, _, _ = _message()
    read, _ = read_bits(FORMAT, edges_s, len(bits))
    return len(bits) - int(np.count_nonzero(read == bits[: len(read)]))


def find(state):
    """Play the tape at the level chosen and at all others, and read it.

    Parameters
    ----------
    state : LevelsState

    Returns
    -------
    Levels
    """
    bits, _, data_s = _message()
    samples, edges_s = _edges(state.hiss_db, state.level_db, state.threshold_percent)
    levels, wrong_at = _sweep(state.hiss_db, state.threshold_percent)
    wrong = int(wrong_at[levels == state.level_db][0])
    good = _longest_run(levels, wrong_at == 0)
    figures = (
        ("bits wrong", f"{wrong} of {len(bits)}"),
        ("edges found", f"{len(edges_s)} of {_written_edges()}"),
        ("reads without fault", _range_in_words(good)),
    )
    return Levels(_in_words(state, wrong, len(bits), len(edges_s), good), figures, samples, 1000 * edges_s,
                  1000 * data_s, wrong, len(bits), levels, wrong_at, good)


def _written_edges():
    """Edges of the message with its leader, the first and the last, where it begins and ends, left out."""
    bits, _, _ = _message()
    return 2 * (LEADER_CYCLES + FORMAT.leader.sync_cycles + len(bits) + TAIL_CYCLES) - 1


def _longest_run(levels, right):
    """First and last level of the longest row of neighbours that read; empty if there is none."""
    turns = np.flatnonzero(np.diff(np.concatenate(([0], right.astype(int), [0]))))
    runs = turns.reshape(-1, 2)
    if not len(runs):
        return levels[:0]
    first, stop = max(runs, key=lambda run: run[1] - run[0])
    return levels[[first, stop - 1]]


def _range_in_words(good):
    return f"{good[0]} to {good[1]} dB".replace("-", MINUS) if len(good) else "at no level"


def _in_words(state, wrong, bits, crossings, good):
    read = "every bit is right" if not wrong else f"{wrong} of {bits} bits are wrong or missing"
    missing = _written_edges() - crossings
    words = f"The reader finds {crossings} edges where {_written_edges()} were written; {read}. "
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
    return Pane(
        (LOWEST_DB, HIGHEST_DB), (-0.07 * result.bits, 1.08 * result.bits), "playing level in dB", "bits wrong",
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
