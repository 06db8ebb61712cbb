"""The algebra of copies, on cases small enough to be worked out by hand; the working stands in the docstrings.

The block is "123456789" with its CRC-16/IBM-3740, 0x29B1 (the check value published in G. Cook, "Catalogue of
parametrised CRC algorithms"): eleven bytes in all.
"""

from itertools import permutations

import numpy as np
import pytest
from repair_cases import blocks_of, damaged, found, read

from kit.blocks import DATA, inverted
from kit.found import DAMAGED, MENDED
from kit.known import FORMATS
from kit.repair_copies import aligned, merge, merge_bytes

HOUSE, TWICE = FORMATS["house"], FORMATS["twice"]
WRITTEN = b"123456789\x29\xb1"
NO, YES = False, True  # in doubt


@pytest.fixture
def block():
    block = found(HOUSE, b"123456789")
    assert block.content == WRITTEN
    return block


def copy(*changes, doubt=()):
    """The block's bytes with some changed, as (place, byte), and those at some places in doubt."""
    data, doubtful = np.frombuffer(WRITTEN, np.uint8).copy(), np.zeros(len(WRITTEN), bool)
    for place, byte in changes:
        data[place] = byte
    doubtful[list(doubt)] = True
    return data, doubtful


def soft(data, strength=4.0, **weak):
    """Soft values of some bytes' bits, most significant first; `weak` as b3_6=-0.5 says bit 6 of byte 3."""
    values = np.where(np.unpackbits(np.frombuffer(bytes(data), np.uint8)), strength, -strength)
    for place, value in weak.items():
        byte, bit = map(int, place[1:].split("_"))
        values[8 * byte + bit] = value
    return values.astype(np.float32)


def bytes_of(merged):
    return merged.data.tolist(), merged.doubtful.tolist()


# -- bytes: votes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "byte", "doubtful"),
    [
        pytest.param("5 5 6", 5, NO, id="2 of 3 are more than half"),
        pytest.param("6 5 5", 5, NO, id="2 of 3, wherever they stand"),
        pytest.param("5 5 6 6", 5, YES, id="2 of 4 are just half: not enough"),
        pytest.param("5 5 6 7", 5, YES, id="2 of 4, though no other has as many"),
        pytest.param("5 6 6 5 6", 6, NO, id="3 of 5"),
        pytest.param("5 5 6 6 7", 5, YES, id="2 of 5 twice"),
        pytest.param("5? 6 6? 5", 6, YES, id="of the two that are sure one each, the first of them stands"),
        pytest.param("5? 5? 6", 6, NO, id="1 of 1: two in doubt have no vote"),
        pytest.param("5? 6? 6?", 5, YES, id="none is sure: as the first has it"),
        pytest.param("0 0 255", 0, NO, id="a zero is a byte like any other"),
        pytest.param("255 255 0", 255, NO, id="so is 255"),
    ],
)
def test_a_byte_stands_if_more_than_half_of_those_that_are_sure_have_it(column, byte, doubtful):
    """Each case is one byte of so many copies; ? marks those in doubt."""
    copies = [[int(value.rstrip("?"))] for value in column.split()]
    doubt = [[value.endswith("?")] for value in column.split()]
    assert bytes_of(merge_bytes(copies, doubt)) == ([byte], [doubtful])


def test_columns_have_nothing_to_do_with_each_other():
    """Three copies of three bytes, by hand.

    Copy a: 1  2? 3; copy b: 1? 9 4; copy c: 7? 9 5.
    First byte: only a is sure: 1. Second: b and c are sure, both 9. Third: three differ: a's 3, in doubt.
    """
    copies, doubt = [[1, 2, 3], [1, 9, 4], [7, 9, 5]], [[NO, YES, NO], [YES, NO, NO], [YES, NO, NO]]
    assert bytes_of(merge_bytes(copies, doubt)) == ([1, 9, 3], [NO, NO, YES])


def test_the_order_of_copies_matters_only_where_the_byte_is_in_doubt():
    """By hand, of a: 1 2 3? 4, b: 1 2? 5? 6, c: 7 2 8? 9?.

    First byte: 1, two of three. Second: 2, both that are sure. Third: none is sure. Fourth: 4 against 6.
    So the doubt is NO NO YES YES in every order, and the first two bytes are 1 2.
    """
    copies = np.array([[1, 2, 3, 4], [1, 2, 5, 6], [7, 2, 8, 9]])
    doubt = np.array([[NO, NO, YES, NO], [NO, YES, YES, NO], [NO, NO, YES, YES]])
    for order in map(list, permutations(range(3))):
        data, doubtful = bytes_of(merge_bytes(copies[order], doubt[order]))
        assert (data[:2], doubtful) == ([1, 2], [NO, NO, YES, YES])
        # In doubt, the first copy stands, or the first of those that are sure.
        assert data[2] == copies[order[0], 2]
        assert data[3] == (6 if order.index(1) < order.index(0) else 4)


def test_one_copy_alone_is_as_it_is():
    assert bytes_of(merge_bytes([[1, 2]], [[NO, YES]])) == ([1, 2], [NO, YES])


def test_a_copy_and_the_same_again_say_no_more_than_one():
    """What is in doubt in both stays in doubt, though they agree: the same fault may have hit both."""
    assert bytes_of(merge_bytes([[1, 2]] * 2, [[NO, YES]] * 2)) == ([1, 2], [NO, YES])


@pytest.mark.parametrize("place", [1, 2, 3])
def test_a_copy_in_doubt_everywhere_changes_nothing(place):
    """a: 1 2 3?, b: 1 4 5? give 1 (sure), 2 (in doubt), 3 (in doubt), with or without it, first place excepted."""
    copies, doubt = [[1, 2, 3], [1, 4, 5]], [[NO, NO, YES], [NO, NO, YES]]
    copies.insert(place, [9, 9, 9])
    doubt.insert(place, [YES] * 3)
    assert bytes_of(merge_bytes(copies, doubt)) == ([1, 2, 3], [NO, YES, YES])


def test_all_copies_must_be_merged_at_once_not_two_by_two():
    """Votes do not survive merging: of 5, 5 and 6 the majority is 5.

    5 with 5 first is one copy that says 5; against 6 it is one to one. 5 with 6 first is in doubt; 5 then stands.
    """
    two = merge_bytes([[5], [5]], [[NO], [NO]])
    assert merge_bytes([two.data, [6]], [two.doubtful, [NO]]).doubtful.all()
    two = merge_bytes([[5], [6]], [[NO], [NO]])
    assert bytes_of(merge_bytes([two.data, [5]], [two.doubtful, [NO]])) == ([5], [NO])
    assert bytes_of(merge_bytes([[5], [5], [6]], [[NO]] * 3)) == ([5], [NO])


# -- blocks: the check has the last word -----------------------------------------------------------------


def test_a_majority_of_three_mends_bytes_that_no_copy_doubts(block):
    """Wrong in a at 0, in b at 4, in c at 8: in each place two of three are right, so the first trial agrees."""
    result, trials = merge(block, [copy((0, 7)), copy((4, 7)), copy((8, 7))])
    assert (result.verdict, result.content, trials) == (MENDED, WRITTEN, 1)


def test_a_majority_that_is_wrong_is_not_called_mended(block):
    """Two of three have 7 at place 0. The first trial has it too; nothing is in doubt, so nothing else is tried."""
    result, trials = merge(block, [copy((0, 7)), copy((0, 7)), copy()])
    assert (result.verdict, trials) == (DAMAGED, 1)
    assert result.content[0] == 7 and result.doubtful.all()


@pytest.mark.parametrize(
    ("changes", "trials"),
    [
        pytest.param(((), (2, 6)), 1, id="a is right in both places"),
        pytest.param(((6,), (2,)), 2, id="a is right in the first, b in the second"),
        pytest.param(((2,), (6,)), 3, id="b is right in the first, a in the second"),
        pytest.param(((2, 6), ()), 4, id="b is right in both"),
    ],
)
def test_two_places_that_differ_take_four_trials_at_most_in_this_order(block, changes, trials):
    """Two copies, sure of all, that differ at places 2 and 6: a a, then a b, b a, b b."""
    one, other = (copy(*((place, 7) for place in places)) for places in changes)
    result, used = merge(block, [one, other])
    assert (result.verdict, result.content, used) == (MENDED, WRITTEN, trials)


def test_places_side_by_side_are_tried_as_one(block):
    """Wrong at 2 and 3 in a: one stretch, two choices; its second trial is b's."""
    result, used = merge(block, [copy((2, 7), (3, 7)), copy()])
    assert (result.verdict, used) == (MENDED, 2)
    # Wrong at 2 in a and at 3 in b: still one stretch, and neither copy of it is right.
    result, used = merge(block, [copy((2, 7)), copy((3, 7))])
    assert (result.verdict, used, np.flatnonzero(result.doubtful).tolist()) == (DAMAGED, 2, [2, 3])


def test_the_order_of_copies_does_not_matter_to_a_block_that_is_mended(block):
    """a: wrong and in doubt at 0 and 1; b: in doubt at 1 and 9, wrong at 9; c: wrong at 5 and sure of it.

    0: b and c are sure and right. 1: c is. 9: a and c are. 5: two of three. In any order the first trial agrees.
    """
    copies = copy((0, 7), (1, 7), doubt=(0, 1)), copy((9, 7), doubt=(1, 9)), copy((5, 7))
    for order in permutations(copies):
        result, trials = merge(block, list(order))
        assert (result.verdict, result.content, trials) == (MENDED, WRITTEN, 1)


def test_a_copy_in_doubt_everywhere_does_not_stop_a_block_from_being_mended(block):
    """Nor does it mend one by itself, if what it says is wrong."""
    noise = np.full(len(WRITTEN), 99, np.uint8), np.ones(len(WRITTEN), bool)
    result, trials = merge(block, [copy((0, 7), doubt=(0,)), copy((5, 7), doubt=(5,)), noise])
    assert (result.verdict, result.content, trials) == (MENDED, WRITTEN, 1)
    result, _ = merge(block, [copy((0, 7), doubt=(0,)), noise])
    assert (result.verdict, np.flatnonzero(result.doubtful).tolist()) == (DAMAGED, [0])


def test_two_copies_that_differ_without_a_check_stay_in_doubt_where_they_differ():
    """Nothing can say which is right: as the first has it, and never mended."""
    block = found(HOUSE.changed(name="bare", check="none"), b"123456789")
    one, other = (tuple(part[:9] for part in one) for one in (copy((3, 7)), copy()))
    for copies, byte in (([one, other], 7), ([other, one], ord("4"))):
        result, trials = merge(block, copies)
        assert (result.verdict, result.content[3], trials) == (DAMAGED, byte, 2)
        assert np.flatnonzero(result.doubtful).tolist() == [3]


# -- soft values ----------------------------------------------------------------------------------------


def test_soft_values_decide_bit_by_bit_where_sure_copies_differ(block):
    """At place 3 a has 0x36 and b has 0x35; written is 0x34 = 0011 0100.

    Bit 6: a says one with 0.5, b zero with -3: together -2.5, zero. Bit 7: a says zero with -3, b one with 1:
    together -2, zero. The other bits agree. So 0x34, which is in neither copy, and the first trial agrees.
    """
    one, other = copy((3, 0x36)), copy((3, 0x35))
    values = [soft(one[0], b3_6=0.5, b3_7=-3.0), soft(other[0], b3_6=-3.0, b3_7=1.0)]
    result, trials = merge(block, [one, other], values)
    assert (result.verdict, result.content, trials) == (MENDED, WRITTEN, 1)


def test_soft_values_have_no_say_where_the_copies_agree_or_one_is_not_sure(block):
    """At 0 both agree, and at 5 only b is sure: loud soft values for something else change neither."""
    one, other = copy((5, 7), doubt=(5,)), copy()
    loud = soft(one[0])
    loud[0:8] = soft(b"\x99", 50)
    loud[40:48] = soft(b"\x99", 50)
    result, trials = merge(block, [one, other], [loud, soft(other[0])])
    assert (result.verdict, result.content, trials) == (MENDED, WRITTEN, 1)


def test_of_three_soft_copies_the_two_that_doubt_themselves_give_way(block):
    """At place 3 they have 0x35, 0x36 and 0x34: bit 6 is -1 + 1 - 4 = -4, bit 7 is 1 - 1 - 4 = -4: 0x34."""
    copies = [copy((3, 0x35)), copy((3, 0x36)), copy()]
    values = [
        soft(copies[0][0], b3_6=-1.0, b3_7=1.0),
        soft(copies[1][0], b3_6=1.0, b3_7=-1.0),
        soft(copies[2][0]),
    ]
    for order in permutations(range(3)):
        result, trials = merge(block, [copies[k] for k in order], [values[k] for k in order])
        assert (result.verdict, result.content, trials) == (MENDED, WRITTEN, 1)


def test_without_soft_values_of_every_copy_none_is_asked_and_the_check_is(block):
    """As above, but one copy has none: 0x36 and 0x35 are both tried in vain."""
    one, other = copy((3, 0x36)), copy((3, 0x35))
    result, trials = merge(block, [one, other], [soft(one[0]), None])
    assert (result.verdict, trials, np.flatnonzero(result.doubtful).tolist()) == (DAMAGED, 2, [3])


def test_soft_values_that_are_wrong_do_not_make_a_block_fine(block):
    """a is right at 3, b has 0x36 and is louder: together 0x36, and the check refuses it."""
    one, other = copy(), copy((3, 0x36))
    result, _ = merge(block, [one, other], [soft(one[0]), soft(other[0], 9.0)])
    assert result.content == WRITTEN if result.verdict == MENDED else result.doubtful[3]


# -- inverted copies --------------------------------------------------------------------------------------


def test_inverting_twice_is_not_inverting():
    """0x31 is 0011 0001, inverted 1100 1110, which is 0xCE; and back."""
    assert inverted(b"\x31\x00\xff") == b"\xce\xff\x00" and inverted(inverted(WRITTEN)) == WRITTEN


def test_the_end_of_an_inverted_copy_stands_in_its_place_once_turned(block):
    """Its last four bytes, 38 39 29 B1, lie on the tape as C7 C6 D6 4E."""
    piece = block.changed(content=b"\xc7\xc6\xd6\x4e", doubtful=np.zeros(4, bool), headless=True, verdict=DAMAGED)
    data, doubtful = aligned(piece, 11, turned=True)
    assert data.tobytes() == bytes(7) + WRITTEN[7:]
    assert np.flatnonzero(doubtful).tolist() == list(range(7))
    result, trials = merge(block, [copy((9, 7), (10, 7), doubt=(7, 8, 9, 10)), (data, doubtful)])
    assert (result.verdict, result.content, trials) == (MENDED, WRITTEN, 1)


def test_a_fault_that_sets_a_bit_hits_a_byte_of_only_one_of_a_copy_and_its_inverse():
    """0x34 with bit 7 (the lowest) stuck at one reads 0x35. Its inverse is 0xCB, which has that bit set: it reads
    0xCB, and turned upright it is 0x34. So the copies differ, where two plain ones would agree on 0x35."""
    stuck = np.array([0x34, 0x34 ^ 0xFF], np.uint8) | 1
    upright = [stuck[0], stuck[1] ^ 0xFF]
    assert upright == [0x35, 0x34]
    assert merge_bytes([[byte] for byte in upright], [[NO], [NO]]).doubtful.all()
    assert not merge_bytes([[stuck[0]], [stuck[0]]], [[NO], [NO]]).doubtful.any()


def test_soft_values_of_an_inverted_copy_are_turned_before_they_are_added():
    """Both copies are sure and wrong in another byte each; each doubts itself there with a fifth of the strength.

    At byte 20 the first says the inverse of what is right with -0.2, the second what is right with 1: together
    0.8 of what is right. The second lies on the tape inverted, its data bits with the other sign; its start,
    parity and stop bits are as they are.
    """
    blocks = blocks_of(b"Wind west 5, rain until noon, boat at four.", TWICE)
    places = [k for k, block in enumerate(blocks) if block.kind == DATA]
    written = blocks[places[0]].content
    for k, byte in zip(places, (20, 30), strict=True):
        values = np.where(blocks[k].bits, 1.0, -1.0).astype(np.float32)
        values[11 * byte + 1 : 11 * byte + 9] *= -0.2
        blocks[k] = damaged(blocks[k], byte, byte + 1, say=False).changed(soft=values)
    assert [blocks[k].inverted for k in places] == [False, True]
    (file,) = read(blocks).files
    (mended,) = file.blocks
    assert (mended.verdict, mended.content, mended.note) == (MENDED, written, "made of 2 copies")
