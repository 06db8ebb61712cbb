"""How often the patient reader fails in white noise, by theory: how often the likeliest row of cells is a wrong one.

It knows where the beats fall, and takes the row of cells that fits best. A one is the half-units + + - -, two zeros
are + - + -: they differ in the two inner ones, by 2 A over one unit, n samples. The row with the other of the two
fits better by a Gaussian number, in the mean worse by 2 n A^2 / sigma^2 natural logarithms with twice that as its
variance, so that the chance is Q(sqrt(n) A / sigma). Each one is such a place, its middle; and each border of two
zeros. No two of them share a sample, so all these numbers are independent, and a block has K ones and L borders:

- without knowing how many cells there are, every row of zeros and ones of the same length is a rival, and a block
  is right if none of the K + L numbers is above zero;
- knowing it, a one may become two zeros only if two zeros become a one elsewhere. A row with such a pair fits
  better if the two numbers have a sum above zero. So the block is right if the greatest of K and the greatest of L
  have a sum below zero: of more pairs at once, the best has their mean or more. F(x)^K is the chance that the
  greatest of K lies below x;
- asking the check about the likeliest rows after the first as well, the block is right if it is among these: if the
  likeliest row has one wrong pair, and fewer than `TRIALS` others lie between. That depends on the order of the
  numbers, and is counted in drawn blocks: the greatest of K independent numbers are F^-1(1 - T / K) with T the
  times of a Poisson process, for K as large as here.

A zero and a one swapped beside each other are four half-units apart, Q(sqrt(2 n) A / sigma): that is counted with
the first two, as independent, and left out of the third. A sample in which an edge falls holds the mean of both
sides, so the numbers are taken from the wave as drawn, in each place of the edges between samples (`margins`): it
costs 0.2 dB at 48 kHz. Copies added up, m of them, have m times A and m times sigma^2: they need 10 log10(m) dB
less, 3.01 for two. Left out: beats misplaced, starts and ends not found, and lengths read wrong.
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import norm

from kit.readers.patientblocks import TRIALS

from .noise_theory import BLOCK_BITS, SPEEDS

__all__ = ["Places", "margins", "no_pair_wrong", "none_wrong", "patient_share"]

PLACES = 24  # of an edge between two samples, that are looked at
DRAWN = 20_000  # blocks drawn where a formula has no closed form


def margins(half, swap=False):
    """How far the likeliest errors are from happening, for an amplitude of 1, in each place of the edges.

    Parameters
    ----------
    half : float
        Samples in half a unit.
    swap : bool
        For a zero and a one swapped; else for a one and two zeros.

    Returns
    -------
    mean : ndarray of float, shape (2, PLACES)
        Half of what the true row fits better than the other: for a true one (or zero and one), and for the other.
    size : ndarray of float, shape (PLACES,)
        The deviation of that for ``sigma = 1``.
    """
    rows = ((1, -1, 1, 1, -1, -1), (1, 1, -1, -1, 1, -1)) if swap else ((1, 1, -1, -1), (1, -1, 1, -1))
    mean, size = [], []
    for place in (np.arange(PLACES) + 0.5) / PLACES:
        one, other = (_drawn(2 + place, half, row) for row in rows)
        weights = (one - other) / 2  # the reader sums samples with the part of them that lies in each step
        mean.append((weights @ one, -weights @ other))
        size.append(np.sqrt(weights @ weights))
    return np.array(mean).T, np.array(size)


def _drawn(first, half, row):
    """Cells between others, from a first edge on: each sample the mean of the wave over its interval."""
    edges = first + half * np.arange(len(row) + 1)
    stop = np.ceil(edges[-1]) + 1
    bounds = np.concatenate(([0.0], edges, [stop]))
    sums = np.concatenate(([0.0], np.cumsum(np.diff(bounds) * (-1, *row, 1))))
    return np.diff(np.interp(np.arange(stop + 1), bounds, sums))


def patient_share(format, rate, snr_db, knows="check", copies=1):
    """Part of the blocks that the likeliest row of cells reads, at speeds spread evenly over 5 % either way.

    Parameters
    ----------
    format : Format
        Ones two units long, zeros one.
    rate : int
    snr_db : float
    knows : {"nothing", "count", "check"}
        Of the cells no more than where they end; or also how many they are; or also what the check says of others.
    copies : int
        Put together before anything is decided.
    """
    rule = {"nothing": none_wrong, "count": no_pair_wrong, "check": _listed}[knows]
    sigma = 10 ** (-snr_db / 20) / np.sqrt(copies)
    return float(np.mean([rule(format.unit_s(speed) * rate / 2, sigma) for speed in SPEEDS]))


@dataclass(frozen=True)
class Places:
    """Where a block can be misread: neighbours are 00, 01, 10 and 11 alike often, unless the bits are known."""

    ones: float = BLOCK_BITS / 2
    borders: float = BLOCK_BITS / 4
    swaps: float = BLOCK_BITS / 2


BLOCK = Places()


def _log_below(level, mean, size):
    """Natural logarithm of the chance that one of the numbers lies below a level, over all places of the edges."""
    return norm.logcdf((np.asarray(level)[..., None] + mean) / size).mean(axis=-1)


def _unswapped(half, sigma, places):
    mean, size = margins(half, swap=True)
    return np.exp(places.swaps / 2 * sum(_log_below(0, one, sigma * size) for one in mean))


def none_wrong(half, sigma, places=BLOCK):
    """Chance that none of a block's numbers is above zero; `half` a unit in samples, and `sigma`, for an A of 1."""
    (one, zeros), size = margins(half)
    none = places.ones * _log_below(0, one, sigma * size) + places.borders * _log_below(0, zeros, sigma * size)
    return np.exp(none) * _unswapped(half, sigma, places)


def no_pair_wrong(half, sigma, places=BLOCK):
    """Chance that no pair of a block's numbers, one of a one and one of a border, has a sum above zero."""
    (one, zeros), size = margins(half)
    level = np.linspace(-3 * half, 3 * half, 1201)
    greatest = np.exp(places.ones * _log_below(level, one, sigma * size))
    none = np.exp(places.borders * _log_below(-(level[1:] + level[:-1]) / 2, zeros, sigma * size))
    # Below the levels no greatest number makes a wrong pair; none lies above them.
    return (greatest[0] + np.sum(np.diff(greatest) * none)) * _unswapped(half, sigma, places)


def _listed(half, sigma):
    (one, zeros), size = margins(half)
    rng = np.random.default_rng(1)
    kinds = ((BLOCK.ones, one), (BLOCK.borders, zeros))
    ones, borders = (_greatest(count, mean, sigma * size, rng) for count, mean in kinds)
    wrong = ones + borders > 0
    once = wrong[:, 0] & ~wrong[:, 1]
    # From the likeliest row: the cost of more cells, and of fewer; the first of each is what puts it right.
    more = np.column_stack((borders[once, 0], -ones[once, 1:TRIALS]))
    fewer = np.column_stack((ones[once, 0], -borders[once, 1:TRIALS]))
    costs = more[:, :, None] + fewer[:, None, :]
    before = np.sum(costs < costs[:, :1, :1], axis=(1, 2))
    return np.mean(~wrong[:, 0]) + np.sum(before < TRIALS) / DRAWN


def _greatest(count, mean, size, rng):
    """The greatest of so many numbers in each of the drawn blocks, falling, shape (DRAWN, TRIALS)."""
    level = np.linspace(-3 * mean.max(), 3 * mean.max(), 2401)
    above = norm.sf((level[:, None] + mean) / size).mean(axis=1)
    times = np.cumsum(rng.exponential(size=(DRAWN, TRIALS)), axis=1) / count
    return np.interp(-np.log(times), -np.log(np.maximum(above, 1e-300)), level)
