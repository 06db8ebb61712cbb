"""Recordings to measure with: tapes of random bytes, made worse in one way each, and long ones in pieces."""

import random

import numpy as np
import soundfile

import kit

__all__ = ["PROGRAM_BYTES", "fluttering", "hissing", "long_hiss", "long_tape", "program", "written"]

PROGRAM_BYTES = 48 * 1024
PIECE_S = 10.0


def program(size=PROGRAM_BYTES, seed=48):
    """Random bytes, the hardest to guess and on average as long on tape as any."""
    return random.Random(seed).randbytes(size)


def hissing(samples, part, seed=1):
    """Samples with noise whose rms is so large a part of the wave's amplitude."""
    generator = np.random.Generator(np.random.PCG64(seed))
    noise = generator.standard_normal(samples.shape, np.float32)
    return samples + np.float32(part * np.abs(samples).max()) * noise


def fluttering(samples, rate, depth=0.003, flutter_hz=6.0):
    """Samples as a machine plays them whose speed swings by `depth` either way, at `flutter_hz`."""
    places = np.arange(len(samples), dtype=float)
    swing = depth * rate / (2 * np.pi * flutter_hz) * np.sin(2 * np.pi * flutter_hz / rate * places)
    return np.interp(places + swing, places, samples).astype(np.float32)


def written(path, samples, rate, subtype="PCM_16"):
    """Write samples in pieces with soundfile alone; gives the path."""
    channels = 1 if samples.ndim == 1 else samples.shape[1]
    with soundfile.SoundFile(path, "w", rate, channels, subtype) as audio:
        for first in range(0, len(samples), 1 << 16):
            audio.write(np.clip(samples[first : first + (1 << 16)], -1, 1))
    return path


def long_tape(path, minutes, rate=44100, hiss=0.0, channels=1):
    """Files one after the other until so many minutes are full, written piece by piece; gives their bytes."""
    total, seed = 0, 0
    with soundfile.SoundFile(path, "w", rate, channels, "PCM_16") as audio:
        while audio.tell() < minutes * 60 * rate:
            sound = kit.encode(program(seed=seed), name=f"log-{seed}.bin", format="house", rate=rate)
            samples = np.repeat(sound.samples[:, None], channels, axis=1)
            audio.write(hissing(samples, hiss, seed) if hiss else samples)
            total, seed = total + PROGRAM_BYTES, seed + 1
    return total


def long_hiss(path, minutes, rate=44100, channels=1, level=0.05):
    """Hiss and nothing else, written piece by piece; gives the bytes on it, none."""
    generator = np.random.Generator(np.random.PCG64(9))
    with soundfile.SoundFile(path, "w", rate, channels, "PCM_16") as audio:
        for _ in range(round(minutes * 60 / PIECE_S)):
            audio.write(level * generator.standard_normal((round(PIECE_S * rate), channels), np.float32))
    return 0
