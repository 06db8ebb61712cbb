"""Codes side by side: the same bits in every cell code, and what becomes of them on the way.

All codes are drawn at one mean bit rate, so that each gets the same time for a bit, and are read from edges as the
timer does, smoothed where there is noise. What is counted is words: a loader that gets one bit of a word wrong, or
one too few, has lost it.
"""

from dataclasses import dataclass, field

import numpy as np

from .cells import CycleLength
from .codefacts import facts
from .errors import SettingError
from .leader import Leader
from .linecodes import BiphaseMark, DelayModulation, OnOffTone, PhaseEncoding, PhaseFlips, RawLevels
from .smoothing import Conditioner
from .tones import TwoTones
from .waves import EdgeFinder, Renderer

__all__ = ["CODES", "Condition", "Lost", "conditions", "drawn", "fact_rows", "unit_s", "words_wrong"]

CODES = {
    "raw levels": RawLevels(),
    "on-off tone": OnOffTone(2),
    "two tones": TwoTones(),
    "phase flips": PhaseFlips(2),
    "cycle length": CycleLength(),
    "biphase mark": BiphaseMark(),
    "phase encoding": PhaseEncoding(),
    "delay modulation": DelayModulation(),
}
LEAD_CELLS, TAIL_CELLS = 8, 4  # mean cells in which a steady tone sounds before a word, and after
LEAD_CYCLE = 2.0  # mean cells in one cycle of that tone
HYSTERESIS = 0.1
LEVEL_CELLS = 16  # mean cells over which the level is taken
SOME_NOISE_DB = 20  # Eb/N0 at which every code reads, but where nothing sounds, something is heard
EDGE_BITS = 8  # random bits at either end of a word that is blank else
SHORTEST_WORD, LONGEST_WORD = 17, 4096


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


def conditions():
    """The conditions of the comparison: what each is called, and the settings that grow harsher.

    Returns
    -------
    dict of str to list of (str, Condition)
    """
    some = {"eb_n0_db": SOME_NOISE_DB}
    return {
        "noise": [(f"noise at {db} dB", Condition(eb_n0_db=db)) for db in (20, 17, 14, 11)],
        "coupling": [
            (f"{what}, coupled at {hz} Hz", Condition(**some, coupling_hz=hz, blank=blank))
            for what, blank in (("random bits", False), ("mostly zeros", True))
            for hz in (10, 50, 200)
        ],
        "speed": [
            (f"mostly zeros, {part:+d} % unknown", Condition(speed_percent=part, blank=True)) for part in (1, 3, 6)
        ]
        + [(f"mostly zeros, wow of {part} %", Condition(wow_percent=part, blank=True)) for part in (2, 8)],
        "low-pass": [(f"nothing above {hz} Hz", Condition(**some, low_pass_hz=hz)) for hz in (4000, 2000, 1000, 600)],
    }


def unit_s(code, bits_per_second):
    """Length of a unit with which a code has this mean bit rate, ones and zeros being equally many; in seconds."""
    if not 0 < bits_per_second < float("inf"):
        raise SettingError(f"bits_per_second must be above 0, got {bits_per_second!r} bit/s")
    return 2 / (bits_per_second * (code.shortest_units + code.longest_units))


def fact_rows(bits_per_second=1200):
    """What each code asks of a recorder at a mean bit rate: a list of dict, one for each of `CODES`.

    Frequencies are in Hz, times in bits; the band holds three quarters of the power of random bits.
    """
    rows = []
    for name, code in CODES.items():
        found = facts(code)
        hz = 1 / unit_s(code, bits_per_second)
        low, high = found.band()
        rows.append(
            {
                "code": name,
                "bits_per_cycle": round(found.bits_per_cycle, 3),
                "highest_cycle_hz": round(found.highest_cycle_hz * hz),
                "band_hz": (round(low * hz), round(high * hz)),
                "edges_per_bit": round(found.edges_per_bit, 3),
                "longest_gap_bits": round(found.longest_gap_units / found.mean_units, 3),
                "largest_mean_level": round(found.largest_mean_level, 3),
            }
        )
    return rows


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
    rows, starts = _written(code, [bits], bits_per_second)
    renderer = Renderer(rate, peak)
    return np.concatenate((renderer.feed(rows), renderer.finish())), starts[0]


def _written(code, words, bits_per_second):
    """Half-cycles of words with tone between them, in seconds, and where each word begins."""
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


@dataclass(frozen=True)
class Lost:
    """What was lost.

    Attributes
    ----------
    words, wrong : int
        How many were sent, and how many of them were not read right.
    """

    words: int
    wrong: int
    part: float = field(init=False)

    def __post_init__(self):
        object.__setattr__(self, "part", self.wrong / self.words)


def words_wrong(code, condition, *, words=50, word_bits=64, bits_per_second=1200, rate=48_000, seed=0):
    """Send words in a code under a condition, and count those that come back wrong.

    Parameters
    ----------
    code : CellCode
    condition : Condition
    words, word_bits : int
        How many, and how long each is.
    bits_per_second : float
        Mean rate.
    rate : int
        Samples per second.
    seed : int
        Of the words and the noise.

    Returns
    -------
    Lost
    """
    if not (SHORTEST_WORD <= word_bits <= LONGEST_WORD and words >= 1):
        raise SettingError(
            f"there must be 1 word or more of {SHORTEST_WORD} to {LONGEST_WORD} bits, got {words!r} of {word_bits!r}"
        )
    rng = np.random.default_rng(seed)
    sent = rng.integers(0, 2, (words, word_bits)).astype(np.uint8)
    if condition.blank:
        sent[:, EDGE_BITS:-EDGE_BITS] = 0
    halves, starts = _written(code, sent, bits_per_second)
    samples, starts = _through(halves, starts, condition, bits_per_second, rate, rng)
    unit = unit_s(code, bits_per_second)
    edges = _edges(samples, rate, code, unit, condition)
    wrong = sum(not _is_read(code, edges, start, unit, word) for start, word in zip(starts, sent, strict=True))
    return Lost(words, wrong)


def _through(halves, starts, condition, bits_per_second, rate, rng):
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


def _edges(samples, rate, code, unit, condition):
    """Edges as the timer finds them, in seconds; in noise, of the smoothed wave."""
    shortest = 2 * facts(code).shortest_gap_units * unit * rate
    if np.isfinite(condition.eb_n0_db):
        smoother = Conditioner(max(1, int(shortest / 2)))
        finder = EdgeFinder(HYSTERESIS, round(LEVEL_CELLS * rate * unit * facts(code).mean_units))
        wave = np.concatenate((smoother.feed(samples), smoother.feed(np.zeros(smoother.reach))))[smoother.reach :]
    else:
        finder, wave = EdgeFinder(), samples
    return finder.feed(wave, last=True) / rate


def _is_read(code, edges, start_s, unit, word):
    """Whether a word that begins at the edge nearest to a time reads right."""
    at = int(np.searchsorted(edges, start_s))
    if at and (at == len(edges) or start_s - edges[at - 1] < edges[at] - start_s):
        at -= 1
    cells = code.decode(edges[at:], unit, len(word))
    return len(cells.bits) == len(word) and bool(np.all(cells.bits == word))
