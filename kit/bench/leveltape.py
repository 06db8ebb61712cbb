"""Reading at many levels: a message behind a short leader, and a reader whose threshold stands still."""

import numpy as np

from ..known import find_format
from ..sound import Sound
from ..waves import render
from .shortreading import read_bits

__all__ = ["FORMAT", "HIGHEST_DB", "LEADER_CYCLES", "LOWEST_DB", "RATE", "STEP_DB", "TAIL_CYCLES", "at_level",
           "bits_wrong", "longest_run", "message_wave", "threshold_edges", "wrong_at"]

FORMAT = find_format("house")
RATE = 44100
LEADER_CYCLES, TAIL_CYCLES = 24, 8
LOWEST_DB, HIGHEST_DB, STEP_DB = -40, 20, 2


def threshold_edges(samples, threshold):
    """Where a reader with a fixed threshold on either side of zero says that a wave turned.

    Parameters
    ----------
    samples : ndarray of float, shape (n,)
    threshold : float
        It says "up" once the wave is above this, and "down" once it is below minus this; between the two it
        stays with what it said.

    Returns
    -------
    ndarray of float64, shape (edges,)
        In samples, the middle of the first sample being 0.5; between samples by linear interpolation.

    Examples
    --------
    >>> threshold_edges(np.array([0.5, 0.1, -0.1, -0.5, 0.5]), 0.3).tolist()
    [3.0, 4.3]
    """
    beyond = np.flatnonzero(np.abs(samples) > threshold)
    above = samples[beyond] > 0
    at = beyond[1:][above[1:] != above[:-1]]
    before, after = samples[at - 1].astype(float), samples[at].astype(float)
    line = np.where(after > 0, threshold, -threshold)
    return at - 0.5 + (line - before) / (after - before)


def message_wave(data, peak, speed=1.0):
    """Some bytes behind a short leader.

    Parameters
    ----------
    data : bytes
    peak : float
        Of the wave, as a part of full scale.
    speed : float
        Part of ordinary speed.

    Returns
    -------
    bits : ndarray of uint8, shape (bits,)
    sound : Sound
    first_s : float
        Where the first bit begins, in seconds.
    """
    unit_s = FORMAT.unit_s(speed)
    bits = FORMAT.frame.to_bits(data)
    leader = FORMAT.leader.encode(LEADER_CYCLES)
    tail = FORMAT.leader.encode(TAIL_CYCLES, sync=False)
    halves_s = unit_s * np.concatenate((leader, FORMAT.code.encode(bits), tail))
    return bits, Sound(render(halves_s, RATE, peak), RATE), unit_s * leader.sum()


def wrong_at(bits, wave, threshold):
    """How many bits are wrong at each playing level.

    Parameters
    ----------
    bits : ndarray of uint8, shape (bits,)
        As they were written.
    wave : ndarray of float64, shape (samples,)
        As it is heard, the wave of the leader being 1.
    threshold : float
        Of the reader, as a part of full scale.

    Returns
    -------
    levels_db, wrong : ndarray of int64, shape (levels,)
    """
    levels = np.arange(LOWEST_DB, HIGHEST_DB + 1, STEP_DB)
    heard = (threshold_edges(at_level(wave, level), threshold) / RATE for level in levels)
    return levels, np.array([bits_wrong(bits, edges_s) for edges_s in heard])


def at_level(wave, level_db):
    """A wave of level 1 as it arrives at a playing level, in dB: cut off at full scale."""
    return np.clip(wave * 10 ** (level_db / 20), -1, 1)


def bits_wrong(bits, edges_s):
    """How many of some bits are wrong or missing, read from edges in seconds."""
    read, _ = read_bits(FORMAT, edges_s, len(bits))
    return len(bits) - int(np.count_nonzero(read == bits[: len(read)]))


def longest_run(levels, right):
    """The longest row of neighbouring levels that read; of several, the first.

    Parameters
    ----------
    levels : ndarray, shape (levels,)
    right : ndarray of bool, shape (levels,)

    Returns
    -------
    ndarray, shape (2,) or (0,)
        Its first and last level; empty if none reads.
    """
    turns = np.flatnonzero(np.diff(np.concatenate(([0], right.astype(int), [0]))))
    runs = turns.reshape(-1, 2)
    if not len(runs):
        return levels[:0]
    first, stop = max(runs, key=lambda run: run[1] - run[0])
    return levels[[first, stop - 1]]
