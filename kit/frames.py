"""Frames: how the eight bits of a byte stand in the stream of bits, and what stands around them.

A frame may open with start bits and close with a parity bit and stop bits. They cost time, and they buy two
things: a reader that lost its place can find it again, and a damaged byte may betray itself.
"""

from dataclasses import dataclass

import numpy as np

from .errors import SettingError

__all__ = ["ORDERS", "PARITIES", "Frame", "parity_bits"]

ORDERS = ("msb", "lsb")
PARITIES = ("none", "even", "odd", "mark", "space")
MOST_EXTRA_BITS = 16


@dataclass(frozen=True)
class Frame:
    """One byte's place in the stream of bits: start bits, eight data bits, parity bit, stop bits.

    Parameters
    ----------
    order : {"msb", "lsb"}
        Which data bit comes first: the most or the least significant.
    start_bits, stop_bits : str
        The bits before and after, as "0" and "1" in the order of time; "" for none, at most 16.
    parity : {"none", "even", "odd", "mark", "space"}
        A bit after the data bits: it makes the number of ones among the nine even or odd, or is always 1
        ("mark") or always 0 ("space").

    Raises
    ------
    SettingError

    Examples
    --------
    >>> Frame().to_bits(b"A")
    array([0, 1, 0, 0, 0, 0, 0, 1], dtype=uint8)
    >>> serial = Frame(order="lsb", start_bits="0", stop_bits="11", parity="even")
    >>> "".join(map(str, serial.to_bits(b"C")))
    '011000010111'
    >>> data, doubt = serial.to_bytes([0, 1, 1, 0, 0, 0, 0, 1, 0, 0, 1, 1])  # the parity bit is wrong
    >>> bytes(data), doubt
    (b'C', array([ True]))
    """

    order: str = "msb"
    start_bits: str = ""
    stop_bits: str = ""
    parity: str = "none"

    def __post_init__(self):
        for name, value, known in (("order", self.order, ORDERS), ("parity", self.parity, PARITIES)):
            if value not in known:
                raise SettingError(f"{name} must be one of {', '.join(known)}, got {value!r}: choose one")
        for name, value in (("start_bits", self.start_bits), ("stop_bits", self.stop_bits)):
            if not isinstance(value, str) or set(value) - set("01") or len(value) > MOST_EXTRA_BITS:
                raise SettingError(
                    f"{name} must be at most {MOST_EXTRA_BITS} zeros and ones in quotes, got "
                    f'{value!r}: write "0" or "11"'
                )

    @property
    def bits_per_byte(self):
        """int: bits in a whole frame, 8 to 41."""
        return len(self.start_bits) + 8 + (self.parity != "none") + len(self.stop_bits)

    def to_bits(self, data):
        """The bits of some bytes, in the order of time.

        Parameters
        ----------
        data : bytes-like, or numpy.ndarray of uint8

        Returns
        -------
        numpy.ndarray
            uint8, (n_bytes * bits_per_byte,), 0 or 1.
        """
        values = _as_uint8(data)
        table = np.empty((len(values), self.bits_per_byte), np.uint8)
        start, byte, parity, stop = self._parts(table)
        start[:], stop[:] = _pattern(self.start_bits), _pattern(self.stop_bits)
        byte[:] = np.unpackbits(values[:, None], axis=1, bitorder=self._bitorder)
        if self.parity != "none":
            parity[:, 0] = parity_bits(values, self.parity)
        return table.reshape(-1)

    def to_bytes(self, bits):
        """The bytes in a stream of bits, and which of them are in doubt.

        Parameters
        ----------
        bits : array_like
            0 or 1 (or False and True), (n_bits,), beginning with a frame. Bits after the last whole frame are
            left out.

        Returns
        -------
        data : numpy.ndarray
            uint8, (n_bytes,).
        doubt : numpy.ndarray
            bool, (n_bytes,): True where a start, stop or parity bit is not what it must be.
        """
        table = _as_bits(bits)
        table = table[: len(table) - len(table) % self.bits_per_byte].reshape(-1, self.bits_per_byte)
        start, byte, parity, stop = self._parts(table)
        data = np.packbits(byte, axis=1, bitorder=self._bitorder)[:, 0]
        doubt = (start != _pattern(self.start_bits)).any(axis=1)
        doubt |= (stop != _pattern(self.stop_bits)).any(axis=1)
        if self.parity != "none":
            doubt |= parity[:, 0] != parity_bits(data, self.parity)
        return data, doubt

    @property
    def _bitorder(self):
        return "big" if self.order == "msb" else "little"

    def _parts(self, table):
        """The columns of start bits, data bits, parity bit (or none) and stop bits, as views."""
        data = len(self.start_bits)
        return np.split(table, (data, data + 8, data + 8 + (self.parity != "none")), axis=1)


def parity_bits(data, parity):
    """The parity bit of each byte.

    Parameters
    ----------
    data : numpy.ndarray
        uint8, (n,).
    parity : {"even", "odd", "mark", "space"}

    Returns
    -------
    numpy.ndarray
        uint8, (n,), 0 or 1.

    Examples
    --------
    >>> parity_bits(np.frombuffer(b"AC", np.uint8), "even")  # two ones, three ones
    array([0, 1], dtype=uint8)
    """
    if parity in ("mark", "space"):
        return np.full(len(data), parity == "mark", np.uint8)
    folded = data ^ (data >> 4)
    folded = folded ^ (folded >> 2)
    ones_are_odd = (folded ^ (folded >> 1)) & 1
    return ones_are_odd ^ np.uint8(parity == "odd")


def _pattern(bits):
    return np.frombuffer(bits.encode("ascii"), np.uint8) - ord("0")


def _as_uint8(data):
    values = data if isinstance(data, np.ndarray) else _buffer(data)
    if values.dtype != np.uint8 or values.ndim != 1:
        raise SettingError(f"data must be bytes, got {values.dtype} {values.shape}: use a row of uint8")
    return values


def _buffer(data):
    try:
        return np.frombuffer(data, np.uint8)
    except (TypeError, ValueError):
        raise SettingError(f"data must be bytes, got {type(data).__name__}: encode text first") from None


def _as_bits(bits):
    array = np.asarray(bits)
    if array.size == 0:
        return np.zeros(0, np.uint8)
    if array.ndim != 1 or array.dtype.kind not in "biu":
        raise SettingError(f"bits must be a row of 0 and 1, got {array.dtype} {array.shape}: decide first")
    if not 0 <= array.min() <= array.max() <= 1:
        raise SettingError(f"bits must be 0 or 1, got {array.min()} to {array.max()}: decide each bit first")
    return array.astype(np.uint8)
