"""Which scenes there are, in the order of the story."""

from .mended import header, scratch, swapped
from .opening import parts, wave, words
from .unread import clock, loud

__all__ = ["SCENES"]

# Three that open, then five that fail as planned, each with what mends it.
SCENES = {
    "words": words,
    "wave": wave,
    "parts": parts,
    "loud": loud,
    "clock": clock,
    "scratch": scratch,
    "swapped": swapped,
    "header": header,
}
