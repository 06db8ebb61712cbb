"""Designer: a format of one's own for a recorder, and how many useful bits a second it brings home."""

import functools
from dataclasses import dataclass

import numpy as np

from ..codefacts import facts
from ..deck import decks
from ..errors import SettingError
from ..formats import Format
from ..shown import BLACK, BLUE, GREEN, VERMILLION
from ..sound import Sound
from ..tape import encode
from ..trials import interval
from .longwork import as_parts, beside
from .model import Experiment, Result
from .ownformat import FILE_BYTES, PARTS, DesignerState, build, file_bytes, longest_bytes, parts_s
from .scene import Line, Marks, Pane, Scene, Words
from .tapereading import read_tape

__all__ = ["DESIGNER", "Designed", "Tried", "find"]

RATE = 48_000
SEED = 0
SPECTRUM_HZ = np.geomspace(60, 20_000, 240)
STEEPEST = 0.99  # part of a spectrum above which it is cut off: a steady line is as high as it is narrow
@dataclass(frozen=True, eq=False)
class Tried:
    """One tape.

    Attributes
    ----------
    right : float
        Part of the file's bytes that came out right, 0 to 1.
    loads : bool
        Whether all did, and nothing says that they did not.
    sure : bool
        Whether the reading vouches for it.
    """

    right: float
    loads: bool
    sure: bool


@dataclass(frozen=True, eq=False)
class Designed(Result):
    """A format, and what came of it.

    Attributes
    ----------
    format : Format or None
        None if it was refused.
    refusal : str
        Why, in one line.
    seconds : float
        How long a tape plays.
    parts_s : ndarray of float64, shape (5,)
        How much of it each of `PARTS` takes.
    tried : list of Tried
    score : float
        Useful bits a second, times the share of tapes that load.
    first : Sound or None
        The first tape as it comes off the recorder.
    """

    format: Format | None
    refusal: str = ""
    seconds: float = 0.0
    parts_s: np.ndarray = None
    tried: tuple = ()
    score: float = 0.0
    first: Sound | None = None


@functools.lru_cache(maxsize=4)
def _worn(format, deck, seed):
    """A tape after the recorder."""
    return decks[deck].play(encode(file_bytes(seed), name="own.bin", format=format, rate=RATE), seed)


@functools.lru_cache(maxsize=4096)
def tried(format, deck, seed):
    """Write a tape, wear it, read it; what was tried once is kept."""
    data, sound = file_bytes(seed), _worn(format, deck, seed)
    reading = read_tape(sound, format, longest_bytes(format))
    best = max((file.data for file in reading.files), key=lambda got: _right(got, data), default=b"")
    alarm = any(file.data == data and file.verdict == "damaged" for file in reading.files)
    return Tried(_right(best, data), best == data and not alarm, reading.complete and best == data)


def _right(got, sent):
    return sum(a == b for a, b in zip(got, sent, strict=False)) / len(sent)


def find(state):
    """Build the format, write tapes and read them; a generator, as it takes its time.

    Parameters
    ----------
    state : DesignerState

    Yields
    ------
    float
        Part that is done.

    Returns
    -------
    Designed
    """
    try:
        format = build(state)
        seconds = encode(file_bytes(SEED), name="own.bin", format=format, rate=RATE).seconds
    except SettingError as refusal:
        figures = (("tape plays", "–"), ("tapes that load", "–"), ("useful bits a second", "–"))
        return Designed(f"Such a format is refused: {refusal}.", figures, None, str(refusal))
    yield 0.0
    first = yield from as_parts(beside(_worn, format, state.deck, SEED), 0, 0.5 / state.tapes)
    results = []
    for tape in range(state.tapes):
        begun = (tape or 0.5) / state.tapes
        yield begun
        one = yield from as_parts(beside(tried, format, state.deck, SEED + tape), begun, (tape + 1) / state.tapes)
        results.append(one)
    return _designed(state, format, seconds, tuple(results), first)


def _designed(state, format, seconds, results, first):
    whole = sum(one.loads for one in results)
    rate = 8 * FILE_BYTES / seconds
    score = rate * whole / len(results)
    low, high = interval(whole, len(results))
    figures = (
        ("tape plays", f"{seconds:.2f} s"),
        ("tapes that load", f"{whole} of {len(results)} (95 % sure: {100 * low:.0f} to {100 * high:.0f} %)"),
        ("useful bits a second", f"{score:.0f}"),
    )
    parts = parts_s(format)
    words = _in_words(state, format, results, rate, score, parts)
    return Designed(words, figures, format, "", seconds, parts, results, score, first)


def _in_words(state, format, results, rate, score, parts):
    whole, count = sum(one.loads for one in results), len(results)
    words = f"A file of {FILE_BYTES} bytes goes at {rate:.0f} useful bits a second; {whole} of {count} tapes load"
    words += f", so {score:.0f} bits a second come home. " if whole < count else ". "
    largest = int(np.argmax(parts))
    words += f"Most of the time, {100 * parts[largest] / parts.sum():.0f} %, goes into {PARTS[largest]}. "
    if whole and not any(one.sure for one in results):
        words += "With no check nothing vouches for it: a loader cannot know that what it has is right. "
    found, hz = facts(format.code), format.unit_hz
    words += (f"{state.code.capitalize()} needs {found.highest_cycle_hz * hz:.0f} Hz for its shortest cycle, puts "
              f"{found.bits_per_cycle:.2f} bits into it, and has ")
    if np.isinf(found.longest_gap_units):
        return words + "no bound to the time without an edge: runs of bits can lose the clock."
    return words + f"an edge at least every {1000 * found.longest_gap_units / hz:.2f} ms."


def draw(state, result):
    """Where the seconds go, the spectrum beside what the recorder passes, and the tapes."""
    if result.format is None:
        return Scene((_refused_pane(),), f"No tape: the format is refused. {result.refusal}", height=200)
    return Scene((_parts_pane(result), _spectrum_pane(state, result), _tapes_pane(result)),
                 _picture_in_words(state, result), height=560)


def _refused_pane():
    return Pane((0.0, 1.0), (0.0, 1.0), "", "", (Words([0.5], ("refused: no tape",), colour=VERMILLION),), bare=True,
                title="These choices do not go together")


def _parts_pane(result):
    places = np.arange(1, len(PARTS) + 1)
    top = 1.35 * float(result.parts_s.max())
    names = tuple(f"{name} {seconds:.2f} s" for name, seconds in zip(PARTS, result.parts_s, strict=True))
    items = [Line(places, result.parts_s, "", BLUE, look="stems")]
    items += [Words([place], (name,), float(seconds) + 0.11 * top, large=False)
              for place, name, seconds in zip(places, names, result.parts_s, strict=True)]
    return Pane((0.4, len(PARTS) + 0.6), (0.0, top), "the rest: sync marks, checks, tails", "seconds", tuple(items),
                title="Where the seconds go")


def _spectrum_pane(state, result):
    found, hz = facts(result.format.code), result.format.unit_hz
    density = found.spectrum(SPECTRUM_HZ / hz)
    power = np.minimum(density / np.quantile(density, STEEPEST), 1.05)
    passed = 10 ** (decks[state.deck].response(SPECTRUM_HZ) / 20)
    highest = found.highest_cycle_hz * hz
    items = [Line(SPECTRUM_HZ, power, "random bits", BLUE),
             Line(SPECTRUM_HZ, passed, "passed by the recorder", GREEN, "dash")]
    if highest < SPECTRUM_HZ[-1]:
        items.append(Marks([highest], [0.06], "shortest cycle", VERMILLION, "v"))
    return Pane((60, 20_000), (0.0, 1.2), "frequency in Hz", "part", tuple(items), title="Spectrum", log_x=True)


def _tapes_pane(result):
    count = len(result.tried)
    place = np.arange(1, count + 1)
    right = 100 * np.array([one.right for one in result.tried])
    good = np.array([one.loads for one in result.tried])
    items = (Marks(place[good], right[good], "loads", BLACK, "o"),
             Marks(place[~good], right[~good], "does not", VERMILLION, "x"))
    return Pane((0.5, count + 0.5), (-8, 112), "tape", "right in %", items, share=0.7,
                title=f"{good.sum()} of {count} tapes load")


def _picture_in_words(state, result):
    parts = "; ".join(f"{name} {seconds:.2f} s" for name, seconds in zip(PARTS, result.parts_s, strict=True))
    rows = ", ".join(f"{100 * one.right:.0f} %" for one in result.tried)
    found, hz = facts(result.format.code), result.format.unit_hz
    low, high = (hz * end for end in found.band())
    loss = float(decks[state.deck].response([found.highest_cycle_hz * hz])[0])
    return (f"Above, where {result.seconds:.2f} s go: {parts}. In the middle, the spectrum of the code, three "
            f"quarters of it between {low:.0f} and {high:.0f} Hz, beside what the {state.deck} recorder passes: of "
            f"the shortest cycle {100 * 10 ** (loss / 20):.0f} %. Below, the bytes that came out right: {rows}.")


def sound(state, result):
    """The first tape as it comes off the recorder."""
    if result.first is None:
        return None
    return Sound(np.clip(result.first.samples, -1, 1), RATE)


DESIGNER = Experiment(
    "designer",
    "Design a format",
    "Which choices bring most useful bits a second home, tape after tape, on this recorder?",
    DesignerState, find, draw, sound,
)
