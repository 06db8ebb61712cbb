"""Several readings of one block, each damaged, put together before anything is decided about their bits.

Copies of a block, or the two sides of a tape, hold the same cells under different noise. Where readings kept how
likely each step of their sound is (`FoundBlock.grid`), these are added up and the cells are found anew; where
not, a byte that is sure in one reading mends the others.
"""

import numpy as np

from .blocks import PART_START, length_of
from .found import CHECKED, DAMAGED, MENDED
from .readers.likeliest import likeliest, said_length
from .repair_copies import SHARED_TRIALS, aligned, merge
from .trellis import Trellis

__all__ = ["alike", "nearly", "one_of_sides", "sound_together", "total_of"]

MIXED = ("sum", "difference")
NEARLY_BEATS = 8  # by which the end of a block that is in hiss may be found off
SOUND_TRIALS = 12  # rows of cells that the check may be asked about after the likeliest


def total_of(block):
    """Bytes of a whole block, check included, as its first bytes state; None if they are not known."""
    length = None if block.headless else length_of(block.content[:PART_START])
    return None if length is None else length + block.format.check_bytes


def alike(grid, other):
    """How alike two grids are, as far as both go, from -1 to 1."""
    beats = min(len(grid), len(other))
    grid, other = grid[:beats], other[:beats]
    size = np.sqrt(np.einsum("ij,ij", grid, grid) * np.einsum("ij,ij", other, other))
    return float(np.einsum("ij,ij", grid, other) / size) if size > 0 else 0.0


def sound_together(readings):
    """A block from the sound of several damaged readings of it.

    Parameters
    ----------
    readings : sequence of FoundBlock
        The first one's place and times are kept.

    Returns
    -------
    FoundBlock or None
        Mended, or damaged less; None where fewer than two have kept their sound, step for step alike.
    """
    first = readings[0]
    grids = [r.grid for r in readings if r.grid is not None and r.format == first.format]
    grids = [grid for grid in grids if first.grid is not None and nearly(grid, first.grid)]
    if len(grids) < 2:
        return None
    trellis, found = Trellis(first.format.code), None
    # Where they do not end together, one of the ends is right.
    for beats in sorted({len(grid) for grid in grids}, key=lambda n: -sum(len(grid) == n for grid in grids)):
        grid = np.sum([_cut(grid, beats) for grid in grids], axis=0)
        for length in _lengths(trellis, grid, first):
            tried = likeliest(trellis, grid, length * first.bits_per_byte, first.format, 0 if found else SOUND_TRIALS)
            if tried is None or not tried.says(length - first.format.check_bytes):
                continue
            if found is None or (found.verdict == DAMAGED and tried.verdict != DAMAGED):
                found = tried
    if found is None:
        return None
    note = f"made of the sound of {len(grids)} copies" + (f", after {found.trials} trials" if found.trials else "")
    content, inverted = found.upright
    return first.with_room(len(content)).changed(
        content=content,
        doubtful=found.doubtful,
        verdict=MENDED if found.verdict == CHECKED else found.verdict,
        bits=found.path.bits,
        soft=found.path.signed,
        grid=found.grid if found.verdict == DAMAGED else None,
        inverted=inverted,
        headless=False,
        note="; ".join(filter(None, (first.note, note))),
    )


def nearly(grid, other):
    """Whether two grids are of blocks that may be one: as long, but for a few beats."""
    return abs(len(grid) - len(other)) <= NEARLY_BEATS and grid.shape[1] == other.shape[1]


def _cut(grid, beats):
    """So many beats of a grid; where it has none, nothing is known."""
    return np.pad(grid[:beats], ((0, max(0, beats - len(grid))), (0, 0)))


def _lengths(trellis, grid, block):
    """Bytes, check included, that a block may have: as its sound says, and as it was read."""
    path = trellis.best(grid)
    said = said_length(path, block.format) if path is not None else None
    known = [said + block.format.check_bytes] if said is not None else []
    return dict.fromkeys([*known, len(block.content)])


def one_of_sides(readings):
    """A block from damaged readings of it on several sides of one tape.

    Parameters
    ----------
    readings : sequence of FoundBlock
        The most trusted first.

    Returns
    -------
    FoundBlock or None
        None where together they give no more than the first.
    """
    names = " and ".join(dict.fromkeys(r.side for r in readings))
    # What is in a sum or a difference is in its sides already.
    mended = sound_together([r for r in readings if r.side not in MIXED] or readings)
    if mended is None or mended.verdict == DAMAGED:
        mended = _bytes_together(readings) or mended
    if mended is None or (mended.verdict == DAMAGED and mended.sure_bytes <= readings[0].sure_bytes):
        return None
    return mended.changed(side=names, note=mended.note.replace("copies", "sides"))


def _bytes_together(readings):
    first = readings[0]
    total = total_of(first)
    others = [r for r in readings if r.format == first.format and (r.headless or total_of(r) == total)]
    aligned_ = [] if total is None else [aligned(r, total) for r in others]
    aligned_ = [one for one in aligned_ if one is not None]
    return merge(first, aligned_, trials=SHARED_TRIALS)[0] if len(aligned_) > 1 else None
