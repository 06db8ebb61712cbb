"""Tapes through codings made for speech and music: at which speeds they read whole."""

import tempfile
from pathlib import Path

import kit
from tests.outside.test_third_party_channels import CHANNELS, SPEEDS, hides_damage, is_whole, tape

from .rows import at_least, at_most

__all__ = ["BENCHMARKS"]

TAPES = 4
BYTES = 2000
BLOCKS = 2 + -(-BYTES // 256)


def channels():
    """The fastest speed up to which four tapes read whole through other codings (of what was read at each)."""
    hidden = 0
    for name, channel in CHANNELS.items():
        found = {speed: _carried(channel, speed) for speed in channel.carried}
        hidden += sum(wrong for _, _, wrong in found.values())
        yield at_least(f"{name}: {_shares(found)}", _fastest(found), "x speed", max(channel.whole))
    yield at_most("tapes whose damage was hidden", hidden, "tapes", 0)


def _shares(found):
    """Blocks read at each speed, in percent."""
    return " ".join(f"{share:.0%}" if speed in found else "-" for speed, (share, _, _) in _all_speeds(found))


def _all_speeds(found):
    return [(speed, found.get(speed, (0.0, 0, 0))) for speed in SPEEDS]


def _fastest(found):
    """The fastest speed at which, and at all below it, every tape read whole; 0 if there is none."""
    fastest = 0.0
    for speed, (_, whole, _) in found.items():
        if whole < TAPES:
            break
        fastest = speed
    return fastest


def _carried(channel, speed):
    """Share of blocks read, tapes read whole, tapes whose damage was hidden."""
    good = whole = wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(10, 10 + TAPES):
            data, sound = tape(channel, speed, seed, BYTES)
            reading = kit.decode(channel.carry(sound, Path(folder)), format="house")
            good += sum(block.whole for block in reading.blocks)
            whole += is_whole(reading, data)
            wrong += hides_damage(reading, data)
    return good / (BLOCKS * TAPES), whole, wrong


BENCHMARKS = {"channels": channels}
