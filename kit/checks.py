"""Checks: a few bytes computed from the data and sent along, so that damage shows. Pure functions.

Each misses something: a parity bit every even number of flips, a sum two bytes that changed places, a CRC of
16 bits one in 65,536 of the long bursts. `CHECKS` has them all by name.
"""

import binascii
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

import numpy as np

from .crc import CRCS, Crc, as_bytes, crc
from .errors import SettingError

__all__ = [
    "CHECKS",
    "CRCS",
    "Check",
    "Crc",
    "check",
    "crc",
    "fletcher_16",
    "ones_complement_sum_16",
    "parity",
    "sum_8",
    "xor_8",
]


def parity(data):
    """1 if the number of ones among all bits is odd, else 0."""
    return xor_8(data).bit_count() & 1


def xor_8(data):
    """All bytes combined by exclusive or: each bit of it is the even parity of one column of bits."""
    return int(np.bitwise_xor.reduce(np.frombuffer(as_bytes(data), np.uint8), initial=0))


def sum_8(data):
    """The sum of all bytes, modulo 256."""
    return int(np.frombuffer(as_bytes(data), np.uint8).sum(dtype=np.uint64)) & 0xFF


def ones_complement_sum_16(data):
    """Sum of big-endian 16-bit words, each carry out of the top added in again at the bottom.

    An odd last byte counts as the high half of a word.

    Source
    ------
    RFC 1071, §1 and §2. The Internet checksum is the complement of this sum.
    """
    data = bytes(as_bytes(data))
    total = int(np.frombuffer(data + bytes(len(data) % 2), ">u2").sum(dtype=np.uint64))
    while total > 0xFFFF:
        total = (total & 0xFFFF) + (total >> 16)
    return total


def fletcher_16(data):
    """Two sums modulo 255, of the bytes and of the running sums; the second is the high byte.

    The second sum weighs each byte by its place, so that bytes that changed places show. 0x00 and 0xFF count
    the same.

    Source
    ------
    J. Fletcher, "An arithmetic checksum for serial transmissions", IEEE Trans. Comm. 30(1), 1982.
    """
    values = np.frombuffer(as_bytes(data), np.uint8).astype(np.int64)
    weights = np.arange(len(values), 0, -1) % 255
    return int(np.dot(weights, values) % 255) << 8 | int(values.sum() % 255)


@dataclass(frozen=True)
class Check:
    """A check as a block carries it.

    Parameters
    ----------
    name : str
    size_bytes : int
    function : callable
        bytes → int.
    note : str
        What it catches and what it misses.
    order : {"big", "little"}
        Which of its bytes is sent first, the most or the least significant.
    """

    name: str
    size_bytes: int
    function: Callable[[bytes], int]
    note: str
    order: str = "big"

    def compute(self, data):
        """The check bytes of some data, in the order they are sent.

        Parameters
        ----------
        data : bytes-like

        Returns
        -------
        bytes
            `size_bytes` of them.
        """
        return self.function(data).to_bytes(self.size_bytes, self.order)

    def agrees(self, data, check_bytes):
        """Whether the check bytes are those of the data."""
        return self.compute(data) == bytes(check_bytes)


_IN_C = {
    "crc-16/xmodem": lambda data: binascii.crc_hqx(as_bytes(data), 0),
    "crc-16/ibm-3740": lambda data: binascii.crc_hqx(as_bytes(data), 0xFFFF),
    "crc-32/iso-hdlc": lambda data: zlib.crc32(as_bytes(data)),
}


def _crc_check(name, model):
    """A CRC as a check: least significant byte first where bits are, so that bursts stay bursts."""
    note = f"misses no burst of up to {model.width} bits, and 1 in {1 << model.width:,} of much longer ones"
    function = _IN_C.get(name) or partial(crc, model=model)
    return Check(name, model.width // 8, function, note, "little" if model.refout else "big")


_SUMS = (
    Check("none", 0, lambda data: 0, "misses everything"),
    Check("parity", 1, parity, "one bit over all, in a byte of its own: misses every even number of flips"),
    Check("xor-8", 1, xor_8, "misses two flips in one column of bits, and bytes that changed places"),
    Check("sum-8", 1, sum_8, "misses bytes that changed places, and two flips of a top bit"),
    Check(
        "ones-complement-16",
        2,
        lambda data: 0xFFFF ^ ones_complement_sum_16(data),
        "misses 16-bit words that changed places, and a word of 0000 that became FFFF",
    ),
    Check("fletcher-16", 2, fletcher_16, "sees most bytes that changed places; misses 00 that became FF"),
    Check(
        "adler-32",
        4,
        lambda data: zlib.adler32(as_bytes(data)),
        "like fletcher-16 with larger sums, modulo 65521; weak for a few dozen bytes",
    ),
)
CHECKS = {each.name: each for each in (*_SUMS, *(_crc_check(*item) for item in CRCS.items()))}
"""Every check by name."""


def check(name):
    """The check of that name.

    Parameters
    ----------
    name : str

    Returns
    -------
    Check

    Raises
    ------
    SettingError
        There is none; the message names those there are.

    Examples
    --------
    >>> check("crc-16/ibm-3740").compute(b"123456789").hex()
    '29b1'
    """
    try:
        return CHECKS[name]
    except (KeyError, TypeError):
        raise SettingError(f"check must be one of {', '.join(CHECKS)}, got {name!r}: choose one") from None
