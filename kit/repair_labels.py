"""Repair: blocks known by the format they were written in, when several were listened for.

A damaged block has no check that would tell formats apart, so it is read again in the format of the whole blocks
round it: its bits are as they were heard, only their meaning changes. And two formats may write the same blocks but
for parity blocks: where these are found, the format with parity is the one.
"""

import numpy as np

from .blocks import PARITY
from .found import DAMAGED
from .known import FORMATS

__all__ = ["read_as_neighbours"]

MOST_FAULTS = 0.4  # part of the bytes whose frames may be damaged, in a block that is read in the right format


def read_as_neighbours(found):
    """Blocks in the same order, the damaged ones in the format of the whole blocks next to them.

    Parameters
    ----------
    found : list of FoundBlock
        In the order of the tape.

    Returns
    -------
    list of FoundBlock
    """
    found = _with_parity(found)
    before, after = _nearest_formats(found), _nearest_formats(found[::-1])[::-1]
    return [
        _read_as(block, first or second) if block.verdict == DAMAGED and (first or second) else block
        for block, first, second in zip(found, before, after, strict=True)
    ]


def _with_parity(found):
    """Blocks of files that have parity blocks, in the format with parity that reads like theirs."""
    tags = {block.parity_part.tag for block in found if block.kind == PARITY and block.parity_part}
    if not tags:
        return found
    return [
        block.changed(format=_protected(block.format)) if _tag(block) in tags else block for block in found
    ]


def _tag(block):
    part = block.header or block.part or block.parity_part
    return part.tag if part else None


def _protected(format):
    """The named format with parity blocks that reads like another, or that one."""
    if format.outer is not None:
        return format
    alike = (f for f in FORMATS.values() if f.outer is not None and f.reads_like(format))
    return next(alike, format)


def _nearest_formats(found):
    """For each block, the format of the last whole one before it."""
    formats, last = [], None
    for block in found:
        formats.append(last)
        if block.verdict != DAMAGED:
            last = block.format
    return formats


def _read_as(block, format):
    mine = block.format
    if mine == format or (mine.code, mine.leader, mine.unit_hz) != (format.code, format.leader, format.unit_hz):
        return block
    if mine.frame == format.frame:
        return block.changed(format=format)
    other = _framed_as(block, format)
    # A block of another format may lie between: there the frames do not fit.
    return block if other is None or other.trust[0] < block.trust[0] else other


def _framed_as(block, format):
    """A block's bits divided into bytes as another format has them."""
    each = format.frame.bits_per_byte
    count = len(block.bits) // each
    if count == 0:
        return None
    first = len(block.bits) - count * each if block.headless else 0
    kept = slice(first, first + count * each)
    bits = block.bits[kept]
    content, faults = format.frame.to_bytes(bits)
    if faults.mean() > MOST_FAULTS:
        return None
    in_doubt = np.repeat(block.doubtful, block.bits_per_byte)[kept].reshape(count, each).any(axis=1)
    return block.changed(
        format=format,
        content=content.tobytes(),
        doubtful=in_doubt | faults,
        bits=bits,
        margins=block.margins[kept],
        cell_s=block.cell_s[first : first + count * each + 1],
        soft=None if block.soft is None else block.soft[kept],
    )
