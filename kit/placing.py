"""Placing: which file and which part of it each block belongs to, also where its first bytes were lost."""

from bisect import bisect
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np

from .blocks import HEADER, PARITY, PART_START, DataPart, Header, inverted, length_of
from .checks import CHECKS
from .found import DAMAGED, MENDED, FoundBlock
from .repair_copies import copy_of_header
from .repair_outer import ParityPart
from .salvage import too_tight, too_wide

__all__ = ["Entry", "place_blocks"]

FARTHEST = 64  # blocks in a row whose place is lost, beyond which a neighbour tells nothing



@dataclass
class Entry:
    """A block with its place in a file, as far as that is known.

    `raw` is the block as heard, where its place was guessed; `spare` says that nothing is lost without it.
    """

    block: FoundBlock
    header: Header | None = None
    tag: int | None = None
    number: int | None = None
    parity: ParityPart | None = None
    raw: FoundBlock | None = None
    spare: bool = False

    @classmethod
    def of(cls, block):
        header, part = block.header, block.part
        if header is not None:
            return cls(block, header=header)
        if part is not None:
            return cls(block, tag=part.tag, number=part.number)
        return cls(block, parity=block.parity_part)

    @property
    def whole(self):
        return self.block.whole


@dataclass(frozen=True)
class _Place:
    """Where a block may belong; `sure` if no other block fits between it and the neighbour that says so."""

    tag: int
    number: int
    sure: bool


def place_blocks(entries):
    """Give data blocks whose first bytes were lost the place that their neighbours leave open.

    First those that lie so close to a block whose place is known that no other fits between; then the rest: their
    place is a guess, so all they hold stays in doubt unless their check agrees.
    """
    headers = {e.header.tag: e.header for e in entries if e.header is not None}
    copies = _usual_copies(entries)
    filled = {(e.tag, e.number) for e in entries if e.tag is not None and e.whole}
    lost = [
        k
        for k, e in enumerate(entries)
        if e.header is None and e.tag is None and e.block.verdict == DAMAGED and e.block.kind not in (HEADER, PARITY)
        and not e.spare
    ]
    lost = _without_headers(entries, lost)
    for order, certain in ((lost[::-1], True), (lost, True), (lost, False)):
        for k in order:
            if entries[k].tag is None:
                places = _places(entries, k, headers, copies, certain)
                _put(entries[k], [p for p in places if (p.tag, p.number) not in filled], headers)


def _without_headers(entries, lost):
    """Those of some entries that are no copies of the headers before and after them; these are spare."""
    known = [k for k, entry in enumerate(entries) if entry.header is not None]
    for k in lost:
        place = bisect(known, k)
        beside = known[max(0, place - 1) : place + 1]
        entries[k].spare = any(copy_of_header(entries[k].block, entries[j].block) for j in beside)
    return [k for k in lost if not entries[k].spare]


def _usual_copies(entries):
    """How often each data block lies on the tape, one after the other: the most that were found, or are said."""
    most = max((1 if e.block.format.copies_apart else e.block.format.copies for e in entries), default=1)
    places = [(e.tag, e.number) for e in entries if e.tag is not None]
    return max(most, max((len(list(same)) for _, same in groupby(places)), default=1))


def _places(entries, k, headers, copies, certain):
    """Where a block may belong: the one place that is certain, or all."""
    block = entries[k].block
    places = [
        *_beside(block, *_nearest(entries[max(0, k - FARTHEST) : k][::-1]), headers, copies, 1),
        *_beside(block, *_nearest(entries[k + 1 : k + 1 + FARTHEST]), headers, copies, -1),
    ]
    if certain:
        places = [p for p in places if p.sure]
        return places[:1] if len(set(places)) == 1 else []
    # Beside a block whose place is a guess, nothing is certain.
    return list(dict.fromkeys(replace(p, sure=False) for p in places))


def _beside(block, neighbour, seen, headers, copies, step):
    """Places that may follow (`step` 1) or precede (-1) the block beside it whose place is known."""
    if neighbour is None:
        return []
    if neighbour.header is not None:
        header, number = neighbour.header, 0 if step == 1 else neighbour.header.blocks - 1
        places = [(header.tag, number)]
    else:
        header, number = headers.get(neighbour.tag), neighbour.number
        again = [(neighbour.tag, number)] if seen < copies else []
        places = [*again, (neighbour.tag, number + step)]
    last = min(header.blocks if header else 1 << 16, 1 << 16)
    places = [place for place in places if 0 <= place[1] < last]
    close = bool(places) and header is not None and not _room_between(
        block, neighbour.block, header, places[0][1], step
    )
    return [
        _Place(*place, close and j == 0 and not _beyond_parity(block, place[1], step, neighbour))
        for j, place in enumerate(places)
    ]


def _room_between(block, neighbour, header, number, step):
    """Whether the block of that number, if it is as short as can be, fits between another one and its neighbour."""
    if block.recording != neighbour.recording:
        return True
    (first, last), (start, stop) = block.span_s, neighbour.span_s
    gap_s = max(start - last, first - stop)
    around = PART_START + block.format.check_bytes
    needed = around + _size(header, number)
    if block.headless and step == 1 and number + 1 < header.blocks:
        # What the other one lost at its beginning lies there as well.
        needed += max(0, around + _size(header, number + 1) - len(block.content))
    return gap_s >= needed * block.bits_per_byte * block.format.code.shortest_units * block.unit_s


def _size(header, number):
    """Data bytes of a block."""
    return min(header.block_bytes, header.length - number * header.block_bytes)


def _beyond_parity(block, number, step, neighbour):
    """Whether parity blocks lie between a block of that number and its neighbour."""
    outer = block.format.outer
    if outer is None or neighbour.header is not None:
        return outer is not None and step == -1
    first = number if step == 1 else number + 1
    return first > 0 and first % (outer.data_blocks * outer.interleave) == 0


def _nearest(entries):
    """The first block whose place is known, and how often it comes there; None beyond a parity block."""
    nearest, seen = None, 0
    for entry in entries:
        if nearest is None and (entry.header is not None or entry.tag is not None):
            nearest = entry
        elif nearest is None and entry.block.kind == PARITY:
            break
        if nearest is not None:
            if nearest.header is not None or (entry.tag, entry.number) not in (
                (nearest.tag, nearest.number),
                (None, None),
            ):
                break
            seen += entry.tag is not None
    return nearest, seen


def _put(entry, places, headers):
    """Place a block where its check then agrees, or else in the first of some places, if there are any."""
    heard, tried = entry.block, []
    for place in places:
        tried.append(_with_start(heard, place, headers.get(place.tag)))
        if tried[-1].verdict == MENDED:
            break
    if not tried or tried[0].part is None:
        return
    chosen = len(tried) - 1 if tried[-1].verdict == MENDED else 0
    block, place = tried[chosen], places[chosen]
    entry.block, entry.tag, entry.number = block, place.tag, place.number
    if block.verdict != MENDED:
        entry.raw = None if place.sure and not heard.headless else heard


def _with_start(block, place, header):
    """A block whose place is known has known first bytes; if its check then agrees, it is mended."""
    if header is None or not _unknown_start(block):
        return block
    size = _size(header, place.number)
    start = DataPart(place.tag, place.number, bytes(size)).body()[:PART_START]
    total = PART_START + size + block.format.check_bytes
    lost = total - len(block.content) if block.headless else 0
    if lost < 0:
        return block
    each, code = block.bits_per_byte, block.format.code
    if too_tight(lost * each, block.room_units, code) or too_wide(lost * each, block.room_units, code):
        block = block.changed(doubtful=np.ones_like(block.doubtful))
    either_way = block.headless and block.format.inverted_copies
    for content in (block.content, inverted(block.content)) if either_way else (block.content,):
        content = start + (bytes(lost) + content)[:total].ljust(total, b"\0")[PART_START:]
        agrees = _agrees(content, block.format)
        if agrees:
            break
    doubtful = np.ones(total, bool)
    doubtful[lost : lost + len(block.content)] = block.doubtful[: total - lost] | either_way | (not place.sure)
    doubtful[:PART_START] = False
    return block.with_room(total).changed(
        content=content,
        doubtful=doubtful & (not agrees),
        verdict=MENDED if agrees else DAMAGED,
        headless=False,
        note="its first bytes follow from its place",
    )


def _agrees(content, format):
    body = len(content) - format.check_bytes
    return format.check_bytes > 0 and CHECKS[format.check].agrees(content[:body], content[body:])


def _unknown_start(block):
    return block.headless or block.doubtful[:PART_START].any() or length_of(block.content) is None
