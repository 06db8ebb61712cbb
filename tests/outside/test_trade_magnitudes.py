"""Orders of magnitude that everyone who kept programs on cassettes knows, measured on the sound that `encode` makes.

`common practice` for every one of them: facts of the trade, without a source. They are measured by counting zero
crossings with numpy, without the kit's own reader; of the format only its four tones are taken as known.
"""

import random
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pytest

import kit

# The house format at ordinary speed: leader 600 Hz, sync mark 800 Hz, one 1200 Hz, zero 2400 Hz.
BETWEEN_LEADER_AND_SYNC_HZ, BETWEEN_SYNC_AND_BITS_HZ, BETWEEN_ONE_AND_ZERO_HZ = 700, 1000, 1800


@dataclass(frozen=True)
class Heard:
    """A block by its cycles: how long its leader lasts, and the tones of the leader and of each bit cell."""

    leader_s: float
    leader_hz: float
    cells_hz: np.ndarray

    @property
    def bits(self):
        """One for the longer cycles; as text of 0 and 1."""
        return "".join("1" if hz < BETWEEN_ONE_AND_ZERO_HZ else "0" for hz in self.cells_hz)


def _crossings_s(sound):
    wave = sound.samples.astype(float)
    at = np.flatnonzero((wave[1:] >= 0) != (wave[:-1] >= 0))
    return (at + 0.5 + wave[at] / (wave[at] - wave[at + 1])) / sound.rate


def _heard(sound):
    """The blocks of a tape, told apart by the leaders between them."""
    half_s = np.diff(_crossings_s(sound))
    leader = 1 / (2 * half_s) < BETWEEN_LEADER_AND_SYNC_HZ
    turns = np.flatnonzero(np.diff(leader, prepend=False, append=False))
    found = []
    for (start, stop), (following, _) in pairwise(turns.reshape(-1, 2)):
        cells_hz = 1 / half_s[stop:following].reshape(-1, 2).sum(axis=1)
        cells_hz = cells_hz[cells_hz > BETWEEN_SYNC_AND_BITS_HZ]
        found.append(Heard(half_s[start:stop].sum(), 1 / (2 * half_s[start:stop].mean()), cells_hz))
    return found


@pytest.fixture(scope="module")
def log():
    """A thousand bytes of a weather log, in one block."""
    lines = (f"{hour % 24:02d}:00 wind west {hour % 9} temp {hour % 7 + 4}\n" for hour in range(100))
    return "".join(lines).encode()[:1000]


@pytest.fixture(scope="module")
def tape(log):
    """The blocks heard on its tape: header, data, header."""
    blocks = _heard(kit.encode(log, name="log.txt", block_bytes=1000))
    assert len(blocks) == 3
    return blocks


def test_a_thousand_bytes_are_eight_thousand_bits_one_after_the_other(tape, log):
    """common practice; in order, first bit of each byte first, in one unbroken run of cells."""
    wanted = "".join(f"{byte:08b}" for byte in log)
    assert len(wanted) == 8000
    assert tape[1].bits.count(wanted) == 1


def test_little_is_written_beside_the_data(tape):
    """common practice: marks and check of a block take some bytes, not some tens of percent."""
    assert 8000 < len(tape[1].cells_hz) < 8000 * 1.02


def test_the_leader_is_a_tone_of_some_hundred_hz_to_a_few_khz_for_seconds(tape):
    """common practice."""
    assert 300 <= tape[0].leader_hz <= 4000
    assert 2 <= tape[0].leader_s <= 30


def test_cycles_are_longer_for_one_value_than_for_the_other(tape, log):
    """common practice; here twice as long, and which is which follows from the known bits of the data."""
    wanted = "".join(f"{byte:08b}" for byte in log)
    first = tape[1].bits.index(wanted)
    lengths = 1 / tape[1].cells_hz[first : first + 8000]
    ones = np.array(list(wanted)) == "1"
    assert lengths[ones].min() > 1.5 * lengths[~ones].max()
    assert lengths[ones].mean() / lengths[~ones].mean() == pytest.approx(2, abs=0.01)


def test_a_header_has_some_tens_of_bytes(tape):
    """common practice."""
    for block in (tape[0], tape[2]):
        assert 20 <= len(block.cells_hz) / 8 <= 99


@pytest.mark.parametrize("kind", ["random bytes", "text", "blank picture"])
def test_a_48_kilobyte_program_takes_three_to_five_minutes_at_ordinary_speed(kind, log):
    """common practice; timed from the first zero crossing to the last. (Nothing but ones would take 5.8.)"""
    size = 48 * 1024
    data = {"random bytes": random.Random(48).randbytes(size), "text": (log * 50)[:size],
            "blank picture": bytes(size)}[kind]
    times = _crossings_s(kit.encode(data, name="program.bin"))
    assert 3 <= (times[-1] - times[0]) / 60 <= 5


def test_a_fast_loader_turns_three_minutes_into_about_two():
    """common practice: half as fast again is enough for that."""
    data = random.Random(32).randbytes(32 * 1024)
    ordinary, fast = (kit.encode(data, name="program.bin", speed=speed).seconds / 60 for speed in (1, 1.5))
    assert 2.7 < ordinary < 3.3
    assert 1.8 < fast < 2.3
