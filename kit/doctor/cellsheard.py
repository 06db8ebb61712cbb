"""The cells behind each leader, heard without asking any check: whether the sound was good though the data is not."""

from dataclasses import dataclass

import numpy as np

from kit.checks import CHECKS
from kit.waves import edges

__all__ = ["CellsHeard", "hear_cells"]

LOOKED_S = 30.0
LEAST_BITS = 64
LEADER_EDGES = 8
FEW_VALUES = 4


@dataclass(frozen=True)
class CellsHeard:
    """Cells from a sync mark to the next leader.

    Attributes
    ----------
    start_s, stop_s : float
    bits : int
    weakest : float
        The smallest margin among them: 1 is perfect, 0 a bit that may as well be the other.
    check : str
        A check that agrees with the bytes, though the format asks for another; empty if none does.
    format : Format
        Whose cells they are.
    """

    start_s: float
    stop_s: float
    bits: int
    weakest: float
    check: str
    format: object


def hear_cells(wave, rate, formats, unit_s):
    """Cells behind leaders that end in a leader again, so that nothing between is lost.

    Parameters
    ----------
    wave : numpy.ndarray
        float32, (n,).
    rate : int
        In Hz.
    formats : list of Format
    unit_s : float or None
        Length of a unit, as the leaders have it: what starts after other leaders is noise.

    Returns
    -------
    list of CellsHeard
        Of the format whose cells fit best.
    """
    times = edges(wave[: round(LOOKED_S * rate)], rate, 0.05)
    groups = {}
    # Of other codes the margins are those of whole rows, and tell nothing of single cells.
    for format in (f for f in formats if f.code.draws_alike and not f.stream):
        groups.setdefault((format.cycles, format.code), []).append(format)
    each = [_heard(times, group, unit_s) for group in groups.values()]
    return max(each, key=lambda found: sum(cells.bits * cells.weakest for cells in found), default=[])


def _heard(times, formats, unit_s):
    found = []
    for rivals in formats[0].leader.find(times, formats[0].code):
        heard = [_cells_behind(times, start, formats) for start in rivals
                 if not unit_s or abs(start.unit / unit_s - 1) < 0.15]
        # Of places half a cycle apart only one shows cells as they were written.
        found += sorted(filter(None, heard), key=lambda cells: -cells.weakest)[:1]
    return found


def _cells_behind(times, start, formats):
    """What is heard from a start to the next leader; None if there is none, or too little before it."""
    format = formats[0]
    stop = _next_leader(times, start, format)
    cells = format.code.decode(times[start.index : stop + 1], start.unit) if stop else None
    if cells is None or len(cells.bits) < LEAST_BITS:
        return None
    weakest = 0.0 if cells.broken.any() else float(cells.margins.min())
    return CellsHeard(float(cells.times[0]), float(cells.times[-1]), len(cells.bits), weakest,
                      _agreeing(cells.bits, formats), format)


def _next_leader(times, start, format):
    """Number of the edge at which leader begins again after a start, or None."""
    halves = np.diff(times[start.index :]) / start.unit
    like = np.abs(halves - format.leader.leader_units / 2) < 0.15 * format.leader.leader_units
    run = np.convolve(like, np.ones(LEADER_EDGES, int), mode="valid") == LEADER_EDGES if len(like) > 8 else like[:0]
    at = np.flatnonzero(run)
    return start.index + int(at[0]) if len(at) else None


def _agreeing(bits, formats):
    """A check that agrees with the bytes these bits make, in the frame of one of the formats."""
    for frame in {format.frame for format in formats}:
        values, doubt = frame.to_bytes(bits)
        data = values.tobytes()
        # Of zeros, or little else, many checks are zero as well.
        for name, check in CHECKS.items() if not doubt.any() and len(set(data)) > FEW_VALUES else ():
            size = check.size_bytes
            if size >= 2 and len(data) > size and check.compute(data[:-size]) == data[-size:]:
                return name
    return ""
