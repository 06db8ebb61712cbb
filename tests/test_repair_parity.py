"""Parity blocks: how they are dealt, what they bring back, and what they cannot."""

import random
from itertools import combinations, pairwise

import numpy as np
import pytest
from repair_cases import blocks_of, damaged, headless, read, survives, wrongly_complete

import kit
from kit.blocks import DATA, HEADER, PARITY, DataPart
from kit.errors import SettingError
from kit.formats import Format
from kit.found import CHECKED, DAMAGED, MENDED
from kit.known import FORMATS
from kit.repair_outer import Group, Outer, ParityPart

STURDY = FORMATS["sturdy"]
SMALL = STURDY.changed(name="small", block_bytes=16, outer=Outer(4, 2, interleave=2))


def numbers(blocks, kind):
    return [k for k, block in enumerate(blocks) if block.kind == kind]


def without(blocks, gone):
    return [block for k, block in enumerate(blocks) if k not in gone]


def outcome(blocks):
    (file,) = read(blocks).files
    return file.data, file.verdict, file.note


def random_bytes(count, seed=1):
    return random.Random(seed).randbytes(count)


# -- layout ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("blocks", [1, 2, 15, 16, 17, 48, 49, 100, 1000])
@pytest.mark.parametrize("outer", [Outer(), Outer(4, 2, interleave=1), Outer(7, 3, interleave=5)])
def test_every_data_block_belongs_to_one_group_and_no_group_is_too_large(outer, blocks):
    groups = outer.groups(blocks)
    assert sorted(number for group in groups for number in group.numbers) == list(range(blocks))
    assert max(group.data_blocks for group in groups) <= outer.data_blocks
    assert sum(group.parity_blocks for group in groups) <= outer.parity_blocks * -(-blocks // outer.data_blocks)


@pytest.mark.parametrize("blocks", [1, 30, 33, 100, 150])
def test_two_blocks_of_a_group_lie_no_nearer_than_there_are_groups_in_turn(blocks):
    """Parity blocks go on in turn where the data blocks leave off."""
    outer = Outer(16, 4, interleave=3)
    parts = [DataPart(5, number, bytes(4)) for number in range(blocks)]
    group_of = {number: group.first for group in outer.groups(blocks) for number in group.numbers}
    order = []
    for body in outer.bodies(parts):
        part = ParityPart.unpack(body[1:]) if body[0] == PARITY else DataPart.unpack(body[1:])
        order.append((part.group if body[0] == PARITY else None, part))
    owners = [group.first if group else group_of[part.number] for group, part in order]
    steps = {group.first: group.step for group in outer.groups(blocks)}
    for owner, step in steps.items():
        places = [k for k, one in enumerate(owners) if one == owner]
        assert min((late - early for early, late in pairwise(places)), default=step) >= step


def test_data_blocks_keep_their_order_so_that_a_reader_without_repair_reads_them():
    blocks = blocks_of(random_bytes(2000), STURDY)
    data = [block.part.number for block in blocks if block.kind == DATA]
    assert data == list(range(len(data)))
    kinds = [block.kind for block in blocks]
    assert kinds[:2] == kinds[-2:] == [HEADER] * 2 and kinds.count(HEADER) == 4


def test_a_parity_block_lies_on_the_tape_as_documented():
    part = ParityPart(0x1234, Group(0x0102, 3, 16, 4), 2, b"\xaa\xbb")
    assert part.pack().hex() == "1234" "0102" "0006" "03" "10" "04" "02" "aabb"
    assert ParityPart.unpack(part.pack()) == part


@pytest.mark.parametrize("place", range(4, 10))
def test_a_parity_block_that_claims_what_cannot_be_is_none(place):
    """Length, step, data blocks, parity blocks or index beyond what there is."""
    payload = bytearray(ParityPart(1, Group(0, 3, 16, 4), 2, b"\xaa\xbb").pack())
    payload[place] = 255
    assert ParityPart.unpack(bytes(payload)) is None


# -- rebuilding -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("length", [1, 16, 40, 64, 120])
def test_every_pattern_of_lost_blocks_up_to_the_parity_is_made_good(length):
    """Each pattern of one or two of all blocks but headers, in files of one group and of two."""
    data = random_bytes(length)
    blocks = blocks_of(data, SMALL)
    inner = numbers(blocks, DATA) + numbers(blocks, PARITY)
    for count in (1, 2):
        for gone in combinations(inner, count):
            file, verdict, _ = outcome(without(blocks, gone))
            expected = MENDED if set(gone) & set(numbers(blocks, DATA)) else CHECKED
            assert (file, verdict) == (data, expected), gone


def test_one_block_more_than_parity_is_not_made_up():
    blocks = blocks_of(random_bytes(64), SMALL)
    gone = numbers(blocks, DATA)[:3]
    (file,) = read(without(blocks, gone)).files
    assert (file.verdict, file.doubtful) == (DAMAGED, [(0, 48)])
    assert file.note == "3 of 4 blocks missing"


def test_the_note_says_how_many_blocks_were_rebuilt():
    blocks = blocks_of(random_bytes(2000), STURDY)
    reading = read(without(blocks, numbers(blocks, DATA)[4:7]))
    assert reading.files[0].note == "3 of 32 blocks rebuilt from the parity blocks"
    told = [event.text for event in reading.events if event.what == "note"]
    assert told[0] == "data block 4 of log.txt: rebuilt from the parity blocks; mended" and len(told) == 3


def test_a_rebuilt_block_lies_between_its_neighbours_with_no_margin():
    blocks = blocks_of(random_bytes(640), STURDY)
    gone = numbers(blocks, DATA)[3]
    reading = read(without(blocks, [gone]))
    span = reading.where(64 * 3 + 5)
    assert blocks[gone - 1].span_s[1] <= span.start_s < span.stop_s <= blocks[gone + 1].span_s[0]
    assert span.margin == 0


def test_sure_bytes_of_damaged_blocks_count_where_too_many_blocks_are_damaged():
    """Four blocks against two of parity, but no byte of the codewords is in doubt in more than two."""
    data = random_bytes(64)
    blocks = blocks_of(data, SMALL)
    for k, place in zip(numbers(blocks, DATA), (7, 7, 15, 15), strict=True):
        blocks[k] = damaged(blocks[k], place, place + 8)
    assert outcome(blocks)[:2] == (data, MENDED)


def test_of_a_block_beyond_repair_those_bytes_are_mended_that_can_be():
    data = random_bytes(64)
    blocks = blocks_of(data, SMALL)
    for k, place in zip(numbers(blocks, DATA)[:3], (7, 7, 11), strict=True):
        blocks[k] = damaged(blocks[k], place, place + 8)
    (file,) = read(blocks).files
    assert file.verdict == DAMAGED and file.doubtful == [(4, 8), (20, 24), (36, 40)]
    right = np.frombuffer(file.data, np.uint8) == np.frombuffer(data, np.uint8)
    doubtful = {k for start, stop in file.doubtful for k in range(start, stop)}
    assert all(right[k] or k in doubtful for k in range(64))


def test_wrong_bytes_nobody_knows_of_are_found_by_the_spare_parity():
    """One byte each of two damaged blocks is wrong and passes for sure, in different codewords."""
    data = random_bytes(64)
    outer = STURDY.changed(block_bytes=16, outer=Outer(4, 2, interleave=1))
    blocks = blocks_of(data, outer)
    first, second, third, _ = numbers(blocks, DATA)
    for k, place in ((first, 9), (second, 12), (third, 15)):
        blocks[k] = damaged(blocks[k], place, place + 1, say=False)
    assert outcome(blocks)[:2] == (data, MENDED)


def test_a_file_whose_start_lost_all_headers_but_one_is_still_rebuilt():
    data = random_bytes(900)
    blocks = blocks_of(data, STURDY)
    heads = numbers(blocks, HEADER)
    gone = [*heads[:1], *heads[2:], *numbers(blocks, DATA)[:2]]
    assert outcome(without(blocks, gone))[:2] == (data, MENDED)


def test_without_any_header_the_file_is_rebuilt_but_not_called_complete():
    data = random_bytes(640)
    blocks = blocks_of(data, STURDY)
    (file,) = read(without(blocks, [*numbers(blocks, HEADER), numbers(blocks, DATA)[4]])).files
    assert (file.data, file.verdict, file.name) == (data, DAMAGED, "unnamed-1.bin")


def test_parity_blocks_alone_are_left_out_of_the_files_and_not_left_over():
    blocks = blocks_of(random_bytes(640), STURDY)
    assert read(blocks).left_over == [] and read(blocks).files[0].verdict == CHECKED


def test_claims_of_parity_blocks_that_fit_no_file_change_nothing():
    """Hostile: groups that reach beyond the file, overlap, or differ in size, each with a good check."""
    data = random_bytes(64)
    blocks = blocks_of(data, SMALL)
    tag = blocks[numbers(blocks, DATA)[0]].part.tag
    generator = random.Random(3)
    forged = []
    for _ in range(60):
        group = Group(generator.randrange(1 << 16), generator.randrange(1, 33), generator.randrange(1, 200),
                      generator.randrange(1, 50))
        part = ParityPart(tag, group, 0, generator.randbytes(generator.randrange(1, 64)))
        forged.append(kit.formats.CHECKS[SMALL.check].compute(bytes([PARITY]) + part.pack()))
        body = bytes([PARITY]) + part.pack()
        model = blocks[-1]
        forged[-1] = model.changed(content=body + forged[-1], doubtful=np.zeros(len(body) + 2, bool),
                                   start_s=model.start_s + len(forged))
    assert outcome([*blocks, *forged])[:2] == (data, CHECKED)
    gone = numbers(blocks, DATA)[:2]
    file, verdict, _ = outcome(without([*blocks, *forged], gone))
    assert (file, verdict) == (data, MENDED) or verdict == DAMAGED


def test_no_set_of_damaged_blocks_is_called_complete_that_is_not():
    """400 sets, many with wrong bytes the reader does not know of; see the benchmark for 10,000."""
    complete, wrong = wrongly_complete("sturdy", 400, seed=9)
    assert wrong == 0 and complete > 150


def test_what_is_not_in_doubt_is_right():
    """Blocks lost, torn, or without their beginning, all of it said: every byte not in doubt is as written."""
    generator, sure = random.Random(10), 0
    for _ in range(150):
        data = generator.randbytes(generator.randrange(200, 1500))
        kept = []
        for block in blocks_of(data, STURDY):
            size, turn = len(block.content), generator.random()
            start = generator.randrange(1, size - 1)
            if turn < 0.15:
                continue
            if turn < 0.3:
                block = headless(block, start)
            elif turn < 0.4:
                block = damaged(block, start, generator.randrange(start, size) + 1)
            kept.append(block)
        for file in read(kept).files:
            doubt = np.zeros(max(len(data), len(file.data)), bool)
            for start, stop in file.doubtful:
                doubt[start:stop] = True
            if file.name == "log.txt":
                sure += np.count_nonzero(~doubt)
                assert all(a == b or d for a, b, d in zip(file.data, data, doubt, strict=False))
    assert sure > 20_000


# -- tapes ----------------------------------------------------------------------------------------------

HOLE_S, TAPE_BYTES = 0.5, 560


def test_a_tape_of_ten_seconds_survives_a_scratch_of_half_a_second_anywhere():
    """Five of the fifty places of the full set, leaders and headers among them."""
    data = random_bytes(TAPE_BYTES)
    sound = kit.encode(data, name="tide.bin", format="sturdy", lead_in_s=1.0)
    assert 9 < sound.seconds < 11
    places = np.linspace(0, sound.seconds - HOLE_S, 50)
    assert survives(data, sound, "sturdy", HOLE_S, places[[6, 9, 21, 34, 48]]) == []


def test_a_longer_tape_survives_such_a_scratch_in_every_ten_seconds():
    """The scratches come at the same time in each ten seconds, here from 0.8 s and from 6.4 s on."""
    data = random_bytes(2600, seed=2)
    sound = kit.encode(data, name="tide.bin", format="sturdy", lead_in_s=1.0)
    scratches = [np.arange(start, sound.seconds, 10) for start in (0.8, 6.4)]
    assert survives(data, sound, "auto", HOLE_S, scratches) == []


def test_a_tape_with_parity_is_known_for_what_it_is_when_all_formats_are_listened_for():
    reading = kit.decode(kit.encode(random_bytes(100), format="sturdy", lead_in_s=0.5))
    assert {block.format.name for block in reading.blocks} == {"sturdy"} and reading.complete


def test_a_format_of_ones_own_with_copies_and_parity_goes_there_and_back():
    own = Format("own", block_bytes=32, copies=2, inverted_copies=True, gap_s=0.05, leader_s=0.2, lead_in_s=0.3,
                 outer=Outer(5, 2, interleave=4, header_copies=1))
    data = random_bytes(300)
    reading = kit.decode(kit.encode(data, format=own), format=own)
    assert reading.complete and reading.files[0].data == data


# -- refusals -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ({"data_blocks": 0}, "data_blocks must be a whole number from 1 to 254, got 0"),
        ({"parity_blocks": 2.5}, "parity_blocks must be a whole number from 1 to 254, got 2.5"),
        ({"interleave": 33}, "interleave must be a whole number from 1 to 32, got 33"),
        ({"header_copies": 0}, "header_copies must be a whole number from 1 to 9, got 0"),
        ({"data_blocks": 250, "parity_blocks": 6}, "must be 255 together at most, got 250 and 6"),
    ],
)
def test_settings_out_of_range_are_refused_in_one_line(settings, said):
    with pytest.raises(SettingError) as refused:
        Outer(**settings)
    assert said in str(refused.value) and "\n" not in str(refused.value)


def test_blocks_too_long_for_parity_are_refused_in_one_line():
    with pytest.raises(SettingError, match=r"block_bytes must be 4076 at most with parity blocks, got 4080"):
        STURDY.changed(block_bytes=4080)
