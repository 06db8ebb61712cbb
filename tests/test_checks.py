"""Checks: what all of them promise, and the general CRC against long division done by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.checks import CHECKS, CRCS, Check, Crc, check, crc
from kit.errors import SettingError

REAL = sorted(set(CHECKS) - {"none"})


def long_division(data, model):
    """The CRC as a division of polynomials on one long number: no table, no register, no bytes."""
    bits = "".join(f"{byte:08b}"[::-1] if model.refin else f"{byte:08b}" for byte in data)
    # The initial value is added to the first bits; zeros for the check are appended.
    dividend = (int(bits or "0", 2) << model.width) ^ (model.init << len(bits))
    divisor = (1 << model.width) | model.poly
    while dividend.bit_length() > model.width:
        dividend ^= divisor << (dividend.bit_length() - divisor.bit_length())
    remainder = f"{dividend:0{model.width}b}"
    return int(remainder[::-1] if model.refout else remainder, 2) ^ model.xorout


@st.composite
def models(draw):
    """Any CRC of 8 to 32 bits."""
    width = draw(st.integers(8, 32))
    values = st.integers(0, 2**width - 1)
    return Crc(width, draw(values), draw(values), draw(st.booleans()), draw(st.booleans()), draw(values))


@given(models(), st.binary(max_size=20))
@settings(max_examples=300, deadline=None)
def test_any_crc_is_the_remainder_of_a_long_division(model, data):
    """Width, polynomial, start value, both bit orders, last exclusive or: as the catalogue means them."""
    assert crc(data, model) == long_division(data, model)


@pytest.mark.parametrize("name", CRCS)
@given(data=st.binary(max_size=60))
@settings(max_examples=30, deadline=None)
def test_the_quick_functions_agree_with_long_division(name, data):
    """Those that Python has in C are the ones the catalogue means."""
    assert check(name).function(data) == long_division(data, CRCS[name])


@pytest.mark.parametrize("name", CRCS)
def test_data_followed_by_its_check_leaves_the_same_remainder_whatever_the_data(name):
    """The bytes of the check are sent in the order in which the division goes on through them."""
    rng = np.random.default_rng(1)
    remainders = {crc(data + check(name).compute(data), CRCS[name]) for data in map(rng.bytes, range(1, 40))}
    assert len(remainders) == 1


@pytest.mark.parametrize("name", CHECKS)
def test_a_check_has_its_size_and_agrees_with_undamaged_data(name):
    """Also of no data at all."""
    for data in (b"", b"\x00", b"wind 7, rain", bytes(range(256)) * 5):
        computed = check(name).compute(data)
        assert isinstance(computed, bytes)
        assert len(computed) == check(name).size_bytes
        assert check(name).agrees(data, computed)


@pytest.mark.parametrize("name", REAL)
def test_every_check_sees_every_single_flipped_bit(name):
    """In the data or in the check itself."""
    data = b"gusts 21 m/s, sea state 6"
    whole = bytearray(data + check(name).compute(data))
    missed = []
    for bit in range(8 * len(whole)):
        whole[bit // 8] ^= 1 << bit % 8
        if check(name).agrees(whole[:len(data)], whole[len(data):]):
            missed.append(bit)
        whole[bit // 8] ^= 1 << bit % 8
    assert missed == []


def test_no_check_sees_nothing():
    """The comparison: without a check all damage passes."""
    assert check("none").compute(b"abc") == b""
    assert check("none").agrees(b"abd", b"")


@pytest.mark.parametrize("name", REAL)
def test_a_check_cut_short_or_too_long_does_not_agree(name):
    """Bytes missing from the check are a fault too."""
    computed = check(name).compute(b"log")
    assert not check(name).agrees(b"log", computed[:-1])
    assert not check(name).agrees(b"log", computed + b"\x00")


@pytest.mark.parametrize("name", CHECKS)
@pytest.mark.parametrize("kind", [bytearray, memoryview, lambda data: np.frombuffer(data, np.uint8)])
def test_any_kind_of_bytes_will_do(name, kind):
    """Bytes, bytearray, memoryview and arrays of uint8 give the same check."""
    assert check(name).compute(kind(b"island log")) == check(name).compute(b"island log")


@pytest.mark.parametrize("name", CHECKS)
def test_each_second_byte_of_an_array_is_read_as_such(name):
    """An array that does not lie in one piece is read in its own order."""
    stepped = np.arange(20, dtype=np.uint8)[::2]
    assert check(name).compute(stepped) == check(name).compute(bytes(range(0, 20, 2)))


@pytest.mark.parametrize("name", REAL)
@pytest.mark.parametrize("data", ["text", 5, None, [1, 2], np.zeros(3)])
def test_what_is_not_bytes_is_refused(name, data):
    """Text must be encoded first."""
    with pytest.raises(SettingError, match="data must be bytes, got"):
        check(name).compute(data)


@pytest.mark.parametrize("name", ["crc-17", None, ["xor-8"], ""])
def test_an_unknown_check_is_refused_with_the_known_names(name):
    """The message lists what there is."""
    with pytest.raises(SettingError, match=r"crc-16/ibm-3740, .*got") as caught:
        check(name)
    assert repr(name) in str(caught.value)


@pytest.mark.parametrize("values", [(7, 1), (33, 1), (8, 256), (8, 1, 0, True, True, -1), (8.0, 1)])
def test_an_impossible_crc_is_refused(values):
    """Everything must fit in the width."""
    with pytest.raises(SettingError, match="got"):
        Crc(*values)


def test_every_check_says_what_it_misses():
    """Names and notes are complete."""
    for name, each in CHECKS.items():
        assert isinstance(each, Check)
        assert each.name == name
        assert "misses" in each.note or "like" in each.note
