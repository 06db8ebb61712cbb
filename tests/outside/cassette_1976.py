"""Audio by the 1976 audio-cassette standard, made from its text alone.

Source of every check named "1976": M. & V. Peschke, "BYTE's Audio Cassette Standards Symposium", BYTE, February 1976,
pp. 72-73. A one is eight cycles of 2400 Hz, a zero four cycles of 1200 Hz, up to 300 bits a second. A character is a
start bit of zero, eight data bits with the least significant first, and two or more stop bits of one; marks may lie
between characters for any time; each block is led in by 5 s of marks at least.
"""

import warnings

import numpy as np

import kit
from kit import Sound
from kit.found import UNCHECKED

MARK_HZ, SPACE_HZ, BIT_S = 2400, 1200, 1 / 300  # 1976
RATES = (8000, 11025, 22050, 44100, 48000, 96000)
LOG = b"Day 12. Wind west 5, gulls 3, sea calm; the boat is late.\r\n"


def bits_of(byte, stops=2):
    """1976: start bit, data bits, least significant first, stop bits."""
    return [0] + [(byte >> k) & 1 for k in range(8)] + [1] * stops


def tones_of(data, stops=2, pauses_s=(0.0,), lead_s=5.0, tail_s=0.2):
    """Pairs of a tone in Hz and how long it lasts, in seconds, at ordinary speed."""
    tones = [(MARK_HZ, lead_s)]
    for k, byte in enumerate(data):
        tones += [(MARK_HZ if bit else SPACE_HZ, BIT_S) for bit in bits_of(byte, stops)]
        tones.append((MARK_HZ, pauses_s[k % len(pauses_s)]))
    return [*tones, (MARK_HZ, tail_s)]


def drawn(tones, rate=44100, speed=1.0, shape="sine", level=0.5):
    """The tones as sound, the wave going on without a break; each sample is the wave just there."""
    hz, lasts = np.array(tones).T
    ends, turns = np.cumsum(lasts), np.cumsum(hz * lasts)
    seconds = np.arange(int(ends[-1] / speed * rate)) / rate * speed
    phase = np.interp(seconds, np.append(0, ends), np.append(0, turns))
    wave = np.sin(2 * np.pi * phase) if shape == "sine" else np.where(phase % 1 < 0.5, 1.0, -1.0)
    return Sound((level * wave).astype(np.float32), rate)


def heard(sound, format="kansas"):
    return kit.decode(sound, format=format)


def reads(sound, data, format="kansas"):
    reading = heard(sound, format)
    return [(file.data, file.verdict, file.doubtful) for file in reading.files] == [(data, UNCHECKED, [])]


def written(data, format="kansas", **more):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return kit.encode(data, name="log.txt", format=format, **more)
