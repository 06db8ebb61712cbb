"""What loads: the data blocks of the test tape at rising levels and at rising speeds, read as any tape is."""

from dataclasses import dataclass

import numpy as np

from kit.sound import Sound
from kit.tape import decode
from kit.testtape import plan
from kit.testtape.noise import EARLY_S, quiet_part

__all__ = ["Loads", "noisier", "read_ladder", "read_noisier", "read_sides", "read_stairs"]

WHOLE = ("checked", "mended")
ROUND_S = 0.1
GIVE_UP = 2  # after so many groups in a row of which nothing was read, the harder ones are not tried
MORE_NOISE = np.sqrt(3.0)  # added to what is there, it makes the noise 6.02 dB stronger
SEED = 0


@dataclass(frozen=True)
class Loads:
    """How much of a group of data blocks was read.

    Attributes
    ----------
    kind : {"stair", "rung"}
    number : int
    blocks : int
        How many there are.
    read : int or None
        How many were read, check and bytes agreeing; None if it is not in the recording or was not tried.
    tried : bool
        False for what is harder than two groups of which nothing was read.
    """

    kind: str
    number: int
    blocks: int
    read: int | None
    tried: bool = True

    @property
    def whole(self):
        """bool: whether all of it was read."""
        return self.read == self.blocks


def read_ladder(place):
    """Read the rungs of the ladder, from the slowest to the fastest.

    Parameters
    ----------
    place : Place

    Returns
    -------
    tuple of Loads
    """
    return _in_turn(place, plan.programme().of("rung"))


def read_stairs(place):
    """Read the level stairs, from the loudest down.

    Parameters
    ----------
    place : Place

    Returns
    -------
    tuple of Loads
        In the order of the tape: the quietest first.
    """
    return _in_turn(place, plan.programme().of("stair")[::-1])[::-1]


def _in_turn(place, sections):
    found, nothing = [], 0
    for section in sections:
        if place.presence(section) != "whole":
            found.append(Loads(section.kind, section.number, plan.blocks_in(section.kind, section.number), None))
            continue
        loads = read_group(_sound_of(place, section), section, nothing < GIVE_UP)
        nothing = 0 if loads.read else nothing + 1
        found.append(loads)
    return tuple(found)


def _sound_of(place, section):
    start_s, stop_s = place.span(section)
    return place.sound.part(max(0.0, start_s - ROUND_S), stop_s + ROUND_S)


def read_group(sound, section, tried=True):
    """Read one stair or rung.

    Parameters
    ----------
    sound : Sound
        It alone, with a little round it.
    section : Section
    tried : bool
        False: do not try.

    Returns
    -------
    Loads
    """
    wanted = {part.number: part.data for part in plan.parts_of(section.kind, section.number)}
    if not tried:
        return Loads(section.kind, section.number, len(wanted), 0, False)
    parts = [b.part for b in decode(sound, format=plan.FORMAT).blocks if b.verdict in WHOLE and b.part is not None]
    read = {p.number for p in parts if p.tag == plan.TAG and wanted.get(p.number) == p.data}
    return Loads(section.kind, section.number, len(wanted), len(read))


def read_noisier(place, loads):
    """Read a rung once more, with the recorder's own noise 6 dB stronger.

    Parameters
    ----------
    place : Place
    loads : Loads
        How the rung was read as it is.

    Returns
    -------
    Loads or None
        None if the quiet part, whose noise is needed, is not in the recording.
    """
    noise = _noise(place)
    if noise is None:
        return None
    section = plan.programme().of("rung")[loads.number]
    return read_group(noisier(_sound_of(place, section), noise), section)


def read_sides(place, loads, sides):
    """Read a rung from each side by itself.

    Parameters
    ----------
    place : Place
    loads : Loads
    sides : sequence of int

    Returns
    -------
    dict of int to Loads
    """
    section = plan.programme().of("rung")[loads.number]
    sound = _sound_of(place, section)
    return {side: read_group(Sound(sound.samples[:, side], sound.rate), section) for side in sides}


def noisier(sound, noise):
    """A sound with more noise: it gains 6 dB if `noise` is as strong as what it holds.

    Parameters
    ----------
    sound : Sound
    noise : numpy.ndarray
        float32, (n, channels): repeated in pieces of random places and signs, as long as it takes.

    Returns
    -------
    Sound
    """
    rng = np.random.Generator(np.random.PCG64(SEED))
    piece, fade = len(noise) // 4, len(noise) // 40
    ramp = np.sqrt(np.clip(np.minimum(np.arange(piece) + 0.5, piece - 0.5 - np.arange(piece)) / fade, 0, 1))[:, None]
    added = np.zeros((sound.frames + piece, sound.channels), np.float32)
    for start in range(0, sound.frames, piece - fade):
        first = rng.integers(0, len(noise) - piece)
        stretch = rng.choice((-1, 1)) * ramp * noise[first : first + piece]
        added[start : start + piece] += stretch[: len(added) - start]
    table = sound.samples.reshape(sound.frames, sound.channels)
    return Sound(table + np.float32(MORE_NOISE) * added[: sound.frames], sound.rate)


def _noise(place):
    """The noise of the quiet part, no louder than right after the tone: data hold a level control down, too."""
    quiet = quiet_part(place)
    if quiet is None:
        return None
    start_s, _ = place.span(plan.programme().of("quiet")[0])
    noise = quiet.samples.reshape(quiet.frames, quiet.channels)
    early = place.sound.part(max(0.0, start_s + EARLY_S[0]), max(0.0, start_s + EARLY_S[1]))
    if quiet.rms and 0 < early.rms < quiet.rms:
        noise = noise * np.float32(early.rms / quiet.rms)
    return noise
