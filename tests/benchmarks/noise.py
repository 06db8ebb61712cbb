"""Tapes in white noise, and the signal to noise a reader needs to read them.

The noise is Gaussian, independent from sample to sample, over the whole band of audio at 48 kHz. Signal to noise
is ``10 log10(A^2 / sigma^2)`` in dB, with `A` the amplitude of the two-level wave and `sigma^2` the variance of the
noise: at 0 dB they are equal. The speed of each tape is drawn from within 5 % of the ordinary one, and not told to
the reader.
"""

from dataclasses import dataclass
from functools import lru_cache
from unittest.mock import patch

import numpy as np

import kit
from kit.ears import ears
from kit.found import CHECKED
from kit.known import FORMATS
from kit.lane import Lane
from kit.readers.patient import PatientLane
from kit.reading import Reading
from kit.spans import BlockRow, same_block
from kit.waves import PEAK

__all__ = [
    "RATE",
    "Needed",
    "bare_counter",
    "blocks_checked",
    "blocks_read",
    "counter",
    "needed_db",
    "noisy_tape",
    "parts_read",
    "patient",
    "patiently_alone",
    "share_read",
    "tally",
    "timer",
]

RATE = 48000
BLOCK_BYTES = 1024
SPEED_SPREAD = 0.05
STEP_DB = 0.5
TAPE_BLOCKS = 20


@dataclass(frozen=True)
class Needed:
    """What a reader needs.

    Parameters
    ----------
    db : float
        Signal to noise at which the share is read; NaN if it lies outside what was tried.
    error_db : float
        One standard deviation of `db`, from the binomial ones of the shares on either side.
    shares : dict of float to float
        Part of the blocks read at each signal to noise that was tried, in dB.
    blocks : int
        Blocks at each.
    """

    db: float
    error_db: float
    shares: dict
    blocks: int


def noisy_tape(snr_db, blocks, seed, sides=1, **how):
    """Random bytes, and the `Sound` of their tape in noise: float32, 48 kHz, not clipped.

    Parameters
    ----------
    snr_db : float
        See above; infinity adds no noise.
    blocks : int
        KiB of data, one KiB a block.
    seed : int
        The same seed gives the same bytes, the same speed and the same noise, stronger or weaker.
    sides : int
        2 for a stereo recording, with noise of its own on each side.
    **how
        Further settings of `kit.encode`; the format is `house` and the blocks have 1 KiB if not given.
    """
    rng = np.random.default_rng(seed)
    data = rng.bytes(blocks * BLOCK_BYTES)
    speed = float(rng.uniform(1 - SPEED_SPREAD, 1 + SPEED_SPREAD))
    how = {"format": "house", "block_bytes": BLOCK_BYTES, "lead_in_s": 1.0, **how}
    clean = kit.encode(data, name="log.bin", rate=RATE, speed=speed, **how).samples
    sigma = PEAK * 10 ** (-snr_db / 20)
    noise = rng.standard_normal(len(clean) if sides == 1 else (len(clean), sides), dtype=np.float32)
    noise *= np.float32(sigma)
    noise += clean if sides == 1 else clean[:, None]
    return data, kit.Sound(noise, RATE)


def blocks_read(reading, data, verdicts=None):
    """How many blocks of the data were read whole and right, and how many parts that are not in it were vouched for.

    Parameters
    ----------
    verdicts : tuple of str, optional
        Only blocks of these verdicts; else all that are whole.

    Returns
    -------
    tuple of int and int
    """
    wanted = {number: data[at : at + BLOCK_BYTES] for number, at in enumerate(range(0, len(data), BLOCK_BYTES))}
    whole = [block for block in reading.blocks if block.whole and block.part is not None]
    parts = [block.part for block in whole if verdicts is None or block.verdict in verdicts]
    right = {part.number for part in parts if wanted.get(part.number) == part.data}
    return len(right), sum(wanted.get(part.number) != part.data for part in parts)


def blocks_checked(reading, data):
    """As `blocks_read`, but only blocks whose check agreed at once, with nothing tried."""
    return blocks_read(reading, data, (CHECKED,))


def parts_read(reading, data):
    """As `blocks_read`, but of the file: parts of it without a byte in doubt, whatever they were made of."""
    if not reading.files:
        return 0, 0
    found, right, mistaken = reading.files[0], 0, 0
    for at in range(0, len(data), BLOCK_BYTES):
        wanted = data[at : at + BLOCK_BYTES]
        if any(first < at + len(wanted) and stop > at for first, stop in found.doubtful):
            continue
        part = found.data[at : at + len(wanted)]
        right += part == wanted
        mistaken += len(part) == len(wanted) and part != wanted
    return right, mistaken


def tally(decode, snr_db, blocks=100, seed=1, counts=(blocks_read,), **how):
    """How many blocks a reader reads at one signal to noise; a wrong block vouched for is an error.

    Parameters
    ----------
    decode : callable
        `Sound` to `Reading`.
    counts : sequence of callable
        Ways to count, such as `blocks_read`.
    **how
        As in `noisy_tape`.

    Returns
    -------
    list of int
        One for each way.
    """
    sizes = [TAPE_BLOCKS] * (blocks // TAPE_BLOCKS) + [blocks % TAPE_BLOCKS] * (blocks % TAPE_BLOCKS > 0)
    read = np.zeros(len(counts), int)
    for number, size in enumerate(sizes):
        data, sound = noisy_tape(snr_db, size, seed=[seed, number], **how)
        reading = decode(sound)
        for k, count in enumerate(counts):
            right, wrong = count(reading, data)
            if wrong:
                raise AssertionError(f"no wrong block may be vouched for, got {wrong} at {snr_db:g} dB")
            read[k] += right
    return read.tolist()


def share_read(decode, snr_db, blocks=100, seed=1, count=blocks_read, **how):
    """Part of the blocks that a reader reads at one signal to noise; parameters as in `tally`."""
    return tally(decode, snr_db, blocks, seed, (count,), **how)[0] / blocks


def needed_db(decode, share=0.9, low_db=-6.0, high_db=12.0, blocks=100, seed=1, **how):
    """The signal to noise at which a reader reads some share of the blocks, found by halving.

    Parameters
    ----------
    decode : callable
        `Sound` to `Reading`.
    share : float
    low_db, high_db : float
        Between these it is looked for, in steps of half a dB; the share is a straight line between two steps.
    blocks, seed, **how
        As in `share_read`.

    Returns
    -------
    Needed
    """
    grid = np.arange(low_db, high_db + STEP_DB / 2, STEP_DB)
    measured = lru_cache(None)(lambda k: share_read(decode, float(grid[k]), blocks, seed, **how))
    low, high = 0, len(grid) - 1
    tried = set()
    while high - low > 1:
        middle = (low + high) // 2
        tried |= {middle}
        low, high = (low, middle) if measured(middle) >= share else (middle, high)
    if measured(low) >= share or measured(high) < share:
        return _needed(float("nan"), float("nan"), grid, measured, (low, high), blocks)
    part = (share - measured(low)) / (measured(high) - measured(low))
    # How far chance moves the share at the place itself, and so the place along the line.
    error = np.sqrt(share * (1 - share) / blocks) / (measured(high) - measured(low)) * STEP_DB
    return _needed(float(grid[low] + part * STEP_DB), float(error), grid, measured, tried | {low, high}, blocks)


def _needed(db, error_db, grid, measured, tried, blocks):
    return Needed(db, error_db, {float(grid[k]): measured(k) for k in sorted(tried)}, blocks)


def timer(sound, format=FORMATS["house"], chosen=None):
    """A mono `Sound` as edges alone tell it: plain and smoothed in each way or as chosen, and never patiently."""
    row = BlockRow()
    for ear in chosen or ears(format, sound.rate):
        lane = Lane([format], sound.rate, ear)
        found = [block for piece in sound.pieces() for block in lane.feed(piece[:, 0])] + lane.finish()
        for block in found:
            if block.whole and not any(same_block(block, other) for other in row.between(*block.span_s)):
                row.add(block)
    return Reading.of(row.blocks, [], sound.seconds)


def patient(sound):
    """A `Sound` as the patient reader tells it."""
    return kit.decode(sound, format="house", patient=True)


def patiently_alone(sound):
    """A mono `Sound` as weighing each block once tells it, and copies together; what that leaves is left."""
    lane = PatientLane([FORMATS["house"]], sound.rate)
    found = [block for piece in sound.pieces() for block in lane.feed(piece[:, 0])] + lane.finish()
    return Reading.of(found, [], sound.seconds)


def counter(sound):
    """A `Sound` as the counter tells it: a fixed threshold at zero, no smoothing and no hysteresis."""
    return kit.decode(sound, format="house", counter=kit.Counter())


def bare_counter(sound):
    """The counter without the one thing the kit does for it: where edges crowd, to make one of them or none."""
    with patch("kit.blockreader.deglitched", lambda edges, unit, code: edges):
        return counter(sound)
