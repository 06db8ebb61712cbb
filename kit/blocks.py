"""Blocks: kind, payload and check as bytes, and the kinds the kit writes: headers, tagged data, parity.

A block is one kind byte, a payload and a check over both. Its whole length follows from its first bytes, so
that a loader can know where it ends. All numbers are big-endian. A copy may be written with every bit of kind,
payload and check inverted; its kind byte tells: 0xFE, 0xFD or 0xFC.
"""

import struct
import zlib
from dataclasses import dataclass

from .errors import SettingError

__all__ = [
    "CONTENTS",
    "DATA",
    "HEADER",
    "LARGEST",
    "PARITY",
    "PARITY_EXTRA",
    "SMALLEST",
    "DataPart",
    "Header",
    "fit_name",
    "inverted",
    "is_kind",
    "length_of",
    "upright",
]

HEADER, DATA, PARITY = 1, 2, 3
PARITY_EXTRA = 4  # bytes of a parity block that its length counts and that are not parity
SMALLEST, LARGEST = 16, 4080  # data bytes a block; beyond 32,767 bits a CRC-16 misses some 2-bit errors
CONTENTS = ("bytes", "text", "picture", "code")
NAME_BYTES = 32

_HEADER = struct.Struct(f">BIIHBI{NAME_BYTES}s")
_PART = struct.Struct(">HHH")
LAYOUT = 1


@dataclass(frozen=True)
class Header:
    """What is said about a file before and after its data.

    Parameters
    ----------
    name : str
    length : int
        Bytes in the whole file.
    crc32 : int
        CRC-32/ISO-HDLC of the whole file.
    block_bytes : int
        Data bytes in each block but the last.
    content : str
        One of `CONTENTS`.
    address : int
        Where a program wants to be loaded, 0 to 2**32 - 1.
    """

    name: str
    length: int
    crc32: int
    block_bytes: int = 1024
    content: str = "bytes"
    address: int = 0

    def __post_init__(self):
        if self.content not in CONTENTS:
            raise SettingError(f"content must be one of {', '.join(CONTENTS)}, got {self.content!r}")
        if not SMALLEST <= self.block_bytes <= LARGEST:
            raise SettingError(f"a block must hold {SMALLEST} to {LARGEST} bytes, got {self.block_bytes!r}")
        for what, value in (("length", self.length), ("CRC-32", self.crc32), ("start address", self.address)):
            if not 0 <= value < 1 << 32:
                raise SettingError(f"{what} must lie in 0 to {(1 << 32) - 1}, got {value!r}")

    @classmethod
    def of(cls, name, data, **settings):
        """The header of a file's bytes."""
        return cls(name, len(data), zlib.crc32(data), **settings)

    @property
    def tag(self):
        """Low half of the CRC-32: marks the blocks that belong to this file."""
        return self.crc32 & 0xFFFF

    @property
    def blocks(self):
        """How many data blocks the file has."""
        return -(-self.length // self.block_bytes)

    def pack(self):
        """The header's 48 payload bytes."""
        name = self.name.encode("utf-8")
        if len(name) > NAME_BYTES:
            raise SettingError(f"a name must fit in {NAME_BYTES} bytes of UTF-8, got {len(name)}: shorten it")
        content = CONTENTS.index(self.content)
        return _HEADER.pack(
            LAYOUT, self.crc32, self.length, self.block_bytes, content, self.address, name.ljust(32, b"\0")
        )

    @classmethod
    def unpack(cls, payload):
        """A header from its payload, or None where the bytes make no header of this layout."""
        if len(payload) != _HEADER.size:
            return None
        layout, crc32, length, block_bytes, content, address, name = _HEADER.unpack(payload)
        if layout != LAYOUT or content >= len(CONTENTS) or not SMALLEST <= block_bytes <= LARGEST:
            return None
        text = name.rstrip(b"\0").decode("utf-8", errors="replace")
        return cls(text, length, crc32, block_bytes, CONTENTS[content], address)


@dataclass(frozen=True)
class DataPart:
    """The payload of a data block: some bytes of a file, with its tag and their place in it."""

    tag: int
    number: int
    data: bytes

    def pack(self):
        """The payload's bytes."""
        return _PART.pack(self.tag, self.number, len(self.data)) + self.data

    def body(self):
        """The payload with the kind byte before it."""
        return bytes([DATA]) + self.pack()

    @classmethod
    def unpack(cls, payload):
        """A part from a payload, or None where the length it states is not there."""
        if len(payload) < _PART.size:
            return None
        tag, number, length = _PART.unpack_from(payload)
        data = bytes(payload[_PART.size :])
        return cls(tag, number, data) if len(data) == length else None


PART_START = 1 + _PART.size  # bytes of a data block before its data
HEADER_BYTES = 1 + _HEADER.size


def inverted(content):
    """Bytes with every bit inverted.

    Examples
    --------
    >>> inverted(b"\\x01\\xf0").hex()
    'fe0f'
    """
    return bytes(content).translate(_INVERTED)


_INVERTED = bytes(range(255, -1, -1))


def upright(content):
    """A block's bytes as they were before a copy was inverted, and whether it was.

    Parameters
    ----------
    content : bytes
        Kind byte first.

    Returns
    -------
    tuple of (bytes, bool)

    Examples
    --------
    >>> upright(b"\\xfd\\xff"), upright(b"\\x02\\x00")
    ((b'\\x02\\x00', True), (b'\\x02\\x00', False))
    """
    if content and content[0] ^ 0xFF in (HEADER, DATA, PARITY):
        return inverted(content), True
    return bytes(content), False


def is_kind(first):
    """Whether a first byte is that of a block the kit writes, upright or inverted.

    Parameters
    ----------
    first : bytes
        One byte.

    Returns
    -------
    bool

    Examples
    --------
    >>> is_kind(b"\\x02"), is_kind(b"\\xfd"), is_kind(b"A")
    (True, True, False)
    """
    return upright(first)[0][0] in (HEADER, DATA, PARITY)


def length_of(start):
    """Bytes of a block before its check, as its first bytes state.

    Parameters
    ----------
    start : bytes
        The block's first bytes, kind byte first.

    Returns
    -------
    int or None
        None where the bytes are too few, the kind is not one the kit writes, or the stated length is beyond
        what a block may hold: a length off a tape is a claim to check, never a size to reserve.

    Examples
    --------
    >>> length_of(b"\\x01"), length_of(bytes([2, 0, 7, 0, 0, 0, 16])), length_of(b"\\x02\\0\\0\\0\\0\\xff\\xff")
    (49, 23, None)
    """
    start, _ = upright(start)
    if len(start) >= 1 and start[0] == HEADER:
        return HEADER_BYTES
    if len(start) >= PART_START and start[0] in (DATA, PARITY):
        length = _PART.unpack_from(start, 1)[2]
        return PART_START + length if length <= LARGEST else None
    return None


def fit_name(name, taken=()):
    """A name that fits a header and is not taken yet.

    Cut at a character, with its extension kept, and numbered where the same name is there already.

    Parameters
    ----------
    name : str
    taken : collection of str

    Examples
    --------
    >>> fit_name("log.txt", {"log.txt"})
    'log (2).txt'
    >>> fit_name("tide-tables-of-the-western-harbour.csv")
    'tide-tables-of-the-western-h.csv'
    """
    stem, extension = _split(name.encode("utf-8", errors="replace").decode("utf-8"))
    number = 1
    while True:
        ending = ("" if number == 1 else f" ({number})") + extension
        fitted = _cut(stem, NAME_BYTES - len(ending.encode("utf-8"))) + ending
        if fitted not in taken:
            return fitted
        number += 1


def _split(name):
    """Stem and extension; an extension too long to keep, or a name that is nothing else, is stem."""
    dot = name.rfind(".")
    if dot <= 0 or len(name[dot:].encode("utf-8")) > 12:
        return name, ""
    return name[:dot], name[dot:]


def _cut(text, limit):
    """The longest beginning of a text that takes at most so many bytes of UTF-8."""
    return text.encode("utf-8")[: max(0, limit)].decode("utf-8", errors="ignore")
