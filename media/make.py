"""Make the pictures and sounds of this folder anew: ``python media/make.py [FOLDER]``."""

import sys
from pathlib import Path

import kit
from kit.pictures import before_after_view, response_view
from kit.player import quiet
from kit.views import byte_view, lengths_view, tape_view

LOG = b"Monday 0600. Wind west 5, rain before noon. Gulls: 3."
SCRATCH_S = 0.1
DECKS = ("studio", "home", "portable", "worn")
DUB_SPEED, DUB_GENERATIONS = 4, 2


def make(folder):
    """Write every file of the table in README.md into a folder; gives their paths."""
    tape = kit.encode(LOG, name="log.txt", lead_in_s=1.0)
    reading = kit.decode(tape)
    worn = tape.scratch(sum(reading.blocks[1].span_s) / 2 - SCRATCH_S / 2, SCRATCH_S)
    fast = kit.encode(LOG, name="log.txt", lead_in_s=1.0, speed=DUB_SPEED)
    dub = kit.decks["portable"].copy(fast, generations=DUB_GENERATIONS, seed=1)
    return [
        byte_view(tape, reading, byte=0).write(folder / "one-byte.png"),
        lengths_view(tape, 0.9, 1.9).write(folder / "four-lengths.png"),
        tape_view(worn, kit.decode(worn)).write(folder / "scratched-tape.png"),
        response_view({name: kit.decks[name] for name in DECKS}).write(folder / "decks.png"),
        before_after_view(fast, dub, 1.02, 1.026).write(folder / "fast-dub.png"),
        quiet(tape).write(folder / "quiet-log.flac"),
    ]


if __name__ == "__main__":
    for path in make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent):
        print(path)
