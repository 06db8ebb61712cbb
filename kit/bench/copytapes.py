"""Tapes with copies: one file in four layouts, written with a fault or without."""

import functools

import numpy as np

from ..blocks import DATA, HEADER, DataPart
from ..known import find_format
from ..repair_outer import Outer
from ..sides import TapeFile, tape_blocks
from ..sound import Sound
from ..waves import Renderer

__all__ = ["ADJACENT", "APART", "COLUMNS", "FLIPPED_BLOCK", "LAYOUTS", "ONE", "STURDY", "TEXT", "layout_format",
           "written"]

COLUMNS = 32  # data bytes in a block, and in a row of the picture
TEXT = (b"Mon wind W5, rain 2 mm, gulls 31" b"Tue wind N3, fog until noon, dry"
        b"Wed storm, no boat, mast is down" b"Thu wind W6, mast mended, gulls "
        b"Fri wind S2, sun, boat with post" b"Sat wind S1, sun, seals on beach"
        b"Sun calm, swell 1 m, gulls 5, OK" b"Log ends; next boat due Thursday")
BASE = find_format("house").changed(block_bytes=COLUMNS, lead_in_s=0.6, leader_s=0.6, gap_s=0.1)
ONE, ADJACENT, APART, STURDY = LAYOUTS = ("one copy", "two copies, side by side", "two copies, far apart",
                                          "one copy and parity blocks")
CHANGES = {ONE: {}, ADJACENT: {"copies": 2}, APART: {"copies": 2, "copies_apart": True}, STURDY: {"outer": Outer()}}
RATE = 22050
FLIPPED_BLOCK, FLIPPED_BIT = 3, 8 * 17 + 4  # in the middle of its data


def layout_format(layout, check=True):
    """The `Format` of a layout."""
    return BASE.changed(**CHANGES[layout], check=BASE.check if check else "none")


@functools.lru_cache(maxsize=16)
def written(layout, check, flipped):
    """The whole tape as it is recorded.

    Returns
    -------
    Sound
    list of (str, float, float)
        Each block's name, and from when to when it lies, in seconds.
    """
    format, renderer, now_s = layout_format(layout, check), Renderer(RATE), 0.0
    pieces, blocks = [], []
    for leader_s, body in tape_blocks([TapeFile("log.txt", TEXT, "text")], format):
        halves_s = format.block_half_cycles(body, leader_s)
        bits = format.block_bits(body)
        cells = format.code.encode(bits) * format.unit_s()
        stop_s = now_s + halves_s.sum() - format.leader.encode(format.tail_cycles, sync=False).sum() * format.unit_s()
        if flipped and _name(body) == str(FLIPPED_BLOCK):
            first = len(halves_s) - 2 * format.tail_cycles - len(cells)
            bits[8 * (1 + 6) + FLIPPED_BIT] ^= 1  # behind kind, tag, number and length
            turned = format.code.encode(bits) * format.unit_s()
            halves_s = np.concatenate((halves_s[:first], turned, halves_s[first + len(cells) :]))
            stop_s, flipped = stop_s + turned.sum() - cells.sum(), False
        blocks.append((_name(body), stop_s - cells.sum(), stop_s))
        pieces.append(renderer.feed(halves_s))
        now_s += halves_s.sum()
    return Sound(np.concatenate([*pieces, renderer.finish()]), RATE), blocks


def _name(body):
    """H, the number of a data block, or P."""
    return "H" if body[0] == HEADER else str(DataPart.unpack(body[1:]).number) if body[0] == DATA else "P"
