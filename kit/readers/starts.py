"""Starts under hiss: where a leader's steady tone gives way to the sync mark, found by its whole shape."""

from dataclasses import dataclass

import numpy as np

from .leadertones import measured_hz

__all__ = ["Beginning", "Heard", "beginnings"]

SHAPE_CYCLES = 6  # leader cycles before the sync mark that are part of the shape
FINE, FINER = 8, 32  # places tried in a unit, first everywhere, then near the best
STRETCHES = (0.99, 1.0, 1.01)  # speeds tried, as parts of the tone's
WIDE_STRETCHES = (0.93, 0.945, 0.96, 0.975, 0.985, 1.0, 1.015, 1.025, 1.04, 1.055, 1.07)  # where it swings
SWING = 0.008  # part by which the speed at a tone's end may differ from what it was before
LAST_WINDOWS = 3  # of a tone whose speed swings
FINER_STRETCHES = (0.992, 0.995, 0.998, 1.0, 1.002, 1.005, 1.008)
APART_UNITS = 2.5  # rivals lie no nearer to each other
LIKE = 0.55  # how well the sync mark must fit, against how well the leader before it does
MOST = 3  # places kept for one tone
EARLIER_S, LATER_S = 0.09, 0.03  # round a tone's end


class Heard:
    """A stretch of one channel, ready to be summed between any two times.

    Parameters
    ----------
    wave : ndarray of float32, shape (n,)
    """

    def __init__(self, wave):
        self.wave = wave
        self._sums = np.concatenate(([0.0], np.cumsum(wave, dtype=np.float64)))

    def __len__(self):
        return len(self.wave)

    def raised(self, lag, times):
        """The same with highs raised and lows taken off, and none moved: each sample less those `lag` either side.

        A tone of which `lag` is half a cycle is doubled; of a quarter of that frequency 0.3 is left; hum is gone.
        """
        wave = self.wave
        for _ in range(times):
            beside = np.zeros_like(wave)
            beside[lag:] += wave[:-lag]
            beside[:-lag] += wave[lag:]
            wave = wave - beside / 2
        return Heard(wave)

    def up_to(self, places):
        """The sum of all samples before each place, in samples, between samples too."""
        places = np.clip(places, 0, len(self.wave))
        whole = places.astype(np.int64)
        below, above = self._sums[whole], self._sums[np.minimum(whole + 1, len(self.wave))]
        return below + (places - whole) * (above - below)


@dataclass(frozen=True)
class Beginning:
    """Where a block's first cell may begin.

    Attributes
    ----------
    place : float
        In samples.
    unit : float
        Samples in a unit.
    level : float
        Mean size of the wave in the leader; below zero if the wave is upside down.
    leader : int
        Where the tone before it began, in samples.
    fit : float
        How well the shape fits there, for comparison with rivals.
    """

    place: float
    unit: float
    level: float
    leader: int
    fit: float


def beginnings(heard, rate, tone, leader):
    """Where a block may begin at the end of a tone, best fit first.

    Parameters
    ----------
    heard : Heard
    rate : int
        Samples per second.
    tone : Tone
    leader : Leader
        Leader and sync mark of the format.

    Returns
    -------
    list of Beginning
        Empty where no sync mark is at the end of the tone.
    """
    hz, last_hz = measured_hz(heard.wave, rate, tone), measured_hz(heard.wave, rate, tone, LAST_WINDOWS)
    if abs(last_hz / hz - 1) < SWING:
        return _beginnings(heard, rate, tone, leader, hz, STRETCHES)
    # What the speed was on the whole says little of the tone's end.
    return _beginnings(heard, rate, tone, leader, last_hz, WIDE_STRETCHES)


def _beginnings(heard, rate, tone, leader, hz, stretches):
    unit = rate / (hz * leader.leader_units)
    low, high = tone.stop - EARLIER_S * rate, tone.stop + LATER_S * rate
    low = max(low, SHAPE_CYCLES * leader.leader_units * unit + leader.sync_cycles * leader.sync_units * unit)
    places = np.arange(low, min(high, len(heard)), unit / FINE)
    found, first = [], None
    if len(places) == 0:
        return found
    fit, which, _ = _fits(heard, places, unit, stretches, leader)
    while len(found) < MOST and fit.max() > 0.7 * (first or 0):
        at = int(fit.argmax())
        first = first or fit[at]
        found.append(_refined(heard, places[at], unit * stretches[which[at]], leader, tone))
        fit[np.abs(places - places[at]) < APART_UNITS * unit] = 0
    return found


def _refined(heard, place, unit, leader, tone):
    places = place + np.arange(-FINER // 4, FINER // 4 + 1) * unit / FINER
    fit, which, leading = _fits(heard, places, unit, FINER_STRETCHES, leader)
    at = int(fit.argmax())
    length = unit * FINER_STRETCHES[which[at]]
    level = leading[at] / (SHAPE_CYCLES * leader.leader_units * length)
    # The tone may begin within the first window only.
    began = min(tone.start + tone.window, places[at] - leader.encode(1).sum() * length)
    return Beginning(float(places[at]), float(length), float(level), int(began), float(fit[at]))


def _share(leader):
    """How much of the shape is sync mark, against leader."""
    return leader.sync_cycles * leader.sync_units / (SHAPE_CYCLES * leader.leader_units)


def _fits(heard, places, unit, stretches, leader):
    """How well leader and sync mark fit before each place, at the best speed, which that is, and the leader alone."""
    parts = [_sums(heard, places, unit * stretch, leader) for stretch in stretches]
    leading, mark = (np.stack(part) for part in zip(*parts, strict=True))
    fit = np.abs(leading + mark)
    unlike = np.abs(mark) < LIKE * np.abs(leading) * _share(leader)
    fit[unlike | (np.sign(leading) != np.sign(mark))] = 0
    which, at = fit.argmax(axis=0), np.arange(len(places))
    return fit[which, at], which, leading[which, at]


def _sums(heard, places, unit, leader):
    """The sound before each place, turned as leader and sync mark are: both summed."""
    halves = leader.encode(SHAPE_CYCLES) * unit
    bounds = np.concatenate(([0.0], np.cumsum(halves))) - halves.sum()
    sums = np.diff(heard.up_to(places[:, None] + bounds), axis=1)
    sums[:, 1::2] *= -1
    split = 2 * SHAPE_CYCLES
    return sums[:, :split].sum(axis=1), sums[:, split:].sum(axis=1)
