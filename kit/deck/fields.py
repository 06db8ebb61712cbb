"""What a setting is: its unit, range, neutral value and meaning, and how it refuses nonsense."""

import dataclasses
import difflib
import numbers
from dataclasses import dataclass

from kit.errors import SettingError

__all__ = ["Setting", "check_names", "choice", "number", "switch"]


@dataclass(frozen=True)
class Setting:
    """One setting of a recorder.

    Attributes
    ----------
    name : str
    default : float, str or bool
        The neutral value.
    help : str
        One line.
    unit : str
        "" if it has none.
    low, high : float or None
        The range of a number, both ends included.
    choices : tuple of str
        The words of a choice.
    off : float or None
        A value outside the range that switches the thing off (±inf).
    """

    name: str
    default: object
    help: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    choices: tuple = ()
    off: float | None = None

    @property
    def kind(self):
        """str: "number", "choice" or "switch"."""
        if self.choices:
            return "choice"
        return "switch" if isinstance(self.default, bool) else "number"

    @property
    def range(self):
        """str: what it may be, in words."""
        if self.choices:
            return ", ".join(self.choices)
        if self.kind == "switch":
            return "yes, no"
        none = "" if self.off is None else f", or {self.off:g} for none"
        return f"{self.low:g} to {self.high:g} {self.unit}{none}"

    def named(self, name):
        """The same setting under a name."""
        return dataclasses.replace(self, name=name)

    def checked(self, value):
        """The value in its proper type, or a `SettingError` that names the range."""
        if self.choices:
            proper = isinstance(value, str) and value in self.choices
            return value if proper else self._refuse(value)
        if self.kind == "switch":
            return bool(value) if isinstance(value, bool | int) and value in (0, 1) else self._refuse(value)
        if isinstance(value, bool) or not isinstance(value, numbers.Real):
            self._refuse(value)
        return float(value) if value == self.off or self.low <= value <= self.high else self._refuse(value)

    def parse(self, text):
        """The value a person typed.

        Parameters
        ----------
        text : str
            A number, a word of the choice, or yes/no. "off" is the neutral value.

        Returns
        -------
        float, str or bool

        Raises
        ------
        SettingError
            It is not in range.

        Examples
        --------
        >>> Setting("some_percent", 0.0, "an example", "%", low=0, high=10).parse("2.5")
        2.5
        """
        word = text.strip().lower()
        if word == "off" and self.kind != "choice":
            return self.default
        if self.kind == "switch":
            return self.checked({"yes": True, "no": False}.get(word, word))
        return self.checked(_as_number(word) if self.kind == "number" else word)

    def _refuse(self, value):
        got = f"{value:g} {self.unit}".strip() if _is_number(value) else repr(value)
        raise SettingError(f"{self.name} must be {self.range}, got {got}: choose one of these"
                           if self.kind != "number" else
                           f"{self.name} must lie in {self.range}, got {got}: choose a value in that range")


def _as_number(word):
    try:
        return float(word)
    except ValueError:
        return word


def _is_number(value):
    return isinstance(value, numbers.Real) and not isinstance(value, bool)


def _field(setting):
    return dataclasses.field(default=setting.default, metadata={"setting": setting})


def number(default, low, high, unit, meaning, off=None):
    """A dataclass field that holds a number from `low` to `high`, or `off`."""
    return _field(Setting("", float(default), meaning, unit, low, high, off=off))


def choice(default, choices, meaning):
    """A dataclass field that holds one word of several."""
    return _field(Setting("", default, meaning, choices=choices))


def switch(meaning):
    """A dataclass field that is yes or no; no is neutral."""
    return _field(Setting("", False, meaning))


def check_names(fields, names):
    """Refuse names that are no settings.

    Parameters
    ----------
    fields : iterable of Setting
    names : iterable of str

    Raises
    ------
    SettingError
        With the nearest known name.
    """
    known = [setting.name for setting in fields]
    for name in names:
        if name not in known:
            near = difflib.get_close_matches(name, known, 1, 0)[0]
            raise SettingError(f"a setting must be one of the deck's, got {name!r}: did you mean {near!r}?")

