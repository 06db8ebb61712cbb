"""Blocks and tapes damaged at the level of edges or of bits, and what the kit then calls fine that is not.

What was written is known here, so each block that a check vouches for can be compared with it. The checks are
counted while they are asked: a check of 16 bits that refuses N blocks should have passed N / 65,536 for nothing.
"""

import contextlib
from dataclasses import dataclass, field

import numpy as np

import kit
from kit.blockreader import read_block
from kit.blocks import upright
from kit.checks import CHECKS, Check
from kit.found import CHECKED, MENDED, FoundBlock
from kit.sides import TapeFile, tape_blocks
from kit.waves import render

RATE = 22050
FINE = (CHECKED, MENDED)
SHORT = {"lead_in_s": 0.3, "leader_s": 0.15, "gap_s": 0.08}  # leaders that lock, and take little time
TEXT = b"wind west 5, gulls 3, sea calm; "


def checked_formats():
    """The named formats whose blocks have a check: without one, no block is called fine."""
    return [format for format in kit.FORMATS.values() if format.check_bytes]


def with_sums():
    """A format whose blocks have Fletcher's sums, whatever the named ones have."""
    return kit.FORMATS["framed"].changed(name="with sums", check="fletcher-16")


def short(format, block_bytes=64):
    """The format with short leaders and blocks; they read alike."""
    return format.changed(block_bytes=block_bytes, **SHORT)


def some_data(rng, most=400):
    """A file's bytes: random ones mostly; or text, or all zeros, or all 0xFF."""
    size, way = int(rng.integers(1, most)), rng.integers(6)
    if way < 3:
        return rng.bytes(size)
    return {3: (TEXT * (size // len(TEXT) + 1))[:size], 4: bytes(size), 5: b"\xff" * size}[int(way)]


def some_bodies(format, rng):
    """Blocks of all kinds without end: the bytes before the check, and what a right reading has."""
    while True:
        bodies = [body for _, body in tape_blocks([TapeFile("log.txt", some_data(rng))], format)]
        for k in rng.choice(len(bodies), min(4, len(bodies)), replace=False):
            yield bodies[k], as_written(format, bodies[k])


def as_written(format, body):
    """A block's bytes, check included, upright: what a right reading has."""
    return upright(format.frame.to_bytes(format.block_bits(body))[0].tobytes())[0]


# -- edges ----------------------------------------------------------------------------------------------


def cell_lost(halves, at, format, rng):
    """A whole cycle less."""
    return np.delete(halves, [at, at + 1])


def cell_doubled(halves, at, format, rng):
    """A cycle twice."""
    return np.insert(halves, at + 2, halves[at : at + 2])


def edges_split(halves, at, format, rng):
    """An extra pair of edges in one half-cycle."""
    parts = rng.dirichlet((2, 1, 2)) * halves[at]
    return np.concatenate((halves[:at], np.maximum(parts, 1e-7), halves[at + 1 :]))


def edges_merged(halves, at, format, rng):
    """A pair of edges less: three half-cycles become one."""
    return np.concatenate((halves[:at], [halves[at : at + 3].sum()], halves[at + 3 :]))


def hole_of_noise(halves, at, format, rng):
    """A stretch of edges replaced by random ones, in about the same time."""
    stop = _stop(halves, at, rng)
    wanted, found = halves[at:stop].sum(), []
    while sum(found) < wanted:
        found.append(format.unit_s() * rng.uniform(0.2, 2.5))
    return np.concatenate((halves[:at], found, halves[stop:]))


def hole_of_cells(halves, at, format, rng):
    """A stretch of edges replaced by cells of any bits: nothing about them looks damaged."""
    stop = _stop(halves, at, rng)
    bits = rng.integers(0, 2, max(1, (stop - at) // 2 + int(rng.integers(-1, 2))), dtype=np.uint8)
    cells = format.code.encode(bits) * format.unit_s()
    return np.concatenate((halves[:at], cells[: stop - at + int(rng.choice((-2, 0, 2)))], halves[stop:]))


def cells_changed(halves, at, format, rng):
    """Some cells as long as those of the other bit."""
    halves = halves.copy()
    short_half, long_half = halves.min(), 2 * halves.min()
    for k in at + 2 * rng.integers(0, 60, rng.integers(1, 9)):
        if k + 2 <= len(halves):
            halves[k : k + 2] = long_half if halves[k] < 1.4 * short_half else short_half
    return halves


def jittered(halves, at, format, rng):
    """All lengths from there on for a stretch, or everywhere, off at random."""
    stop = len(halves) if rng.random() < 0.3 else _stop(halves, at, rng)
    halves, sigma = halves.copy(), 10 ** rng.uniform(-2, -0.5)
    halves[at:stop] *= np.maximum(0.05, rng.normal(1, sigma, stop - at))
    return halves


def _stop(halves, at, rng):
    return min(len(halves), at + 2 + int(10 ** rng.uniform(0, 2.6)))


EDGE_FAULTS = (
    cell_lost, cell_doubled, edges_split, edges_merged, hole_of_noise, hole_of_cells, cells_changed, jittered,
)  # fmt: skip


def damaged_halves(halves, format, rng, first=0):
    """Half-cycles with one to four faults from number `first` on; half of the time, just one."""
    for _ in range(1 if rng.random() < 0.5 else int(rng.integers(2, 5))):
        at = int(rng.integers(first, max(first + 1, len(halves) - 3)))
        if rng.random() < 0.7:
            at -= (at - first) % 2  # whole cells
        halves = EDGE_FAULTS[rng.integers(len(EDGE_FAULTS))](halves, at, format, rng)
    return halves


def read_halves(format, halves):
    """The block that the reader finds in some half-cycles, as a lane does without sound: both ways, all rivals."""
    edges = np.concatenate(([0.0], np.cumsum(halves)))
    for times in (edges, -edges[::-1]):
        for start in (start for group in format.leader.find(times, format.code) for start in group):
            block = read_block(times[start.index :], start.unit, 0.0, [format], final=True)
            if isinstance(block, FoundBlock):
                return block
    return None


@dataclass
class Tally:
    """What came of some damaged blocks.

    Attributes
    ----------
    blocks : int
        Damaged ones asked about.
    right, wrong : int
        Called fine, and as written; called fine, and not.
    blind : int
        Called fine by Fletcher's sums though 00 stands for FF or FF for 00, or though all is 00 and so are the
        sums, which these cannot see.
    refused : int
        How often a check was asked and did not agree.
    expected : float
        How many wrong ones the checks must let pass for nothing.
    files, complete, wrong_files : int
        Files delivered, those called complete, and those of them that are not as written.
    cases : list
        Of each wrong one: where it came up, its verdict and note, its bytes as read.
    """

    blocks: int = 0
    right: int = 0
    wrong: int = 0
    blind: int = 0
    refused: int = 0
    expected: float = 0.0
    files: int = 0
    complete: int = 0
    wrong_files: int = 0
    cases: list = field(default_factory=list)

    def take(self, check, content, written, *case):
        """Count a block that was called fine; `written` has all that it may be."""
        if content in written:
            self.right += 1
        elif check == "fletcher-16" and _folded(content) in {bytes(len(content)), *map(_folded, written)}:
            self.blind += 1
        else:
            self.wrong += 1
            self.cases.append((*case, content.hex()))

    def take_files(self, files, written):
        """Count the files of a reading; `written` has their bytes by name."""
        for file in files:
            self.files += 1
            self.complete += file.complete
            self.wrong_files += file.complete and file.data != written.get(file.said_name)


def _folded(content):
    """A block as Fletcher's sums see it: modulo 255, but for the check itself."""
    return content[:-2].replace(b"\xff", b"\0") + content[-2:]


def blocks_damaged_at_edges(format, count, seed):
    """The tally of so many single blocks of a format, each damaged at its edges, by `read_block`."""
    rng, tally, format = np.random.default_rng(seed), Tally(), short(format, 128)
    bodies = some_bodies(format, rng)
    for k, (body, written) in zip(range(count), bodies, strict=False):
        halves = format.block_half_cycles(body, 0.04)
        cells = len(format.code.encode(format.block_bits(body))) + 2 * format.tail_cycles
        first = max(0, len(halves) - cells - 2 * format.leader.sync_cycles)
        hurt = damaged_halves(halves, format, rng, first)
        with counted_checks(tally):
            block = read_halves(format, hurt)
        if block is not None and block.verdict in FINE:
            tally.take(format.check, block.content, {written}, (seed, k))
        tally.blocks += 1
    return tally


def some_tapes(format, rng):
    """Tapes without end, read without fault: their files by name, and their blocks."""
    while True:
        file, blocks, now_s = TapeFile("log.txt", some_data(rng)), [], 0.0
        for leader_s, body in tape_blocks([file], format):
            block = read_halves(format, format.block_half_cycles(body, leader_s))
            blocks.append(block.changed(start_s=now_s + block.start_s, leader_s=now_s))
            now_s = blocks[-1].stop_s + 0.02
        yield {file.name: file.data}, blocks


# -- tapes ----------------------------------------------------------------------------------------------


def damaged_tape(format, rng):
    """Files by name, what their blocks hold, and the half-cycles of a tape on which most blocks are damaged."""
    files = [TapeFile(f"log{k}.txt", some_data(rng, 700)) for k in range(rng.integers(1, 3))]
    rate, written, tape = rng.choice((0.15, 0.5, 0.9)), [], []
    for leader_s, body in tape_blocks(files, format):
        written.append(as_written(format, body))
        halves = format.block_half_cycles(body, leader_s)
        tape.append(damaged_halves(halves, format, rng) if rng.random() < rate else halves)
    return {file.name: file.data for file in files}, written, np.concatenate(tape)


def tapes_damaged_at_edges(format, count, seed):
    """The tally of tapes with so many blocks in all, damaged at their edges, drawn, and decoded."""
    rng, tally, format = np.random.default_rng(seed), Tally(), short(format)
    while tally.blocks < count:
        files, written, halves = damaged_tape(format, rng)
        asked = "auto" if rng.random() < 0.15 else format
        with counted_checks(tally):
            reading = kit.decode(kit.Sound(render(halves, RATE), RATE), format=asked)
        found = {id(b): b for b in [*reading.blocks, *(b for file in reading.files for b in file.blocks)]}
        for block in found.values():
            if block.verdict in FINE:
                case = (seed, tally.blocks), block.verdict, block.note
                tally.take(block.format.check, block.content, set(written), *case)
        tally.blocks += len(written)
        tally.take_files(reading.files, files)
    return tally


# -- checks, counted ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class CountedCheck(Check):
    """A check that keeps count of what it refuses."""

    tally: object = None

    def agrees(self, data, check_bytes):
        """As the check itself."""
        agreed = super().agrees(data, check_bytes)
        self.tally.refused += not agreed
        self.tally.expected += 0 if agreed else chance(self.name)
        return agreed


def chance(check):
    """How often a check passes what has nothing to do with it: once in 255² for Fletcher's two sums modulo 255."""
    return 1 / 255**2 if check == "fletcher-16" else 1 / 256 ** CHECKS[check].size_bytes


@contextlib.contextmanager
def counted_checks(tally):
    """While open, all checks count in a tally what they refuse."""
    kept = dict(CHECKS)
    CHECKS.update({name: CountedCheck(**vars(check), tally=tally) for name, check in kept.items()})
    try:
        yield
    finally:
        CHECKS.update(kept)
