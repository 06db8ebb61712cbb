"""Codes side by side: one message in three cell codes, what band each takes, and which of them is still read."""

import functools
from dataclasses import dataclass

import numpy as np

from ..codefacts import facts
from ..comparison import CODES
from ..detectors import coherent
from ..passage import Carried, Condition, carried, unit_s
from ..shown import BLACK, BLUE, SKY, VERMILLION
from ..sound import Sound
from .bitrows import bit_row, differing
from .fields import MINUS, State, choice, number, text
from .model import Experiment, Result
from .scene import Level, Line, Marks, Pane, Scene, Stretch

__all__ = ["CODES_BENCH", "Codes", "CodesState", "OneCode", "find"]

RATE = 48_000
BYTES = 8
SHOWN_BITS = 16
HIGHEST_HZ = 20_000
SPECTRUM_HZ = np.geomspace(60, 20_000, 240)
STEEPEST = 0.99  # part of a spectrum above which it is cut off: a steady line is as high as it is narrow
LINES = ((BLUE, ""), (VERMILLION, "dash"), (BLACK, "dot"))
SEED = 5


@dataclass(frozen=True)
class CodesState(State):
    """The message, three codes for it, how fast it is sent, and what is lost and added on the way."""

    words: str = text("Wind W5", BYTES, "Text", hint=f"up to {BYTES} characters")
    first: str = choice("cycle length", tuple(CODES), "First code")
    second: str = choice("phase encoding", tuple(CODES), "Second code")
    third: str = choice("on-off tone", tuple(CODES), "Third code")
    bits_per_second: int = choice(1200, (300, 600, 900, 1200, 1800, 2400, 3600, 4800), "Bits a second")
    low_pass_hz: float = number(20_000, 300, HIGHEST_HZ, 36, "Hz", "Low-pass", log=True,
                                hint="what lies above is weakened; 20000 Hz is none")
    hiss_db: int = number(-20, -40, 6, 1, "dB", "Hiss", hint="relative to the wave")


@dataclass(frozen=True, eq=False)
class OneCode:
    """What became of one code.

    Attributes
    ----------
    name : str
    way : Carried
    wrong, ideal_wrong : ndarray of bool, shape (bits,)
        Bits that are wrong or missing, read by edges, and by an ideal receiver that knows when each cell begins.
    band_hz : tuple of float
        That holds three quarters of the power of random bits.
    bits_per_cycle : float
        Bits in the time of the shortest cycle.
    """

    name: str
    way: Carried
    wrong: np.ndarray
    ideal_wrong: np.ndarray
    band_hz: tuple
    bits_per_cycle: float


@dataclass(frozen=True, eq=False)
class Codes(Result):
    """Three codes and the message.

    Attributes
    ----------
    bits : ndarray of uint8, shape (bits,)
    codes : tuple of OneCode
    """

    bits: np.ndarray
    codes: tuple


def _bits(words):
    return np.unpackbits(np.frombuffer(words.encode("utf-8")[:BYTES], np.uint8))


@functools.lru_cache(maxsize=len(CODES))
def _facts(name):
    """Facts of a code, and the band, which takes longest, in cycles a unit."""
    found = facts(CODES[name])
    return found, found.band()


@functools.lru_cache(maxsize=64)
def _one(name, bits, bits_per_second, low_pass_hz, hiss_db, seed):
    code, bits = CODES[name], np.frombuffer(bits, np.uint8)
    cell_samples = RATE / bits_per_second
    eb_n0_db = 10 * np.log10(cell_samples / 2) - hiss_db
    low_pass = low_pass_hz if low_pass_hz < HIGHEST_HZ else float("inf")
    condition = Condition(eb_n0_db=eb_n0_db, low_pass_hz=low_pass)
    way = carried(code, bits, condition, bits_per_second=bits_per_second, rate=RATE, seed=seed)
    found, band = _facts(name)
    hz = 1 / way.unit_s
    ideal = coherent(way.arrived, RATE, code, way.unit_s, way.start_s, len(bits), peak=1.0)
    return OneCode(name, way, differing(bits, way.cells.bits), differing(bits, ideal[: len(bits)]),
                   (band[0] * hz, band[1] * hz), found.bits_per_cycle)


def find(state):
    """Send the message in each code and read it.

    Parameters
    ----------
    state : CodesState

    Returns
    -------
    Codes
    """
    import scipy.signal  # noqa: F401 - loaded as the bench opens: half a second, when the low-pass first moves, is felt

    bits = _bits(state.words)
    way = bits.tobytes(), state.bits_per_second, state.low_pass_hz, state.hiss_db, SEED
    codes = tuple(_one(name, *way) for name in dict.fromkeys((state.first, state.second, state.third)))
    figures = tuple((one.name, f"{_figure(one, len(bits))}; {one.band_hz[0]:.0f} to {one.band_hz[1]:.0f} Hz")
                    for one in codes)
    return Codes(_in_words(state, bits, codes), figures, bits, codes)


def _figure(one, count):
    return f"{one.wrong.sum()} of {count} bits wrong"


def _in_words(state, bits, codes):
    if not len(bits):
        return "There is nothing to write: type a text. Only the tone before and after it is there."
    reads = [one.name for one in codes if not one.wrong.any()]
    fails = [one.name for one in codes if one.wrong.any()]
    words = "None of them reads by its edges"
    if reads:
        words = f"Read by edges, {_list(reads)} still {'reads' if len(reads) == 1 else 'read'}"
    words += f"; {_list(fails)} {'does' if len(fails) == 1 else 'do'} not. " if fails and reads else ". "
    rescued = [one.name for one in codes if one.wrong.any() and not one.ideal_wrong.any()]
    if rescued:
        words += f"An ideal receiver, which knows when each cell begins, would still read {_list(rescued)}. "
    return words + " ".join(map(_band_in_words, codes))


def _band_in_words(one):
    low, high = one.band_hz
    return (f"{one.name.capitalize()} puts three quarters of its power between {low:.0f} and {high:.0f} Hz, and "
            f"{one.bits_per_cycle:.2f} bits into its shortest cycle.")


def _list(names):
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def draw(state, result):
    """The waves one below the other, and all spectra in one."""
    panes = [_wave_pane(state, result, k, one) for k, one in enumerate(result.codes)]
    panes.append(_spectrum_pane(state, result))
    return Scene(tuple(panes), _picture_in_words(state, result), height=170 * len(result.codes) + 210)


def _wave_pane(state, result, number, one):
    cell_ms = 1000 / state.bits_per_second
    span = (-0.5 * cell_ms, SHOWN_BITS * cell_ms)
    times_ms = 1000 * ((np.arange(len(one.way.sent)) + 0.5) / RATE - one.way.start_s)
    near = (times_ms > span[0]) & (times_ms < span[1])
    edges_ms = 1000 * (one.way.edges_s - one.way.start_s)
    edges_ms = edges_ms[(edges_ms > span[0]) & (edges_ms < span[1])]
    borders_ms = 1000 * (one.way.cells.times - one.way.start_s)
    row = bit_row("", one.way.cells.bits, borders_ms, span, "", wrong=one.wrong)
    named = number == 0
    bits = tuple(_raised(item) for item in row.items)
    items = (*[item for item in bits if isinstance(item, Stretch)],
             Line(times_ms[near], one.way.sent[near], "as written" if named else "", BLACK, "dot"),
             Line(times_ms[near], one.way.heard[near], "as the reader sees it" if named else "", BLUE),
             Marks(edges_ms, np.full(len(edges_ms), -1.75), "edges found" if named else "", VERMILLION, "|"),
             *[item for item in bits if not isinstance(item, Stretch)])
    verdict = "reads" if not one.wrong.any() else f"{one.wrong.sum()} of {len(result.bits)} bits wrong"
    grid = tuple(place for place in borders_ms if span[0] <= place <= span[1])
    return Pane(span, (-2.1, 2.5), "time in ms from the first bit on", "level", items, grid=grid,
                title=f"{one.name.capitalize()}: {verdict}")


def _raised(item):
    """Bits stand above the wave they are read from."""
    return item if isinstance(item, Stretch) else type(item)(item.x, item.texts, 2.05)


def _spectrum_pane(state, result):
    lines = [Line(SPECTRUM_HZ, _spectrum(one.name, state.bits_per_second), one.name, *LINES[k])
             for k, one in enumerate(result.codes)]
    corner = [Level(state.low_pass_hz, "low-pass", upright=True)] if state.low_pass_hz < HIGHEST_HZ else []
    lost = [Stretch(state.low_pass_hz, HIGHEST_HZ, "weakened", SKY)] if corner else []
    return Pane((60, HIGHEST_HZ), (0, 1.15), "frequency in Hz", "power", (*lost, *lines, *corner),
                title="Spectrum of random bits", share=1.3, log_x=True)


def _spectrum(name, bits_per_second):
    """Power by frequency, the highest being 1; narrow lines cut off."""
    code = CODES[name]
    density = _facts(name)[0].spectrum(SPECTRUM_HZ * unit_s(code, bits_per_second))
    top = np.quantile(density, STEEPEST)
    return np.minimum(density / top, 1.05)


def _picture_in_words(state, result):
    parts = [f"The first {SHOWN_BITS} bits as written, as the reader sees them, and as it reads them, at "
             f"{state.bits_per_second} bit/s, with hiss at {state.hiss_db} dB".replace("-", MINUS)
             + (f" and nothing above {state.low_pass_hz:g} Hz" if state.low_pass_hz < HIGHEST_HZ else "") + "."]
    for one in result.codes:
        bits = "".join(map(str, one.way.cells.bits[:SHOWN_BITS])) or "nothing"
        parts.append(f"{one.name.capitalize()}: {bits}, {_figure(one, len(result.bits))} in all.")
    parts.append("Below, the spectra: " + "; ".join(
        f"{one.name} {one.band_hz[0]:.0f} to {one.band_hz[1]:.0f} Hz" for one in result.codes) + ".")
    return " ".join(parts)


def sound(state, result):
    """The codes one after the other, as they arrive."""
    pause = np.zeros(RATE // 5)
    waves = [part for one in result.codes for part in (np.clip(one.way.arrived, -2, 2), pause)]
    return Sound((0.25 * np.concatenate(waves)).astype(np.float32), RATE)


CODES_BENCH = Experiment(
    "codes",
    "Codes side by side",
    "Which way of writing bits takes the least bandwidth, and which still reads through hiss and lost highs?",
    CodesState, find, draw, sound,
)
