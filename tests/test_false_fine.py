"""Nothing damaged is called fine by mistake: no oftener, that is, than its check must let wrong ones pass.

Each count is held against what theory expects, with the most that a Poisson count reaches in 9,999 of 10,000
runs. It is a seeded tenth, or less, of the full set: ``python -m tests.benchmarks --only false_fine``.
"""

import numpy as np
import pytest
from damaged_bits import ask_damaged_bits, asked, damaged_bits, forge_files, most_by_chance
from damaged_edges import (
    Tally,
    blocks_damaged_at_edges,
    checked_formats,
    read_halves,
    short,
    some_bodies,
    some_tapes,
    tapes_damaged_at_edges,
    with_sums,
)
from repair_cases import blocks_of, damaged, headless, read

import kit
from kit.blockreader import read_block
from kit.blocks import DATA
from kit.checks import CHECKS
from kit.found import CHECKED, MENDED, FoundBlock
from kit.repair_outer import Outer

EDGES, TAPES, BITS, FILES = 120, 16, 5_000, 200  # for each format
CHECKED_FORMATS = [short(format, 128) for format in checked_formats()]
WITH_SUMS = short(with_sums(), 128)
WEAK = kit.FORMATS["house"].changed(name="weak", check="sum-8", block_bytes=128)
every_checked = pytest.mark.parametrize("format", CHECKED_FORMATS, ids=[f.name for f in CHECKED_FORMATS])


# -- the counts -----------------------------------------------------------------------------------------


@every_checked
def test_a_block_damaged_at_its_edges_is_not_called_fine_unless_it_is_as_written(format):
    """Cells lost or doubled, edges split or merged, holes, jitter, bits changed; many at once."""
    tally = blocks_damaged_at_edges(format, EDGES, seed=31)
    assert tally.wrong <= most_by_chance(tally.expected), tally.cases
    assert tally.right > EDGES // 20 and tally.refused > EDGES


@pytest.mark.parametrize("format", [f for f in kit.FORMATS.values() if not f.stream], ids=lambda format: format.name)
def test_no_block_and_no_file_of_a_tape_damaged_at_its_edges_is_called_fine_and_wrong(format):
    """Drawn as samples and decoded: also what repair made of copies and parity."""
    tally = tapes_damaged_at_edges(format, TAPES, seed=32)
    assert tally.wrong <= most_by_chance(tally.expected), tally.cases
    assert tally.wrong_files == 0 and tally.files > 0
    assert tally.right > TAPES // 10 or not format.check_bytes


@pytest.mark.parametrize("format", [*CHECKED_FORMATS, WITH_SUMS], ids=lambda format: format.name)
def test_blocks_damaged_in_their_bits_pass_no_oftener_than_the_check_allows(format):
    """And never in the classes of damage that the check catches for certain."""
    rng, tally = np.random.default_rng(33), Tally()
    assert ask_damaged_bits(format, some_bodies(format, rng), BITS, rng, tally) == 0
    assert tally.wrong <= most_by_chance(tally.expected), tally.cases
    assert tally.refused > 0.98 * BITS


@every_checked
def test_a_file_whose_wrong_blocks_all_pass_their_check_is_still_not_complete(format):
    """The CRC-32 of the whole stands behind the checks of the blocks."""
    rng, tally, format = np.random.default_rng(34), Tally(), short(format)
    forge_files(format, some_tapes(format, rng), FILES, rng, tally)
    assert tally.wrong_files == 0
    assert FILES / 10 < tally.complete < tally.files


# -- whether the counts can be trusted -------------------------------------------------------------------


def test_the_count_notices_a_check_that_is_too_weak():
    """A sum of bytes sees no swap at all and lets one in 256 of the rest pass: of 2,000 blocks, hundreds."""
    rng, tally = np.random.default_rng(35), Tally()
    ask_damaged_bits(WEAK, some_bodies(WEAK, rng), 2000, rng, tally)
    assert tally.wrong > 150
    assert blocks_damaged_at_edges(WEAK, 400, seed=36).wrong > 2


def test_the_expectation_is_right_where_it_can_be_counted():
    """Of 200,000 stretches of 4 random bytes a CRC-16 passes 2⁻¹⁶, all of them with an even number of ones.

    3.05 are expected; that none passes happens in one of 20 runs (not in this seeded one), that more than 12 do
    in fewer than one of 10,000. Of stretches of 2 bytes none may pass.
    """
    check, rng, passed = CHECKS["crc-16/ibm-3740"], np.random.default_rng(37), {2: [], 4: []}
    sums = check.compute(bytes(40))
    for size, found in passed.items():
        stretches = rng.bytes(200_000 * size)
        for k in range(0, len(stretches), size):
            content = bytes(10) + stretches[k : k + size] + bytes(30 - size)
            if check.agrees(content, sums) and any(content):
                found.append(int.from_bytes(content).bit_count() % 2)
    assert passed[2] == [] and 1 <= len(passed[4]) <= 12 and not any(passed[4])


@pytest.mark.parametrize("frame", [kit.FORMATS["house"].frame, kit.FORMATS["framed"].frame], ids=["bare", "framed"])
def test_asking_about_bits_is_asking_as_the_reader_does(frame):
    """Drawn as half-cycles, the same bits give the same bytes and verdict; with a weak check, so that many pass."""
    format = WEAK.changed(name="weaker", frame=frame, check="parity")
    rng, passed = np.random.default_rng(38), 0
    tail = format.leader.encode(format.tail_cycles, sync=False)
    for _, (body, _) in zip(range(250), some_bodies(format, rng), strict=False):
        bits = damaged_bits(format.block_bits(body), frame.bits_per_byte, rng)
        answer = asked(format, bits)
        edges = np.concatenate(([0.0], np.cumsum(np.concatenate((format.code.encode(bits), tail)))))
        block = read_block(edges, 1.0, 0.0, [format], final=True)
        found = block.content if isinstance(block, FoundBlock) else None
        assert found == (answer[0] if answer and answer[1] else None)
        passed += found is not None
    assert passed > 50


def test_undamaged_half_cycles_read_as_written():
    for format in CHECKED_FORMATS:
        rng = np.random.default_rng(39)
        for _, (body, written) in zip(range(8), some_bodies(format, rng), strict=False):
            block = read_halves(format, format.block_half_cycles(body, 0.04))
            assert (block.content, block.verdict) == (written, CHECKED)


# -- small cases ----------------------------------------------------------------------------------------

SMALL = kit.FORMATS["sturdy"].changed(name="small", outer=Outer(2, 1, interleave=1, header_copies=1))
COUNTING = bytes(range(256))


def of_two_groups(hurt):
    """The file of two groups of two blocks, one parity block each; the second group is damaged beyond repair.

    `hurt` damages the two blocks of the first. Gives the file, what its blocks were, and the bytes that are
    wrong though not in doubt.
    """
    blocks = blocks_of(COUNTING, SMALL)
    data = [k for k, block in enumerate(blocks) if block.kind == DATA]
    written = {block.content for block in blocks}
    first_two = hurt(blocks[data[0]], blocks[data[1]])
    last_two = [damaged(blocks[k], 20, 24) for k in data[2:]]
    for k, block in zip(data, [*first_two, *last_two], strict=True):
        blocks[k] = block
    (file,) = read([block for block in blocks if block is not None]).files
    doubted = {k for start, stop in file.doubtful for k in range(start, stop)}
    wrong = {k for k, (one, other) in enumerate(zip(COUNTING, file.data, strict=True)) if one != other}
    return file, written, wrong - doubted


def damaged_both(first, second):
    """More damaged than parity can do without: the first's byte 12 is made of the second's, which is wrong."""
    return damaged(first, 10, 14), damaged(damaged(second, 40, 44), 12, 13, say=False)


def damaged_and_lost(first, second):
    """The first is wrong at byte 12 and doubts only its check; the second, not heard at all, is made from it."""
    return damaged(damaged(first, 71, 73), 12, 13, say=False), None


@pytest.mark.parametrize("hurt", [damaged_both, damaged_and_lost])
def test_a_block_rebuilt_from_bytes_that_no_check_vouches_for_is_not_called_mended(hurt):
    """Wrong bytes that a reader does not know of are what a slip of whole cells leaves behind."""
    file, written, _ = of_two_groups(hurt)
    assert [block for block in file.blocks if block.verdict == MENDED and block.content not in written] == []
    assert not file.complete


@pytest.mark.parametrize("hurt", [damaged_both, damaged_and_lost])
def test_bytes_rebuilt_from_wrong_ones_are_in_doubt(hurt):
    """Also where other bytes of the file are in doubt anyway."""
    _, _, wrong_unsaid = of_two_groups(hurt)
    assert wrong_unsaid == set()


@every_checked
@pytest.mark.parametrize("kept", [30, 120])
def test_bytes_that_were_never_heard_are_not_called_mended_because_zeros_fit_the_check(format, kept):
    """A blank page: all its bytes are FF, and of each block but the headers only the end was heard.

    What was not heard stands as zeros; Fletcher's sums take these for FF.
    """
    blocks = blocks_of(b"\xff" * 500, format)
    written = {block.content for block in blocks}
    torn = [
        headless(block, max(1, len(block.content) - kept)) if block.kind == DATA else block for block in blocks
    ]
    (file,) = read(torn).files
    assert [block for block in file.blocks if block.verdict == MENDED and block.content not in written] == []


@pytest.mark.parametrize(
    ("was", "read_as"),
    [
        pytest.param(bytes(40), bytes(20) + b"\xff" + bytes(19), id="FF for 00"),
        pytest.param(b"3" + bytes(39), bytes(5) + b"3" + bytes(34), id="51 five bytes further on"),
    ],
)
def test_what_sums_cannot_see_is_seen_by_the_crc_32_of_the_file(was, read_as):
    """Fletcher's sums are modulo 255 = 3 · 5 · 17: they take 00 for FF, and 51 for 0 five bytes further on.

    The second sum weighs each byte by its place: 51 moved by 5 places changes it by 255, which is nothing.
    """
    format = WITH_SUMS
    blocks = blocks_of(was, format)
    (k,) = (k for k, block in enumerate(blocks) if block.kind == DATA)
    content = blocks[k].content
    forged = content[:7] + read_as + content[-2:]
    assert len(forged) == len(content) and forged != content
    assert CHECKS[format.check].agrees(forged[:-2], forged[-2:])
    blocks[k] = blocks[k].changed(content=forged)
    (file,) = read(blocks).files
    assert (file.data, file.complete) == (read_as, False)
