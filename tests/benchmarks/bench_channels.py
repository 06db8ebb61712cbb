"""Tapes through codings made for speech and music: at which speeds they read whole."""

import tempfile
from dataclasses import dataclass
from pathlib import Path

import kit
from tests.outside.test_third_party_channels import CHANNELS, SPEEDS, hides_damage, is_whole, tape, unsaid

from .rows import Row, at_least, at_most

__all__ = ["BENCHMARKS"]

TAPES = 4
BYTES = 2000
BLOCKS = 2 + -(-BYTES // 256)


@dataclass
class Carried:
    """What became of some tapes: share of blocks read, tapes read whole, and what was wrongly vouched for."""

    share: float = 0.0
    whole: int = 0
    hidden: int = 0
    wrong_bytes: int = 0
    sure_bytes: int = 0

    def add(self, reading, data):
        """Count one more tape of `TAPES`."""
        self.share += sum(block.whole for block in reading.blocks) / BLOCKS / TAPES
        self.whole += is_whole(reading, data)
        self.hidden += hides_damage(reading, data)
        wrong, sure = unsaid(reading, data)
        self.wrong_bytes += wrong
        self.sure_bytes += sure


def channels():
    """The fastest speed up to which four tapes read whole through other codings (and of what was read at each)."""
    every = []
    for name, channel in CHANNELS.items():
        found = {speed: _carried(channel, speed) for speed in channel.carried}
        every += found.values()
        yield at_least(f"{name}: {_shares(found)}", _fastest(found), "x speed", max(channel.whole))
    yield at_most("tapes whose damage was hidden", sum(one.hidden for one in every), "tapes", 0)
    wrong, sure = (sum(getattr(one, what) for one in every) for what in ("wrong_bytes", "sure_bytes"))
    yield Row(f"bytes of damaged files not in doubt ({sure}) that are wrong", wrong, "bytes")


def _carried(channel, speed):
    carried = Carried()
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(10, 10 + TAPES):
            data, sound = tape(channel, speed, seed, BYTES)
            carried.add(kit.decode(channel.carry(sound, Path(folder)), format="house"), data)
    return carried


def _shares(found):
    """Blocks read at each speed; a dash where the rate cannot carry it."""
    return " ".join(f"{found[speed].share:.0%}" if speed in found else "-" for speed in SPEEDS)


def _fastest(found):
    """The fastest speed at which, and at all below it, every tape read whole; 0 if there is none."""
    fastest = 0.0
    for speed, carried in found.items():
        if carried.whole < TAPES:
            break
        fastest = speed
    return fastest


BENCHMARKS = {"channels": channels}
