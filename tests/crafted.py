"""Tapes put together block by block, also such as `kit.encode` would never write."""

import struct

import numpy as np

from kit.blocks import DATA, HEADER, DataPart, Header
from kit.known import FORMATS
from kit.waves import Renderer

RATE = 44100
HOUSE = FORMATS["house"]


def header(name, data, **settings):
    """A header block before its check, with a name that may be any bytes."""
    raw = name if isinstance(name, bytes) else name.encode("utf-8")
    packed = Header.of("", data, **settings).pack()
    return bytes([HEADER]) + packed[:16] + raw[:32].ljust(32, b"\0")


def claim(length, block_bytes=1024, crc32=0x12345678):
    """A header block that claims a length."""
    return bytes([HEADER]) + Header("claim.bin", length, crc32, block_bytes).pack()


def part(tag, number, data):
    """A data block before its check."""
    return bytes([DATA]) + DataPart(tag, number, data).pack()


def small_file(name, data, **settings):
    """All blocks of a file that fits in one."""
    first = header(name, data, **settings)
    tag = struct.unpack(">I", first[2:6])[0] & 0xFFFF
    return [first, part(tag, 0, data), first]


def samples_of(bodies, speed=4):
    """A tape of such blocks, each with a good check."""
    renderer, pieces = Renderer(RATE), []
    for k, body in enumerate(bodies):
        pieces.append(renderer.feed(HOUSE.block_half_cycles(body, 0.05 if k else 0.5, speed)))
    return np.concatenate([*pieces, renderer.finish()])
