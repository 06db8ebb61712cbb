"""The line codes and tone pairs that are tried, and bits to try them with."""

import numpy as np

from kit.linecodes import BiphaseMark, DelayModulation, OnOffTone, PhaseEncoding, PhaseFlips, RawLevels
from kit.tonepairs import TONE_PAIRS, TonePair

LINES = {
    "levels": RawLevels(),
    "on-off": OnOffTone(cycles=4, cell_units=2.0),
    "flips": PhaseFlips(cycles=2),
    "flips of one cycle": PhaseFlips(cycles=1, cell_units=0.7),
    "marks": BiphaseMark(),
    "phase": PhaseEncoding(),
    "delay": DelayModulation(cell_units=0.5),
}
TONES = {name: TonePair.of_hz(*pair, unit_hz=pair[2]) for name, pair in TONE_PAIRS.items()}
CLOCKLESS = ("levels", "on-off")  # a run of equal bits has no edge by which to keep time


def random_bits(name, count, seed):
    """Bits without order; where runs would stop the clock, ten cells hold a zero and a one at least."""
    bits = np.random.default_rng(seed).integers(0, 2, count)
    if name in CLOCKLESS:
        bits[::10], bits[1::10] = 0, 1
    return bits
