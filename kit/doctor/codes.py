"""What the doctor asks of a cell code: its cycles, how long its bits last, how near its next wrong decision is."""

import numpy as np

from kit.linecodes import OnOffTone, RawLevels

__all__ = ["bit_units", "cycles_units", "decided_part", "ideal_times", "swings_evenly"]

CLOCK_PART = 0.25  # of a bit: an error of speed at which a clock made for one speed takes a tick for the next


def cycles_units(code):
    """Lengths of the cycles that occur in data, in units, shortest first."""
    return sorted({round(length, 6) for length in code.cycle_lengths_units})


def bit_units(code):
    """How long a zero and a one last, in units."""
    if code.draws_alike:
        return float(code.encode([0]).sum()), float(code.encode([1]).sum())
    return code.shortest_units, code.longest_units


def swings_evenly(code):
    """Whether data of this code swings as strongly as a leader all along; else silence or a sag is no dropout."""
    return not isinstance(code, OnOffTone | RawLevels)


def decided_part(code, error):
    """Part of the way to a wrong decision that an error of speed takes from a loader that never adjusts.

    Parameters
    ----------
    code : CellCode
    error : float
        Speed over what the loader was made for, minus 1.

    Returns
    -------
    float
        0 none, 1 all of it; more is more than all.
    """
    lengths = cycles_units(code)
    if not code.draws_alike or len(lengths) != 2:
        return abs(error) / CLOCK_PART
    short, long = lengths
    threshold, half_gap, pace = (short + long) / 2, (long - short) / 2, 1 + error
    return 1 - min(threshold - short / pace, long / pace - threshold) / half_gap


def ideal_times(code, bits, unit_s):
    """When each cell of some bits begins, and the last one ends, at an even speed: float64, (bits + 1,)."""
    zero, one = bit_units(code)
    return np.concatenate(([0.0], np.cumsum(np.where(bits, one, zero) * unit_s)))
