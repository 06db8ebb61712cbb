"""Noise and hum of a recorder, from the part of the test tape on which nothing is recorded."""

from dataclasses import dataclass

import numpy as np

from kit.meters import hum_dbfs, level_dbfs, noise_dbfs
from kit.testtape import plan
from kit.testtape.figures import Figure

__all__ = ["Noise", "one_side", "read_noise"]

SETTLED_S = 2.0  # by then reverberation and print-through of what came before are gone
EDGE_S = 0.25
LEAST_S = 1.5
EARLY_S = (0.3, 1.3)
HUM_BELOW_NOISE_DB = 26.0  # hum weaker than this, relative to the noise of 20 kHz, may be noise round its lines
MAINS_HZ = (50.0, 60.0)


@dataclass(frozen=True)
class Noise:
    """What is heard where nothing was recorded, side by side.

    Attributes
    ----------
    level : tuple of Figure
        For each side, in dBFS: rms, as if its density filled 20 kHz.
    hum : tuple of Figure
        For each side, in dBFS; the note says of which mains frequency.
    rise_db : float
        How far the noise rises while nothing is played: a replay level control turns up.
    """

    level: tuple
    hum: tuple
    rise_db: float


def one_side(sound, side):
    """One side of a sound, as a mono sound."""
    return sound if sound.channels == 1 else type(sound)(sound.samples[:, side], sound.rate)


def read_noise(place):
    """Read the noise of a recording.

    Parameters
    ----------
    place : Place

    Returns
    -------
    Noise
    """
    quiet = quiet_part(place)
    sides = range(place.sound.channels)
    if quiet is None:
        gone = Figure.missing("dBFS", "the quiet part is not in the recording")
        return Noise((gone,) * len(sides), (gone,) * len(sides), 0.0)
    return Noise(tuple(_level(quiet, side) for side in sides), tuple(_hum(quiet, side) for side in sides),
                 _rise_db(place))  # fmt: skip


def quiet_part(place):
    """The settled stretch of the quiet part, or None if there is too little of it."""
    section = plan.programme().of("quiet")[0]
    start_s, stop_s = place.span(section)
    start_s, stop_s = max(0.0, start_s + SETTLED_S), min(stop_s - EDGE_S, place.sound.seconds)
    return place.sound.part(start_s, stop_s) if stop_s - start_s >= LEAST_S else None


def _level(quiet, side):
    level = noise_dbfs(quiet, side=side)
    if not np.isfinite(level):
        return Figure.missing("dBFS", "the quiet part is silent to the last bit: something gates it")
    # The spread of a mean over so many independent bands, at 95 %, and what a band of another shape adds.
    spread = 0.3
    return Figure(level, "dBFS", level - spread, level + spread, note=f"over {quiet.seconds:.1f} s, per 20 kHz")


def _hum(quiet, side):
    if quiet.seconds < 2.0:
        return Figure.missing("dBFS", "the quiet part is too short")
    levels = {mains: hum_dbfs(quiet, mains, side=side) for mains in MAINS_HZ}
    mains = max(levels, key=levels.get)
    noise = noise_dbfs(quiet, side=side)
    if not np.isfinite(levels[mains]) or levels[mains] < noise - HUM_BELOW_NOISE_DB:
        return Figure.missing("dBFS", "no hum stands out of the noise")
    return Figure(levels[mains], "dBFS", note=f"{mains:g} Hz and its multiples")


def _rise_db(place):
    """From the first second of quiet to its last."""
    section = plan.programme().of("quiet")[0]
    start_s, stop_s = place.span(section)
    if start_s < 0 or stop_s > place.sound.seconds:
        return 0.0
    early = level_dbfs(place.sound, start_s + EARLY_S[0], start_s + EARLY_S[1])
    late = level_dbfs(place.sound, stop_s - 1.0 - EDGE_S, stop_s - EDGE_S)
    return float(late - early) if np.isfinite(early) and np.isfinite(late) else 0.0
