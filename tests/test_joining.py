"""Joining: which blocks make which file, what is missing from it, and what a tape may claim in vain."""

import random
import tracemalloc
import zlib

import numpy as np
import pytest
from crafted import HOUSE, RATE, claim, header, part, samples_of

import kit
from kit.joining import join_blocks
from kit.waves import render

SPEED, SIZE = 4, 50
LOG = np.random.default_rng(1).bytes(170)  # blocks of 50, 50, 50 and 20 bytes
NO_HEADER = "no header was read: name, length and end are not known"


def tag_of(data):
    return zlib.crc32(data) & 0xFFFF


def file_blocks(name, data, lost=(), headers=(1, 1), **settings):
    """The blocks of a file: headers before and after, data blocks but for those lost."""
    first = header(name, data, block_bytes=SIZE, **settings)
    parts = [part(tag_of(data), k, data[SIZE * k : SIZE * k + SIZE]) for k in range(-(-len(data) // SIZE))]
    return [first] * headers[0] + [p for k, p in enumerate(parts) if k not in lost] + [first] * headers[1]


def read(bodies, spoil=()):
    """The reading of a tape of some blocks; of those in `spoil`, (block, first byte, last byte) is silent.

    Byte -1 is the sync mark before a block, with the end of its leader.
    """
    samples = samples_of(bodies, SPEED)
    for number, first, last in spoil:
        start, stop = byte_s(bodies, number, first), byte_s(bodies, number, last + 1)
        samples[int(start * RATE) : int(stop * RATE)] = 0
    return kit.decode(kit.Sound(samples, RATE), format="house")


def byte_s(bodies, number, byte):
    """Where a byte of a block begins, in seconds, added up from the half-cycles written."""
    before = sum(HOUSE.block_half_cycles(b, 0.05 if k else 0.5, SPEED).sum() for k, b in enumerate(bodies[:number]))
    halves = HOUSE.block_half_cycles(bodies[number], 0.05 if number else 0.5, SPEED)
    first = len(halves) - 2 * HOUSE.tail_cycles - 16 * (len(bodies[number]) + 2)
    return before + halves[: first + 16 * byte].sum()


def twins():
    """Two files of 150 bytes whose CRC-32s end in the same 16 bits."""
    tags = {}
    for seed in range(5000):
        data = random.Random(seed).randbytes(150)
        other = tags.setdefault(tag_of(data), data)
        if other is not data:
            return other, data
    raise AssertionError("by the birthday rule a few hundred suffice")


def told(reading):
    return [(file.name, file.data, file.verdict) for file in reading.files]


def wrong_bytes(file, data):
    return {k for k in range(len(data)) if k >= len(file.data) or data[k] != file.data[k]}


def doubted_bytes(file):
    return {k for start, stop in file.doubtful for k in range(start, stop)}


# -- headers -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("headers", [(1, 1), (1, 0), (0, 1), (2, 2)])
def test_either_header_suffices(headers):
    """What both say is said once."""
    reading = read(file_blocks("log.txt", LOG, headers=headers, content="code", address=0xBEEF))
    assert told(reading) == [("log.txt", LOG, "checked")] and reading.complete
    file = reading.files[0]
    assert (file.content, file.address, file.length, file.said_name) == ("code", 0xBEEF, 170, "log.txt")
    assert file.doubtful == [] and file.note == "" and [b.part.number for b in file.blocks] == [0, 1, 2, 3]


def test_with_both_headers_lost_the_blocks_are_delivered_in_order_without_a_name():
    """All bytes are there, but nobody says so: not complete."""
    reading = read(file_blocks("log.txt", LOG, headers=(0, 0)))
    assert told(reading) == [("unnamed-1.bin", LOG, "damaged")] and not reading.complete
    assert reading.files[0].note == NO_HEADER and reading.files[0].length is None


def test_without_headers_a_lost_block_is_a_gap_and_each_tag_is_a_file():
    """Numbered in the order they come."""
    other = LOG[::-1][:100]
    reading = read(file_blocks("a", LOG, lost=[1], headers=(0, 0)) + file_blocks("b", other, headers=(0, 0)))
    gapped = LOG[:50] + bytes(50) + LOG[100:]
    assert told(reading) == [("unnamed-1.bin", gapped, "damaged"), ("unnamed-2.bin", other, "damaged")]
    assert reading.files[0].doubtful == [(50, 100)]
    assert reading.files[0].note == f"1 of 4 blocks missing; {NO_HEADER}"
    assert [(p.offset, p.length, p.block is None) for p in reading.files[0].pieces] == [
        (0, 50, False), (50, 50, True), (100, 50, False), (150, 20, False),
    ]


def test_an_empty_file_is_a_file():
    """A header alone is all there is of it."""
    reading = read(file_blocks("empty.txt", b""))
    assert told(reading) == [("empty.txt", b"", "checked")] and reading.complete


# -- lost blocks ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("lost", [[0], [1], [3], [0, 1], [1, 3], [0, 1, 2, 3]])
def test_lost_blocks_are_gaps_of_zeros_in_doubt(lost):
    """Every other byte is in its place and sure."""
    reading = read(file_blocks("log.txt", LOG, lost=lost))
    file, gone = reading.files[0], {k for k in range(170) if k // SIZE in lost}
    assert file.data == bytes(0 if k in gone else LOG[k] for k in range(170))
    assert doubted_bytes(file) == gone
    assert file.verdict == "damaged" and file.note == f"{len(lost)} of 4 blocks missing"


@pytest.mark.parametrize("number", range(4))
def test_a_block_whose_first_bytes_are_lost_is_placed_by_its_neighbours_and_mended(number):
    """The sync mark and six of the seven bytes that place it are silent; what lies beside it says what they were."""
    reading = read(file_blocks("log.txt", LOG), spoil=[(1 + number, -1, 5)])
    assert told(reading) == [("log.txt", LOG, "mended")] and reading.complete
    (mended,) = [block for block in reading.files[0].blocks if block.verdict == "mended"]
    assert mended.note == "its first bytes follow from its place" and mended.part.number == number


@pytest.mark.parametrize("number", range(4))
def test_a_block_that_lost_its_first_bytes_and_others_is_never_taken_for_whole(number):
    """A second hole among its data: what is wrong is in doubt, whether or not the block found its place."""
    reading = read(file_blocks("log.txt", LOG), spoil=[(1 + number, -1, 6), (1 + number, 15, 17)])
    file = reading.files[0]
    assert not file.complete and len(file.data) == 170
    assert wrong_bytes(file, LOG) <= doubted_bytes(file)
    assert doubted_bytes(file) <= set(range(SIZE * number, SIZE * number + SIZE))


@pytest.mark.parametrize("count", [0, 2])
def test_a_cell_lost_or_doubled_without_a_trace_puts_all_it_may_have_moved_in_doubt(count):
    """A whole cell is missing from the middle of a block, or there twice; every cell looks right, the check fails."""
    for seed in range(8):
        data = random.Random(seed).randbytes(100)
        first = header("log.bin", data, block_bytes=100)
        halves = [HOUSE.block_half_cycles(b, 0.3) for b in (first, part(tag_of(data), 0, data), first)]
        cell = len(halves[1]) - 2 * HOUSE.tail_cycles - 2 * (500 + 7 * seed)
        cells = np.split(halves[1], [cell, cell + 2])
        halves[1] = np.concatenate([cells[0], *[cells[1]] * count, cells[2]])
        samples = render(np.concatenate(halves), RATE)
        (file,) = kit.decode(kit.Sound(samples, RATE), format="house").files
        assert not file.complete
        assert wrong_bytes(file, data) <= doubted_bytes(file)


def test_a_block_heard_twice_is_used_once():
    """The whole one of two; the damaged one is not left over."""
    blocks = file_blocks("log.txt", LOG)
    reading = read([*blocks[:3], blocks[2], *blocks[3:]], spoil=[(2, 20, 24)])
    assert told(reading) == [("log.txt", LOG, "checked")] and reading.left_over == [] and reading.complete


@pytest.mark.parametrize("seed", range(30))
def test_blocks_in_any_order_with_any_of_them_lost_or_twice_make_what_they_can(seed):
    """Three files shuffled together: each has just the bytes that are there; the rest, and no more, is in doubt."""
    generator = np.random.default_rng(seed)
    files = {name: generator.bytes(int(generator.integers(1, 260))) for name in ("a.txt", "b.pgm", "c")}
    kept, bodies = {}, []
    for name, data in files.items():
        parts = file_blocks(name, data, headers=(0, 0))
        kept[name] = [k for k in range(len(parts)) if generator.random() < 0.8]
        bodies += file_blocks(name, data, headers=(1, 0))[:1]
        bodies += [parts[k] for k in kept[name] for _ in range(generator.integers(1, 3))]
    reading = read([bodies[k] for k in generator.permutation(len(bodies))])
    assert sorted(file.name for file in reading.files) == sorted(files)
    for file in reading.files:
        data = files[file.name]
        gone = {k for k in range(len(data)) if k // SIZE not in kept[file.name]}
        assert file.data == bytes(0 if k in gone else data[k] for k in range(len(data)))
        assert doubted_bytes(file) == gone
        assert file.verdict == ("damaged" if gone else "checked")
    assert reading.left_over == []


# -- names and tags ------------------------------------------------------------------------------------


def test_files_of_one_tag_and_different_bytes_are_told_apart_by_their_places():
    """Each takes the blocks that follow its own header."""
    one, other = twins()
    assert one != other and tag_of(one) == tag_of(other)
    reading = read(file_blocks("one", one) + file_blocks("other", other))
    assert told(reading) == [("one", one, "checked"), ("other", other, "checked")]


@pytest.mark.parametrize("lost", range(3))
@pytest.mark.parametrize("from_second", [False, True])
def test_a_block_borrowed_from_another_file_of_the_same_tag_does_not_make_a_file_complete(lost, from_second):
    """The CRC-32 of the whole tells; the file that lost nothing is not harmed."""
    (one, other), drop = twins(), ([], [lost])
    reading = read(file_blocks("one", one, drop[not from_second]) + file_blocks("other", other, drop[from_second]))
    harmed, whole = (1, 0) if from_second else (0, 1)
    assert reading.files[whole].data == (one, other)[whole] and reading.files[whole].verdict == "checked"
    assert reading.files[harmed].verdict == "damaged" and not reading.complete


def test_bytes_borrowed_from_another_file_of_the_same_tag_are_in_doubt():
    """Wrong bytes in a file that is known to be wrong must not be called sure."""
    one, other = twins()
    file = read(file_blocks("one", one) + file_blocks("other", other, lost=[1])).files[1]
    assert wrong_bytes(file, other) <= doubted_bytes(file)


def test_one_content_under_two_names_is_two_files():
    """They share a tag and may share blocks."""
    reading = read(file_blocks("log.txt", LOG) + file_blocks("copy.txt", LOG, lost=[2]))
    assert told(reading) == [("log.txt", LOG, "checked"), ("copy.txt", LOG, "checked")]


def test_one_name_for_different_contents_is_numbered():
    """Also if only the case of letters differs, which some systems do not see."""
    versions = [LOG, LOG[:120], LOG[:30]]
    bodies = [b for name, data in zip(("log.txt", "log.txt", "LOG.txt"), versions, strict=True)
              for b in file_blocks(name, data)]
    names = ["log.txt", "log (2).txt", "LOG (3).txt"]
    assert told(read(bodies)) == [(name, data, "checked") for name, data in zip(names, versions, strict=True)]


# -- what a tape may claim -----------------------------------------------------------------------------


@pytest.mark.parametrize("kind", [0, 4, 77, 251, 255])
def test_a_block_of_unknown_kind_is_reported_and_skipped(kind):
    """The file round it is whole; the block is kept, with what it holds."""
    blocks = file_blocks("log.txt", LOG)
    reading = read([*blocks[:3], bytes([kind]) + b"a message for later", *blocks[3:]])
    assert told(reading) == [("log.txt", LOG, "checked")] and reading.complete
    (left,) = reading.left_over
    assert (left.kind, left.payload, left.verdict) == (kind, b"a message for later", "checked")
    assert f"kind {kind}" in reading.report() and any(f"unknown kind {kind}" in e.text for e in reading.events)


CLAIMS = {
    "a file of 4 GB": [claim(2**32 - 1, 4080), part(0x5678, 0, bytes(20))],
    "four milliard bytes and not a block": [claim(2**32 - 1, 16)],
    "the last block of the largest file": [claim(65536 * 4080, 4080), part(0x5678, 65535, bytes(20))],
    "block 65535 of a file without a header": [part(7, 65535, bytes(4080))],
    "a block beyond the end": [claim(100, 50), part(0x5678, 9, bytes(50))],
    "blocks far apart": [part(7, number, bytes(1000)) for number in (0, 9000, 65535)],
    "a hundred files of 4 GB": [claim(2**32 - 1, 4080, crc32=k) for k in range(100)],
}


@pytest.mark.parametrize("name", CLAIMS)
def test_hostile_numbers_reserve_nothing(name):
    """A few blocks make a few bytes, whatever they say; what was not delivered is said to be in doubt."""
    blocks = read(CLAIMS[name]).blocks
    assert all(block.verdict == "checked" for block in blocks)
    tracemalloc.start()
    files, _ = join_blocks(blocks)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 8 << 20
    assert sum(len(file.data) for file in files) < 1 << 20
    for file in files:
        assert not file.complete
        assert file.length in (None, len(file.data)) or file.doubtful[-1][1] == file.length


def test_no_blocks_make_no_files():
    """Nothing from nothing."""
    assert join_blocks([]) == ([], [])
