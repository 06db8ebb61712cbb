"""Blocks as a reader would deliver them, made without sound, and ways to damage them."""

import random
import zlib

import numpy as np

import kit
from kit.blocks import upright
from kit.found import CHECKED, DAMAGED, FoundBlock
from kit.known import FORMATS
from kit.reading import Reading
from kit.sides import TapeFile, tape_blocks


def found(format, body, start_s=0.0, **more):
    """A block read without fault; `body` is as it was given to the writer, perhaps inverted."""
    bits = format.block_bits(body)
    content, turned = upright(format.frame.to_bytes(bits)[0].tobytes())
    cells = np.where(bits, format.code.one_units, format.code.zero_units) * format.unit_s()
    times = np.concatenate(([0], np.cumsum(cells))).astype(np.float32)
    settings = {"start_s": start_s, "leader_s": start_s - 0.1, "unit_s": format.unit_s(), "inverted": turned}
    doubt = np.zeros(len(content), bool)
    return FoundBlock(
        format, content, doubt, CHECKED, bits, np.ones(len(bits), np.float32), times, **settings | more
    )


def blocks_of(data, format, name="log.txt"):
    """All blocks of a tape with one file, read without fault."""
    format = FORMATS.get(format, format)
    blocks, now_s = [], 0.0
    for leader_s, body in tape_blocks([TapeFile(name, data)], format):
        blocks.append(found(format, body, now_s + leader_s))
        now_s = blocks[-1].span_s[1]
    return blocks


def damaged(block, start, stop, wrong=None, say=True):
    """The block with bytes `start` to `stop` wrong (as `wrong`, or all flipped), in doubt if `say`."""
    content = bytearray(block.content)
    content[start:stop] = bytes(255 - value for value in content[start:stop]) if wrong is None else wrong
    doubtful = block.doubtful.copy()
    doubtful[start:stop] |= say
    return block.changed(content=bytes(content), doubtful=doubtful, verdict=DAMAGED)


def headless(block, lost):
    """What is left of a block that lost its first bytes, as it stands on the tape."""
    first = lost * block.bits_per_byte
    content = block.format.frame.to_bytes(block.bits[first:])[0].tobytes()
    return block.changed(
        content=content, doubtful=np.zeros(len(content), bool), verdict=DAMAGED, headless=True, inverted=False,
        bits=block.bits[first:], margins=block.margins[first:], cell_s=block.cell_s[first:] - block.cell_s[first],
        start_s=block.start_s + float(block.cell_s[first]),
    )


def read(blocks):
    """The reading of some blocks."""
    return Reading.of(blocks)


def scratched(sound, start_s, length_s, seed=0):
    """A recording with a hole in which only faint hiss is left."""
    samples = sound.samples.copy()
    samples[int(start_s * sound.rate) : int((start_s + length_s) * sound.rate)] = 0
    hiss = np.random.Generator(np.random.PCG64(seed)).standard_normal(len(samples))
    return kit.Sound(samples + np.float32(0.003) * hiss.astype(np.float32), sound.rate)


def survives(data, sound, asked, length_s, starts_s):
    """The entries of `starts_s`, each one or more times of a hole, with which anything is lost."""
    lost = []
    for starts in starts_s:
        heard = sound
        for start_s in np.atleast_1d(starts):
            heard = scratched(heard, float(start_s), length_s)
        reading = kit.decode(heard, format=asked)
        if not (reading.complete and [file.data for file in reading.files] == [data]):
            lost.append(starts)
    return lost


def damaged_set(rng, format):
    """Data, and the blocks of its tape damaged at random: lost, torn, with wrong bytes said or not said."""
    data = rng.randbytes(rng.randrange(1, 1200))
    if rng.random() < 0.2:
        data = bytes(len(data))
    rate = rng.choice((0.1, 0.3, 0.6))
    blocks = [_hurt(rng, block) if rng.random() < rate else block for block in blocks_of(data, format)]
    return data, [block for block in blocks if block is not None]


def _hurt(rng, block):
    size, way = len(block.content), rng.randrange(5)
    start = rng.randrange(size)
    stop = rng.randrange(start, size) + 1
    wrong = rng.randbytes(stop - start)
    if way == 0:
        return None
    if way == 1:
        return headless(block, rng.randrange(1, size - 1))
    if way == 2:
        # One byte more is wrong, and the reader does not know.
        hidden = rng.randrange(size)
        block = damaged(block, hidden, hidden + 1, say=False)
    if way == 3:
        # The hole is said to be narrower than it is.
        block = damaged(block, start, stop, wrong, say=False)
        return damaged(block, start, (start + stop) // 2 + 1)
    return damaged(block, start, stop, wrong)


def wrongly_complete(format, sets, seed):
    """Of so many damaged sets: how many came out complete, and how many of these wrong."""
    rng, complete, wrong = random.Random(seed), 0, 0
    for _ in range(sets):
        data, blocks = damaged_set(rng, format)
        for file in read(blocks).files:
            complete += file.complete
            wrong += file.complete and (file.data != data or zlib.crc32(file.data) != zlib.crc32(data))
    return complete, wrong
