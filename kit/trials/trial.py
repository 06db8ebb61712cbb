"""A trial: everything that says what goes onto a tape, what happens to it, and how it is read."""

import hashlib
import itertools
import json
import operator
import random
from dataclasses import dataclass, field, fields
from functools import cached_property
from numbers import Real

import numpy as np

from ..deck import Deck, decks
from ..errors import SettingError
from ..formats import Format
from ..known import find_format, find_speed
from ..readers import Counter
from ..sound import Sound
from ..tape import decode, encode
from .plain import from_plain, one_line, to_plain

__all__ = ["NAME", "Trial", "grid", "vary"]

NAME = "trial.bin"  # of the file on the tape
MESSAGES = ("random", "text", "zeros", "ones")
LISTEN = ("auto", "own")


@dataclass(frozen=True)
class Trial:
    """One run: a message goes through a deck and is read.

    Parameters
    ----------
    format : str or Format
    deck : str or Deck
        The name of one of `kit.decks`, or a recipe of its own.
    seed : int
        Of the message and of the deck's chance.
    speed : float or str
    size : int
        Bytes of the message.
    message : {"random", "text", "zeros", "ones"}
        What the message is made of: random bytes, lines of a weather log, bytes 00, bytes FF.
    lead_in_s : float
        Leader before the first block; 1 s in place of a tape's usual 5 s.
    rate : int
        Samples per second.
    channels : {1, 2}
        2: the tape is recorded in stereo, both sides alike.
    generations : int
        1: recorded and played; 2: a copy of a copy, and so on; 0: read without a recorder.
    listen : {"auto", "own"}
        Listen for all named formats, or only for the trial's own.
    patient : bool
        See `kit.decode`.
    counter : Counter, optional
        See `kit.decode`.
    label : str
        What the deck is called in tables; empty: its name, or its settings.

    Raises
    ------
    SettingError
        A setting is out of range.

    Examples
    --------
    >>> Trial("house", Deck(hiss_dbfs=-40), size=5, message="text").data()
    b'day 1'
    >>> Trial("house", "portable") == Trial("house", decks["portable"])
    True
    """

    format: Format
    deck: Deck = field(default_factory=Deck)
    seed: int = 0
    speed: float = 1.0
    size: int = 200
    message: str = "random"
    lead_in_s: float = 1.0
    rate: int = 44100
    channels: int = 1
    generations: int = 1
    listen: str = "auto"
    patient: bool = False
    counter: Counter | None = None
    label: str = ""

    def __post_init__(self):
        change = {"format": find_format(self.format), "deck": _find_deck(self.deck), "speed": find_speed(self.speed)}
        for name, low, high in (("seed", 0, 2**63 - 1), ("size", 1, 1 << 24), ("rate", 8000, 192_000),
                                ("channels", 1, 2), ("generations", 0, 100)):
            change[name] = _whole(name, getattr(self, name), low, high)
        change["lead_in_s"] = _number("lead_in_s", self.lead_in_s, 0, 600)
        for name, allowed in (("message", MESSAGES), ("listen", LISTEN), ("patient", (False, True))):
            _one_of(name, getattr(self, name), allowed)
        if not (self.counter is None or isinstance(self.counter, Counter)):
            raise SettingError(f"counter must be a kit.Counter or None, got {self.counter!r}")
        change["label"] = str(self.label) or _deck_label(change["deck"])
        for name, value in change.items():
            object.__setattr__(self, name, value)

    def to_json(self):
        """All that identifies the trial, as one line of JSON; `Trial.from_json` is the way back."""
        return self._json

    @cached_property
    def _json(self):
        return one_line(to_plain(self))

    @classmethod
    def from_json(cls, text):
        """The trial of a line that `to_json` gave, such as a table's column ``trial`` holds."""
        try:
            plain = json.loads(text)
        except ValueError as error:
            raise SettingError(f"a trial must be one line of JSON, got {text!r}: {error}") from None
        return from_plain(cls, plain)

    @cached_property
    def key(self):
        """str: 16 hexadecimal digits that are the same for the same settings, on any machine, on any day."""
        return hashlib.sha256(self._json.encode()).hexdigest()[:16]

    def data(self):
        """The bytes of the message."""
        rng = random.Random(self.seed)
        if self.message == "random":
            return rng.randbytes(self.size)
        if self.message == "text":
            lines = itertools.accumulate(map(_log_line(rng), itertools.count(1)), operator.add)
            return next(text for text in lines if len(text) >= self.size)[: self.size]
        return {"zeros": b"\x00", "ones": b"\xff"}[self.message] * self.size

    def tape(self):
        """What is recorded: a `Sound`."""
        sound = encode(self.data(), name=NAME, format=self.format, speed=self.speed, rate=self.rate,
                       lead_in_s=self.lead_in_s)
        return sound if self.channels == 1 else Sound(np.stack([sound.samples] * 2, axis=1), sound.rate)

    def play(self):
        """What is heard when the tape is played: a `Sound`."""
        return self.deck.copy(self.tape(), self.generations, self.seed)

    def read(self, sound=None):
        """What is read of it, or of another sound: a `Reading`."""
        wanted = "auto" if self.listen == "auto" else self.format
        return decode(self.play() if sound is None else sound, format=wanted, patient=self.patient,
                      counter=self.counter)


def _log_line(rng):
    return lambda day: f"day {day} wind {rng.randint(0, 12)} rain {rng.randint(0, 40)} mm\n".encode()


def _find_deck(deck):
    if isinstance(deck, Deck):
        return deck
    if not isinstance(deck, str) or deck not in decks:
        raise SettingError(f"deck must be a Deck or one of {', '.join(decks)}, got {deck!r}")
    return decks[deck]


def _deck_label(deck):
    """The name of a named deck, or its settings."""
    named = next((name for name, other in decks.items() if other == deck), None)
    return named or _settings_label(deck.changed())


def _settings_label(changed):
    return ", ".join(f"{name} {value}" if isinstance(value, str) else f"{name} {value:g}"
                     for name, value in changed.items()) or "none"


def _whole(name, value, low, high):
    try:
        number = operator.index(value)
    except TypeError:
        number = low - 1
    if not low <= number <= high:
        raise SettingError(f"{name} must be a whole number from {low} to {high}, got {value!r}")
    return number


def _number(name, value, low, high):
    if isinstance(value, bool) or not isinstance(value, Real) or not low <= value <= high:
        raise SettingError(f"{name} must lie in {low} to {high}, got {value!r}")
    return float(value)


def _one_of(name, value, allowed):
    if not any(value is one or (isinstance(one, str) and value == one) for one in allowed):
        raise SettingError(f"{name} must be one of {', '.join(map(str, allowed))}, got {value!r}")


def grid(formats="house", decks="home", seeds=range(1), speeds=1.0, size=200, **settings):
    """Every combination of some settings, as trials.

    Parameters
    ----------
    formats, decks, seeds, speeds, size
        As in `Trial`, one value or several (a list, tuple or range). `decks` may also be a dict of label to
        deck, such as `vary` gives.
    **settings
        Any other of a `Trial`'s settings by its name, again one value or several.

    Returns
    -------
    list of Trial
        The last setting changes fastest.

    Raises
    ------
    SettingError
        A setting is unknown or out of range.

    Examples
    --------
    >>> [(trial.format.name, trial.seed) for trial in grid(["house", "twice"], "worn", seeds=range(2))]
    [('house', 0), ('house', 1), ('twice', 0), ('twice', 1)]
    """
    labelled = list(decks.items()) if isinstance(decks, dict) else [("", deck) for deck in _several(decks)]
    known = {one.name for one in fields(Trial)} - {"deck", "label", "format", "seed", "speed"}
    for name in settings:
        _one_of("a setting", name, sorted(known))
    names = ["format", "labelled", "seed", "speed", "size", *settings]
    ranges = [_several(formats), labelled, *map(_several, (seeds, speeds, size, *settings.values()))]
    return [_trial(**dict(zip(names, values, strict=True))) for values in itertools.product(*ranges)]


def _several(value):
    """What there is to go through: `value` itself if it is but one."""
    if isinstance(value, np.ndarray):
        return value.ravel().tolist()
    if isinstance(value, (str, Format, Deck, Counter)) or not hasattr(value, "__iter__"):
        return [value]
    return list(value)


def _trial(labelled, **settings):
    label, deck = labelled
    return Trial(deck=deck, label=label, **settings)


def vary(deck, **settings):
    """A deck with some of its settings varied, each combination under a label.

    Parameters
    ----------
    deck : str or Deck
    **settings
        Settings of the deck by name, each one value or several.

    Returns
    -------
    dict of str to Deck
        For `grid`.

    Examples
    --------
    >>> list(vary("home", hiss_dbfs=[-40, -30]))
    ['home, hiss_dbfs -40', 'home, hiss_dbfs -30']
    """
    base, first = _find_deck(deck), deck if isinstance(deck, str) else _deck_label(deck)
    combinations = itertools.product(*map(_several, settings.values()))
    changes = [dict(zip(settings, values, strict=True)) for values in combinations]
    return {f"{first}, {_settings_label(change)}": base.with_settings(**change) for change in changes}
