"""Readers beside the default one: other ways from samples to blocks, which report alike."""

from .counter import Counter, CounterLane

__all__ = ["Counter", "CounterLane"]
