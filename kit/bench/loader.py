"""Loader: how fast to load, if what counts is the time to a good load, and what the channel allows at most."""

import functools
from dataclasses import dataclass

import numpy as np

from ..deck import capacity, decks
from ..known import find_format
from ..readers.counter import Counter
from ..shown import BLACK, BLUE, SKY, VERMILLION
from ..sound import Sound
from ..tape import decode, encode
from ..trials import interval
from .fields import State, choice, fields_of, number
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene, Stretch

__all__ = ["LOADER", "Attempt", "Loader", "LoaderState", "find"]

FORMAT = find_format("house").changed(lead_in_s=0.4, leader_s=0.1, gap_s=0.05, block_bytes=256)
FILE_BYTES = 192
LOOP_S = 5e-6  # one round of the loader's loop: short, so that the tape sets the limit
FASTEST = 16.0
DECKS = ("studio", "home", "portable", "worn")
BANDS = ((6.0, 48_000), (13.0, 96_000), (FASTEST, 192_000))  # up to which speed which sample rate will do
SEED = 0
BITS_SPAN = (1000.0, 400_000.0)
EXCERPT_CYCLES = 12  # of the wave, in units
BEFORE_EXCERPT_S = 0.15


@dataclass(frozen=True)
class LoaderState(State):
    """How fast the loader is, and what it must cope with."""

    speed: float = number(2.0, 1.0, FASTEST, 8, "times", "Loader speed", log=True, hint="ordinary speed is 1")
    deck: str = choice("portable", DECKS, "Recorder")
    hiss_db: int = number(0, 0, 30, 3, "dB", "More hiss", hint="on top of the recorder's own")
    copies: int = choice(1, (1, 2, 3), "Copies on the tape")
    tapes: int = choice(4, (4, 12, 40), "Tapes tried at each speed", hint="more take longer, and tell more surely")


@dataclass(frozen=True, eq=False)
class Attempt:
    """One tape, loaded once.

    Attributes
    ----------
    seconds : float
        How long it plays.
    whole : bool
        Whether the file came out whole.
    wave : ndarray of float32, shape (samples,)
        A stretch of what came off the tape, near its middle.
    rate : int
    """

    seconds: float
    whole: bool
    wave: np.ndarray
    rate: int


@dataclass(frozen=True, eq=False)
class Loader(Result):
    """All speeds on one recorder.

    Attributes
    ----------
    speeds, bits_per_second, seconds : ndarray of float64, shape (speeds,)
        Times ordinary speed, bits a second inside a block, and how long one load takes.
    whole : ndarray of int64, shape (speeds,)
        How many of the tapes loaded.
    good_s : ndarray of float64, shape (speeds,)
        Mean time to a good load, tapes that fail being loaded again; infinite if none loaded.
    tapes : int
    ceiling : float
        The most bits a second that this recorder could carry without error, by Shannon.
    here : int
        Number of the chosen speed.
    attempt : Attempt
        The first tape at that speed.
    """

    speeds: np.ndarray
    bits_per_second: np.ndarray
    seconds: np.ndarray
    whole: np.ndarray
    good_s: np.ndarray
    tapes: int
    ceiling: float
    here: int
    attempt: Attempt


def _deck(name, hiss_db):
    deck = decks[name]
    return deck.with_settings(hiss_dbfs=deck.hiss_dbfs + hiss_db)


@functools.lru_cache(maxsize=8192)
def attempt(speed, deck, hiss_db, copies, seed):
    """Write a tape, wear it, and load it with a timing loop; what was tried once is kept."""
    rate = next(rate for most, rate in BANDS if speed <= most)
    data = np.random.default_rng(seed).bytes(FILE_BYTES)
    tape = encode(data, name="log.bin", format=FORMAT, speed=speed, copies=copies, rate=rate)
    heard = _deck(deck, hiss_db).play(tape, seed)
    reading = decode(heard, format=FORMAT, counter=Counter(LOOP_S, speed=speed))
    whole = reading.complete and [file.data for file in reading.files] == [data]
    first = round((tape.seconds / 2 - BEFORE_EXCERPT_S / speed) * rate)
    stretch = heard.samples[first : first + round(EXCERPT_CYCLES * FORMAT.unit_s(speed) * rate)]
    return Attempt(tape.seconds, whole, stretch.copy(), rate)


def find(state):
    """Load tapes at every speed; a generator, as it takes its time.

    Parameters
    ----------
    state : LoaderState

    Yields
    ------
    float
        Part that is done.

    Returns
    -------
    Loader
    """
    speeds = list(fields_of(LoaderState)[0].values)
    table, total = np.empty((len(speeds), state.tapes), object), len(speeds) * state.tapes
    for done, (tape, k) in enumerate(np.ndindex(state.tapes, len(speeds))):
        yield done / total
        table[k, tape] = attempt(speeds[k], state.deck, state.hiss_db, state.copies, SEED + tape)
    whole = np.array([sum(one.whole for one in row) for row in table])
    seconds = np.array([row[0].seconds for row in table])
    good = np.full(len(speeds), np.inf)
    np.divide(seconds * state.tapes, whole, out=good, where=whole > 0)
    here = speeds.index(state.speed)
    ceiling = capacity(_deck(state.deck, state.hiss_db))
    rates = FORMAT.bits_per_second * np.array(speeds)
    best = int(np.argmin(good))
    figures = (
        ("one load takes", f"{seconds[here]:.2f} s"),
        ("tapes that load", f"{whole[here]} of {state.tapes}"),
        ("time to a good load", _time_in_words(good[here])),
        ("best speed", f"{speeds[best]:g} times" if whole.any() else "none"),
    )
    words = _in_words(state, speeds, whole, seconds, good, best, ceiling)
    return Loader(words, figures, np.array(speeds), rates, seconds, whole, good, state.tapes, ceiling, here,
                  table[here, 0])


def _time_in_words(seconds):
    return f"{seconds:.2f} s" if np.isfinite(seconds) else "never"


def _in_words(state, speeds, whole, seconds, good, best, ceiling):
    here = speeds.index(state.speed)
    words = f"At {state.speed:g} times ordinary speed one load takes {seconds[here]:.2f} s, and "
    if not whole[here]:
        words += f"none of {state.tapes} tapes loads: loading again does not help. "
    elif whole[here] == state.tapes:
        words += f"all {state.tapes} tapes load. "
    else:
        low, high = interval(int(whole[here]), state.tapes)
        words += (f"{whole[here]} of {state.tapes} tapes load (so few tell only that {100 * low:.0f} to "
                  f"{100 * high:.0f} % of all do): loaded until whole, it takes {good[here]:.2f} s on average. ")
    if not whole.any():
        return words + "This tape loads at no speed."
    words += f"Up to {speeds[best]:g} times the time to a good load shrinks, to {good[best]:.2f} s"
    words += "; beyond, it jumps to never. " if not whole[-1] else ". "
    used = FORMAT.bits_per_second * speeds[best] / ceiling
    return words + (f"By Shannon this recorder could carry {_rounded(ceiling)} bits a second; "
                    f"the best speed uses {100 * used:.0f} % of that.")


def _rounded(value):
    """A number of two digits."""
    return f"{float(f'{value:.2g}'):.0f}"


def draw(state, result):
    """What comes off the tape, the time to a good load, and how many tapes load."""
    return Scene((_wave_pane(state, result), _time_pane(state, result), _share_pane(result)),
                 _picture_in_words(state, result), height=560)


def _wave_pane(state, result):
    wave, rate = result.attempt.wave, result.attempt.rate
    times_ms = 1000 * np.arange(len(wave)) / rate
    top = max(0.1, 1.15 * float(np.abs(wave).max()))
    stop_ms = 1000 * EXCERPT_CYCLES * FORMAT.unit_s(state.speed)
    items = Level(0.0, dash="dot"), Line(times_ms, wave, "", BLUE)
    return Pane((0.0, stop_ms), (-top, top), "time in ms", "level", items,
                title=f"What comes off the tape at {state.speed:g} times ordinary speed", share=0.8)


def _time_pane(state, result):
    good = np.isfinite(result.good_s)
    top = 1.25 * max(float(result.seconds.max()), float(result.good_s[good].max(initial=0.0)))
    items = [*_never(result),
             Line(result.bits_per_second, result.seconds, "one load", BLACK, "dot", "dots"),
             Line(result.bits_per_second[good], result.good_s[good], "to a good load", BLUE, look="dots"),
             Marks([result.bits_per_second[result.here]], [min(result.good_s[result.here], 0.93 * top)], "here",
                   VERMILLION, "o"),
             *_ceiling(result, "Shannon's ceiling")]
    return Pane(BITS_SPAN, (0.0, top), "bits a second in a block", "seconds", tuple(items),
                title="Time to a good load", share=1.2, log_x=True)


def _never(result):
    """Stretches of speeds at which no tape loads."""
    step = np.sqrt(result.speeds[1] / result.speeds[0])
    bad = [rate for rate, whole in zip(result.bits_per_second, result.whole, strict=True) if not whole]
    runs = []
    for rate in bad:
        if runs and rate / step <= runs[-1][1] * 1.2:
            runs[-1][1] = rate * step
        else:
            runs.append([rate / step, rate * step])
    return [Stretch(float(low), float(high), "never", VERMILLION) for low, high in runs]


def _ceiling(result, label):
    inside = BITS_SPAN[0] < result.ceiling < BITS_SPAN[1]
    return [Level(result.ceiling, label, upright=True)] if inside else []


def _share_pane(result):
    low, high = np.array([interval(int(count), result.tapes) for count in result.whole]).T
    items = (Line(result.bits_per_second, high, "95 % sure to lie between", SKY, "dash"),
             Line(result.bits_per_second, low, "", SKY, "dot"),
             Line(result.bits_per_second, result.whole / result.tapes, "tapes that load", BLUE, look="dots"),
             *_ceiling(result, ""))
    return Pane(BITS_SPAN, (-0.05, 1.08), "bits a second in a block", "share", items, title="Tapes that load",
                share=0.8, log_x=True)


def _picture_in_words(state, result):
    rows = [f"{speed:g} times: {_time_in_words(good)}, {whole} of {result.tapes} load"
            for speed, good, whole in zip(result.speeds, result.good_s, result.whole, strict=True)]
    wave = f"Above, the wave at {state.speed:g} times, its largest level {np.abs(result.attempt.wave).max():.2f}. "
    return wave + f"Below, the time to a good load on the {state.deck} recorder. " + "; ".join(rows) + \
        f". Shannon's ceiling is {_rounded(result.ceiling)} bits a second."


def sound(state, result):
    """A tape at this speed as it comes off the recorder; made anew, as only a stretch of it is kept."""
    rate = result.attempt.rate
    data = np.random.default_rng(SEED).bytes(FILE_BYTES)
    tape = encode(data, name="log.bin", format=FORMAT, speed=state.speed, copies=state.copies, rate=rate)
    heard = _deck(state.deck, state.hiss_db).play(tape, SEED)
    return heard if rate <= 48_000 else Sound(heard.samples[:: rate // 48_000], 48_000)


def pick(state, pane, x):
    """Pointing at a rate chooses the nearest speed."""
    if pane == 0 or not x > 0:
        return {}
    return {"speed": float(np.clip(x / FORMAT.bits_per_second, 1.0, FASTEST))}


LOADER = Experiment(
    "loader",
    "How fast to load",
    "Does a faster loader always save time, if what counts is the time until the file has come out whole?",
    LoaderState, find, draw, sound, pick,
)
