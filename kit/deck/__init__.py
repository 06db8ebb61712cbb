"""The simulated recorder: `Deck` settings, named `decks`, and the signal path's stages as pure functions."""

from kit.deck import (
    air,
    channel,
    codec,
    heads,
    leftovers,
    levelling,
    noise_reduction,
    passes,
    source,
    tape,
    transport,
)
from kit.deck.channel import capacity, shannon
from kit.deck.fields import Setting
from kit.deck.named import assumptions, decks
from kit.deck.settings import Deck

__all__ = ["Deck", "Setting", "air", "assumptions", "capacity", "channel", "codec", "decks", "heads",
           "leftovers", "levelling", "noise_reduction", "passes", "shannon", "source", "tape", "transport"]
