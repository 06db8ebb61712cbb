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
from .linecodes import BiphaseMark, DelayModulation, OnOffTone, PhaseEncoding, PhaseFlips, RawLevels
from .passage import Condition, drawn, found_edges, nearest, through, unit_s, written
from .tones import TwoTones

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
SOME_NOISE_DB = 20  # Eb/N0 at which every code reads, but where nothing sounds, something is heard
EDGE_BITS = 8  # random bits at either end of a word that is blank else
SHORTEST_WORD, LONGEST_WORD = 17, 4096


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
    halves, starts = written(code, sent, bits_per_second)
    samples, starts = through(halves, starts, condition, bits_per_second, rate, rng)
    unit = unit_s(code, bits_per_second)
    edges = found_edges(samples, rate, code, unit, condition)
    wrong = sum(not _is_read(code, edges, start, unit, word) for start, word in zip(starts, sent, strict=True))
    return Lost(words, wrong)


def _is_read(code, edges, start_s, unit, word):
    """Whether a word that begins at the edge nearest to a time reads right."""
    cells = code.decode(edges[nearest(edges, start_s) :], unit, len(word))
    return len(cells.bits) == len(word) and bool(np.all(cells.bits == word))
