"""The algebra of copies of a block, on cases small enough to be worked out by hand; the working is in the docstrings.

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
from kit.repair_copies import aligned, merge

HOUSE, TWICE = FORMATS["house"], FORMATS["twice"]
WRITTEN = b"123456789\x29\xb1"


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


# -- blocks: the check has the last word ----------------------------------------------------------------


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


# -- inverted copies ------------------------------------------------------------------------------------


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
