"""The bench of damage: checks against Python's own, and what lesson 7 lets people predict, on many damages."""

import binascii
import functools
import operator
import zlib

import numpy as np
import pytest

from kit.bench import damage
from kit.bench.damage import (
    DAMAGE,
    NAMES,
    PATTERNS,
    DamageState,
    check_values,
    find,
    flips_of,
    pick_tile,
    why_missed,
)
from kit.bench.model import Model

TEXT = "Wind W5 gusts 9"
BOTH_PARITIES = ("parity, each byte", "parity")


def missed(result):
    return {name for name, (before, after) in result.values.items() if before == after}


def test_check_values_are_those_of_other_hands():
    data = TEXT.encode()
    values = check_values(data)
    assert values["crc-32/iso-hdlc"] == zlib.crc32(data).to_bytes(4, "little")
    assert values["crc-16/ibm-3740"] == binascii.crc_hqx(data, 0xFFFF).to_bytes(2, "big")
    assert values["sum-8"] == bytes([sum(data) % 256])
    assert values["xor-8"] == bytes([functools.reduce(operator.xor, data)])
    assert values["parity, each byte"] == bytes(each.bit_count() % 2 for each in data)
    assert values["parity"] == bytes([sum(map(int.bit_count, data)) % 2])


@pytest.mark.parametrize("place", range(0, 120, 7))
def test_two_flips_in_one_byte_pass_parity(place):
    """What lesson 7 lets people predict first; wherever they are."""
    result = find(DamageState(place=place))
    assert set(BOTH_PARITIES) <= missed(result) and "crc-16/ibm-3740" not in missed(result)
    assert result.missed["parity"] == result.missed["parity, each byte"] == result.trials == 300
    assert "in each byte an even number of bits is flipped" in result.text


@pytest.mark.parametrize("place", range(0, 120, 7))
def test_one_flip_is_seen_by_every_check(place):
    result = find(DamageState(place=place, count=1))
    assert not missed(result) and "Every check here sees it" in result.text
    assert not any(result.missed.values())


def test_a_matching_sum_is_probable_not_certain():
    """The second prediction: of damages by a coin 1 in 256 passes the sum, half pass one parity bit."""
    missed_by, trials = damage._many(TEXT.encode(), "every bit by a coin", 1, 6000)
    assert trials == 6000
    assert missed_by["sum-8"] / trials == pytest.approx(1 / 256, abs=4 * (1 / 256 / 6000) ** 0.5)
    assert missed_by["parity"] / trials == pytest.approx(1 / 2, abs=4 * (0.25 / 6000) ** 0.5)
    assert missed_by["crc-16/ibm-3740"] <= 3 and missed_by["crc-32/iso-hdlc"] == 0


def test_swapped_bytes_pass_the_sums_that_know_no_order():
    for count in range(1, 16):
        result = find(DamageState(pattern="two bytes swapped", count=count))
        if result.flips.any():
            assert {"xor-8", "sum-8", "parity"} <= missed(result)
            assert not {"fletcher-16", "crc-16/ibm-3740", "crc-32/iso-hdlc"} & missed(result)
            assert sorted(result.sent) == sorted(result.arrived)
        assert result.missed["sum-8"] == result.trials


def test_bytes_that_are_alike_can_change_places_unseen_and_it_says_that_nothing_changed():
    result = find(DamageState(words="gulls", pattern="two bytes swapped", count=1, place=16))
    assert not result.flips.any() and "Nothing is changed" in result.text and result.trials < 300


@pytest.mark.parametrize("count", range(2, 17))
def test_no_burst_up_to_16_bits_passes_a_crc_of_16_bits(count):
    result = find(DamageState(pattern="a burst", count=count))
    assert result.missed["crc-16/ibm-3740"] == 0 == result.missed["crc-32/iso-hdlc"]
    hit = np.flatnonzero(result.flips)
    assert hit[-1] - hit[0] == count - 1


@pytest.mark.parametrize(("first", "second"), [(0, 8), (8, 56), (16, 112)])
def test_two_flips_of_top_bits_pass_the_sum(first, second):
    """Each changes it by 128, up or down: together by 256 or nothing."""
    result = find(DamageState(pattern="by hand only", by_hand=f"{first} {second}"))
    assert np.flatnonzero(result.flips).tolist() == [first, second] and "sum-8" in missed(result)


@pytest.mark.parametrize("pattern", PATTERNS)
def test_a_pattern_flips_what_it_says_from_its_first_bit_on(pattern):
    data = TEXT.encode()
    for place in (0, 41, 119, 127):
        flips = flips_of(data, pattern, 3, place, np.random.default_rng(1)).reshape(-1, 8)
        hit, first = flips.sum(), divmod(place % 120, 8)
        if pattern == "bits of one byte":
            assert hit == 3 == flips[first[0]].sum()
        elif pattern == "bits of one column":
            assert hit == 3 == flips[:, first[1]].sum()
        elif pattern == "bits anywhere":
            assert hit == 3 and flips[first]
        elif pattern == "by hand only":
            assert hit == 0


def test_reasons_hold_for_what_was_missed():
    """A reason is not a guess: the sums it speaks of are computed from the bytes."""
    assert why_missed("sum-8", b"\x00\x80", b"\x80\x00") == "what some bytes gain others lose"
    assert why_missed("sum-8", b"\x00\x00", b"\x80\x80") == "the sum changes by +256, a multiple of 256"
    assert why_missed("parity", b"\x00", b"\x03") == "2 flips are an even number"


def test_painting_is_the_same_as_typing_and_painting_twice_is_nothing():
    model = Model(DAMAGE)
    model.change(pattern="by hand only")
    model.pick(0, 5.5, 7.5)
    model.pick(0, 0.2, 0.1)
    assert model.state.by_hand == "7 40" and np.flatnonzero(model.result.flips).tolist() == [7, 40]
    model.pick(0, 5.5, 7.5)
    assert model.state.by_hand == "7"
    for wrong in ((1, 2.0, 2.0), (0, 15.5, 2.0), (0, -1.0, 2.0), (0, 1.0, 8.5), (0, float("nan"), 1.0), (0, 1, None)):
        model.pick(*wrong)
    assert model.state.by_hand == "7"


def test_what_is_no_number_of_a_bit_is_left_out_and_said():
    result = find(DamageState(by_hand="7 x9 500"))
    assert result.flips[7] and "“x9” is no number of a bit from 0 to 119" in result.text
    assert find(DamageState(words="", by_hand="3")).text.startswith("There is nothing to damage")


def test_the_picture_in_words_names_every_check_with_its_count():
    state = DamageState()
    scene = DAMAGE.draw(state, find(state))
    assert all(name in scene.text for name in NAMES.values()) and "flipped are: 41, 42" in scene.text
    assert pick_tile(state, 0, 0.5, 7.5) == {"by_hand": "0"}
