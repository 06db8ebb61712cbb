"""Marks: a leader that is a steady tone of ones, with no sync mark; the first start bit ends it.

What follows such a leader is a stream: characters, each with its own start bit, and between them as many marks as
the writer liked. Nothing says what the bytes mean, how many there are, or whether they are right.
"""

from dataclasses import dataclass

import numpy as np

from .errors import SettingError

__all__ = ["Marks"]


@dataclass(frozen=True)
class Marks:
    """The leader of a stream.

    Parameters
    ----------
    leader_units : float
        Length of a cycle of the tone, in units: that of a one.
    shortest_s : float
        Marks that last so long may lead in a stream, when a reader is told to look for one.
    parts_s : float
        Marks between two characters that last so long, or longer, lead in the next stream; in seconds as heard, or
        as they would be at ordinary speed, whichever are more. Shorter ones are a pause within a stream.
    led_in_s : float
        What a writer should give; shorter leaders are warned of.

    Examples
    --------
    >>> Marks().encode(2).tolist()
    [0.5, 0.5, 0.5, 0.5]
    """

    leader_units: float = 1.0
    shortest_s: float = 0.5
    parts_s: float = 2.4
    led_in_s: float = 5.0

    def __post_init__(self):
        if not 0 < self.leader_units < float("inf"):
            raise SettingError(f"a cycle of marks must be longer than 0 units, got {self.leader_units!r} units")
        if not 0.25 <= self.shortest_s <= self.parts_s <= 600:
            raise SettingError(
                "marks that lead in must last 0.25 s at least, and no longer than those that part streams, "
                f"got {self.shortest_s!r} and {self.parts_s!r} s"
            )
        if not 0 <= self.led_in_s <= 600:
            raise SettingError(f"led_in_s must lie in 0 to 600 s, got {self.led_in_s!r} s")

    def encode(self, cycles, sync=True):
        """Half-cycles of so many cycles of marks; shape (n,), in units. There is no sync mark to add."""
        return np.full(2 * int(cycles), self.leader_units / 2)
