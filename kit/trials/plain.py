"""Settings as plain values that JSON can hold, and back: what differs from the default, whole by itself.

A format or deck is written out, not named: it means the same on another machine, and tomorrow.
"""

import json
from dataclasses import fields, is_dataclass

from ..cells import CycleLength
from ..deck import Deck
from ..errors import SettingError
from ..formats import Format
from ..frames import Frame
from ..known import FORMATS
from ..leader import Leader
from ..linecodes import BiphaseMark, DelayModulation, OnOffTone, PhaseEncoding, PhaseFlips, RawLevels
from ..marks import Marks
from ..readers import Counter
from ..repair_outer import Outer
from ..tonepairs import TonePair
from ..tones import TwoTones

__all__ = ["from_plain", "one_line", "to_plain"]

# What a setting holds that is itself a group of settings.
GROUPS = {"format": Format, "deck": Deck, "counter": Counter, "code": CycleLength, "leader": Leader,
          "frame": Frame, "outer": Outer}
OTHERS = {kind.__name__: kind for kind in (
    TwoTones, TonePair, RawLevels, OnOffTone, PhaseFlips, BiphaseMark, PhaseEncoding, DelayModulation, Marks,
)}  # kinds that stand where another one is usual; they say so
FOR_PEOPLE = {"about"}  # says nothing about what happens


def to_plain(settings):
    """A dataclass of settings as a dict of those that are not at their default.

    Parameters
    ----------
    settings : dataclass

    Returns
    -------
    dict of str to float, int, bool, str or dict

    Examples
    --------
    >>> to_plain(Deck(hiss_dbfs=-40))
    {'hiss_dbfs': -40.0}
    """
    plain = {}
    for field in fields(settings):
        value = getattr(settings, field.name)
        if field.name not in FOR_PEOPLE and not _is_default(field, value):
            plain[field.name] = to_plain(value) if is_dataclass(value) else value
            if type(value) in OTHERS.values():
                plain[field.name]["kind"] = type(value).__name__
    return plain


def _is_default(field, value):
    made = field.default_factory() if callable(field.default_factory) else field.default
    return value == made


def from_plain(kind, plain):
    """The dataclass of settings that a dict stands for.

    Parameters
    ----------
    kind : type
        The dataclass.
    plain : dict

    Raises
    ------
    SettingError
        A setting is unknown or out of range.
    """
    known = {field.name for field in fields(kind)}
    try:
        strange = sorted(set(plain) - known)
        if strange:
            raise SettingError(f"a setting of {kind.__name__} must be one it has, got {strange[0]!r}")
        made = kind(**{
            name: _group(name, value) if isinstance(value, dict) and name in GROUPS else value
            for name, value in plain.items()
        })
    except (TypeError, AttributeError) as error:
        raise SettingError(f"{kind.__name__} must be made of its settings, got {plain!r}: {error}") from None
    named = FORMATS.get(made.name) if kind is Format else None
    return named if named is not None and to_plain(named) == plain else made


def _group(name, plain):
    kind = OTHERS.get(plain.get("kind"), GROUPS[name])
    return from_plain(kind, {key: value for key, value in plain.items() if key != "kind" or kind is GROUPS[name]})


def one_line(plain):
    """Plain values as one line of JSON, the same for the same values."""
    return json.dumps(plain, sort_keys=True, allow_nan=False)
