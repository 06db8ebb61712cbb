"""A simple loader, which goes by the header: what it makes of a tape with one bit of the header flipped."""

import functools
import zlib
from dataclasses import dataclass

from ..blocks import DATA, HEADER, DataPart, Header
from ..checks import CHECKS
from ..known import find_format
from ..sides import TapeFile, tape_blocks

__all__ = ["BLAMED", "FIELDS", "FORMAT", "KIND", "LESS", "MORE", "MOVED", "NAMED", "NEXT", "REFUSED", "SAME",
           "UNKNOWN", "Loaded", "all_outcomes", "flipped", "load", "loaded_with", "tape"]

FORMAT = find_format("house")
CHECK = CHECKS[FORMAT.check]
NAME = "log.txt"
LOG = b"Mon wind W5 rain 2 mm gulls 31 ;Tue wind N3 dry, some fog gulls ;Wed storm; no boat today; wind W9"[:96]
NEXT_NAME = "gulls.csv"
NEXT = b"day,gulls,boats,seals;" + b"".join(b"%d,%d,%d,%d;" % (k, 7 * k % 31, k % 3, k * k % 5) for k in range(1, 29))

# Bytes in each field of a header block, in the order of the tape.
FIELDS = {"kind": 1, "layout": 1, "CRC-32 of file": 4, "length": 4, "bytes a block": 2, "content": 1,
          "start address": 4, "name": 32, "check": 2}

# What may become of a file.
REFUSED, UNKNOWN, MORE, LESS, NAMED, KIND, MOVED, BLAMED, SAME = "RU+−NKAC·"


@dataclass(frozen=True)
class Loaded:
    """What a loader that goes by its header makes of a tape.

    Attributes
    ----------
    outcome : str
        One of the letters above.
    header : Header or None
        As it was believed; None if it was not.
    data : bytes
        What lies in memory at the end.
    agrees : bool
        Whether CRC-32 over the whole file, as its header has it, says that it is right.
    """

    outcome: str
    header: Header | None
    data: bytes
    agrees: bool


@functools.lru_cache(maxsize=32)
def tape(length, followed, words=""):
    """The blocks as they lie on the tape, check included: header, data, header; perhaps those of a second file.

    The file is as long as asked: it begins with the words, and the station's log fills it up.
    """
    files = [TapeFile(NAME, (words.encode() + LOG)[:length], "text")]
    files += [TapeFile(NEXT_NAME, NEXT, "text")] if followed else []
    return [body + CHECK.compute(body) for _, body in tape_blocks(files, FORMAT)]


def load(blocks, check):
    """Load a file as a simple loader does: the header first, then as many bytes of data as it says.

    Parameters
    ----------
    blocks : list of bytes
        As they come off the tape: kind, payload, check.
    check : bool
        Whether the check of the header is asked; that of data blocks never is.

    Returns
    -------
    header : Header or None
        None if the first block was refused or is no header.
    data : bytes
        As many as the header says, or fewer if the tape ends before.
    """
    body, check_bytes = blocks[0][: -CHECK.size_bytes], blocks[0][-CHECK.size_bytes :]
    believed = CHECK.agrees(body, check_bytes) or not check
    header = Header.unpack(body[1:]) if believed and body[0] == HEADER else None
    data, rest = b"", iter(blocks[1:])
    while header is not None and len(data) < header.length and (block := next(rest, None)) is not None:
        if block[0] == DATA:
            part = DataPart.unpack(block[1 : -CHECK.size_bytes])
            data += part.data[: header.length - len(data)]
    return header, data


def _outcome(sent, header, data, check):
    if header is None:
        return REFUSED if check else UNKNOWN
    if header.length != sent.length:
        return MORE if header.length > sent.length else LESS
    differs = {NAMED: header.name != sent.name, KIND: header.content != sent.content,
               MOVED: header.address != sent.address, BLAMED: zlib.crc32(data) != header.crc32}
    return next((letter for letter, other in differs.items() if other), SAME)


def flipped(content, bit):
    changed = bytearray(content)
    changed[bit // 8] ^= 0x80 >> bit % 8
    return bytes(changed)


def loaded_with(blocks, bit, check):
    """What becomes of the file when one bit of its header, numbered in the order of the tape, is flipped."""
    sent = Header.unpack(blocks[0][1 : -CHECK.size_bytes])
    first = flipped(blocks[0], bit)
    header, data = load([first, *blocks[1:]], check)
    # A loader that checks refuses; one that does not, passes over what is no header.
    refused = check and not CHECK.agrees(first[: -CHECK.size_bytes], first[-CHECK.size_bytes :])
    agrees = header is not None and zlib.crc32(data) == header.crc32
    return Loaded(_outcome(sent, header, data, refused), header, data, agrees)


@functools.lru_cache(maxsize=32)
def all_outcomes(length, followed, check, words=""):
    blocks = tape(length, followed, words)
    return "".join(loaded_with(blocks, bit, check).outcome for bit in range(8 * len(blocks[0])))
