"""Joining: blocks as heard become files, each with a verdict and a map of what is in doubt."""

import zlib
from dataclasses import dataclass

import numpy as np

from .blocks import PART_START
from .found import CHECKED, DAMAGED, MENDED, UNCHECKED, FoundBlock, ranges
from .names import free_name, safe_name
from .placing import Entry, place_blocks
from .repair import mend_copies, mend_headers, mend_sounds
from .repair_parity import rebuild
from .repair_strays import explain_strays

__all__ = ["ReadFile", "join_blocks"]

# Gaps are filled so that what follows lies in its place, but a claim alone reserves nothing: so many bytes, and
# so many times what was received, at most.
FILLING_FREE, FILLING_TIMES, MOST_FILLING = 64 << 10, 16, 4 << 20


@dataclass(frozen=True)
class Piece:
    """Where a stretch of a file came from.

    Attributes
    ----------
    offset : int
        First byte in the file.
    length : int
        Bytes.
    block : FoundBlock or None
        None for a gap.
    skip : int
        Number of the byte of the block's content that is the first of the stretch; it may be negative
        where a block lost its beginning.
    """

    offset: int
    length: int
    block: FoundBlock | None
    skip: int = PART_START


@dataclass(frozen=True)
class ReadFile:
    """A file read off a tape.

    Attributes
    ----------
    name : str
        Safe to use on a disk; `said_name` is what the tape said.
    data : bytes
        All that was recovered, every byte in its place; bytes in doubt are as read, lost ones 0.
    verdict : str
        checked, mended, unchecked or damaged.
    doubtful : list of (int, int)
        Ranges of bytes that may be wrong, stop not included; they may lie beyond the data where the end was lost.
    pieces : tuple of Piece
    content : str
        What it holds, as its header says: bytes, text, picture or code.
    address : int
        Start address, as its header says.
    length : int or None
        Bytes it should have, as its header says.
    note : str
        What is missing or odd, one line; empty if nothing.
    """

    name: str
    said_name: str
    data: bytes
    verdict: str
    doubtful: list
    pieces: tuple
    content: str = "bytes"
    address: int = 0
    length: int | None = None
    note: str = ""

    @property
    def complete(self):
        """True if every byte is vouched for by the checks."""
        return self.verdict in (CHECKED, MENDED)

    @property
    def blocks(self):
        """Blocks it was made of, in order."""
        return [piece.block for piece in self.pieces if piece.block is not None]

    def __repr__(self):
        return f"<{self.name!r}, {len(self.data)} bytes, {self.verdict}>"


def join_blocks(blocks):
    """Files of some blocks.

    Parameters
    ----------
    blocks : list of FoundBlock
        In tape order.

    Returns
    -------
    files : list of ReadFile
    left_over : list of FoundBlock
        Damaged blocks that have no certain place in any file, and blocks of unknown kind.
    """
    order = _forwards(blocks)
    entries = [Entry.of(block) for block in order if not block.stream]
    mend_sounds(entries)
    mend_headers(entries)
    place_blocks(entries)
    mend_copies(entries)
    files, taken, used, complete = [], set(), set(), []
    for header, group in _groups(entries):
        group, repaired = rebuild(entries, header, group)
        file = _file(header, group, repaired, taken, _header_note(header, entries))
        if file is not None:
            taken.add(file.name.casefold())
            files.append(file)
            used.update(id(piece.block) for piece in file.pieces)
            complete += [header] * file.complete
    files += [_stream_file(block, taken) for block in order if block.stream]
    explain_strays(entries, complete)
    left = [e.block for e in entries if e.header is None and id(e.block) not in used and not e.spare]
    return files, left


def _stream_file(block, taken):
    """The file that a stream is; its name is added to those taken."""
    name = free_name(safe_name(_unnamed(taken)), taken)
    taken.add(name.casefold())
    led_in = f"led in by {abs(block.start_s - block.leader_s):.1f} s of marks"
    bare = f"{block.format.name} has no names and no check"
    count = "where bytes are in doubt, some may be missing or too many" if block.doubtful.any() else ""
    return ReadFile(
        name=name,
        said_name="",
        data=block.content,
        verdict=block.verdict,
        doubtful=ranges(block.doubtful),
        pieces=(Piece(0, len(block.content), block, skip=0),),
        note="; ".join(filter(None, (led_in, bare, count, block.note))),
    )


def _unnamed(taken):
    return f"unnamed-{sum(name.startswith('unnamed-') for name in taken) + 1}.bin"


def _forwards(blocks):
    """Blocks in the order they were recorded: recordings in turn, those that run backwards turned round."""
    order = []
    for number in sorted({block.recording for block in blocks}):
        mine = [block for block in blocks if block.recording == number]
        against = sum(block.backwards for block in mine)
        order += mine[::-1] if against * 2 > len(mine) else mine
    return order


def _groups(entries):
    """Headers with the data blocks that belong to them, then data blocks without a header, by tag."""
    seen = []
    for k, entry in enumerate(entries):
        if entry.header is not None and entry.header not in [header for header, _ in seen]:
            seen.append((entry.header, k))
    tags = {header.tag for header, _ in seen}
    groups = [(k, header, _numbered(entries, header.tag, k)) for header, k in seen]
    for k, entry in enumerate(entries):
        if entry.tag is not None and entry.tag not in tags:
            tags.add(entry.tag)
            groups.append((k, None, _numbered(entries, entry.tag, k)))
    return [(header, group) for _, header, group in sorted(groups, key=lambda g: g[0])]


def _numbered(entries, tag, near):
    """Best entry for each block number: whole ones first, then the first after the header."""
    best = {}
    for k, entry in enumerate(entries):
        if entry.tag != tag:
            continue
        rank = (not entry.whole, 0 if entry.whole else -entry.block.sure_bytes, k < near, abs(k - near))
        if entry.number not in best or rank < best[entry.number][0]:
            if entry.number in best:
                best[entry.number][1].spare = True
            best[entry.number] = (rank, entry)
        else:
            entry.spare = True
    return {number: entry for number, (_, entry) in sorted(best.items())}


def _file(header, group, repaired, taken, header_note):
    size = header.block_bytes if header else _usual_size(group)
    length = header.length if header else None
    last = header.blocks if header else max(group, default=-1) + 1
    pieces, note = _pieces(group, size, length, last)
    data, doubt = _assemble(pieces)
    beyond = [] if length is None or length <= len(data) else [(len(data), length)]
    verdict, why = _verdict(header, pieces, data, doubt, beyond)
    if verdict == CHECKED and header_note:
        verdict = MENDED
    elif verdict == DAMAGED and header and not doubt.any():
        # What was mended is the first to be doubted; where nothing was, nothing can be vouched for.
        doubt = _of_mended(pieces, doubt)
        doubt = doubt if doubt.any() else np.ones_like(doubt)
    said = header.name if header else _unnamed(taken)
    return ReadFile(
        name=free_name(safe_name(said), taken),
        said_name=header.name if header else "",
        data=data,
        verdict=verdict,
        doubtful=[] if verdict == MENDED else ranges(doubt) + beyond,
        pieces=tuple(pieces),
        content=header.content if header else "bytes",
        address=header.address if header else 0,
        length=length,
        note="; ".join(filter(None, (header_note, repaired, note, why))),
    )


def _header_note(header, entries):
    """What it took to read a file's header; empty if a copy of it was whole as it was heard."""
    notes = [e.block.note if e.block.verdict == MENDED else "" for e in entries if e.header == header]
    return f"header {notes[0]}" if header is not None and all(notes) else ""


def _of_mended(pieces, doubt):
    mended = [np.full(p.length, p.block is not None and p.block.verdict == MENDED) for p in pieces]
    return np.concatenate(mended) if mended else doubt


def _usual_size(group):
    """Data bytes in a block, as most of the blocks have them."""
    sizes = [len(entry.block.part.data) for entry in group.values() if entry.block.part]
    return max(set(sizes), key=lambda s: (sizes.count(s), s)) if sizes else 1


def _pieces(group, size, length, last):
    """Stretches of the file in order, gaps included as long as filling them stays within reason."""
    pieces, filling, note = [], 0, ""
    received = sum(len(entry.block.content) for entry in group.values())
    most = min(MOST_FILLING, FILLING_FREE + FILLING_TIMES * received)
    end = 0
    for number, entry in group.items():
        offset = number * size
        if number >= last or entry.block.part is None:
            continue
        if offset > end:
            filling += offset - end
            if filling > most:
                note = f"block {number} claims to lie {offset} bytes in, farther than the tape can hold: left out"
                break
            pieces.append(Piece(end, offset - end, None))
        held = len(entry.block.part.data)
        wanted = size if length is None else min(size, length - offset)
        pieces.append(Piece(offset, min(held, wanted), entry.block))
        end = offset + min(held, wanted)
    if length is not None and length - end > 0 and filling + length - end <= most:
        pieces.append(Piece(end, length - end, None))
    missing = last - len([p for p in pieces if p.block is not None])
    if missing > 0 and not note:
        note = f"{missing} of {last} blocks missing"
    return pieces, note


def _assemble(pieces):
    data, doubt = bytearray(), []
    for piece in pieces:
        if piece.block is None:
            data += bytes(piece.length)
            doubt.append(np.ones(piece.length, bool))
        else:
            stop = piece.skip + piece.length
            data += piece.block.content[piece.skip : stop]
            doubt.append(piece.block.doubtful[piece.skip : stop])
    return bytes(data), np.concatenate(doubt) if doubt else np.zeros(0, bool)


def _verdict(header, pieces, data, doubt, beyond):
    """The file's verdict and, if it is not plainly whole, why."""
    verdicts = {piece.block.verdict for piece in pieces if piece.block is not None}
    if header is None:
        return DAMAGED, "no header was read: name, length and end are not known"
    missing = doubt.any() or DAMAGED in verdicts
    if len(data) != header.length or zlib.crc32(data) != header.crc32:
        why = "" if missing or beyond else "every block is there, but the CRC-32 of the whole does not agree"
        return DAMAGED, why
    if missing or MENDED in verdicts:
        return MENDED, "the CRC-32 of the whole vouches for what was in doubt" if missing else ""
    return (UNCHECKED, "") if UNCHECKED in verdicts else (CHECKED, "")
