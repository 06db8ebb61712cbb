"""Ears: the ways a recording is listened to, as mixtures of its channels and as degrees of smoothing."""

from dataclasses import dataclass

import numpy as np

from .known import SPEEDS

__all__ = ["Ear", "Mix", "ears", "mixtures", "side_names", "stream_ear"]

SMOOTHING = 0.5  # greatest width of the longer moving average, as a part of the shortest cycle: a half-cycle
CENTRING = 2.0  # width of the average taken off, in leader cycles
FEWEST_SAMPLES = 1.1  # in a half-cycle, for it to be looked for
SPREAD = 2.2  # how far from the speed it is made for an ear listens
NEAREST = 1.38  # how far from that speed no other ear is nearer: a bit less than half-way to twice the speed
HYSTERESIS = 0.1


@dataclass(frozen=True)
class Ear:
    """How a lane listens.

    Attributes
    ----------
    smooth : int
        Samples in the longer moving average against hiss; 1 is none.
    centre : int
        Samples in the moving average against hum and held levels; 0 is none.
    hysteresis : float
        See `EdgeFinder`.
    note : str
        What to say of a block that needed this.
    unit_samples : tuple of float
        Shortest and longest unit worth looking for, in samples.
    mended_samples : tuple of float
        Shortest and longest unit at which cells that slipped are put right, on trial. Of ears that smooth one at
        most may do so at each speed, for what is tried on a block is counted for all ears together.
    """

    smooth: int = 1
    centre: int = 0
    hysteresis: float = 0.0
    note: str = ""
    unit_samples: tuple = (2.2, float("inf"))
    mended_samples: tuple = (0.0, 0.0)


class Mix:
    """A way to make one channel of several."""

    def __init__(self, side, weights):
        self.side = side
        self.weights = np.asarray(weights, dtype=np.float32)
        self.other = np.count_nonzero(self.weights) > 1

    def of(self, samples):
        if not self.other:
            return np.ascontiguousarray(samples[:, int(np.flatnonzero(self.weights)[0])])
        return samples.astype(np.float32) @ self.weights


def side_names(channels):
    names = {1: ("mono",), 2: ("left", "right")}
    return names.get(channels, tuple(f"channel {k + 1}" for k in range(channels)))


def mixtures(channels):
    single = [Mix(side, np.eye(channels)[k]) for k, side in enumerate(side_names(channels))]
    if channels == 1:
        return single
    both = [Mix("sum", np.full(channels, 1 / channels))]
    return single + both + ([Mix("difference", [0.5, -0.5])] if channels == 2 else [])


def ears(format, rate):
    """Plain listening, and smoothed and centred for each speed the rate can carry."""
    shortest = FEWEST_SAMPLES / (format.shortest_units / 2)
    yield Ear(unit_samples=(shortest, format.unit_s(min(SPEEDS.values())) * rate * SPREAD),
              mended_samples=(0.0, float("inf")))
    for name, speed in SPEEDS.items():
        if format.needed_rate(speed) > 1.4 * rate:
            continue
        unit = format.unit_s(speed) * rate
        yield Ear(
            smooth=_odd(SMOOTHING * format.shortest_units * unit),
            centre=round(CENTRING * format.leader.leader_units * unit),
            hysteresis=HYSTERESIS,
            note=f"smoothed and centred for {name} speed",
            unit_samples=(max(shortest, unit / SPREAD), unit * SPREAD),
            mended_samples=(unit / NEAREST, unit * NEAREST),
        )


def stream_ear(format, unit):
    """Smoothed and centred for a stream whose leader has shown how long a unit is, in samples."""
    return Ear(
        smooth=_odd(SMOOTHING * format.shortest_units * unit),
        centre=round(CENTRING * format.code.longest_cycle_units * unit),
        hysteresis=HYSTERESIS,
    )


def _odd(width):
    """The greatest odd number of samples in a width, but 1 at least."""
    return max(1, (int(width) + 1) // 2 * 2 - 1)
