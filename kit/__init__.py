"""Teach how data is stored as audio on cassette tape: a real encoder and decoder, and what it takes to show it."""

from . import trials
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
    "SettingError",
    "Sound",
    "SoundError",
    "TapeFile",
    "capacity",
    "decks",
    "decode",
    "diagnose",
    "encode",
    "encode_sides",
    "register",
    "trials",
]
