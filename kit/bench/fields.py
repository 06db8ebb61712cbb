"""What a hand can move: each field of an experiment's state says its label, unit, range and steps.

Every field has a row of positions, numbered from 0, so that a slider, a list and a screen reader all go by the
same steps, be they even or not; the browser only ever sends a position.
"""

import dataclasses
import math
import numbers
from dataclasses import dataclass

from ..errors import SettingError

__all__ = ["MINUS", "Field", "State", "choice", "fields_of", "number", "switch", "text"]

MINUS = "−"  # read out as "minus", which a hyphen is not


@dataclass(frozen=True)
class Field:
    """One thing to move.

    Attributes
    ----------
    kind : {"number", "choice", "switch", "text"}
    label : str
        Shown before the control.
    default : object
    name : str
        Of the state's attribute.
    unit : str
        "" if it has none.
    values : tuple
        What it may be, in the order of its positions; empty for a text.
    words : tuple of str
        The same, as shown and read out, unit included.
    most : int
        Most characters of a text.
    hint : str
        One line below the control; may be empty.
    """

    kind: str
    label: str
    default: object
    name: str = ""
    unit: str = ""
    values: tuple = ()
    words: tuple = ()
    most: int = 0
    hint: str = ""

    def checked(self, value):
        """The value it takes: of a number the nearest step; a `SettingError` names the range."""
        if self.kind == "text":
            return value if _is_text(value) and len(value) <= self.most else self._refuse(value)
        if self.kind == "number":
            return self.values[self._nearest(value)]
        known = [each for each in self.values if each == value and isinstance(each, bool) == isinstance(value, bool)]
        return known[0] if known else self._refuse(value)

    def position(self, value):
        """Its number among the steps; of a text the text itself."""
        return value if self.kind == "text" else self.values.index(value)

    def at(self, position):
        """The value at a position, as the browser sends it; a `SettingError` if there is none."""
        if self.kind == "text":
            return self.checked(position)
        proper = isinstance(position, int) and not isinstance(position, bool)
        return self.values[position] if proper and 0 <= position < len(self.values) else self._refuse(position)

    def shown(self, value):
        """The value in words, with its unit; a text in quotes."""
        return f"“{value}”" if self.kind == "text" else self.words[self.position(value)]

    def _nearest(self, value):
        proper = isinstance(value, numbers.Real) and not isinstance(value, bool)
        if not (proper and self.values[0] <= value <= self.values[-1]):
            self._refuse(value)
        return min(range(len(self.values)), key=lambda k: abs(self.values[k] - value))

    def _refuse(self, value):
        got = f"got {str(value)[:40]!a}"
        if self.kind == "text":
            raise SettingError(f"{self.name} must be text of at most {self.most} characters, {got}: shorten it")
        if self.kind == "number":
            span = f"{self.words[0]} to {self.words[-1]}"
            raise SettingError(f"{self.name} must lie in {span}, {got}: choose a value in that range")
        raise SettingError(f"{self.name} must be one of {', '.join(map(str, self.values))}, {got}: choose one")


class State:
    """What an experiment depends on; each one is a frozen dataclass of fields made by the functions below.

    Raises
    ------
    SettingError
        A value is out of range, when the state is made.

    Examples
    --------
    >>> @dataclass(frozen=True)
    ... class Tape(State):
    ...     level_db: float = number(-6, -40, 0, 2, "dB", "Level")
    >>> Tape(level_db=-6.9).level_db
    -6
    >>> fields_of(Tape)[0].shown(-6)
    '−6 dB'
    """

    def __post_init__(self):
        for field in fields_of(type(self)):
            object.__setattr__(self, field.name, field.checked(getattr(self, field.name)))


def fields_of(state):
    """The `Field`s of a state (or of its class), in their order."""
    return tuple(dataclasses.replace(one.metadata["bench"], name=one.name) for one in dataclasses.fields(state))


def number(default, low, high, step, unit, label, *, log=False, hint=""):
    """A field that holds a number.

    Parameters
    ----------
    default, low, high : float
        Both ends are included.
    step : float
        Between neighbours; with `log`, how many steps the whole range has.
    unit, label, hint : str
    log : bool
        Steps by equal parts, rounded to two digits, instead of equal differences.

    Returns
    -------
    dataclasses.Field
    """
    values = _log_steps(low, high, step) if log else _even_steps(low, high, step)
    words = tuple(_with_unit(value, unit) for value in values)
    field = Field("number", label, default, "?", unit, values, words, hint=hint)
    return _as_field(dataclasses.replace(field, default=field.checked(default)))


def choice(default, values, label, *, unit="", words=(), hint=""):
    """A field that holds one of several values; `words` are how they are shown, if not by themselves."""
    words = tuple(words) or tuple(_with_unit(value, unit) for value in values)
    return _as_field(Field("choice", label, default, "?", unit, tuple(values), words, hint=hint))


def switch(default, label, *, hint=""):
    """A field that is on or off."""
    return _as_field(Field("switch", label, bool(default), values=(False, True), words=("off", "on"), hint=hint))


def text(default, most, label, *, hint=""):
    """A field that holds at most so many characters."""
    return _as_field(Field("text", label, default, most=most, hint=hint))


def _is_text(value):
    """Whether it is a string that can be written; half a character (a lone surrogate) cannot."""
    return isinstance(value, str) and not any("\ud800" <= each <= "\udfff" for each in value)


def _as_field(field):
    return dataclasses.field(default=field.default, metadata={"bench": field})


def _even_steps(low, high, step):
    count = round((high - low) / step)
    values = (low + k * step for k in range(count + 1))
    whole = all(isinstance(each, int) for each in (low, high, step))
    return tuple(values) if whole else tuple(round(value, 9) for value in values)


def _log_steps(low, high, count):
    values = (low * (high / low) ** (k / count) for k in range(count + 1))
    rounded = (round(value, 1 - math.floor(math.log10(value))) for value in values)
    return tuple(dict.fromkeys((low, *list(rounded)[1:-1], high)))


def _with_unit(value, unit):
    word = f"{value:g}".replace("-", MINUS) if isinstance(value, numbers.Real) else str(value)
    return f"{word} {unit}".strip()
