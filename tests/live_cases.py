"""A tape for the live ear, and ears that have heard it."""

import threading
import time

import numpy as np

import kit
from kit.live import Ear

RATE = 44100
DATA = np.random.default_rng(8).bytes(300)
OFF = {"echoCancellation": False, "noiseSuppression": False, "autoGainControl": False}
# 4 s: a header, three data blocks of 100 bytes, the header again.
TAPE = kit.encode(DATA, name="log.txt", speed=2, lead_in_s=1.0, block_bytes=100)


def listened(samples, size=4096, rate=RATE, ear=None):
    """An ear that has heard some samples chunk by chunk, and is done."""
    ear = ear or Ear()
    ear.begin(1, rate, "Line", OFF)
    for first in range(0, len(samples), size):
        ear.hear(1, first, samples[first : first + size])
    ear.end(1)
    ear.wait(60)
    assert ear.state == "ready"
    return ear


def until(holds, seconds=30):
    """Wait for another thread; fails if it does not come to it."""
    late = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < late
        threading.Event().wait(0.01)
