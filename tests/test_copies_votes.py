"""How the bytes of copies vote, on cases small enough to be worked out by hand; the working is in the docstrings."""

from itertools import permutations

import numpy as np
import pytest

from kit.repair_copies import merge_bytes

NO, YES = False, True  # in doubt


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


# -- inverted copies ------------------------------------------------------------------------------------


def test_a_fault_that_sets_a_bit_hits_a_byte_of_only_one_of_a_copy_and_its_inverse():
    """0x34 with bit 7 (the lowest) stuck at one reads 0x35. Its inverse is 0xCB, which has that bit set: it reads
    0xCB, and turned upright it is 0x34. So the copies differ, where two plain ones would agree on 0x35."""
    stuck = np.array([0x34, 0x34 ^ 0xFF], np.uint8) | 1
    upright = [stuck[0], stuck[1] ^ 0xFF]
    assert upright == [0x35, 0x34]
    assert merge_bytes([[byte] for byte in upright], [[NO], [NO]]).doubtful.all()
    assert not merge_bytes([[stuck[0]], [stuck[0]]], [[NO], [NO]]).doubtful.any()
