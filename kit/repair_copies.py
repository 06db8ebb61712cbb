"""Copies of a block, read from different places and each damaged, made one, byte by byte.

A byte that is sure in one copy mends the others. Where copies that are sure differ, soft values decide if there
are any, else the majority of three or more; what then stays open is tried, and the block's check has the last
word. Two copies that differ, and no check: it is known that one is wrong, but not which.
"""

from dataclasses import dataclass
from itertools import islice, product

import numpy as np

from .blocks import HEADER, inverted
from .checks import CHECKS
from .found import DAMAGED, MENDED, ranges

__all__ = ["MOST_TRIALS", "SHARED_TRIALS", "Merged", "aligned", "copy_of_header", "fits", "merge", "merge_bytes"]

# For one block; with 8 that placing may take, 16 of a patient reading, 12 of the sound of copies, and 2 of the timer
# where a cell slipped, 64 in all: each lets one wrong block in 65,536 pass a check of 16 bits.
MOST_TRIALS = 26
SHARED_TRIALS = 16  # of these, for two sides of one tape, before it is known which block it is
CRC_BYTES = slice(2, 6)  # of a header's content: the CRC-32 that tells files apart
ALIKE = 0.9  # part of the bytes sure in both that two readings of one block agree in, at least


@dataclass(frozen=True)
class Merged:
    """What comes of some copies.

    Attributes
    ----------
    data : ndarray of uint8, shape (bytes,)
    doubtful : ndarray of bool, shape (bytes,)
        Where no copy is sure, or copies that are sure differ.
    """

    data: np.ndarray
    doubtful: np.ndarray


def merge_bytes(copies, doubtful):
    """Make one of some copies, byte by byte.

    Parameters
    ----------
    copies : array_like of uint8, shape (copies, bytes)
    doubtful : array_like of bool, shape (copies, bytes)

    Returns
    -------
    Merged
        Each byte as the copies that are sure have it, or most of them; else as the first copy has it, in doubt.

    Examples
    --------
    >>> merged = merge_bytes([[1, 2, 3], [1, 7, 4]], [[False, True, False], [False, False, False]])
    >>> merged.data.tolist(), merged.doubtful.tolist()
    ([1, 7, 3], [False, False, True])
    """
    copies, sure = np.asarray(copies, np.uint8), ~np.asarray(doubtful, bool)
    votes = np.stack([(sure & (copies == copy) & one).sum(axis=0) for copy, one in zip(copies, sure, strict=True)])
    first = votes.argmax(axis=0)
    most = votes.max(axis=0)
    data = np.take_along_axis(copies, first[None], axis=0)[0]
    return Merged(data, 2 * most <= sure.sum(axis=0))


def aligned(block, total, turned=None):
    """A reading of a block with its bytes in their places: content and doubt.

    Parameters
    ----------
    block : FoundBlock
        Headless ones end where the block ends.
    total : int
        Bytes of the whole block, check included.
    turned : bool, optional
        Whether to turn every bit of a headless one.

    Returns
    -------
    tuple of ndarray, both of shape (total,)
        uint8 and bool; or None where there are too many bytes.
    """
    content = inverted(block.content) if turned else block.content
    if block.headless and len(content) > total:
        return None
    data, doubtful = np.zeros(total, np.uint8), np.ones(total, bool)
    held = min(total, len(content))
    place = slice(total - held, total) if block.headless else slice(0, held)
    data[place] = np.frombuffer(content[:held], np.uint8)
    doubtful[place] = block.doubtful[:held]
    return data, doubtful


def fits(one, other, fewest=1):
    """Whether two aligned readings may be of the same block: they agree where both are sure."""
    both = ~one[1] & ~other[1]
    count = np.count_nonzero(both)
    return count >= fewest and np.count_nonzero(one[0][both] == other[0][both]) >= ALIKE * count


def copy_of_header(block, header):
    """Whether a damaged block is a copy of a header: all that is sure fits, its CRC-32 or its check among it.

    Parameters
    ----------
    block, header : FoundBlock
    """
    if block.kind != HEADER and not block.headless:
        return False
    whole = np.frombuffer(header.content, np.uint8), header.doubtful
    for turned in (False, True) if block.format.inverted_copies else (False,):
        reading = aligned(block, len(header.content), turned)
        if reading is None or not fits(reading, whole):
            continue
        check = slice(len(header.content) - header.format.check_bytes, None)
        if not reading[1][CRC_BYTES].any() or not reading[1][check].any():
            return True
    return False


def merge(block, readings, soft=None, trials=MOST_TRIALS):
    """Make one block of several damaged readings of it.

    Parameters
    ----------
    block : FoundBlock
        The reading whose place and times the result keeps.
    readings : list of tuple of ndarray
        Aligned readings, as from `aligned`: at least one; that of `block` first.
    soft : list of ndarray or None, optional
        Soft values of each reading's bits, positive for a one in the upright block.
    trials : int
        How often the check may be asked.

    Returns
    -------
    tuple of (FoundBlock, int)
        Mended if the check agrees, else damaged; and how many trials that took.
    """
    copies, doubt = (np.stack(parts) for parts in zip(*readings, strict=True))
    merged = _softly(merge_bytes(copies, doubt), copies, doubt, soft, block.format)
    what = f"made of {len(readings)} copies"
    used = 0
    for used, content in enumerate(islice(_candidates(merged, copies), trials), 1):
        if _agrees(content, block.format):
            note = what if used == 1 else f"{what}, after {used} trials"
            return _as_block(block, content, np.zeros(len(content), bool), MENDED, note), used
    doubtful = merged.doubtful if merged.doubtful.any() else np.ones_like(merged.doubtful)
    return _as_block(block, merged.data.tobytes(), doubtful, DAMAGED, what), used


def _softly(merged, copies, doubt, soft, format):
    """Where copies that are sure differ, what their soft values say together."""
    differ = ((copies != merged.data) & ~doubt).any(axis=0) & merged.doubtful
    if soft is None or any(values is None for values in soft) or not differ.any():
        return merged
    bits = (np.sum(soft, axis=0) > 0).astype(np.uint8)
    data, _ = format.frame.to_bytes(bits)
    return Merged(np.where(differ, data, merged.data), merged.doubtful & ~differ)


def _candidates(merged, copies):
    """What the block may be: as merged, then with stretches in doubt taken from one copy or another."""
    yield merged.data.tobytes()
    open_ = merged.doubtful & (copies != merged.data).any(axis=0)
    stretches = [slice(*span) for span in ranges(open_)]
    for choice in product(range(len(copies)), repeat=len(stretches)):
        data = merged.data.copy()
        for source, stretch in zip(choice, stretches, strict=True):
            data[stretch] = copies[source, stretch]
        if (data != merged.data).any():
            yield data.tobytes()


def _agrees(content, format):
    """Whether a check vouches for a whole block."""
    body = len(content) - format.check_bytes
    return format.check_bytes > 0 and CHECKS[format.check].agrees(content[:body], content[body:])


def _as_block(block, content, doubtful, verdict, note):
    note = "; ".join(filter(None, (block.note, note)))
    settled = block.with_room(len(content))
    return settled.changed(content=content, doubtful=doubtful, verdict=verdict, note=note, headless=False)
