"""Checks against published values, and against what can be computed about what they miss."""

from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest

from kit.checks import CHECKS, CRCS, check, crc, fletcher_16, ones_complement_sum_16

NINE = b"123456789"

# Source: G. Cook, Catalogue of parametrised CRC algorithms, "check" of the nine ASCII digits
# (MODBUS and IBM-SDLC: from memory).
CATALOGUE = {
    "crc-8/smbus": 0xF4, "crc-8/rohc": 0xD0, "crc-8/maxim-dow": 0xA1,
    "crc-16/arc": 0xBB3D, "crc-16/modbus": 0x4B37, "crc-16/umts": 0xFEE8, "crc-16/xmodem": 0x31C3,
    "crc-16/ibm-3740": 0x29B1, "crc-16/kermit": 0x2189, "crc-16/genibus": 0xD64E, "crc-16/mcrf4xx": 0x6F91,
    "crc-16/ibm-sdlc": 0x906E, "crc-32/iso-hdlc": 0xCBF43926,
}
# Source: AUTOSAR R22-11, specification of CRC routines, §7.2.2.2 (via the catalogue): data, then the check,
# low byte first.
ARC_CODEWORDS = ["00000000 0000", "F20183 E1C2", "0FAA0055 E30B", "00FF5511 CF6C", "332255AABBCCDDEEFF 98AE",
                 "926B55 4EE2", "FFFFFFFF 0194"]


def flipped(codeword, bits):
    """A codeword with some bits flipped; bit 0 is the first in time (most significant first)."""
    mask = sum(1 << (8 * len(codeword) - 1 - bit) for bit in bits)
    return (int.from_bytes(codeword, "big") ^ mask).to_bytes(len(codeword), "big")


def missed_pairs(name, data):
    """How many of the two-bit errors in data and check go unseen, and how many there are."""
    codeword = data + check(name).compute(data)
    pairs = list(combinations(range(8 * len(codeword)), 2))
    damaged = (flipped(codeword, pair) for pair in pairs)
    return sum(check(name).agrees(each[:len(data)], each[len(data):]) for each in damaged), len(pairs)


def missed_bursts(name, length):
    """How many error bursts of exactly `length` bits go unseen, at each place in four bytes."""
    data = b"\xA5\x3C"
    whole = int.from_bytes(data + check(name).compute(data), "big")
    ends = 1 | 1 << (length - 1)
    patterns = [ends | inner << 1 for inner in range(1 << max(length - 2, 0))]
    missed = []
    for place in range(32 - length + 1):
        damaged = ((whole ^ (pattern << place)).to_bytes(4, "big") for pattern in patterns)
        missed.append(sum(check(name).agrees(each[:2], each[2:]) for each in damaged))
    return missed


@pytest.mark.parametrize("name", CATALOGUE)
def test_the_catalogues_check_values_come_out(name):
    """By the general division and by the named check."""
    assert crc(NINE, CRCS[name]) == CATALOGUE[name]
    assert int.from_bytes(check(name).compute(NINE), check(name).order) == CATALOGUE[name]


def test_the_list_of_crcs_is_the_list_of_check_values():
    """None stands in the kit without a value to check it by."""
    assert set(CRCS) == set(CATALOGUE)


@pytest.mark.parametrize("codeword", ARC_CODEWORDS)
def test_published_codewords_of_crc_16_arc_agree(codeword):
    """The check goes out low byte first."""
    data, sent = map(bytes.fromhex, codeword.split())
    assert check("crc-16/arc").compute(data) == sent
    assert check("crc-16/arc").agrees(data, sent)


def test_good_frames_leave_the_published_remainder():
    """Source: RFC 1662, appendix C: F0B8, before the final inversion."""
    for data in (b"", b"\x00", NINE, bytes(range(256))):
        codeword = data + check("crc-16/ibm-sdlc").compute(data)
        assert crc(codeword, CRCS["crc-16/ibm-sdlc"]) ^ 0xFFFF == 0xF0B8


def test_the_internet_checksum_of_the_published_examples():
    """Source: RFC 1071 §3 (sum ddf2); the IPv4 header is a textbook example (its check is b861)."""
    assert ones_complement_sum_16(bytes.fromhex("0001f203f4f5f6f7")) == 0xDDF2
    header = bytes.fromhex("45000073000040004011 0000 c0a80001c0a800c7")
    assert check("ones-complement-16").compute(header).hex() == "b861"


@pytest.mark.parametrize(("data", "value"), [(b"abcde", 0xC8F0), (b"abcdef", 0x2057), (b"abcdefgh", 0x0627)])
def test_fletcher_16_of_the_usual_examples(data, value):
    """From memory; reckoned again here with plain running sums."""
    first = second = 0
    for byte in data:
        first = (first + byte) % 255
        second = (second + first) % 255
    assert fletcher_16(data) == value == second << 8 | first


def test_adler_32_of_abc():
    """Source: RFC 1950 for the algorithm: 1 + 97 + 98 + 99 = 0127h; 98 + 196 + 295 = 024Dh."""
    assert check("adler-32").compute(b"abc").hex() == "024d0127"


def test_exclusive_or_and_sum_of_the_nine_digits():
    """1 to 9 as ASCII: the exclusive or of 31h to 39h is 31h, their sum is 477 = 256 + DDh."""
    assert check("xor-8").compute(NINE) == b"\x31"
    assert check("sum-8").compute(NINE) == b"\xDD"


def test_fletcher_does_not_see_00_become_ff():
    """Source: RFC 1950 §8.2. A CRC sees it."""
    assert check("fletcher-16").compute(b"log\x00book") == check("fletcher-16").compute(b"log\xFFbook")
    assert check("crc-16/ibm-3740").compute(b"a\x00b") != check("crc-16/ibm-3740").compute(b"a\xFFb")


@pytest.mark.parametrize("size", range(2, 13))
def test_an_exclusive_or_byte_misses_its_exact_share_of_two_bit_errors(size):
    """(n − 1)/(8n − 1) for n bytes with the check: the second must hit the same column. Exhaustive."""
    data = np.random.default_rng(size).bytes(size - 1)
    assert Fraction(*missed_pairs("xor-8", data)) == Fraction(size - 1, 8 * size - 1)


def test_checks_rank_as_published_for_two_bit_errors():
    """Source: Maxino & Koopman, IEEE TDSC 6(1), 2009 (abstract): XOR, sum, ones' complement … CRC."""
    names = ("xor-8", "sum-8", "ones-complement-16", "fletcher-16", "crc-16/ibm-3740")
    data = np.random.default_rng(8).bytes(24)
    shares = [Fraction(*missed_pairs(name, data)) for name in names]
    assert shares == sorted(shares, reverse=True)
    assert len(set(shares[:4])) == 4
    assert shares[3:] == [0, 0]


@pytest.mark.parametrize("length", [1, 2, 3, 4, 8, 12, 15, 16])
def test_a_crc_16_misses_no_burst_of_up_to_16_bits(length):
    """Every pattern at every place of four bytes, check included. Exhaustive."""
    assert missed_bursts("crc-16/ibm-3740", length) == [0] * (33 - length)


@pytest.mark.parametrize(("length", "missed"), [(17, 1), (18, 1), (19, 2)])
def test_a_crc_16_misses_the_known_share_of_longer_bursts(length, missed):
    """Of 17 bits 1 in 32768, of more 1 in 65536: 1 of 2**15, 1 of 2**16, 2 of 2**17. Exhaustive."""
    found = missed_bursts("crc-16/ibm-3740", length)
    assert set(found) == {missed}
    assert Fraction(missed, 1 << (length - 2)) == Fraction(1, 32768 if length == 17 else 65536)


def test_crc_1021_sees_every_two_bit_error_within_32767_bits():
    """Each flip leaves another remainder, so no two cancel; the first and the 32768th bit do. Exhaustive."""
    name = "crc-16/ibm-3740"
    data = bytes(4094)
    codeword = bytearray(data + check(name).compute(data))
    remainders = []
    for bit in range(32768):
        codeword[bit // 8] ^= 0x80 >> bit % 8
        remainders.append(CHECKS[name].function(codeword))
        codeword[bit // 8] ^= 0x80 >> bit % 8
    undamaged = CHECKS[name].function(codeword)
    assert undamaged not in remainders
    assert len(set(remainders[:32767])) == 32767
    assert remainders[0] == remainders[32767]
    assert check(name).agrees(*_split(flipped(bytes(codeword), (0, 32767))))
    assert not check(name).agrees(*_split(flipped(bytes(codeword), (1, 32767))))


@pytest.mark.parametrize("poly", [0x8005, 0x1021])
def test_powers_of_x_repeat_only_after_32767_bits(poly):
    """The same for both polynomials by arithmetic alone: x**k leaves 1 for the first time at k = 32767."""
    power, steps = 2, 1
    while power != 1:
        power, steps = (power << 1) ^ (0x10000 | poly if power & 0x8000 else 0), steps + 1
    assert steps == 32767


def _split(codeword):
    return codeword[:-2], codeword[-2:]
