"""Tapes heard while the motor starts: where their edges fall, how loud they are, and what is read of them."""

import functools
import zlib
from dataclasses import dataclass, replace

import numpy as np

from ..blocks import DATA, HEADER
from ..deck import Deck
from ..known import find_format
from ..leader import EVEN, LOCK_CYCLES
from ..sides import TapeFile, tape_blocks
from ..sound import Sound
from ..waves import edges, render
from .quickreading import read_at_once

__all__ = ["FORMAT", "LEVEL_S", "RECORDING", "REPLAY", "TEXT", "Tape", "heard_s", "speed_at", "speed_there", "steady",
           "tape", "wave_um"]

FORMAT = find_format("house").changed(gap_s=0.25, block_bytes=16)
TEXT = b"Wind W5, gulls 31, seals 4, rain 2 mm; no boat."
RATE = 44100
START_SPEED = 0.1  # of nominal: the deck's motor begins with it
HELD_DBFS, BOOST_DB = -6, 20
GAP_UM = 2.0  # of the replay head: a cheap portable's, as the named decks have it
LEVEL_S = 0.005  # a point of the level's curve
SEED = 6
RECORDING, REPLAY = "recording", "playing"


@dataclass(frozen=True, eq=False)
class Tape:
    """A tape as it is heard, whole.

    Attributes
    ----------
    sound : Sound
    edges_s : ndarray of float64, shape (edges,)
    steady : ndarray of bool, shape (edges,)
        Where the last four cycles were a steady tone: the reader could lock.
    starts_s : ndarray of float64, shape (starts,)
        Where a block may start, as leader and sync mark go; edges near to each other are one place.
    blocks : tuple of (str, float, float, bool)
        Each block written: its name, from when to when it is heard, in seconds, and whether it was read.
    level : ndarray of float64, shape (points,)
        Highest level in each 5 ms.
    """

    sound: Sound
    edges_s: np.ndarray
    steady: np.ndarray
    starts_s: np.ndarray
    blocks: tuple
    level: np.ndarray


def speed_at(time_s, motor_s):
    """Speed of a motor so long after it was switched on, as a part of nominal; as the deck has it.

    Examples
    --------
    >>> [round(float(speed_at(after, 0.5)), 3) for after in (0.0, 0.5, 5.0)]
    [0.1, 0.669, 1.0]
    """
    time_s = np.asarray(time_s, float)
    return 1 - (1 - START_SPEED) * np.exp(-time_s / motor_s) if motor_s else np.ones_like(time_s)


def _way(time_s, motor_s):
    """How far the tape has gone by then, in seconds at nominal speed."""
    return time_s - (1 - START_SPEED) * motor_s * (1 - np.exp(-time_s / motor_s)) if motor_s else time_s


def heard_s(time_s, motor_s, where):
    """When something is heard that was sent to the recorder at a time, in seconds.

    Recording with a motor that starts writes it on less tape, so it is heard sooner; playing with one, later.
    """
    time_s = np.asarray(time_s, float)
    if where == RECORDING:
        return _way(time_s, motor_s)
    grid = np.linspace(0, float(time_s.max(initial=0)) + 2 * motor_s + 1, 20001)
    return np.interp(time_s, _way(grid, motor_s), grid)


def steady(edges_s):
    """For each edge, whether the cycles just before it were as even as a leader's must be.

    By the reader's own bounds: two cycles after another two, and the last cycle with them.
    """
    half, flags = LOCK_CYCLES, np.zeros(len(edges_s), bool)
    if len(edges_s) <= 2 * half:
        return flags
    at = np.arange(2 * half, len(edges_s))
    early, late = edges_s[at - half] - edges_s[at - 2 * half], edges_s[at] - edges_s[at - half]
    last = edges_s[at] - edges_s[at - 2]
    flags[at] = (np.abs(early - late) < EVEN * late) & (np.abs(2 * last - late) < 1.5 * EVEN * late)
    return flags


def speed_there(time_s, motor_s, where):
    """Speed of the motor while what is heard at a time was recorded, or is played, as a part of nominal."""
    if where == REPLAY:
        return float(speed_at(time_s, motor_s))
    sent = np.linspace(0, time_s + 2 * motor_s + 1, 20001)
    return float(speed_at(np.interp(time_s, _way(sent, motor_s), sent), motor_s))


def wave_um(speed):
    """How long a zero's cycle is on a tape that was recorded at a part of nominal speed, in micrometres.

    Examples
    --------
    >>> round(wave_um(1.0), 2)
    19.84
    """
    return 1000 * Deck().tape_speed_mm_s * speed * FORMAT.unit_s() * FORMAT.code.zero_units


@functools.lru_cache(maxsize=64)
def tape(leader_s, motor_s, where, dirt_um, level_control, sync_cycles, hiss_db, text=TEXT):
    """What a recorder makes of a tape, and what is read of it.

    Parameters
    ----------
    leader_s : float
        Before the first block.
    motor_s : float
        Time constant of the motor's start.
    where : str
        `RECORDING` or `REPLAY`: when it starts.
    dirt_um : float
        Distance of the tape from the replay head.
    level_control : bool
    sync_cycles : int
    hiss_db : float
        In dBFS.
    text : bytes
        What the file holds. Each text has a hiss of its own.

    Returns
    -------
    Tape

    Notes
    -----
    The motor moves edges, and the wave is drawn where they then lie: what the deck's own warp of samples gives
    at a high enough rate, and quicker.
    """
    format = FORMAT.changed(lead_in_s=leader_s, leader=replace(FORMAT.leader, sync_cycles=sync_cycles))
    turns_s, written = _sent(format, text)
    moved_s = heard_s(turns_s, motor_s, where)
    control = {"replay_level_control_dbfs": HELD_DBFS, "replay_level_boost_db": BOOST_DB} if level_control else {}
    off_head = _off_the_head(Sound(render(np.diff(moved_s), RATE), RATE), dirt_um)
    sound = Deck(hiss_dbfs=hiss_db, output_clip_dbfs=0, **control).play(off_head, seed=SEED + zlib.crc32(text))
    found = [block.span_s for block in read_at_once(sound, format).blocks if block.whole]
    blocks = []
    for name, first, last in written:
        first, last = (float(end) for end in heard_s([first, last], motor_s, where))
        blocks.append((name, first, last, any(start < (first + last) / 2 < stop for start, stop in found)))
    turns = edges(sound.samples, RATE)
    starts = [group[0].index for group in format.leader.find(turns, format.code)]
    return Tape(sound, turns, steady(turns), turns[starts], tuple(blocks), _levels(sound.samples))


def _sent(format, text):
    """When each edge is sent to the recorder, and each block's name, start and end, all in seconds."""
    halves, blocks, now_s = [], [], 0.0
    tail_s = format.unit_s() * format.leader.encode(format.tail_cycles, sync=False).sum()
    names = {HEADER: "header", DATA: "data"}
    for leader_s, body in tape_blocks([TapeFile("log.txt", text, "text")], format):
        halves.append(format.block_half_cycles(body, leader_s))
        now_s += halves[-1].sum()
        cells_s = format.unit_s() * format.code.encode(format.block_bits(body)).sum()
        blocks.append((names[body[0]], now_s - tail_s - cells_s, now_s - tail_s))
    return np.concatenate(([0.0], np.cumsum(np.concatenate(halves)))), blocks


def _off_the_head(sound, dirt_um):
    """What the head leaves, by the deck's response at once: it spares a second of imports."""
    size = 1 << (sound.frames - 1).bit_length()  # quick to transform, with silence behind the end
    heard = np.fft.irfft(np.fft.rfft(sound.samples, size) * _passes(size, dirt_um), size)
    return Sound(heard[: sound.frames], RATE)


@functools.lru_cache(maxsize=32)
def _passes(size, dirt_um):
    hertz = np.maximum(np.fft.rfftfreq(size, 1 / RATE), 1.0)
    return 10 ** (Deck(replay_spacing_um=dirt_um, replay_gap_um=GAP_UM).response(hertz) / 20)


def _levels(samples):
    size = round(LEVEL_S * RATE)
    whole = len(samples) // size * size
    return np.abs(samples[:whole]).reshape(-1, size).max(axis=1).astype(float)
