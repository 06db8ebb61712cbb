"""Stretches without signal, told apart: silences that belong there, long dropouts, and data that is only weak."""

import numpy as np

from kit.doctor.codes import cycles_units
from kit.doctor.envelope import Dip
from kit.doctor.overview import LEAST_SILENCE_S, NOTHING, SILENT_PART
from kit.found import ranges
from kit.waves import edges

__all__ = ["LEAST_HOLE_S", "like_cells", "quiet_spans", "sort_quiet", "without"]

LEAST_HOLE_S = 0.08
LONGEST_HOLE_S = 1.0
BESIDE_S = 0.05  # looked at on either side
CUT_PART = 0.5  # of the usual level: a hole begins and ends at once, a leader that is turned down fades
LIKE_LEADER, LIKE_DATA, LIKE_SHORT = 0.75, 0.6, 0.9
WEAKEST_DB = 30.0  # data that has lost more of its highs is not told from a hole
MARGIN_S = 0.02  # a level is read over so much


def quiet_spans(line):
    """Stretches, in seconds, in which the level is that of no signal, also short ones: list of (float, float)."""
    quiet = line.levels < max(SILENT_PART * line.usual_level, NOTHING)
    return [(a * line.level_s, b * line.level_s) for a, b in ranges(quiet) if (b - a) * line.level_s >= LEAST_HOLE_S]


def without(spans, gaps):
    """Spans with gaps taken out: list of (float, float, ...); what follows start and stop stays with each piece."""
    left = []
    for start, stop, *more in spans:
        for first, last in gaps:
            if first < stop and last > start:
                if first - MARGIN_S > start:
                    left.append((start, first - MARGIN_S, *more))
                start = last + MARGIN_S
        if start < stop:
            left.append((start, stop, *more))
    return left


def sort_quiet(wave_of, placed):
    """What each quiet stretch is.

    Parameters
    ----------
    wave_of : callable
        Given start and stop in seconds, the samples between.
    placed : Evidence
        With leaders and the length of a unit.

    Returns
    -------
    silences : list of (float, float)
        Where no signal should be.
    holes : list of Dip
        Long dropouts.
    """
    silences, holes = [], []
    for span in quiet_spans(placed.line):
        if placed.format is not None and placed.format.stream:
            weak = hole = False
        else:
            weak = _weak_data(wave_of, span, placed)
            hole = not weak and _is_hole(wave_of, span, placed)
        if hole:
            holes.append(Dip(*span, _depth_db(placed.line, span)))
        elif not weak and span[1] - span[0] > LEAST_SILENCE_S - 1e-6:
            silences.append(span)
    return silences, holes


def _weak_data(wave_of, span, placed):
    """Whether a stretch lies in a block that was read, or holds shortest cycles: these may be weak, but are there."""
    start, stop = span
    read = [block.span_s for block in placed.good]
    if any((first <= start and stop <= last) or (start <= first and last <= stop) for first, last in read):
        return True
    if _depth_db(placed.line, span) > WEAKEST_DB:
        return False
    return like_cells(wave_of(start + MARGIN_S, stop - MARGIN_S), placed, cycles_units(placed.code)[:1]) > LIKE_SHORT


def _is_hole(wave_of, span, placed):
    """Whether signal ends and comes back at once where it should go on."""
    start, stop = span
    first = min((leader[0] for leader in placed.leaders), default=start)
    if placed.unit_s is None or not placed.leaders or stop - start > LONGEST_HOLE_S or start <= first:
        return False
    levels, each = placed.line.levels, placed.line.level_s
    beside = levels[max(0, round(start / each) - 3) : round(start / each) - 1], levels[round(stop / each) + 1 :][:2]
    if any(not len(side) or side.min() < CUT_PART * placed.line.usual_level for side in beside):
        return False
    leader = [placed.leader_units]
    after = wave_of(stop, stop + BESIDE_S)
    if like_cells(after, placed, leader) < LIKE_LEADER:
        return like_cells(after, placed, cycles_units(placed.code)) > LIKE_DATA
    # A tail ends before a gap as well, and the next leader follows it: longer than a tail, it is one leader.
    before = wave_of(start - MARGIN_S - placed.tail_s - BESIDE_S, start - MARGIN_S)
    return like_cells(before, placed, leader) > LIKE_LEADER


def _depth_db(line, span):
    first, last = (round(s / line.level_s) for s in span)
    deepest = line.levels[first:last].min() / line.usual_level
    return float(-20 * np.log10(max(deepest, 1e-3)))


def like_cells(wave, placed, units):
    """Part of the half-cycles in a stretch whose length is one of some, in units of a whole cycle."""
    halves = np.diff(edges(wave - wave.mean(), placed.rate, 0.2)) if len(wave) else np.zeros(0)
    if len(halves) < 6 or placed.unit_s is None:
        return 0.0
    # Not the first and the last: they may be cut.
    ratio = halves[1:-1, None] / (np.array(units) / 2 * placed.unit_s)
    return float(np.mean((np.abs(ratio - 1) < 0.2).any(axis=1)))
