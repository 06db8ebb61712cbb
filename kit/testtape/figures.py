"""A figure of a report: a value with its interval, or the reason why there is none; and names made harmless."""

from dataclasses import dataclass

__all__ = ["Figure", "spelt_out"]


@dataclass(frozen=True)
class Figure:
    """What was measured.

    Attributes
    ----------
    value : float or None
        None where it is not known.
    unit : str
    low, high : float or None
        The interval it lies in, as far as the recording tells.
    unknown : str
        Why there is no value; empty if there is one.
    note : str
        What the value is of, or how far it can be trusted.
    """

    value: float | None
    unit: str
    low: float | None = None
    high: float | None = None
    unknown: str = ""
    note: str = ""

    @classmethod
    def missing(cls, unit, why):
        """A figure that is not known, and why."""
        return cls(None, unit, unknown=why)

    @property
    def known(self):
        """bool: whether there is a value."""
        return self.value is not None

    def words(self, digits=2, sign=False):
        """The figure in words.

        Examples
        --------
        >>> Figure(-0.41, "%", -0.43, -0.39).words(sign=True)
        '-0.41 % (-0.43 to -0.39)'
        >>> Figure.missing("%", "its part is missing").words()
        'not known: its part is missing'
        """
        if not self.known:
            return f"not known: {self.unknown}"
        style = f"{'+' if sign else ''}z.{digits}f"
        within = "" if self.low is None else f" ({self.low:{style}} to {self.high:{style}})"
        return f"{self.value:{style}} {self.unit}".rstrip() + within


def spelt_out(name):
    """A name in which control characters and marks of direction are spelt out, so that it is only text.

    Examples
    --------
    >>> print(spelt_out("tape\\x1b[2J.wav"))
    tape\\x1b[2J.wav
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in str(name))
