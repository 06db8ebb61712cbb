"""Draws: what is personal comes from SHA-256 alone, so that it is the same on every machine and in every version.

The seed of an item is SHA-256 over class code, code name, lesson and item; draws from it are SHA-256 over the seed
and a counter. There is no generator that others share, and none that a library may change.
"""

import hashlib
import json

__all__ = ["Draws", "seed_of"]

WORD_BYTES = 8


def seed_of(class_code, code_name, lesson, item):
    """The seed of one item of one learner.

    Parameters
    ----------
    class_code, code_name : str
    lesson : int
    item : str

    Returns
    -------
    bytes
        32 of them: SHA-256 over the four as a JSON list in UTF-8, so that no two of them run into each other.

    Examples
    --------
    >>> seed_of("6b", "gull 7", 4, "m").hex()[:8]
    '3f4eec08'
    """
    return hashlib.sha256(_words([class_code, code_name, lesson, item])).digest()


class Draws:
    """A row of draws from a seed: the same seed gives the same row, always.

    Parameters
    ----------
    seed : bytes
    number : int
        One row of many from the same seed.

    Examples
    --------
    >>> seed = seed_of("6b", "gull 7", 4, "m")
    >>> [Draws(seed).below(100) for _ in range(2)], Draws(seed, 1).below(100)
    ([34, 34], 19)
    """

    def __init__(self, seed, number=0):
        self._seed = bytes(seed) + number.to_bytes(WORD_BYTES, "big")
        self._counter = 0
        self._left = b""

    def bytes(self, count):
        """Some bytes.

        Returns
        -------
        bytes
        """
        while len(self._left) < count:
            block = self._seed + self._counter.to_bytes(WORD_BYTES, "big")
            self._left += hashlib.sha256(block).digest()
            self._counter += 1
        drawn, self._left = self._left[:count], self._left[count:]
        return drawn

    def below(self, limit):
        """A whole number from 0 to `limit` - 1, each as likely as any other."""
        fair = (1 << 8 * WORD_BYTES) // limit * limit
        while (drawn := int.from_bytes(self.bytes(WORD_BYTES), "big")) >= fair:
            pass
        return drawn % limit

    def between(self, first, last):
        """A whole number from `first` to `last`, both included."""
        return first + self.below(last - first + 1)

    def one_of(self, choices):
        """One of a sequence."""
        return choices[self.below(len(choices))]

    def some_of(self, choices, count):
        """As many of a sequence, none of them twice, in the order drawn.

        Returns
        -------
        list
        """
        left = list(choices)
        return [left.pop(self.below(len(left))) for _ in range(count)]


def _words(parts):
    return json.dumps(parts, ensure_ascii=False, separators=(",", ":")).encode("utf-8")
