"""How often the timer fails in white noise, by theory: how many faults a block of cells must expect.

The timer looks at the wave through moving averages, takes the places where it crosses zero, and tells a bit from the
length of its cycle. Noise of variance `sigma^2` a sample is Gaussian after the averages, too: with `h` the numbers of
the filter, its variance is ``sigma_s^2 = sigma^2 sum h^2``. Three things can go wrong:

- an edge moves. A wave that rises with a slope of `s` crosses zero with a deviation of ``sigma_t = sigma_s / s``. A
  cycle has two edges, and its bit is mistaken if its length is off by half the difference of the two lengths, `d`:
  ``Q(d / (sqrt(2) sigma_t))``.
- the shortest half-cycle is swallowed: nowhere in it does the wave, averaged and in noise, go beyond the hysteresis.
  That is the chance that Gaussian numbers, of the covariance that the filter gives them, lie below a line each.
- the longest half-cycle is cut in two: the noise takes the wave from its level beyond the hysteresis on the other
  side. How often follows from the correlation of neighbouring samples (S. O. Rice, Mathematical Analysis of Random
  Noise, Bell System Technical Journal 24, 1945, section 3.3, in its form for samples).

Faults are rare and independent, so a block without any has the chance ``exp(-faults)``. Left out: starts that are not
found, the part of the wave that the centring takes off, faults that leave the bits as they were, and what `kit.slips`
mends of those that swallow or cut.

The counter has its theory at the end of this module, the patient reader in `noise_theory_patient.py`.
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import multivariate_normal, norm

from kit.ears import ears
from kit.leader import EVEN, LOCK_CYCLES
from kit.smoothing import Conditioner

__all__ = [
    "Faults",
    "bare_counter_share",
    "block_share",
    "counter_share",
    "expected_faults",
    "moved_share",
    "theory_needed_db",
]

BLOCK_BITS = 8 * (1 + 6 + 1024 + 2)  # kind, place, data, check
PHASES = 4  # places of an edge between two samples that are looked at
SPEEDS = (0.95, 0.975, 1.0, 1.025, 1.05)
NEAR = 4  # samples on either side of a half-cycle's middle at which it may go beyond the hysteresis
STEPS_DB = 0.1


@dataclass(frozen=True)
class Faults:
    """Faults to be expected in one block, of each kind; and the deviation of an edge in samples."""

    moved: float
    swallowed: float
    cut: float
    edge_deviation: float

    @property
    def total(self):
        return self.moved + self.swallowed + self.cut


class _Averaged:
    """The wave and the noise behind an ear's averages, for an amplitude of 1."""

    def __init__(self, ear, sigma):
        filter = Conditioner(ear.smooth, ear.centre)
        click = np.zeros(2 * filter.reach + 1)
        click[0] = 1.0
        whole = filter.feed(click)
        short = Conditioner(ear.smooth).feed(np.eye(1, ear.smooth + filter.second - 1)[0])
        correlation = sigma**2 * np.correlate(whole, whole, "full")[len(whole) - 1 :]
        self.covariance = correlation
        self.sigma = np.sqrt(correlation[0])
        # Each sample is the mean of the wave over its interval, so the filter is a row of steps.
        self._edges = np.arange(len(short) + 1) - len(short) / 2
        self._sums = np.concatenate(([0], np.cumsum(short)))
        self.slope = 2 * short.max()

    def mean(self, times, length):
        """The wave `times` samples from the middle of a half-cycle of +1 between two of -1."""
        stop, start = (np.interp(times + side * length / 2, self._edges, self._sums) for side in (1, -1))
        return 2 * (stop - start) - 1

    def level(self, short, long):
        """Mean size of the wave in noise, zeros and ones being equally many."""
        sizes, weights = [], []
        for length in (short, long):
            times = np.linspace(-length / 2, length / 2, 201)
            mean = self.mean(times, length)
            size = mean * (1 - 2 * norm.cdf(-mean / self.sigma)) + 2 * self.sigma * norm.pdf(mean / self.sigma)
            sizes.append(size.mean())
            weights.append(length)
        return np.average(sizes, weights=weights)


def expected_faults(format, rate, snr_db, speed=1.0, bits=BLOCK_BITS):
    """Faults to be expected of the ear for ordinary speed.

    Parameters
    ----------
    format : Format
        A cycle-length code.
    rate : int
    snr_db : float
        ``10 log10(A^2 / sigma^2)``.
    speed : float
        Of the tape, as a part of ordinary speed.
    bits : int
        In the block, half of them ones.

    Returns
    -------
    Faults
    """
    ear = next(ear for ear in ears(format, rate) if "ordinary" in ear.note)
    wave = _Averaged(ear, 10 ** (-snr_db / 20))
    short, long = (units / 2 * format.unit_s(speed) * rate for units in sorted(
        (format.code.zero_units, format.code.one_units)))
    hysteresis = ear.hysteresis * wave.level(short, long)
    deviation = wave.sigma / wave.slope
    return Faults(
        moved=bits * norm.sf((long - short) / (np.sqrt(2) * deviation)),
        swallowed=bits * _chance_swallowed(wave, short, hysteresis),
        cut=bits * _chance_cut(wave, long, hysteresis),
        edge_deviation=deviation,
    )


def _chance_swallowed(wave, length, hysteresis):
    """Chance that a half-cycle nowhere goes beyond the hysteresis, on the mean over where the samples fall."""
    near = np.arange(-NEAR, NEAR + 1)
    covariance = wave.covariance[np.abs(near[:, None] - near)]
    chances = []
    for phase in (np.arange(PHASES) + 0.5) / PHASES - 0.5:
        room = hysteresis - wave.mean(near + phase, length)
        chances.append(multivariate_normal.cdf(room, cov=covariance, maxpts=20_000, abseps=1e-9, releps=0.05))
    return float(np.mean(chances))


def _chance_cut(wave, length, hysteresis):
    """Mean number of times that noise takes a half-cycle from its level to the other side of the hysteresis."""
    times = np.arange(-length / 2, length / 2)
    gap = (wave.mean(times, length) + hysteresis) / wave.sigma
    flat = gap > 0.999 * gap.max()  # near its ends the wave is on its way to the other side anyhow
    turns = np.arccos(wave.covariance[1] / wave.covariance[0]) / (2 * np.pi)
    return float(np.sum(turns * np.exp(-(gap[flat] ** 2) / 2)))


def block_share(format, rate, snr_db):
    """Part of the blocks without a fault, at speeds spread evenly over 5 % either way."""
    return float(np.mean([np.exp(-expected_faults(format, rate, snr_db, speed).total) for speed in SPEEDS]))


def moved_share(format, rate, snr_db):
    """The same, if edges that move were all that can go wrong."""
    return float(np.mean([np.exp(-expected_faults(format, rate, snr_db, speed).moved) for speed in SPEEDS]))


def theory_needed_db(format, rate, share=0.9, shares=block_share):
    """The lowest signal to noise at which a share of the blocks has no fault."""
    low, high = -12.0, 20.0
    while high - low > STEPS_DB / 8:
        middle = (low + high) / 2
        low, high = (low, middle) if shares(format, rate, middle) >= share else (middle, high)
    return high


# -- the counter --------------------------------------------------------------------------------------------
#
# Its threshold is zero, so a sample that noise takes over zero, with the chance Q(A / sigma), makes two edges that do
# not belong there. Not every sample can: one that an edge falls into only moves the edge; and the first and the last
# whole one of a half-cycle move it, too, if what the edge left of its own sample lies on the other side, as it does
# half of the time. A half-cycle of h samples has h - 1 whole ones, and so h - 2 at which it can be split. Edges that
# are rounded to the loop, here by a sample, are far from what would turn a bit: half the difference of the cycles.


def bare_counter_share(format, rate, snr_db):
    """Part of the blocks in which no half-cycle is split: of the bits, or of what their start is known by."""
    return _unsplit_share(format, rate, snr_db, lambda unit: _in_start(format, unit) + _in_bits(format, unit))


def counter_share(format, rate, snr_db):
    """The same for the kit's counter, which makes one edge, or none, of edges that crowd: only its start is at risk.

    Left out: two splits so near each other, or so near an edge, that the crowd takes a true edge with it.
    """
    return _unsplit_share(format, rate, snr_db, lambda unit: _in_start(format, unit))


def _unsplit_share(format, rate, snr_db, samples):
    chance = norm.sf(10 ** (snr_db / 20))
    return float(np.mean([np.exp(-chance * samples(format.unit_s(speed) * rate)) for speed in SPEEDS]))


def _in_bits(format, unit):
    """Samples of a block's bits at which a half-cycle can be split, half of them ones."""
    return BLOCK_BITS * ((format.code.zero_units + format.code.one_units) / 2 * unit - 2 * 2)


def _in_start(format, unit):
    """Samples, before the bits, of the half-cycles by which a start is known: four leader cycles and the sync mark.

    The first of them may be split in its first 1.2 units, as its four cycles may differ by 15 % of two of them.
    """
    halves = format.leader.encode(LOCK_CYCLES)
    uneven = EVEN * LOCK_CYCLES / 2 * format.leader.leader_units
    return float(np.sum(halves * unit - 2)) - uneven * unit
