"""Sounds that a deck with some settings has played, for meters to read."""

import numpy as np

from kit.deck import Deck
from kit.sound import Sound

RATE = 44100


def tone(frequency_hz, seconds, peak=0.5):
    return Sound(peak * np.sin(2 * np.pi * frequency_hz * np.arange(round(seconds * RATE)) / RATE), RATE)


def silence(seconds):
    return Sound(np.zeros(round(seconds * RATE)), RATE)


def noise(seconds, channels=1, level=0.1):
    rng = np.random.Generator(np.random.PCG64(5))
    shape = round(seconds * RATE) if channels == 1 else (round(seconds * RATE), channels)
    return Sound(level * rng.standard_normal(shape), RATE)


def click(seconds, at_s):
    samples = np.zeros(round(seconds * RATE))
    samples[round(at_s * RATE)] = 0.5
    return Sound(samples, RATE)


def played(settings, sound, seed=0):
    return Deck(**settings).play(sound, seed=seed)
