"""The Reed–Solomon code against a published symbol and against another library."""

from itertools import combinations

import numpy as np
import pytest
import reedsolo

from kit.errors import SettingError
from kit.repair_field import correct, parity_rows, product, syndromes

# ISO/IEC 18004, symbol example: sixteen data codewords and their ten check codewords.
DATA = bytes.fromhex("10200C566180EC11EC11EC11EC11EC11")
CHECK = bytes.fromhex("A524D4C1ED36C7872C55")


def column(data):
    return np.frombuffer(data, np.uint8)[:, None]


def word_of(data, parity):
    return np.concatenate((data, parity_rows(data, parity)))


def random_rows(generator, rows, columns=1):
    return generator.integers(0, 256, (rows, columns), dtype=np.uint8)


def test_the_check_codewords_of_the_published_symbol_come_out():
    """ISO/IEC 18004, symbol example."""
    assert parity_rows(column(DATA), len(CHECK))[:, 0].tobytes() == CHECK


def test_the_published_symbol_has_its_roots_at_the_first_ten_powers():
    """A code whose first root were α¹ would not agree here."""
    assert not syndromes(column(DATA + CHECK), 10).any()
    assert syndromes(column(DATA + CHECK), 11)[10].any()


def test_products_are_those_of_long_multiplication():
    """Shift and add, modulo x⁸+x⁴+x³+x²+1, for all 65,536 pairs."""
    a, b = np.meshgrid(np.arange(256), np.arange(256))
    slow, shifted = np.zeros_like(a), a.copy()
    for bit in range(8):
        slow ^= np.where(b >> bit & 1, shifted, 0)
        shifted = shifted << 1 ^ np.where(shifted & 0x80, 0x11D, 0)
    assert (product(a.astype(np.uint8), b.astype(np.uint8)) == slow).all()


@pytest.mark.parametrize("parity", [1, 2, 4, 10, 31])
def test_parity_is_that_of_the_other_library(parity):
    generator = np.random.Generator(np.random.PCG64(parity))
    other = reedsolo.RSCodec(parity, fcr=0, prim=0x11D)
    for size in (1, 2, 17, 100, 255 - parity):
        data = random_rows(generator, size, 3)
        mine = word_of(data, parity)
        for k in range(3):
            assert bytes(other.encode(data[:, k].tobytes())) == mine[:, k].tobytes()


def test_lost_and_wrong_bytes_are_mended_as_the_other_library_mends_them():
    """Any number of lost and wrong bytes that a code can bear: both give back what was written."""
    generator = np.random.Generator(np.random.PCG64(1))
    for _ in range(150):
        parity, size = int(generator.integers(1, 17)), int(generator.integers(1, 60))
        lost = int(generator.integers(0, min(parity, size + parity) + 1))
        wrong = int(generator.integers(0, (parity - lost) // 2 + 1))
        word = word_of(random_rows(generator, size), parity)
        places = generator.permutation(len(word))[: lost + wrong]
        heard, known = word.copy(), np.zeros(word.shape, bool)
        heard[places, 0] ^= generator.integers(1, 256, len(places)).astype(np.uint8)
        known[places[:lost]] = True
        mended, solved = correct(heard, known, parity)
        assert solved.all() and (mended == word).all()
        other = reedsolo.RSCodec(parity, fcr=0, prim=0x11D)
        theirs = other.decode(heard[:, 0].tobytes(), erase_pos=[int(k) for k in places[:lost]])[1]
        assert bytes(theirs) == mended[:, 0].tobytes()


@pytest.mark.parametrize(("size", "parity"), [(1, 3), (4, 2), (6, 3), (5, 4)])
def test_every_pattern_of_lost_bytes_up_to_the_parity_is_mended(size, parity):
    """All patterns at once: one a column."""
    generator = np.random.Generator(np.random.PCG64(2))
    length = size + parity
    patterns = [p for count in range(parity + 1) for p in combinations(range(length), count)]
    word = word_of(random_rows(generator, size, len(patterns)), parity)
    lost = np.array([[row in pattern for pattern in patterns] for row in range(length)])
    heard = np.where(lost, random_rows(generator, length, len(patterns)), word)
    mended, solved = correct(heard, lost, parity)
    assert solved.all() and (mended == word).all()


def test_one_byte_more_lost_than_parity_is_left_alone_and_said():
    """Nothing tells what it was."""
    word = word_of(random_rows(np.random.Generator(np.random.PCG64(3)), 6, 4), 3)
    lost = np.zeros(word.shape, bool)
    lost[:4, 0] = True
    heard = np.where(lost, np.uint8(0), word)
    mended, solved = correct(heard, lost, 3)
    assert solved.tolist() == [False, True, True, True]
    assert (mended == heard).all()


def test_more_wrong_bytes_than_the_code_can_place_are_seldom_taken_for_another_word():
    """Three wrong bytes against four parity bytes: not one in fifty becomes a word, and none the right one.

    Of all words beyond reach about n²/2 · 255² · 256⁻⁴ lie near another codeword: 0.2 % for 20 bytes.
    """
    generator = np.random.Generator(np.random.PCG64(4))
    taken = 0
    for _ in range(300):
        word = word_of(random_rows(generator, 16), 4)
        heard = word.copy()
        places = generator.permutation(20)[:3]
        heard[places, 0] ^= generator.integers(1, 256, 3).astype(np.uint8)
        mended, solved = correct(heard, np.zeros(word.shape, bool), 4)
        taken += solved[0]
        assert not (mended == word).all()
    assert taken <= 6


def test_a_codeword_that_is_too_long_is_refused_in_one_line():
    with pytest.raises(SettingError, match=r"must be 255 bytes at most, got 250 and 6"):
        parity_rows(np.zeros((250, 1), np.uint8), 6)
