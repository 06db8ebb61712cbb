"""Patterns of damage: which bits of a few bytes are flipped."""

import numpy as np

__all__ = ["BY_HAND", "IN_BYTE", "PATTERNS", "flips_of"]

PATTERNS = ("bits of one byte", "bits of one column", "bits anywhere", "a burst", "two bytes swapped",
            "every bit by a coin", "by hand only")
IN_BYTE, IN_COLUMN, ANYWHERE, BURST, SWAPPED, COIN, BY_HAND = PATTERNS


def flips_of(data, pattern, count, place, rng):
    """Which bits a pattern flips.

    Parameters
    ----------
    data : bytes
        Not empty.
    pattern : str
        One of `PATTERNS`.
    count : int
        Bits, or how far apart two bytes are that change places.
    place : int
        First bit, 0 the top bit of the first byte; taken round past the end.
    rng : numpy.random.Generator
        For what a pattern leaves to chance.

    Returns
    -------
    ndarray of bool, shape (8 bytes,)
    """
    flips = np.zeros(8 * len(data), bool)
    byte, bit = divmod(place % len(flips), 8)
    if pattern == IN_BYTE:
        flips[8 * byte + (bit + np.arange(min(count, 8))) % 8] = True
    elif pattern == IN_COLUMN:
        flips[8 * ((byte + np.arange(min(count, len(data)))) % len(data)) + bit] = True
    elif pattern == ANYWHERE:
        others = rng.permutation(np.delete(np.arange(len(flips)), 8 * byte + bit))
        flips[np.append(others[: count - 1], 8 * byte + bit)] = True
    elif pattern == BURST:
        inside = rng.random(count) < 0.5
        inside[[0, -1]] = True  # or it would be shorter
        flips[min(8 * byte + bit, max(0, len(flips) - count)) :][:count] = inside[: len(flips)]
    elif pattern == SWAPPED:
        other = (byte + count) % len(data)
        differs = np.unpackbits(np.array([data[byte] ^ data[other]], np.uint8)).astype(bool)
        flips[8 * byte :][:8], flips[8 * other :][:8] = differs, differs
    elif pattern == COIN:
        flips = rng.random(len(flips)) < 0.5
    return flips
