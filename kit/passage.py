"""The way of bits in a cell code from writer to reader: drawn between two tones, spoilt, smoothed, edges found."""

from dataclasses import dataclass

import numpy as np

from .cells import Cells
from .codefacts import facts
from .errors import SettingError
from .leader import Leader
from .smoothing import Conditioner
from .waves import EdgeFinder, Renderer

__all__ = ["Carried", "Condition", "carried", "drawn", "found_edges", "nearest", "through", "unit_s", "written"]

LEAD_CELLS, TAIL_CELLS = 8, 4  # mean cells in which a steady tone sounds before a word, and after
LEAD_CYCLE = 2.0  # mean cells in one cycle of that tone
HYSTERESIS = 0.1
LEVEL_CELLS = 16  # mean cells over which the level is taken


@dataclass(frozen=True)
class Condition:
    """What happens to a wave between writer and reader.

    Parameters
    ----------
    eb_n0_db : float
        Energy of a bit over the density of white noise, in dB; infinite is no noise.
    coupling_hz : float
        Corner of one coupling capacitor: lower frequencies are lost. 0 is none.
    low_pass_hz : float
        Corner above which highs are lost, 12 dB an octave; infinite is none.
    speed_percent : float
        How much faster the tape runs than the reader is told.
    wow_percent : float
        Peak of a slow change of speed, once a second.
    blank : bool
        True if most of each word is zeros, as a blank part of a picture is; else its bits are random.
    """

    eb_n0_db: float = float("inf")
    coupling_hz: float = 0.0
    low_pass_hz: float = float("inf")
    speed_percent: float = 0.0
    wow_percent: float = 0.0
    blank: bool = False

    def __post_init__(self):
        for name, low in (("coupling_hz", 0), ("low_pass_hz", 1), ("wow_percent", 0), ("speed_percent", -90)):
            if not getattr(self, name) >= low:
                raise SettingError(f"{name} must be {low} or more, got {getattr(self, name)!r}")
        if not self.wow_percent <= 50:
            raise SettingError(f"wow_percent must be 50 or less, got {self.wow_percent!r}")
        if np.isnan(self.eb_n0_db):
            raise SettingError("eb_n0_db must be a number of dB, got nan")


def unit_s(code, bits_per_second):
    """Length of a unit with which a code has this mean bit rate, ones and zeros being equally many; in seconds."""
    if not 0 < bits_per_second < float("inf"):
        raise SettingError(f"bits_per_second must be above 0, got {bits_per_second!r} bit/s")
    return 2 / (bits_per_second * (code.shortest_units + code.longest_units))


def drawn(code, bits, bits_per_second, rate, peak=0.5):
    """Draw bits between two stretches of steady tone.

    Parameters
    ----------
    code : CellCode
    bits : array_like of int, shape (n,)
    bits_per_second : float
        Mean rate.
    rate : int
        Samples per second.
    peak : float

    Returns
    -------
    samples : ndarray of float32, shape (samples,)
    start_s : float
        Where the first cell begins.
    """
    rows, starts = written(code, [bits], bits_per_second)
    renderer = Renderer(rate, peak)
    return np.concatenate((renderer.feed(rows), renderer.finish())), starts[0]


def written(code, words, bits_per_second):
    """Half-cycles of words with tone between them, in seconds, and where each word begins, in seconds."""
    unit, mean_s = unit_s(code, bits_per_second), 1 / bits_per_second
    tone = Leader(LEAD_CYCLE, 3 * LEAD_CYCLE)
    lead, tail = (tone.encode(cells / LEAD_CYCLE, sync=False) * mean_s for cells in (LEAD_CELLS, TAIL_CELLS))
    rows, starts, here = [], [], 0.0
    for word in words:
        cells = code.encode(word) * unit
        rows += [lead, cells, tail]
        starts.append(here + lead.sum())
        here = starts[-1] + cells.sum() + tail.sum()
    return np.concatenate(rows), np.array(starts)


def through(halves, starts, condition, bits_per_second, rate, rng):
    """The wave after all that a condition does to it, and where words begin in it."""
    halves, starts = _warped(halves, starts, condition)
    renderer = Renderer(rate, 1.0)
    samples = np.concatenate((renderer.feed(halves), renderer.finish())).astype(np.float64)
    if condition.coupling_hz > 0 or condition.low_pass_hz < rate / 2:
        samples = _filtered(samples, condition, rate)
    if np.isfinite(condition.eb_n0_db):
        bit_samples = rate / bits_per_second
        samples += rng.normal(0, np.sqrt(bit_samples / 2 / 10 ** (condition.eb_n0_db / 10)), len(samples))
    return samples, starts


def _warped(halves, starts, condition):
    """Half-cycles and starts on a tape that runs at another speed."""
    speed = 1 + condition.speed_percent / 100
    edges = np.concatenate(([0.0], np.cumsum(halves))) / speed
    starts = np.asarray(starts) / speed
    depth = condition.wow_percent / 100 / (2 * np.pi)  # a second, as the wow takes one for a turn
    late_edges, late_starts = (depth * (1 - np.cos(2 * np.pi * times)) for times in (edges, starts))
    return np.diff(edges - late_edges), starts - late_starts


def _filtered(samples, condition, rate):
    from scipy.signal import butter, lfilter

    if condition.coupling_hz > 0:
        samples = lfilter(*butter(1, condition.coupling_hz, "high", fs=rate), samples)
    if condition.low_pass_hz < rate / 2:
        samples = lfilter(*butter(2, condition.low_pass_hz, fs=rate), samples)
    return samples


@dataclass(frozen=True, eq=False)
class Carried:
    """One word on its way from writer to reader.

    Attributes
    ----------
    sent : ndarray of float64, shape (samples,)
        The wave of ±1 as it was written, at the speed at which it is heard.
    arrived : ndarray of float64, shape (samples,)
    heard : ndarray of float64, shape (samples,)
        As the reader looks at it: smoothed if there is noise.
    start_s : float
        Where the first cell begins, in seconds.
    unit_s : float
        Length of a unit, as the reader takes it to be.
    edges_s : ndarray of float64, shape (edges,)
        Where the reader finds edges.
    cells : Cells
        What it reads; its times are seconds.
    """

    sent: np.ndarray
    arrived: np.ndarray
    heard: np.ndarray
    start_s: float
    unit_s: float
    edges_s: np.ndarray
    cells: Cells


def carried(code, bits, condition, *, bits_per_second=1200, rate=48_000, seed=0):
    """Send one word in a code under a condition, and keep what it is on each floor.

    Parameters
    ----------
    code : CellCode
    bits : array_like of int, shape (n,)
    condition : Condition
        Its `blank` does nothing: the bits are given.
    bits_per_second : float
        Mean rate.
    rate : int
        Samples per second.
    seed : int
        Of the noise.

    Returns
    -------
    Carried
    """
    halves, starts = written(code, [bits], bits_per_second)
    speed = Condition(speed_percent=condition.speed_percent, wow_percent=condition.wow_percent)
    sent, _ = through(halves, starts, speed, bits_per_second, rate, None)
    arrived, starts = through(halves, starts, condition, bits_per_second, rate, np.random.default_rng(seed))
    unit = unit_s(code, bits_per_second)
    heard, finder = _heard(arrived, rate, code, unit, condition)
    edges = finder.feed(heard, last=True) / rate
    cells = code.decode(edges[nearest(edges, starts[0]) :], unit, len(bits))
    return Carried(sent, arrived, heard, float(starts[0]), unit, edges, cells)


def found_edges(samples, rate, code, unit, condition):
    """Edges as the timer finds them, in seconds; in noise, of the smoothed wave."""
    wave, finder = _heard(samples, rate, code, unit, condition)
    return finder.feed(wave, last=True) / rate


def _heard(samples, rate, code, unit, condition):
    """The wave as the timer looks at it, and what finds edges in it."""
    if not np.isfinite(condition.eb_n0_db):
        return samples, EdgeFinder()
    smoother = Conditioner(max(1, int(facts(code).shortest_gap_units * unit * rate)))
    finder = EdgeFinder(HYSTERESIS, round(LEVEL_CELLS * rate * unit * facts(code).mean_units))
    wave = np.concatenate((smoother.feed(samples), smoother.feed(np.zeros(smoother.reach))))[smoother.reach :]
    return wave, finder


def nearest(edges, time_s):
    """Number of the edge nearest to a time."""
    at = int(np.searchsorted(edges, time_s))
    if at and (at == len(edges) or time_s - edges[at - 1] < edges[at] - time_s):
        at -= 1
    return at
