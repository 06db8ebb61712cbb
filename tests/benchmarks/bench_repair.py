"""Repair: scratches anywhere along a tape, damaged sets of blocks, and how often a trial passes for nothing."""

import random

import numpy as np

import kit
from kit.blocks import DATA
from kit.found import MENDED
from kit.known import FORMATS
from kit.repair_copies import merge
from kit.repair_field import correct, parity_rows
from tests.repair_cases import blocks_of, survives, wrongly_complete

from .rows import Row, at_least, at_most, best_of

__all__ = ["BENCHMARKS"]

HOLE_S, PLACES = 0.5, 50
SETS = 10_000
COPIED = FORMATS["house"].changed(name="copied", block_bytes=64, copies=2)


def scratches():
    """A hole of half a second at fifty places of a tape of ten seconds, and in every ten seconds of a longer one."""
    for format, size in (("sturdy", 560), ("twice", 400)):
        for asked in (format, "auto"):
            data = random.Random(1).randbytes(size)
            sound = kit.encode(data, name="tide.bin", format=format, lead_in_s=1.0)
            places = np.linspace(0, sound.seconds - HOLE_S, PLACES)
            whole = PLACES - len(survives(data, sound, asked, HOLE_S, places))
            name = f"{format}, asked for {asked}: {sound.seconds:.1f} s tapes of {PLACES} whole"
            yield at_least(name, whole, "tapes", PLACES) if format == "sturdy" else Row(name, whole, "tapes")
    data = random.Random(2).randbytes(6000)
    sound = kit.encode(data, name="tide.bin", format="sturdy", lead_in_s=1.0)
    starts = [np.arange(first, sound.seconds, 10) for first in np.linspace(0, 10, PLACES, endpoint=False)]
    whole = PLACES - len(survives(data, sound, "sturdy", HOLE_S, starts))
    name = f"sturdy, a hole every 10 s: {sound.seconds:.0f} s tapes of {PLACES} whole"
    yield at_least(name, whole, "tapes", PLACES)
    plain = kit.encode(data, name="tide.bin", format="house", lead_in_s=1.0)
    yield Row("sturdy plays for, against house", sound.seconds / plain.seconds, "times")


def damaged_sets():
    """Sets of damaged blocks, many with wrong bytes the reader does not know of: none may be wrongly complete."""
    every = 0
    for format in (COPIED, "twice", "sturdy"):
        complete, wrong = wrongly_complete(format, SETS, seed=3)
        name = getattr(format, "name", format)
        yield at_most(f"{name}: wrong ones among {complete} called complete, of {SETS}", wrong, "sets", 0)
        every += wrong
    if not every:
        # None of n: with 95 % confidence the rate is below 3/n.
        yield Row("so that, with 95 % confidence, fewer are wrong of each than", 3 / SETS, "share")


def trials():
    """How often the check of 16 bits passes what has nothing to do with it: once in 65,536 trials, no oftener."""
    block = next(b for b in blocks_of(bytes(64), COPIED) if b.kind == DATA)
    generator = np.random.Generator(np.random.PCG64(4))
    passed = tried = 0
    while tried < 500_000:
        one, other = (generator.integers(0, 256, len(block.content), dtype=np.uint8) for _ in range(2))
        other[::6] = one[::6]
        sure = np.zeros(len(block.content), bool)
        result, used = merge(block, [(one, sure), (other, sure)])
        passed, tried = passed + (result.verdict == MENDED), tried + used
    expected = tried / 65536
    # Poisson: four standard deviations above what is expected.
    most = expected + 4 * expected**0.5
    yield at_most(f"passed of {tried} trials (expected {expected:.1f})", passed, "blocks", most)


def codewords():
    """How quickly parity is made and lost blocks are made good, 1 MiB in blocks of 64 bytes."""
    generator = np.random.Generator(np.random.PCG64(5))
    data = generator.integers(0, 256, (16, 1 << 16), dtype=np.uint8)
    took, parity = best_of(lambda: parity_rows(data, 4), 3)
    yield Row("parity of 1 MiB", took, "s", clock=True)
    words = np.concatenate((data, parity))
    lost = np.zeros(words.shape, bool)
    lost[[1, 5, 9, 17]] = True
    took, (mended, solved) = best_of(lambda: correct(np.where(lost, np.uint8(0), words), lost, 4), 3)
    yield Row("four of twenty blocks made good, 1 MiB", took, "s", clock=True)
    yield at_least("of these, right", 100.0 * (solved.all() and (mended == words).all()), "%", 100)


BENCHMARKS = {"scratches": scratches, "damaged_sets": damaged_sets, "trials": trials, "codewords": codewords}
