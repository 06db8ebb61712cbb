"""Placing: which file and which part of it each block belongs to, also where its first bytes were lost."""

from dataclasses import dataclass

import numpy as np

from .blocks import DATA, PART_START, DataPart, Header, length_of
from .checks import CHECKS
from .found import DAMAGED, MENDED, FoundBlock
from .salvage import too_tight, too_wide

__all__ = ["Entry", "place_blocks"]


@dataclass
class Entry:
    """A block with its place in a file, as far as that is known."""

    block: FoundBlock
    header: Header | None = None
    tag: int | None = None
    number: int | None = None
    spare: bool = False

    @classmethod
    def of(cls, block):
        header, part = block.header, block.part
        if header is not None:
            return cls(block, header=header)
        if part is not None:
            return cls(block, tag=part.tag, number=part.number)
        return cls(block)

    @property
    def whole(self):
        return self.block.whole


def place_blocks(entries):
    """Give data blocks whose first bytes were lost the place that their neighbours leave open."""
    headers = {e.header.tag: e.header for e in entries if e.header is not None}
    for k, entry in enumerate(entries):
        if entry.header is not None or entry.tag is not None or entry.block.verdict != DAMAGED:
            continue
        before = _before(entries[:k], headers)
        after = _after(entries[k + 1 :], headers)
        place = before or after
        if place is None:
            continue
        header = headers.get(place[0])
        last = min(header.blocks, 1 << 16) if header else 1 << 16
        if 0 <= place[1] < last and not _filled(entries, place):
            entry.tag, entry.number = place
            entry.block = _with_start(entry, header)


def _before(entries, headers):
    """The place after the last block whose place is known."""
    for entry in reversed(entries):
        if entry.header is not None:
            # A header follows its data or precedes it.
            filled = any(e.tag == entry.header.tag for e in entries)
            return None if filled else (entry.header.tag, 0)
        if entry.tag is not None:
            return entry.tag, entry.number + 1
    return None


def _after(entries, headers):
    """The place before the next block whose place is known."""
    for entry in entries:
        if entry.header is not None:
            later = any(e.tag == entry.header.tag for e in entries)
            return None if later else (entry.header.tag, entry.header.blocks - 1)
        if entry.tag is not None:
            return entry.tag, entry.number - 1
    return None


def _filled(entries, place):
    return any((e.tag, e.number) == place and e.whole for e in entries)


def _with_start(entry, header):
    """A block whose place is known has known first bytes; if its check then agrees, it is mended."""
    block = entry.block
    if header is None or not _unknown_start(block):
        return block
    size = min(header.block_bytes, header.length - entry.number * header.block_bytes)
    start = bytes([DATA]) + DataPart(entry.tag, entry.number, bytes(size)).pack()[: PART_START - 1]
    total = PART_START + size + block.format.check_bytes
    each = block.bits_per_byte
    lost = total - len(block.content) if block.headless else 0
    if lost < 0:
        return block
    code = block.format.code
    if too_tight(lost * each, block.room_units, code) or too_wide(lost * each, block.room_units, code):
        block = block.changed(doubtful=np.ones_like(block.doubtful))
    content = (bytes(lost) + block.content)[:total].ljust(total, b"\0")
    doubtful = np.ones(total, bool)
    doubtful[lost : lost + len(block.content)] = block.doubtful[: total - lost]
    content = start + content[PART_START:]
    doubtful[:PART_START] = False
    padded = _padded(block, lost * each, (total - lost) * each - len(block.bits))
    body = content[: -block.format.check_bytes or None]
    check = content[len(body) :]
    agrees = block.format.check_bytes > 0 and CHECKS[block.format.check].agrees(body, check)
    verdict = MENDED if agrees else DAMAGED
    if agrees:
        doubtful = np.zeros(total, bool)
    note = "its first bytes follow from its place"
    return block.changed(
        content=content, doubtful=doubtful, verdict=verdict, headless=False, note=note, **padded
    )


def _unknown_start(block):
    return block.headless or block.doubtful[:PART_START].any() or length_of(block.content) is None


def _padded(block, front, back):
    """Cells added for the bits that were lost at either end, all at the time of that end."""
    back = max(0, back)
    times = np.concatenate((np.full(front, block.cell_s[0]), block.cell_s, np.full(back, block.cell_s[-1])))
    return {
        "bits": np.pad(block.bits, (front, back)),
        "margins": np.pad(block.margins, (front, back)),
        "cell_s": times.astype(np.float32),
    }
