"""Teach how data is stored as audio on cassette tape: a real encoder and decoder, and what it takes to show it."""

from importlib import import_module

from .deck import Deck, capacity, decks
from .errors import KitError, ReadingError, SettingError, SoundError
from .formats import Format
from .known import FORMATS, SPEEDS, register
from .listener import Listener
from .readers import Counter
from .reading import Reading
from .sound import Sound
from .tape import TapeFile, decode, encode, encode_sides

__all__ = [
    "FORMATS",
    "SPEEDS",
    "Counter",
    "Deck",
    "Format",
    "KitError",
    "Listener",
    "Reading",
    "ReadingError",
    "RecorderReport",
    "SettingError",
    "Sound",
    "SoundError",
    "TapeFile",
    "bench",
    "capacity",
    "decks",
    "decode",
    "demo",
    "diagnose",
    "encode",
    "encode_sides",
    "level_tone",
    "live",
    "measure",
    "register",
    "test_tape",
    "timecode",
    "trials",
]

# Loaded when first used: they take longer to come than the rest of the kit.
_LATER = ("bench", "demo", "live", "timecode", "trials")
_LATER_NAMES = {
    "diagnose": "doctor",
    "RecorderReport": "testtape",
    "level_tone": "testtape",
    "measure": "testtape",
    "test_tape": "testtape",
}


def __getattr__(name):
    if name in _LATER:
        return import_module(f".{name}", __name__)
    if name in _LATER_NAMES:
        return getattr(import_module(f".{_LATER_NAMES[name]}", __name__), name)
    raise AttributeError(f"module 'kit' has no attribute {name!r}")


def __dir__():
    return sorted({*globals(), *_LATER, *_LATER_NAMES})
