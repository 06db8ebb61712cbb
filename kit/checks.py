"""Checks: a few bytes computed from the data and sent along, so that damage shows. Pure functions.

Each misses something: a parity bit every even number of flips, a sum two bytes that changed places, a CRC of
16 bits one in 65,536 of the long bursts. `CHECKS` has them all by name.
"""

import binascii
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, partial

import numpy as np

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


@dataclass(frozen=True)
class Crc:
    """What defines a cyclic redundancy check, in the words of the catalogue of CRCs.

    Parameters
    ----------
    width : int
        Bits in the check, 8 to 32.
    poly : int
        The polynomial without its highest term, highest power first.
    init : int
        What the register holds before the first bit.
    refin, refout : bool
        Whether each byte goes in least significant bit first, and whether the result is turned round.
    xorout : int
        What the result is combined with at the end.

    Source
    ------
    G. Cook, "Catalogue of parametrised CRC algorithms"; R. Williams, "A painless guide to CRC error detection
    algorithms", 1993, for the model.
    """

    width: int
    poly: int
    init: int = 0
    refin: bool = False
    refout: bool = False
    xorout: int = 0

    def __post_init__(self):
        if not isinstance(self.width, int) or not 8 <= self.width <= 32:
            raise SettingError(f"width must be 8 to 32 bits, got {self.width!r}: choose one in between")
        for name in ("poly", "init", "xorout"):
            value = getattr(self, name)
            if not isinstance(value, int) or not 0 <= value < 1 << self.width:
                raise SettingError(f"{name} must fit in {self.width} bits, got {value!r}: drop the top term")


def crc(data, model):
    """The CRC of some bytes: the remainder of a long division without carries.

    Parameters
    ----------
    data : bytes-like
    model : Crc

    Returns
    -------
    int
        0 ≤ crc < 2**width.

    Examples
    --------
    >>> hex(crc(b"123456789", CRCS["crc-16/arc"]))
    '0xbb3d'
    """
    register = _divide(_as_bytes(data), model)
    if model.refin != model.refout:
        register = _reversed_bits(register, model.width)
    return register ^ model.xorout


def _divide(data, model):
    table = _table(model.width, model.poly, model.refin)
    if model.refin:
        register = _reversed_bits(model.init, model.width)
        for byte in data:
            register = (register >> 8) ^ table[(register ^ byte) & 0xFF]
        return register
    register, shift, mask = model.init, model.width - 8, (1 << model.width) - 1
    for byte in data:
        register = ((register << 8) & mask) ^ table[(register >> shift) ^ byte]
    return register


@cache
def _table(width, poly, reflected):
    """What eight steps of the division do to each value of the byte about to leave the register."""
    return tuple(_eight_steps(byte, width, poly, reflected) for byte in range(256))


def _eight_steps(byte, width, poly, reflected):
    if reflected:
        poly = _reversed_bits(poly, width)
        for _ in range(8):
            byte = (byte >> 1) ^ (poly if byte & 1 else 0)
        return byte
    register = byte << (width - 8)
    for _ in range(8):
        register = (register << 1) ^ (poly if register >> (width - 1) else 0)
        register &= (1 << width) - 1
    return register


def _reversed_bits(value, width):
    return int(f"{value:0{width}b}"[::-1], 2)


def parity(data):
    """1 if the number of ones among all bits is odd, else 0."""
    return xor_8(data).bit_count() & 1


def xor_8(data):
    """All bytes combined by exclusive or: each bit of it is the even parity of one column of bits."""
    return int(np.bitwise_xor.reduce(np.frombuffer(_as_bytes(data), np.uint8), initial=0))


def sum_8(data):
    """The sum of all bytes, modulo 256."""
    return int(np.frombuffer(_as_bytes(data), np.uint8).sum(dtype=np.uint64)) & 0xFF


def ones_complement_sum_16(data):
    """Sum of big-endian 16-bit words, each carry out of the top added in again at the bottom.

    An odd last byte counts as the high half of a word.

    Source
    ------
    RFC 1071, §1 and §2. The Internet checksum is the complement of this sum.
    """
    data = bytes(_as_bytes(data))
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
    values = np.frombuffer(_as_bytes(data), np.uint8).astype(np.int64)
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


CRCS = {
    "crc-8/smbus": Crc(8, 0x07),
    "crc-8/rohc": Crc(8, 0x07, 0xFF, True, True),
    "crc-8/maxim-dow": Crc(8, 0x31, 0, True, True),
    "crc-16/arc": Crc(16, 0x8005, 0, True, True),
    "crc-16/modbus": Crc(16, 0x8005, 0xFFFF, True, True),
    "crc-16/umts": Crc(16, 0x8005),
    "crc-16/xmodem": Crc(16, 0x1021),
    "crc-16/ibm-3740": Crc(16, 0x1021, 0xFFFF),
    "crc-16/kermit": Crc(16, 0x1021, 0, True, True),
    "crc-16/genibus": Crc(16, 0x1021, 0xFFFF, False, False, 0xFFFF),
    "crc-16/mcrf4xx": Crc(16, 0x1021, 0xFFFF, True, True),
    "crc-16/ibm-sdlc": Crc(16, 0x1021, 0xFFFF, True, True, 0xFFFF),
    "crc-32/iso-hdlc": Crc(32, 0x04C11DB7, 0xFFFFFFFF, True, True, 0xFFFFFFFF),
}
"""Parameters from the catalogue of CRCs (see `Crc`)."""

# Python's own, in C: quicker than the table above.
_IN_C = {
    "crc-16/xmodem": lambda data: binascii.crc_hqx(_as_bytes(data), 0),
    "crc-16/ibm-3740": lambda data: binascii.crc_hqx(_as_bytes(data), 0xFFFF),
    "crc-32/iso-hdlc": lambda data: zlib.crc32(_as_bytes(data)),
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
    Check("fletcher-16", 2, fletcher_16, "sees bytes that changed places; misses 00 that became FF"),
    Check(
        "adler-32",
        4,
        lambda data: zlib.adler32(_as_bytes(data)),
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


def _as_bytes(data):
    """The data as a flat row of bytes, without a copy where that can be."""
    try:
        view = memoryview(data)
        if view.itemsize == 1:
            return view.cast("B") if view.contiguous else view.tobytes()
    except TypeError:
        pass
    raise SettingError(f"data must be bytes, got {type(data).__name__}: encode text, or use uint8") from None
