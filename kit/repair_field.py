"""Reed–Solomon codes over the field of 256: bytes that correct others, columns of blocks at a time.

A codeword is k data bytes and m parity bytes. Read as a polynomial, first byte first, it has the roots
α⁰ … α^(m-1); α is 2 in the field of bytes modulo x⁸+x⁴+x³+x²+1 (0x11D). It bears e lost bytes at known places
and v wrong ones at unknown places as long as e + 2v ≤ m.

Source
------
I. S. Reed, G. Solomon, "Polynomial codes over certain finite fields", J. SIAM 8(2), 1960. Field and first root
as in the symbol example of ISO/IEC 18004.
"""

from functools import cache

import numpy as np

from .errors import SettingError

__all__ = ["LONGEST", "correct", "parity_rows", "product", "syndromes"]

POLYNOMIAL = 0x11D
MOST_IN_VAIN = 16  # codewords in which errors are looked for in vain, one after another, before that is given up
LONGEST = 255  # bytes in a codeword: one for each power of α


@cache
def _tables():
    """Powers of α (twice over, so that sums of logarithms need no reduction), and logarithms; α⁰ to α²⁵⁴."""
    powers, logs = np.zeros(2 * LONGEST, np.uint8), np.zeros(256, np.intp)
    value = 1
    for exponent in range(LONGEST):
        powers[exponent] = powers[exponent + LONGEST] = value
        logs[value] = exponent
        value = value << 1 ^ (POLYNOMIAL if value & 0x80 else 0)
    return powers, logs


def product(a, b):
    """Products in the field.

    Parameters
    ----------
    a, b : array_like of uint8
        Of shapes that fit each other.

    Returns
    -------
    ndarray of uint8

    Examples
    --------
    >>> int(product(0x80, 2)), int(product(7, 0))
    (29, 0)
    """
    powers, logs = _tables()
    a, b = np.asarray(a, np.uint8), np.asarray(b, np.uint8)
    return np.where((a == 0) | (b == 0), np.uint8(0), powers[logs[a] + logs[b]])


def _power(exponent):
    return _tables()[0][np.asarray(exponent) % LONGEST]


def _inverse(value):
    powers, logs = _tables()
    return powers[(-logs[value]) % LONGEST]


def _matrix_product(matrix, rows):
    """Matrix (a, b) times rows (b, columns)."""
    result = np.zeros((matrix.shape[0], rows.shape[1]), np.uint8)
    for k in range(matrix.shape[1]):
        result ^= product(matrix[:, k, None], rows[k])
    return result


@cache
def _parity_matrix(data_rows, parity):
    """What each data byte adds to each parity byte: remainders of its power of x, shape (parity, data_rows)."""
    generator = np.array([1], np.uint8)  # highest power first
    for root in range(parity):
        times_root = product(generator, _power(root))
        generator = np.append(generator, np.uint8(0)) ^ np.append(np.uint8(0), times_root)
    remainder = generator[1:]  # of x to the power of `parity`, then of the next ones
    matrix = np.zeros((parity, data_rows), np.uint8)
    for row in range(data_rows - 1, -1, -1):
        matrix[:, row] = remainder
        remainder = np.append(remainder[1:], np.uint8(0)) ^ product(generator[1:], remainder[0])
    return matrix


def parity_rows(data, parity):
    """Parity bytes of data, one codeword a column.

    Parameters
    ----------
    data : ndarray of uint8, shape (k, columns)
        First row first in each codeword.
    parity : int
        Parity bytes a codeword; with k at most 255.

    Returns
    -------
    ndarray of uint8, shape (parity, columns)

    Raises
    ------
    SettingError
        The codeword would be too long.
    """
    data = np.asarray(data, np.uint8)
    if not 1 <= parity < LONGEST or len(data) + parity > LONGEST:
        raise SettingError(
            f"data and parity together must be {LONGEST} bytes at most, got {len(data)} and {parity}"
        )
    return _matrix_product(_parity_matrix(len(data), parity), data)


def syndromes(words, parity):
    """The codewords' values at the roots: all 0 where nothing is wrong.

    Parameters
    ----------
    words : ndarray of uint8, shape (n, columns)
        Data rows, then parity rows.
    parity : int

    Returns
    -------
    ndarray of uint8, shape (parity, columns)
    """
    return _matrix_product(_locators(len(words), parity), words)


@cache
def _locators(length, parity):
    """Powers 0 to parity - 1 of each place's locator; shape (parity, length)."""
    return _power(np.arange(parity)[:, None] * np.arange(length - 1, -1, -1))


def correct(words, lost, parity):
    """Mend codewords, one a column.

    Parameters
    ----------
    words : ndarray of uint8, shape (n, columns)
        Data rows, then parity rows.
    lost : ndarray of bool, shape (n, columns)
        True where a byte is not to be believed.
    parity : int
        How many of the rows are parity.

    Returns
    -------
    words : ndarray of uint8, shape (n, columns)
        With columns as they must have been, where that can be told; else as they came.
    solved : ndarray of bool, shape (columns,)
        True where a codeword results. A column with as many lost bytes as parity always gives one: nothing is
        left to tell whether it is the right one.
    """
    words = np.array(words, np.uint8)
    solved = np.zeros(words.shape[1], bool)
    patterns, which = np.unique(lost, axis=1, return_inverse=True)
    for k, pattern in enumerate(patterns.T):
        columns = np.flatnonzero(which.reshape(-1) == k)
        places = np.flatnonzero(pattern)
        if len(places) > parity:
            continue
        filled, agrees = _filled(words[:, columns], places, parity)
        words[:, columns[agrees]], solved[columns[agrees]] = filled[:, agrees], True
        if parity - len(places) >= 2:
            _correct_errors(words, solved, columns[~agrees], places, parity)
    return words, solved


def _correct_errors(words, solved, columns, places, parity):
    """Mend columns with errors at unknown places, in place."""
    in_vain = 0
    for column in columns:
        word = _without_errors(words[:, column], places, parity)
        in_vain = in_vain + 1 if word is None else 0
        if word is not None:
            words[:, column], solved[column] = word, True
        elif in_vain == MOST_IN_VAIN:
            return


def _filled(words, places, parity):
    """Words with the bytes at some places computed from the others, and whether the spare roots agree."""
    words = words.copy()
    words[places] = 0
    values = syndromes(words, parity)
    count = len(places)
    if count:
        inverse = _inverted(_locators(len(words), parity)[:count, places])
        words[places] = _matrix_product(inverse, values[:count])
        values = syndromes(words, parity)
    return words, ~values.any(axis=0)


def _inverted(matrix):
    """The inverse of a small square matrix, by elimination."""
    size = len(matrix)
    work = np.concatenate((matrix, np.eye(size, dtype=np.uint8)), axis=1)
    for k in range(size):
        pivot = k + int(np.flatnonzero(work[k:, k])[0])
        work[[k, pivot]] = work[[pivot, k]]
        work[k] = product(work[k], _inverse(work[k, k]))
        others = work[:, k].copy()
        others[k] = 0
        work ^= product(others[:, None], work[k])
    return work[:, size:]


def _without_errors(word, places, parity):
    """A word with lost places and also errors at unknown ones, mended; None if there are too many."""
    known = syndromes(word[:, None], parity)[:, 0]
    locator = _error_locator(known, _power(len(word) - 1 - places))
    exponents = np.arange(len(word) - 1, -1, -1)
    values = np.zeros(len(word), np.uint8)
    for coefficient in locator[::-1]:  # at the inverse of each place's locator
        values = product(values, _power(-exponents)) ^ coefficient
    found = np.flatnonzero(values == 0)
    errors = len(locator) - 1 - len(places)
    if len(found) != len(locator) - 1 or len(places) + 2 * errors > parity:
        return None
    filled, agrees = _filled(word[:, None], found, parity)
    return filled[:, 0] if agrees[0] else None


def _error_locator(values, lost):
    """The polynomial whose roots are the inverses of the locators of lost and wrong places, lowest power first.

    Source
    ------
    J. Massey, "Shift-register synthesis and BCH decoding", IEEE Trans. Inf. Theory 15(1), 1969; begun with the
    polynomial of the lost places, as in R. Blahut, "Theory and practice of error control codes", 1983.
    """
    size = len(values) + 1
    now = np.zeros(size, np.uint8)
    now[0] = 1
    for root in lost:
        now[1:] ^= product(now[:-1], root)
    before, length = now.copy(), len(lost)
    for step in range(len(lost), len(values)):
        before = np.append(np.uint8(0), before[:-1])
        gap = np.bitwise_xor.reduce(product(now[: step + 1], values[step::-1]))
        if gap == 0:
            continue
        changed = now ^ product(before, gap)
        if 2 * length <= step + len(lost):
            before, length = product(now, _inverse(gap)), step + len(lost) + 1 - length
        now = changed
    used = np.flatnonzero(now)
    return now[: used[-1] + 1]
