"""Cutting frames: from edges to rows of 80 bits, each bounded by the sync words that are there.

A frame's 64 bits lie before its own sync word. They are read forwards from the sync word of the frame before, and
backwards from their own: both must come to the same, and where only one of these is there, that one is taken.
"""

from itertools import pairwise

import numpy as np

from ..cells import MILD
from .found import FoundFrame
from .frame import BITS, SYNC_WORD, has_even_zeros
from .syncs import find_syncs
from .writing import CODE

__all__ = ["cut_frames"]

DATA_BITS = BITS - len(SYNC_WORD)
UNEVEN = 0.3  # part of 64 cells by which the time between two sync words may differ from that
NEAR = 0.25  # part of a cell within which what was counted must end where a sync word begins
MOST_EDGES = 2 * DATA_BITS + 64  # edges in which 64 cells are looked for: all ones, and some edges too many
RUN = 16  # frames read in one go: a reader needs some cells to settle


def cut_frames(edges, backwards, side):
    """Frames played in one direction.

    Parameters
    ----------
    edges : ndarray of float64, shape (n,)
        Times in seconds, rising, as they were heard.
    backwards : bool
        Look for frames played backwards.
    side : str
        Kept with each frame.

    Returns
    -------
    list of FoundFrame
        In the order in which they were written. `frame` is not filled in yet.
    """
    if backwards:
        edges = -edges[::-1]
    frames, last = [], None
    for run in _runs(edges, find_syncs(edges)):
        frames += _without_sync_word(edges, last, run[0]) if last else []
        in_one_go, last = _read_run(edges, run), run[-1]
        for number, (before, sync) in enumerate(pairwise([None, *run])):
            frames += _own_frame(edges, before, sync, in_one_go.get(number))
    return [_heard(*frame, backwards, side) for frame in frames]


def _heard(start, stop, bits, margin, fits, backwards, side):
    start_s, stop_s = (-stop, -start) if backwards else (start, stop)
    even = has_even_zeros(np.append(bits[:DATA_BITS], SYNC_WORD))
    return FoundFrame(None, bits, start_s, stop_s, backwards, margin, fits, even, side)


def _runs(edges, syncs):
    """Sync words in rows, each a frame later than the one before; a long row goes on with the word that
    ended one.
    """
    run = []
    for sync in syncs:
        if run and not _is_next(edges, run[-1], sync):
            yield run
            run = []
        if len(run) > RUN:
            yield run
            run = run[-1:]
        run.append(sync)
    if run:
        yield run


def _is_next(edges, before, sync, cells=DATA_BITS):
    """Whether there is time for just so many cells between two sync words."""
    passed = (edges[sync.first] - edges[before.last]) / ((before.cell + sync.cell) / 2)
    return abs(passed - cells) < UNEVEN * DATA_BITS


def _read_run(edges, run):
    """Cells from the end of a run's first sync word to its last, cut into frames by number, as far as they fit."""
    frames, first = {}, run[0]
    if len(run) < 2:
        return frames
    most = BITS * (len(run) - 1) - len(SYNC_WORD)
    cells = CODE.decode(edges[first.last : run[-1].first + 1], first.cell / CODE.longest_units, most)
    for number, (before, sync) in enumerate(pairwise(run)):
        part = slice(BITS * number, BITS * number + DATA_BITS)
        if part.stop >= len(cells.times) or not _ends_at(cells.times[part.stop], edges[sync.first], sync):
            break
        reading = _judged(cells, part, float(edges[before.last]))
        if reading[3] and reading[2] >= MILD:
            frames[number + 1] = reading
    return frames


def _ends_at(time, wanted, sync):
    return abs(float(time - wanted)) < NEAR * sync.cell


def _own_frame(edges, before, sync, reading):
    """Start, stop, bits, margin and fit of the frame that a sync word ends; none or one."""
    if reading is None:
        both = [_read_on(edges, before, sync) if before else None, _read_back(edges, sync)]
        reading = _better(*both)
    if reading is None:
        return []
    start, bits, margin, fits = reading
    return [(start, float(edges[sync.last]), np.append(bits, SYNC_WORD).astype(np.uint8), margin, fits)]


def _without_sync_word(edges, before, sync):
    """The frame that ends in a damaged sync word, where those before and after it are whole; none or one."""
    if not _is_next(edges, before, sync, BITS + DATA_BITS):
        return []
    stretch = edges[before.last : sync.first + 1]
    cells = CODE.decode(stretch, before.cell / CODE.longest_units, BITS)
    if len(cells.bits) < BITS or cells.broken[:DATA_BITS].any():
        return []
    start, _, margin, _ = _judged(cells, slice(DATA_BITS), float(stretch[0]))
    stop = start + (float(stretch[-1]) - start) * BITS / (BITS + DATA_BITS)
    return [(start, stop, cells.bits, margin, False)]


def _better(one, other):
    """The reading that fits better; it only fits if the other comes to the same."""
    if one is None or other is None:
        return one or other
    start, bits, margin, fits = max(one, other, key=lambda reading: (reading[3], reading[2]))
    return start, bits, margin, fits and np.array_equal(one[1], other[1])


def _read_on(edges, before, sync):
    """Cells from the end of one sync word to the start of the next."""
    stretch = edges[before.last : sync.first + 1]
    cells = CODE.decode(stretch, before.cell / CODE.longest_units, DATA_BITS)
    if len(cells.bits) < DATA_BITS:
        return None
    whole = _ends_at(cells.times[-1], stretch[-1], sync)
    start, bits, margin, fits = _judged(cells, slice(DATA_BITS), float(stretch[0]))
    return start, bits, margin, fits and whole


def _read_back(edges, sync):
    """Cells before a sync word, turned round into the order in which they were written."""
    stretch = edges[max(0, sync.first - MOST_EDGES) : sync.first + 1]
    cells = CODE.decode_backwards(stretch, sync.cell / CODE.longest_units, DATA_BITS)
    if len(cells.bits) < DATA_BITS:
        return None
    start, bits, margin, fits = _judged(cells, slice(DATA_BITS), float(cells.times[-1]))
    return start, bits[::-1], margin, fits


def _judged(cells, part, start):
    """Start, bits, least margin and fit of some cells."""
    return start, cells.bits[part], float(cells.margins[part].min()), not cells.broken[part].any()
