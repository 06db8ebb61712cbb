"""Teach how data is stored as audio on cassette tape: a real encoder and decoder, and what it takes to show it."""

from importlib import import_module

from . import timecode, trials
from .deck import Deck, capacity, decks
from .doctor import diagnose
from .errors import KitError, ReadingError, SettingError, SoundError
from .formats import Format
from .known import FORMATS, SPEEDS, register
from .listener import Listener
from .readers import Counter
from .reading import Reading
from .sound import Sound
from .tape import TapeFile, decode, encode, encode_sides
from .testtape import RecorderReport, level_tone, measure, test_tape

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

# Loaded when first used: widgets take longer to come than the rest of the kit.
_LATER = ("bench", "live")


def __getattr__(name):
    if name in _LATER:
        return import_module(f".{name}", __name__)
    raise AttributeError(f"module 'kit' has no attribute {name!r}")


def __dir__():
    return sorted({*globals(), *_LATER})
