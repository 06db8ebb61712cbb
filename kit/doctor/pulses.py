"""A code nobody knows: the lengths of its half-cycles measured, and a `Format` proposed that has them."""

from dataclasses import dataclass

import numpy as np

from kit.doctor.codes import cycles_units
from kit.errors import KitError
from kit.formats import Format
from kit.found import ranges
from kit.waves import edges

__all__ = ["Pulses", "known_as", "measure_pulses", "propose"]

LOOKED_S = 60.0
SPREAD = 1.12  # lengths nearer than this belong together
LEADER_RUN = 40  # half-cycles alike in a row that make a leader
REGULAR_PART = 0.93
MOST_LENGTHS = 6
LEAST_DATA = 200  # half-cycles outside leaders, to tell a code from chance
LEAST_RATIO = 1.25  # of the lengths of two cells
LEAST_PART = 0.02  # of the half-cycles outside leaders: what is rarer is no cell


@dataclass(frozen=True)
class Pulses:
    """Half-cycles of a regular code.

    Attributes
    ----------
    leader_s : float
        Length of a half-cycle of the leader.
    sync_s : float or None
        Of what stands between leader and data; None where nothing does.
    cells_s : tuple of float
        Of the two that the data is made of, shorter first.
    regular_part : float
        Part of all half-cycles that have one of these lengths.
    from_s, to_s : float
        Where it was measured.
    """

    leader_s: float
    sync_s: float | None
    cells_s: tuple
    regular_part: float
    from_s: float
    to_s: float


def measure_pulses(wave, rate):
    """The lengths of half-cycles in a recording, if they are regular.

    Parameters
    ----------
    wave : numpy.ndarray
        float32, (n,).
    rate : int
        In Hz.

    Returns
    -------
    Pulses or None
    """
    wave = wave[: round(LOOKED_S * rate)]
    if len(heard := wave[wave != 0]):
        wave = wave - heard.mean()  # a held level
    times = edges(wave, rate, 0.1)
    if len(times) < 4 * LEADER_RUN:
        return None
    halves = np.diff(times)
    lengths = _lengths(halves)
    part = _belongs(halves, lengths).any(axis=1).mean() if lengths else 0.0
    if not 2 <= len(lengths) <= MOST_LENGTHS or part < REGULAR_PART:
        return None
    return _sorted_out(halves, lengths, float(part), float(times[0]), float(times[-1]))


def _lengths(halves):
    """Lengths that occur often, most often first."""
    bins = np.round(np.log(halves) / np.log(1.03)).astype(int)
    low = bins.min()
    counts = np.convolve(np.bincount(bins - low), np.ones(3), mode="same")
    found = []
    while counts.max() > max(4, 0.004 * len(halves)) and len(found) <= MOST_LENGTHS:
        top = int(np.argmax(counts))
        about = np.exp((top + low) * np.log(1.03))
        found.append(float(np.median(halves[np.abs(np.log(halves / about)) < np.log(1.05)])))
        counts[max(0, top - 4) : top + 5] = 0
    return found


def _belongs(halves, lengths):
    ratio = halves[:, None] / np.array(lengths)
    return (ratio < SPREAD) & (ratio > 1 / SPREAD)


def _sorted_out(halves, lengths, part, from_s, to_s):
    """Which length is what: the leader runs longest, cells are most of the rest, the mark follows the leader."""
    mine = _belongs(halves, lengths)
    runs = [max((b - a for a, b in ranges(mine[:, k])), default=0) for k in range(len(lengths))]
    leader = int(np.argmax(runs))
    if runs[leader] < LEADER_RUN:
        return None
    in_leader = np.zeros(len(halves), bool)
    for a, b in ranges(mine[:, leader]):
        in_leader[a:b] = b - a >= LEADER_RUN
    outside = np.count_nonzero(~in_leader)
    if outside < LEAST_DATA or mine[~in_leader].any(axis=1).mean() < REGULAR_PART - 0.05:
        return None
    counts = {k: np.count_nonzero(mine[~in_leader, k]) for k in range(len(lengths)) if k != leader}
    cells = sorted(counts, key=counts.get, reverse=True)[:2]
    if len(cells) < 2 or min(counts[k] for k in cells) < LEAST_PART * outside:
        return None
    short, long = sorted(lengths[k] for k in cells)
    if long < LEAST_RATIO * short:  # one length that something scattered
        return None
    return Pulses(lengths[leader], _mark(halves, in_leader, (lengths[leader], short, long)), (short, long), part,
                  from_s, to_s)


def _mark(halves, in_leader, known):
    """What follows the leaders, if that is of a length of its own."""
    ends = np.flatnonzero(in_leader[:-1] & ~in_leader[1:])
    first = np.concatenate([halves[end + 1 : end + 4] for end in ends] or [np.zeros(0)])
    if len(first) < 2:
        return None
    length = float(np.median(first))
    return None if _belongs(np.array([length]), known).any() else length


def known_as(pulses, formats):
    """The first of some formats whose cycles have these lengths, at any speed; None if none has."""
    for format in formats:
        ratio = 2 * pulses.leader_s / format.leader.leader_units
        cells = cycles_units(format.code)
        pairs = zip(pulses.cells_s, cells, strict=False)
        if len(cells) == 2 and all(abs(2 * mine / ratio / units - 1) < 0.1 for mine, units in pairs):
            return format
    return None


def propose(pulses):
    """A format with these lengths; bytes and check as in `house`, for want of knowledge.

    Parameters
    ----------
    pulses : Pulses

    Returns
    -------
    Format or None
        None where no format can have such lengths.
    """
    short, long = pulses.cells_s
    sync_s = pulses.sync_s or (long * pulses.leader_s) ** 0.5
    try:
        return Format.of_half_cycles("proposed", zero_s=short, one_s=long, sync_s=sync_s, leader_s=pulses.leader_s)
    except KitError:
        return None
