"""Copies: what is sure in one mends the other, and the check has the last word."""

import random

import numpy as np
import pytest
from repair_cases import blocks_of, damaged, headless, read, scratched, wrongly_complete

import kit
from kit.blocks import DATA, HEADER, inverted
from kit.errors import SettingError
from kit.found import CHECKED, DAMAGED, MENDED
from kit.known import FORMATS
from kit.repair_copies import MOST_TRIALS, aligned, merge, merge_bytes

HOUSE, TWICE = FORMATS["house"], FORMATS["twice"]
COPIED = HOUSE.changed(name="copied", block_bytes=64, copies=2)
LOG = b"Wind west 5, rain until noon, boat at four.\n" * 7


def merged(one, other):
    """Two readings of one block made one."""
    total = len(one.content)
    return merge(one, [aligned(one, total), aligned(other, total)])


def data_blocks(blocks, number=0):
    return [k for k, block in enumerate(blocks) if block.part and block.part.number == number]


# -- bytes ----------------------------------------------------------------------------------------------


def test_a_byte_sure_in_one_copy_stands_whatever_the_doubtful_one_says():
    result = merge_bytes([[9, 2], [1, 9]], [[True, False], [False, True]])
    assert result.data.tolist() == [1, 2] and not result.doubtful.any()


def test_two_sure_copies_that_differ_leave_the_byte_in_doubt():
    """It is known that one is wrong, but not which."""
    assert merge_bytes([[1, 2], [1, 3]], [[False] * 2] * 2).doubtful.tolist() == [False, True]


def test_two_of_three_sure_copies_outvote_the_third():
    result = merge_bytes([[7], [4], [4]], [[False]] * 3)
    assert result.data.tolist() == [4] and not result.doubtful.any()


def test_three_copies_that_all_differ_leave_the_byte_in_doubt():
    assert merge_bytes([[7], [4], [5]], [[False]] * 3).doubtful.all()


def test_a_byte_sure_in_no_copy_stays_in_doubt():
    assert merge_bytes([[7], [7]], [[True]] * 2).doubtful.all()


def test_a_block_of_32_parts_comes_through_by_the_published_powers():
    """Of 32 bytes, each lost with 5 %: 0.95³² of the copies are whole, and a pair fails by the square.

    Arithmetic: 0.95³² = 0.194; of two copies neither is whole in (1 - 0.194)² = 0.650; merged byte by byte
    all are there in (1 - 0.05²)³² = 0.923. Each share of 20,000 must lie within 4 standard deviations.
    """
    tapes = 20_000
    lost = np.random.Generator(np.random.PCG64(32)).random((2, tapes * 32)) < 0.05
    together = merge_bytes(np.zeros(lost.shape, np.uint8), lost).doubtful.reshape(tapes, 32).any(axis=1)
    alone = lost.reshape(2, tapes, 32).any(axis=2)
    for found, wanted in (
        (1 - alone[0].mean(), 0.95**32),
        (alone.all(axis=0).mean(), (1 - 0.95**32) ** 2),
        (1 - together.mean(), (1 - 0.05**2) ** 32),
    ):
        assert abs(found - wanted) < 4 * (wanted * (1 - wanted) / tapes) ** 0.5


# -- blocks ---------------------------------------------------------------------------------------------


@pytest.fixture
def block():
    return blocks_of(LOG, COPIED)[2]


def test_copies_damaged_in_different_places_make_a_mended_block(block):
    result, trials = merged(damaged(block, 10, 30), damaged(block, 30, 60))
    assert (result.verdict, result.content, trials) == (MENDED, block.content, 1)
    assert not result.doubtful.any() and result.note == "made of 2 copies"


def test_copies_damaged_in_the_same_place_stay_damaged_there_and_only_there(block):
    result, _ = merged(damaged(block, 10, 30), damaged(block, 20, 60))
    assert result.verdict == DAMAGED
    assert np.flatnonzero(result.doubtful).tolist() == list(range(20, 30))
    assert result.content[:20] == block.content[:20] and result.content[30:] == block.content[30:]


def test_where_sure_copies_differ_the_check_decides_and_the_trials_are_counted(block):
    one = damaged(damaged(block, 12, 14, say=False), 40, 41, say=False)
    result, trials = merged(one, damaged(block, 20, 21, say=False))
    assert (result.verdict, result.content) == (MENDED, block.content)
    assert 1 < trials <= 2**3 and result.note == f"made of 2 copies, after {trials} trials"


def test_no_block_is_tried_more_often_than_allowed(block):
    one, other = block, block
    for k in range(8, 40, 2):
        one = damaged(one, k, k + 1, say=False)
    other = damaged(other, 50, 51, say=False)
    result, trials = merged(one, damaged(other, 61, 62))
    assert trials == MOST_TRIALS <= 64 and result.verdict == DAMAGED


def test_soft_values_decide_together_where_sure_copies_differ(block):
    """Each copy is wrong in one byte, and less certain there than the other."""
    signs = np.where(block.bits, 1.0, -1.0).astype(np.float32)
    one, other = damaged(block, 12, 13, say=False), damaged(block, 20, 21, say=False)
    soft_one, soft_other = 6 * signs, 6 * signs
    soft_one[12 * 8 : 13 * 8] *= -0.2
    soft_other[20 * 8 : 21 * 8] *= -0.2
    total = len(block.content)
    result, trials = merge(one, [aligned(one, total), aligned(other, total)], [soft_one, soft_other])
    assert (result.verdict, result.content, trials) == (MENDED, block.content, 1)


def test_wrong_bytes_that_pass_for_sure_in_both_copies_are_not_called_mended(block):
    one = damaged(block, 12, 14, b"\x11\x12", say=False)
    result, _ = merged(one, one)
    assert result.verdict == DAMAGED and result.doubtful.all()


def test_blocks_that_have_nothing_in_common_pass_no_oftener_than_the_check_allows():
    """Each trial passes with 2⁻¹⁶; of 400 pairs with 56 trials each, more than 4 would pass once in 20,000 runs."""
    generator = np.random.Generator(np.random.PCG64(5))
    (k,) = data_blocks(blocks_of(LOG, HOUSE.changed(block_bytes=64)))
    block, passed, tried = blocks_of(LOG, HOUSE.changed(block_bytes=64))[k], 0, 0
    for _ in range(400):
        one, other = (generator.integers(0, 256, len(block.content), dtype=np.uint8) for _ in range(2))
        sure = np.zeros(len(block.content), bool)
        other[::6] = one[::6]
        result, trials = merge(block, [(one, sure), (other, sure)])
        passed, tried = passed + (result.verdict == MENDED), tried + trials
    assert tried > 10_000 and passed <= 4


# -- tapes ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("format", [COPIED, COPIED.changed(copies=3), COPIED.changed(copies_apart=True), TWICE])
def test_a_file_whose_copies_are_damaged_in_different_places_is_complete(format):
    """Every block of it, headers too."""
    blocks, seen, hurt = blocks_of(LOG, format), {}, []
    for block in blocks:
        size, turn = len(block.content), seen.setdefault(block.content, 0)
        seen[block.content] += 1
        hurt.append(damaged(block, size // 2, size) if turn % 2 == 0 else damaged(block, 8, size // 2))
    reading = read(hurt)
    (file,) = reading.files
    assert (file.data, file.verdict, file.doubtful) == (LOG, MENDED, []) and reading.complete


@pytest.mark.parametrize("gone", [0, 1])
@pytest.mark.parametrize("format", [COPIED, TWICE])
def test_either_copy_may_be_wholly_lost(format, gone):
    blocks, kept, seen = blocks_of(LOG, format), [], {}
    for block in blocks:
        turn = seen.setdefault(block.content, 0)
        seen[block.content] += 1
        kept += [block] if turn % 2 != gone else []
    reading = read(kept)
    assert reading.complete and reading.files[0].data == LOG


def test_a_copy_that_lost_its_beginning_mends_one_that_lost_its_end():
    """Also where what is left is an inverted copy, whose first byte would have said so."""
    for format in (COPIED, TWICE):
        blocks = blocks_of(LOG, format)
        one, other = data_blocks(blocks)
        size = len(blocks[one].content)
        blocks[one] = damaged(blocks[one], size - 20, size)
        blocks[other] = headless(blocks[other], size - 40)
        reading = read(blocks)
        assert reading.complete and (reading.files[0].data, reading.files[0].verdict) == (LOG, MENDED)


def test_damaged_headers_at_both_ends_make_one():
    blocks = blocks_of(LOG, HOUSE)
    blocks[0], blocks[-1] = damaged(blocks[0], 20, 40), damaged(blocks[-1], 2, 9)
    reading = read(blocks)
    (file,) = reading.files
    assert (file.name, file.data, file.verdict) == ("log.txt", LOG, MENDED) and reading.complete
    assert file.note == "header made of 2 copies"


def test_headers_of_different_files_are_not_mixed():
    tapes = [blocks_of(LOG, HOUSE, "one.txt"), blocks_of(LOG[::-1], HOUSE, "two.txt")]
    blocks = []
    for tape in tapes:
        late = [block.changed(start_s=block.start_s + 30 * len(blocks)) for block in tape]
        late[0], late[-1] = damaged(late[0], 20, 40), damaged(late[-1], 18, 30)
        blocks += late
    found = {file.name: (file.data, file.verdict) for file in read(blocks).files}
    assert all(verdict == DAMAGED for _, verdict in found.values())
    assert not {"one.txt", "two.txt"} & set(found)


def test_a_file_mended_wrongly_is_not_complete_and_its_mended_blocks_are_in_doubt():
    """A block whose check was made to fit, in the place of the right one: only the CRC-32 of the whole sees it."""
    blocks = blocks_of(LOG, HOUSE.changed(block_bytes=64))
    (k,) = data_blocks(blocks, 1)
    forged = bytearray(blocks[k].content[:-2])
    forged[20:24] = b"east"
    forged += kit.formats.CHECKS[HOUSE.check].compute(bytes(forged))
    blocks[k] = blocks[k].changed(content=bytes(forged), verdict=MENDED)
    (file,) = read(blocks).files
    assert (file.complete, file.doubtful) == (False, [(64, 128)])


def test_a_mended_block_is_told_of_in_the_events_and_found_by_its_time():
    blocks = blocks_of(LOG, COPIED)
    one, other = data_blocks(blocks, 2)
    blocks[one], blocks[other] = damaged(blocks[one], 20, 40), damaged(blocks[other], 45, 50)
    reading = read(blocks)
    told = [event.text for event in reading.events if event.what == "note"]
    assert told == ["data block 2 of log.txt: made of 2 copies; mended"]
    start, stop = reading.where(140)
    assert reading.at((start + stop) / 2).byte == 140


@pytest.mark.parametrize("format", [COPIED, TWICE])
def test_no_set_of_damaged_copies_is_called_complete_that_is_not(format):
    """600 sets, many with wrong bytes the reader does not know of; see the benchmark for 10,000."""
    complete, wrong = wrongly_complete(format, 600, seed=6)
    assert wrong == 0 and complete > 200


# -- down and up ----------------------------------------------------------------------------------------


def test_every_second_copy_is_on_the_tape_with_every_bit_of_its_bytes_inverted():
    """The kind bytes are then 0xFE and 0xFD; start, stop and parity bits stay, or the frames would be lost."""
    blocks = blocks_of(LOG, TWICE)
    assert [block.inverted for block in blocks] == [False, True] * (len(blocks) // 2)
    for plain, turned in zip(blocks[::2], blocks[1::2], strict=True):
        assert plain.content == turned.content and plain.kind in (HEADER, DATA)
        one, other = (block.bits.reshape(-1, 11) for block in (plain, turned))
        assert (one[:, 1:9] != other[:, 1:9]).all() and (one[:, [0, 9, 10]] == other[:, [0, 9, 10]]).all()
        raw = TWICE.frame.to_bytes(turned.bits)[0].tobytes()
        assert inverted(raw) == plain.content and raw[0] in (0xFE, 0xFD)


def test_a_fault_that_favours_ones_hits_no_byte_of_both_copies_alike():
    """Every zero of one bit of each byte read as a one: the copies differ there, and parity says where."""
    blocks = blocks_of(LOG, TWICE)
    one, other = data_blocks(blocks)
    read_of = []
    for k in (one, other):
        bits = blocks[k].bits.reshape(-1, 11).copy()
        bits[60:100, 3] = 1
        content, faults = TWICE.frame.to_bytes(bits.reshape(-1))
        content = inverted(content.tobytes()) if blocks[k].inverted else content.tobytes()
        read_of.append(blocks[k].changed(content=content, doubtful=faults, verdict=DAMAGED))
    assert not (read_of[0].doubtful & read_of[1].doubtful).any()
    blocks[one], blocks[other] = read_of
    assert read(blocks).complete and read(blocks).files[0].data == LOG


@pytest.mark.parametrize("asked", ["twice", "auto"])
def test_a_tape_with_inverted_copies_survives_a_scratch_anywhere(asked):
    """A hole of 0.4 s, at some places along the tape; more of them are tried where it takes less."""
    data = random.Random(7).randbytes(300)
    sound = kit.encode(data, name="tide.bin", format="twice", lead_in_s=0.5)
    for start_s in np.linspace(0, sound.seconds - 0.4, 8 if asked == "twice" else 3):
        reading = kit.decode(scratched(sound, start_s, 0.4), format=asked)
        assert reading.complete and reading.files[0].data == data, start_s
        assert {block.format.name for block in reading.blocks} == {"twice"}


def test_copies_asked_for_when_encoding_mend_without_being_asked_for_again():
    """`decode` is told of no copies; each copy of a block is torn in another place."""
    data = random.Random(8).randbytes(700)
    sound = kit.encode(data, format="house", copies=2, lead_in_s=0.5)
    first, second = (block.start_s for block in kit.decode(sound).blocks if block.kind == DATA)
    reading = kit.decode(scratched(scratched(sound, first + 1, 0.1), second + 2, 0.1), format="house")
    assert [block.verdict for block in reading.blocks if block.kind == DATA] == [DAMAGED, DAMAGED]
    assert reading.complete and (reading.files[0].data, reading.files[0].verdict) == (data, MENDED)


def test_copies_apart_write_the_whole_file_and_then_the_whole_file_again():
    order = [(b.kind, b.part and b.part.number) for b in blocks_of(LOG, COPIED.changed(copies_apart=True))]
    assert order[: len(order) // 2] == order[len(order) // 2 :] and order[0][0] == order[-1][0] == HEADER


def test_a_plain_tape_is_still_checked_not_mended():
    for format in (COPIED, TWICE):
        assert read(blocks_of(LOG, format)).files[0].verdict == CHECKED


def test_inverted_copies_without_a_copy_are_refused_in_one_line():
    with pytest.raises(SettingError, match=r"copies must be 2 or more .* got 1: write a copy"):
        kit.encode(LOG, format="twice", copies=1)
