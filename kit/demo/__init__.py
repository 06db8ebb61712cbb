"""The demonstration for a workshop: one function, one scene, and each the same however often and in whatever order.

In a notebook, ``from kit import demo``, then ``demo.reset()``, then any scene: ``demo.words()``. `SCENES` has them
in the order in which they tell the story; `preflight()` tries them all before anybody has come.
"""

from .fallbacks import fallback, folder, write_fallbacks
from .mended import header, scratch, swapped
from .opening import parts, wave, words
from .preflights import Opening, Preflight, preflight, reset
from .scenes import SCENES
from .slide import Slide
from .unread import clock, loud

__all__ = [
    "SCENES",
    "Opening",
    "Preflight",
    "Slide",
    "clock",
    "fallback",
    "folder",
    "header",
    "loud",
    "parts",
    "preflight",
    "reset",
    "scratch",
    "swapped",
    "wave",
    "words",
    "write_fallbacks",
]
