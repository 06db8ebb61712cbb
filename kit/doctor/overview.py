"""The outline of a recording: how strong it is from moment to moment, where it is silent, where it clips."""

from dataclasses import dataclass

import numpy as np

from kit.found import ranges

__all__ = ["NOTHING", "Outline", "outline"]

STEP_S = 0.001
LEVEL_STEPS = 20  # steps over which a level is read: longer than a leader cycle at a quarter of the speed
SILENT_PART = 0.3  # of the usual level: what stays below it for longer than a dropout is no signal
LEAST_SILENCE_S = 0.12
NOTHING = 10 ** (-66 / 20)  # weaker than any recording that a loader could be offered
TOP = 0.998  # of the largest sample: a top that many samples reach is flat


@dataclass(frozen=True)
class Outline:
    """One channel of a recording, millisecond by millisecond.

    Attributes
    ----------
    step_s : float
        Length of a step.
    high, low, mean : numpy.ndarray
        float32, (steps,): largest, smallest and mean sample of each step; 1 is full scale.
    power : numpy.ndarray
        float32, (steps,): mean square of each step.
    top_part, bottom_part : float
        Parts of the samples that lie at the very largest and at the very smallest.
    """

    step_s: float
    high: np.ndarray
    low: np.ndarray
    mean: np.ndarray
    power: np.ndarray
    top_part: float = 0.0
    bottom_part: float = 0.0

    @property
    def peak(self):
        """float: the largest absolute sample."""
        return float(max(self.high.max(initial=0), -self.low.min(initial=0)))

    @property
    def levels(self):
        """numpy.ndarray: float64, (n,): rms over 20 ms each, the mean taken off."""
        count = len(self.power) // LEVEL_STEPS
        if not len(self.power):
            return np.zeros(0)
        if not count:
            return np.sqrt(np.maximum(self.power.mean(keepdims=True) - self.mean.mean() ** 2, 0))
        power = self.power[: count * LEVEL_STEPS].reshape(count, -1).mean(axis=1, dtype=float)
        mean = self.mean[: count * LEVEL_STEPS].reshape(count, -1).mean(axis=1, dtype=float)
        return np.sqrt(np.maximum(power - mean**2, 0))

    @property
    def level_s(self):
        """float: seconds between two of `levels`."""
        return LEVEL_STEPS * self.step_s

    @property
    def usual_level(self):
        """float: rms of the louder part, most of which is signal where there is any."""
        levels = self.levels
        return float(np.percentile(levels, 80)) if len(levels) else 0.0

    @property
    def silences(self):
        """list of (float, float): stretches, in seconds, in which no signal is."""
        quiet = self.levels < max(SILENT_PART * self.usual_level, NOTHING)
        long = LEAST_SILENCE_S / self.level_s
        return [(a * self.level_s, b * self.level_s) for a, b in ranges(quiet) if b - a >= long]

    @property
    def offset(self):
        """float: the level the wave swings about (DC)."""
        return float(self.mean.mean(dtype=float)) if len(self.mean) else 0.0


def outline(sound):
    """The outline of each channel, in one pass over the recording.

    Parameters
    ----------
    sound : Sound

    Returns
    -------
    list of Outline
    """
    step = max(1, round(sound.rate * STEP_S))
    rows = [[] for _ in range(sound.channels)]
    for piece in sound.pieces(frames=step * 4096):
        whole = len(piece) // step * step
        for side in range(sound.channels) if whole else ():
            table = np.ascontiguousarray(piece[:whole, side]).reshape(-1, step)
            square = np.einsum("ij,ij->i", table, table) / step
            rows[side].append((table.max(axis=1), table.min(axis=1), table.mean(axis=1), square))
    lines = [_joined(row, step / sound.rate) for row in rows]
    return [_with_tops(sound, side, line) for side, line in enumerate(lines)]


def _joined(row, step_s):
    parts = [np.concatenate(part) for part in zip(*row, strict=True)] or [np.zeros(0, np.float32)] * 4
    return Outline(step_s, *parts)


def _with_tops(sound, side, line):
    """Which part of the samples lies at the very top and bottom; a minute of the recording tells."""
    if not len(line.high):
        return line
    stop = min(sound.frames, 60 * sound.rate)
    counts, total = np.zeros(2), 0
    upper, lower = line.high.max(), line.low.min()
    for piece in sound.pieces(stop=stop):
        wave = piece[:, side]
        counts += np.count_nonzero(wave > TOP * upper), np.count_nonzero(wave < TOP * lower)
        total += len(wave)
    top, bottom = counts / max(total, 1)
    return Outline(line.step_s, line.high, line.low, line.mean, line.power, float(top), float(bottom))
