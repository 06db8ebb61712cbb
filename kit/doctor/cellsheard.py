"""The cells behind each leader, heard without asking any check: whether the sound was good though the data is not."""

from dataclasses import dataclass

import numpy as np

from kit.checks import CHECKS
from kit.waves import edges

__all__ = ["CellsHeard", "hear_cells"]

LOOKED_S = 30.0
LEAST_BITS = 64
LEADER_EDGES = 8


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
    found, format = [], formats[0]
    for group in format.leader.find(times, format.code):
        start = group[0]
        if unit_s and abs(start.unit / unit_s - 1) > 0.15:
            continue
        stop = _next_leader(times, start, format)
        cells = format.code.decode(times[start.index : stop + 1], start.unit) if stop else None
        if cells is not None and len(cells.bits) >= LEAST_BITS:
            weakest = 0.0 if cells.broken.any() else float(cells.margins.min())
            found.append(CellsHeard(float(cells.times[0]), float(cells.times[-1]), len(cells.bits), weakest,
                                    _agreeing(cells.bits, formats), format))
    return found


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
        for name, check in CHECKS.items() if not doubt.any() else ():
            size = check.size_bytes
            if size >= 2 and len(data) > size and check.compute(data[:-size]) == data[-size:]:
                return name
    return ""
