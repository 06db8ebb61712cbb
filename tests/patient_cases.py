"""Tapes in noise for the tests of the patient reader, and the noise that theory allows."""


import numpy as np
import pytest
from scipy.stats import norm

import kit
from kit import Sound
from kit.readers.patient import PatientLane
from kit.reading import Reading

RATE = 44100
PEAK = 0.5
DATA = np.random.default_rng(3).integers(0, 256, 96, dtype=np.uint8).tobytes()
FORMATS = [name for name, format in kit.FORMATS.items() if not format.stream]
every_format = pytest.mark.parametrize("format", FORMATS)


def tape(format, rate=RATE, speed=1.0, block_bytes=48):
    how = {"block_bytes": block_bytes, "lead_in_s": 0.5, "rate": rate, "speed": speed}
    return kit.encode(DATA, name="x.bin", format=format, **how).samples.astype(float)


def in_noise(wave, snr_db, seed):
    return wave + np.random.default_rng(seed).normal(0, PEAK * 10 ** (-snr_db / 20), wave.shape)


def patiently(wave, format, rate=RATE):
    return kit.decode(Sound(np.asarray(wave, np.float32), rate), format=format, patient=True)


def alone(wave, format, rate=RATE):
    """What the patient reader gives with no other reader before it."""
    lane = PatientLane([kit.FORMATS[format]], rate)
    return Reading.of(lane.feed(np.asarray(wave, np.float32)) + lane.finish())


def is_whole(reading):
    return [(file.name, file.data, file.complete) for file in reading.files] == [("x.bin", DATA, True)]


def needed_db(format, rate, speed=1.0, failing=1e-3):
    """Signal to noise at which theory has so small a part of all tapes fail, and 1 dB that timing may cost.

    A cell is wrong with P = Q(sqrt(U) A / sigma), U samples being in a unit. Every cell of the tape must be right:
    about 8 bits in each byte of two headers of 51 bytes and of the data with 9 bytes more a block, 3 in 2 with
    start, stop and parity bits; a copy or a parity block only helps.
    """
    cells = 12 * (2 * 51 + len(DATA) + 2 * 9)
    unit = rate / (kit.FORMATS[format].unit_hz * speed)
    return 20 * np.log10(norm.isf(failing / cells) / np.sqrt(unit)) + 1


def warped(wave, speed_at, rate=RATE):
    """The wave on a machine whose speed at each second is `speed_at(seconds)`; drawn straight between samples."""
    position = np.cumsum(speed_at(np.arange(int(1.8 * len(wave))) / rate))
    return np.interp(position[position < len(wave) - 1], np.arange(len(wave)), wave)
