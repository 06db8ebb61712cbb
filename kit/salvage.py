"""Salvage: of a block whose check does not agree, what can be vouched for, read from both ends of a hole."""

from dataclasses import dataclass

import numpy as np

from . import blocks
from .blockreader import (
    PROBE_EDGES,
    Stretch,
    deglitched,
    found_block,
    looks_like_cells,
    most_cells,
    most_edges,
)
from .cells import MILD
from .found import DAMAGED

__all__ = ["overlap", "salvage_block", "salvage_tails", "too_tight", "too_wide", "weight"]

GUARD_CELLS = 4  # cells before a broken one that are not trusted either
SWING = 0.1  # part by which the tape may run faster or slower in a hole than in the leader
FEWEST_CELLS = 24  # cells that must be sure for a damaged block to be believed to be one


def salvage_block(edges, unit, leader_s, format):
    """Read what can be vouched for of a block whose check does not agree.

    Cells are read forwards from the start up to the first that cannot be one, and backwards from the tail.

    Parameters
    ----------
    edges : ndarray of float64, shape (n,)
        Seconds; from the first cell's first edge on.
    unit : float
        Seconds in a unit.
    leader_s : float
        Where the leader before it begins, in seconds.
    format : Format

    Returns
    -------
    tuple of (FoundBlock or None, float)
        The damaged block, and the time up to which the edges were used.
    """
    if len(edges) < 2 * FEWEST_CELLS:
        return None, 0.0
    # Where there are more edges, whoever asks has seen to it: see `worth_salvaging`.
    if len(edges) < PROBE_EDGES and not looks_like_cells(edges, unit, format.code):
        return None, 0.0
    clean = deglitched(edges[: 2 * most_edges(format)], unit, format.code)
    stretch = Stretch(format, clean, unit, leader_s)
    end = format.leader.find_end(clean, unit, format.code)
    stop = len(clean) - 1 if end is None else end[0]
    used_s = float(clean[stop])
    front = _forwards(stretch, stop)
    back = _backwards(stretch, end) if end is not None else _Run.empty()
    if max(front.sure, back.sure) < FEWEST_CELLS:
        return None, used_s
    each = format.frame.bits_per_byte
    length = None
    if front.sure >= blocks.PART_START * each:
        length = blocks.length_of(format.frame.to_bytes(front.bits[: blocks.PART_START * each])[0].tobytes())
    if length is None:
        return _one_end(stretch, front, back, has_start=True), used_s
    total = (length + format.check_bytes) * each
    if _belongs_elsewhere(stretch, front, back, total):
        # The tail lies in the hole as well, and what follows the hole is left for others to read.
        front, back = front.sure_part(total), _Run.empty()
        used_s = float(front.times[-1])
    return _both_ends(stretch, front, back, total), used_s


def _belongs_elsewhere(stretch, front, back, total):
    """Whether what was read backwards lies too far off to be of this block."""
    if not len(back.bits):
        return False
    sure_front, sure_back = min(front.sure, total), min(back.sure, total)
    room = (back.times[sure_back] - front.times[sure_front]) / stretch.unit
    return too_wide(total - sure_front - sure_back, room, stretch.format.code)


def salvage_tails(edges, unit, format):
    """Blocks that lost their start, read back from where each gives way to leader.

    Parameters
    ----------
    edges : ndarray of float64, shape (n,)
        Seconds; a stretch in which no start was found.
    unit : float
        Seconds in a unit, to within about a quarter.
    format : Format

    Yields
    ------
    FoundBlock
        Headless.
    """
    clean, here = deglitched(edges, unit, format.code), 0
    while (end := format.leader.find_end(clean, unit, format.code, here)) is not None:
        stop, tail_unit = end
        first = max(here, stop - most_edges(format))
        stretch = Stretch(format, clean[first : stop + 1], unit, float(clean[first]))
        back = _backwards(stretch, (stop - first, tail_unit))
        if back.sure >= FEWEST_CELLS:
            block = _one_end(stretch, _Run.empty(), back, has_start=False)
            if block is not None:
                yield block.changed(leader_s=block.start_s)
        here = stop + format.leader.even_edges(clean[stop:], unit)


@dataclass(frozen=True)
class _Run:
    """Cells read in one direction, in tape order of reading, and how many of them are sure."""

    bits: np.ndarray
    margins: np.ndarray
    times: np.ndarray  # seconds, one more than bits
    sure: int
    broken: bool

    @classmethod
    def empty(cls):
        return cls(np.zeros(0, np.uint8), np.zeros(0, np.float32), np.zeros(1), 0, True)

    def sure_part(self, most):
        """The cells that are sure, so many at most."""
        count = min(self.sure, most)
        return _Run(self.bits[:count], self.margins[:count], self.times[: count + 1], count, self.broken)


def _run(code, cells):
    broken = np.flatnonzero(code.outliers(cells))
    sure = max(0, int(broken[0]) - GUARD_CELLS) if len(broken) else len(cells.bits)
    return _Run(cells.bits, cells.margins, cells.times, sure, len(broken) > 0)


def _forwards(stretch, stop):
    code, most = stretch.format.code, most_cells(stretch.format)
    return _run(code, code.decode(stretch.edges[: stop + 1], stretch.unit, most))


def _backwards(stretch, end):
    code, (stop, unit) = stretch.format.code, end
    first = max(0, stop - most_edges(stretch.format))
    cells = code.decode_backwards(stretch.edges[first : stop + 1], unit, most_cells(stretch.format))
    return _run(code, cells)


def _one_end(stretch, front, back, has_start):
    """A block of unknown length: what was read from the end that gave more."""
    each = stretch.format.frame.bits_per_byte
    headless = back.sure >= front.sure
    run = back if headless else front
    whole = run.sure // each * each
    if whole == 0:
        return None
    bits, margins, times = run.bits[:whole], run.margins[:whole], run.times[: whole + 1]
    if headless:
        bits, margins, times = bits[::-1], margins[::-1], times[::-1]
    content, doubtful = stretch.format.frame.to_bytes(bits)
    if not run.broken:
        # The check fails, and nothing shows where: nothing can be vouched for.
        doubtful = np.ones_like(doubtful)
    room = (times[0] - stretch.edges[0]) / stretch.unit if has_start and headless else float("nan")
    return found_block(
        stretch,
        content.tobytes(),
        doubtful,
        DAMAGED,
        bits,
        margins,
        times,
        headless=headless,
        room_units=float(room),
    )


def too_tight(cells, room_units, code):
    """Whether so many cells cannot have lain in a stretch of so many units, whatever a hole blurs.

    Both are below zero where two readings overlap: then by so many cells, and by so many units.
    """
    return room_units < min(_room_units(cells, code)) - 2 * GUARD_CELLS


def too_wide(cells, room_units, code):
    """Whether a stretch of so many units is more than so many cells can fill."""
    return room_units > max(_room_units(cells, code)) + 2 * GUARD_CELLS


def _room_units(cells, code):
    """How long so many cells last at least and at most; where all last alike, the tape's speed has its say."""
    short, long = code.shortest_units, code.longest_units
    mean = (short + long) / 2
    return cells * min(short, mean * (1 - SWING)), cells * max(long, mean * (1 + SWING))


def _both_ends(stretch, front, back, total):
    """A block of known length: its front, its back, and between them bytes in doubt."""
    code, each = stretch.format.code, stretch.format.frame.bits_per_byte
    sure_front, sure_back = min(front.sure, total), min(back.sure, total)
    room = (back.times[sure_back] - front.times[sure_front]) / stretch.unit if len(back.bits) else np.nan
    bits, margins, times = _pasted(front, back, total, sure_front, sure_back)
    first = total - sure_back
    differ = np.flatnonzero(front.bits[first:sure_front] != bits[first:sure_front])
    if len(differ):
        # The two readings differ where a cell slipped: between the first and the last difference.
        sure_front, sure_back = first + int(differ[0]), sure_back - int(differ[-1]) - 1
    doubtful = _doubt(total, each, sure_front, sure_back, margins)
    if too_tight(total - sure_front - sure_back, room, code):
        # Cells were lost somewhere without a trace, so nothing after the first bytes is certain.
        doubtful[blocks.PART_START :] = True
    content, faults = stretch.format.frame.to_bytes(bits)
    times = _filled(times, sure_front, sure_back)
    return found_block(stretch, content.tobytes(), doubtful | faults, DAMAGED, bits, margins, times)


def _pasted(front, back, total, sure_front, sure_back):
    """Bits, margins and times of a block: the back where it is sure, else the front, as far as there is any."""
    bits, margins = np.zeros(total, np.uint8), np.zeros(total, np.float32)
    times = np.full(total + 1, np.nan)
    kept, first = min(total, len(front.bits)), total - sure_back
    bits[:kept], margins[:sure_front] = front.bits[:kept], front.margins[:sure_front]
    times[: kept + 1] = front.times[: kept + 1]
    if sure_back:
        bits[first:], margins[first:] = back.bits[:sure_back][::-1], back.margins[:sure_back][::-1]
        times[first:] = back.times[: sure_back + 1][::-1]
    return bits, margins, times


def _doubt(total, each, sure_front, sure_back, margins):
    """Bytes in doubt: those in the hole; with no hole, those with a near miss; with none of these, all."""
    cells = np.zeros(total, bool)
    cells[sure_front : total - sure_back] = True
    if not cells.any():
        cells = margins < MILD
        cells = cells if cells.any() else ~cells
    return cells.reshape(-1, each).any(axis=1)


def _filled(times, sure_front, sure_back):
    """Times across a hole, spread evenly between its ends."""
    hole = np.ones(len(times), bool)
    hole[: sure_front + 1] = False
    hole[len(times) - 1 - sure_back :] &= sure_back == 0
    if sure_back == 0:
        hole &= np.isnan(times)
    known = np.flatnonzero(~hole)
    return np.interp(np.arange(len(times)), known, times[known])


def weight(block):
    """How much a damaged reading tells, to compare those of one place by different codes.

    Where two codes explain the same stretch of tape, the one that needs fewer bits for it is the one: by
    chance, few cycles in a row are cells of a code whose cells are long.
    """
    code = block.format.code
    strict = (code.shortest_units + code.longest_units) ** 2
    return block.sure_bytes * strict, len(block.content) * strict


def overlap(one, other):
    (a, b), (c, d) = one.span_s, other.span_s
    return min(b, d) > max(a, c)
