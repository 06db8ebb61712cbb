"""Repair: damaged blocks mended from their copies.

It works on what was found, not on what a format promises: copies are blocks with the same place in the same file.
So any tape is mended, whatever was asked to be listened for. Lost blocks are rebuilt in `repair_parity`.
"""

from bisect import bisect

import numpy as np

from .blocks import DATA, HEADER, HEADER_BYTES, PARITY, PART_START
from .found import DAMAGED, MENDED
from .placing import Entry
from .repair_copies import MOST_TRIALS, aligned, fits, merge, merge_bytes
from .together import alike, nearly, sound_together, total_of

__all__ = ["mend_copies", "mend_headers", "mend_sounds"]

NEAR = 3  # blocks between a reading without a place and the copy it may be of
MOST_CLUSTERS = 256  # blocks before it whose sound is compared with that of each one
MOST_RIVALS = 8  # damaged headers compared with each one
SAME_SOUND = 0.4  # how alike the sound of copies must be, 1 being the same: that of others runs together by a tenth
SURE_COPY = 8  # bytes that must be sure in both before a reading without a place is taken for a copy unasked


def mend_sounds(entries):
    """Add up the sound of copies, as far as they kept it, whatever their places are; `entries` are changed.

    Parameters
    ----------
    entries : list of Entry
        In the order of the tape.
    """
    heard = {}
    for entry in entries:
        if entry.block.grid is not None:
            heard.setdefault(entry.block.format, []).append(entry)
    for same in heard.values():
        for cluster in _sounding_alike(same):
            mended = sound_together([entry.block for entry in cluster]) if len(cluster) > 1 else None
            if mended is not None and mended.sure_bytes > max(entry.block.sure_bytes for entry in cluster):
                _settle(cluster[0], mended)
                for entry in cluster[1:]:
                    entry.spare = True


def _sounding_alike(entries):
    """Entries in clusters of what may be one block, by how their sound runs together."""
    clusters = []
    for entry in entries:
        for cluster in clusters[-MOST_CLUSTERS:]:
            grid = cluster[0].block.grid
            if nearly(entry.block.grid, grid) and alike(entry.block.grid, grid) > SAME_SOUND:
                cluster.append(entry)
                break
        else:
            clusters.append([entry])
    return clusters


def mend_headers(entries):
    """Make headers of damaged copies of them; `entries` are changed.

    Parameters
    ----------
    entries : list of Entry
        In the order of the tape.
    """
    damaged = [k for k, e in enumerate(entries) if e.block.verdict == DAMAGED and e.block.kind == HEADER]
    known = [k for k, e in enumerate(entries) if e.header is not None]
    clusters = []
    for k in damaged:
        reading = aligned(entries[k].block, total_of(entries[k].block))
        place = bisect(known, k)
        if any(_same(reading, entries[j].block) for j in known[max(0, place - MOST_RIVALS) : place + MOST_RIVALS]):
            continue
        for cluster, readings in clusters[-MOST_RIVALS:]:
            if all(len(one[0]) == len(reading[0]) and fits(reading, one, 0) for one in readings):
                cluster.append(k)
                readings.append(reading)
                break
        else:
            clusters.append(([k], [reading]))
    for cluster, _ in clusters:
        _mend(entries, cluster)


def _same(reading, whole):
    """Whether a damaged header is a copy of one that was read whole."""
    if len(whole.content) != len(reading[0]):
        return False
    return fits(reading, (np.frombuffer(whole.content, np.uint8), whole.doubtful), HEADER_BYTES // 2)


def mend_copies(entries):
    """Make one of the damaged copies of each data or parity block; `entries` are changed.

    Parameters
    ----------
    entries : list of Entry
        In the order of the tape, with their places.
    """
    whole = {_place(e) for e in entries if e.whole}
    damaged = {}
    for k, entry in enumerate(entries):
        place = _place(entry)
        if place is not None and place not in whole:
            damaged.setdefault(place, []).append(k)
    for indices in damaged.values():
        _mend(entries, indices)


def _place(entry):
    """What a data or parity block is, among all of a tape; None for others."""
    if entry.parity is not None:
        return PARITY, entry.parity.tag, entry.parity.group, entry.parity.index
    return None if entry.tag is None else (DATA, entry.tag, entry.number)


def _mend(entries, indices):
    """Make one of the damaged readings of one block, and of readings nearby that may be of it, too."""
    base = next((k for k in indices if total_of(entries[k].block) is not None), None)
    if base is None:
        return
    block = entries[base].block
    total = total_of(block)
    members = [base] + [k for k in indices if k != base and entries[k].raw is None]
    if entries[base].raw is not None:
        # Only its place is certain, not which way round its bits are.
        reading = aligned(block, total)
        reading[1][PART_START:] = True
        readings, members = [reading], []
    else:
        readings = [aligned(entries[k].block, total) for k in members]
    same = [k for k in members if entries[k].block.format == block.format]
    result, trials = (None, 0)
    if len(readings) > 1 and entries[base].raw is None:
        result = sound_together([entries[k].block for k in members])
    if len(readings) > 1 and (result is None or result.verdict == DAMAGED):
        soft = [_upright_soft(entries[k].block, total) for k in members] if same == members else None
        merged, trials = merge(block, readings, soft)
        result = max(filter(None, (merged, result)), key=lambda found: (found.whole, found.sure_bytes))
    if result is None or result.verdict == DAMAGED:
        more = [k for k in indices if k not in members] + _strays(entries, indices)
        result = _with_strays(entries, block, readings, more, trials) or result
    if result is not None:
        _settle(entries[base], result)


def _upright_soft(block, total):
    """Soft values of a block's bits as if it had been written upright, or None."""
    if block.soft is None or len(block.soft) != total * block.bits_per_byte:
        return None
    if not block.inverted:
        return block.soft
    frame = block.format.frame
    data_bits = frame.to_bits(bytes(total)) != frame.to_bits(b"\xff" * total)
    return np.where(data_bits, -block.soft, block.soft)


def _strays(entries, indices):
    """Damaged blocks without a place, close to some others on the tape."""
    near = {j for k in indices for j in range(max(0, k - NEAR), min(len(entries), k + NEAR + 1))}
    return [
        j
        for j in sorted(near - set(indices))
        if entries[j].block.verdict == DAMAGED and entries[j].block.headless and not entries[j].spare
    ]


def _with_strays(entries, block, readings, strays, trials):
    """The block made of its readings and of others that may be of it; the check or many equal bytes decide."""
    readings, result = list(readings), None
    for k in strays:
        stray = entries[k].raw or entries[k].block
        for turned in (False, True) if stray.format.inverted_copies else (False,):
            reading = aligned(stray, len(readings[0][0]), turned)
            merged = merge_bytes(*(np.stack(parts) for parts in zip(*readings, strict=True)))
            if reading is None or not fits(reading, (merged.data, merged.doubtful), 0):
                continue
            tried, used = merge(block, [*readings, reading], trials=MOST_TRIALS - trials)
            trials += used
            if tried.verdict == MENDED or fits(reading, (merged.data, merged.doubtful), SURE_COPY):
                readings.append(reading)
                entries[k].spare, result = True, tried
                break
        if trials >= MOST_TRIALS or (result is not None and result.verdict == MENDED):
            break
    return result


def _settle(entry, block):
    """Put a mended block, or one damaged less, in the place of the one it was made of."""
    known = Entry.of(block)
    entry.block, entry.raw = block, None
    entry.header, entry.parity = known.header or entry.header, known.parity or entry.parity
    if known.tag is not None:
        entry.tag, entry.number = known.tag, known.number
