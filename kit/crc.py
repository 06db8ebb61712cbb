"""Cyclic redundancy checks: the remainder of a long division without carries, for any polynomial."""

from dataclasses import dataclass
from functools import cache

from .errors import SettingError

__all__ = ["CRCS", "Crc", "as_bytes", "crc"]


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
    register = _divide(as_bytes(data), model)
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


def as_bytes(data):
    """The data as a flat row of bytes, without a copy where that can be."""
    try:
        view = memoryview(data)
        if view.itemsize == 1:
            return view.cast("B") if view.contiguous else view.tobytes()
    except TypeError:
        pass
    raise SettingError(f"data must be bytes, got {type(data).__name__}: encode text, or use uint8") from None
