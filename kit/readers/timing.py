"""Timing under hiss: where the beats of a block fall, found from many guesses at once.

A block is cut into short windows. For each window every place of the beat, and some speeds near the leader's,
are tried at once: for each guess the trellis says how well any row of cells fits. The likeliest smooth path
through the guesses, from window to window, is the tape's timing. Where the speed may go far from the leader's,
cells no longer have the length that guesses take them to have; the path is then found again along the first one.
"""

import math

import numpy as np

from ..smoothing import average

__all__ = ["Beats", "follow"]

STEP_TICKS, FEWEST_TICKS = 4, 8  # places tried in a step of the trellis, and in a beat
FEWEST_BEATS = 4  # in a window
LEAD_IN = 8  # beats that a window reaches beyond the next one's start
SETTLED, FAR = 4, 1000  # windows from which the speed at the end is taken, and beats for which it is used
FLAT = 3.0  # what one tick of jitter, or one step of speed, costs on the way: a natural logarithm
STRAINED = 0.02  # part of windows in which the speed may be as far off as it is tried
EVEN_BEATS, EVEN_OVER = 8, 9  # steps in which a path is drawn for another, and over how many it is evened


class Beats:
    """Where the beats of a block fall.

    Parameters
    ----------
    start, beat : float
        Where the first beat begins and how long one is by the leader, in samples.
    anchors, late : ndarray of float, shape (n,)
        At these beats the grid lies so many beats later than that.
    far : ndarray of bool, shape (n,)
        Where the speed is as far off as it was looked for.
    """

    def __init__(self, start, beat, anchors=(0.0, 1.0), late=(0.0, 0.0), far=(False, False)):
        self.start, self.beat = start, beat
        self.anchors, self.late, self.far = np.asarray(anchors), np.asarray(late), np.asarray(far)

    def strained(self, last):
        """Whether the speed, up to some beat, may have gone farther than it was looked for."""
        return bool(np.mean(self.far[self.anchors <= last]) > STRAINED)

    def places(self, numbers):
        """Where beats lie, in samples; numbers between whole ones are allowed."""
        numbers = np.asarray(numbers, dtype=float)
        return self.start + (numbers + np.interp(numbers, self.anchors, self.late)) * self.beat

    def along(self, base):
        """The same, if its beats were counted along another grid instead of at one speed."""
        there = self.anchors + self.late
        late = self.late + np.interp(there, base.anchors, base.late)
        return Beats(base.start, base.beat, self.anchors, late, self.far)

    def evened(self):
        """The same with its swings of speed rounded, for another path to be found along it."""
        last, half = self.anchors[-2], EVEN_OVER // 2
        numbers = np.arange(0, last, EVEN_BEATS)
        late = np.interp(numbers, self.anchors, self.late)
        # Both ends are turned over and put on, so that they keep their place and their slope.
        before, after = 2 * late[0] - late[half:0:-1], 2 * late[-1] - late[-2 : -2 - half : -1]
        late = average(np.concatenate((before, late, after)), EVEN_OVER)
        end = late[-1] + self.late[-1] - self.late[-2]
        return Beats(self.start, self.beat, np.append(numbers, numbers[-1] + FAR), np.append(late, end))

    def grid(self, heard, count, steps, first=0):
        """The sound summed over each step of some beats, shape (count, steps)."""
        marks = self.places(first + np.arange(count * steps + 1) / steps)
        return np.diff(heard.up_to(marks)).reshape(count, steps)


def follow(heard, start, unit, level, trellis, beats, passes):
    """Find where the beats of a block fall.

    Parameters
    ----------
    heard : Heard
    start, unit : float
        Where the first cell begins and how long a unit is there, in samples.
    level : float
        Size of the wave, below zero if it is upside down.
    trellis : Trellis
    beats : int
        How many beats to follow, at most.
    passes : sequence of tuple of int and int
        For each pass how many steps of speed are tried on either side (a step is a tick in a window) and how long
        a window is, in units: long against noise, short against flutter. The first pass looks round the speed at
        the start, each other one round the path found before.

    Returns
    -------
    Beats
    """
    base, ticks = Beats(start, unit * trellis.beat_units), max(FEWEST_TICKS, STEP_TICKS * trellis.steps)
    for number, (reach, window_units) in enumerate(passes):
        window = max(FEWEST_BEATS, round(window_units / trellis.beat_units))
        base = base.evened() if number else base
        # Where all runs late there are more windows in so many beats; but none where there is no more sound.
        count = 1 + int(beats * (1 + reach / (ticks * window)) / window)
        count = max(1, int(np.searchsorted(base.places(np.arange(count) * window), len(heard))))
        found = _followed(heard, base, level, trellis, ticks, count, reach, window)
        base = found.along(base)
    return base


def _followed(heard, base, level, trellis, ticks, count, reach, window):
    """One pass over so many windows, round the speed of another grid; its beats are counted along that."""
    most = count * window + LEAD_IN + 1 + math.ceil(reach * (window + LEAD_IN) / (window * ticks))
    values = _values(heard, base, level, trellis, ticks, most)
    scores = _scores(values, trellis, window, count, ticks, reach)
    first, last = base.places([0, count * window]).astype(int)
    path = _path(scores, reach, _scale(heard.wave[first:last], level))
    return _beats(path, scores, base, window, reach)


def _values(heard, base, level, trellis, ticks, beats):
    """How well the best cell of each length fits from each tick on: dict of beats to float32 (beats * ticks,)."""
    fine = int(np.lcm(ticks, trellis.steps))  # so that steps and ticks both are whole
    each, step, count = fine // ticks, fine // trellis.steps, beats * ticks
    longest = trellis.lengths[-1]
    sums = heard.up_to(base.places(np.arange((beats + longest + 1) * fine + 1) / fine))
    found = {}
    for pattern in trellis.patterns:
        row, value = pattern.ravel(), np.zeros(count)
        for k, sign in enumerate(row):
            first = k * step
            value += sign * (sums[first + step :][: count * each : each] - sums[first:][: count * each : each])
        value = (np.sign(level) * value).astype(np.float32)
        size = len(pattern)
        found[size] = np.maximum(found[size], value) if size in found else value
    return found


def _scores(values, trellis, window, count, ticks, reach):
    """How well each window fits under each guess, shape (windows, ticks, speeds)."""
    speeds = np.arange(-reach, reach + 1)
    beat = np.arange(window + LEAD_IN)
    drift = np.rint(np.outer(beat, speeds) / window).astype(int)
    at = (beat[:, None] * ticks + drift)[:, None, :] + np.arange(ticks)[:, None]
    cells = {}
    for size, value in values.items():
        # All windows side by side, so that each guess takes a whole row.
        rows = np.lib.stride_tricks.sliding_window_view(value, at.max() + 1)[:: window * ticks][:count]
        cells[size] = np.ascontiguousarray(rows.T)[at].reshape(len(beat), -1)
    best = trellis.forwards(cells)[-trellis.lengths[-1] :].max(axis=0)
    return np.ascontiguousarray(best.reshape(ticks, len(speeds), count).transpose(2, 0, 1))


def _scale(wave, level):
    """What turns a sum of samples into a log-likelihood: the level over the noise's variance."""
    power = float(np.einsum("i,i", wave, wave)) / max(1, len(wave))
    return abs(level) / max(power - level**2, 0.02 * level**2, 1e-12)


def _path(scores, reach, scale):
    """The likeliest tick and speed of each window: two arrays, the ticks unwrapped."""
    count, ticks, speeds = scores.shape
    tick, speed = np.divmod(np.arange(ticks * speeds), speeds)
    speed -= reach
    sources, costs = [], []
    for jitter in (-1, 0, 1):
        for change in (-1, 0, 1):
            was = np.clip(speed - change, -reach, reach)
            sources.append(((tick - was - jitter) % ticks) * speeds + was + reach)
            costs.append(np.full(len(tick), FLAT * (abs(jitter) + abs(change))))
    sources, costs = np.stack(sources), np.stack(costs)
    value = scale * scores[0].ravel().astype(float) - FLAT * _around(tick, ticks) - FLAT * np.abs(speed)
    came = np.zeros((count, len(tick)), int)
    lanes = np.arange(len(tick))
    for k in range(1, count):
        ways = value[sources] - costs
        best = ways.argmax(axis=0)
        came[k] = sources[best, lanes]
        value = ways[best, lanes] + scale * scores[k].ravel()
    state = np.zeros(count, int)
    state[-1] = int(value.argmax())
    for k in range(count - 1, 0, -1):
        state[k - 1] = came[k, state[k]]
    return tick[state], speed[state]


def _around(tick, ticks):
    return np.minimum(tick, ticks - tick)


def _beats(path, scores, base, window, reach):
    tick, speed = path
    ticks = scores.shape[1]
    moved = np.concatenate(([tick[0] - ticks * (tick[0] > ticks // 2)], np.diff(tick)))
    # From one window to the next the tick moves by about the speed; which way round the beat is then known.
    expected = np.concatenate(([moved[0]], speed[:-1]))
    moved = expected + (moved - expected + ticks // 2) % ticks - ticks // 2
    late, middle = np.cumsum(moved), (window + LEAD_IN) / 2
    # A window's beats count from its first one, which lies as many whole beats later as the grid has moved.
    anchors = np.arange(len(tick)) * window + middle - (late - tick) / ticks
    late = late + speed * middle / window + _finer(scores, tick, speed + reach)
    # Before the first window and after the last the tape runs on as it did there.
    slope = (late[-1] - late[-1 - SETTLED]) / (anchors[-1] - anchors[-1 - SETTLED]) if len(late) > SETTLED else 0.0
    anchors = np.concatenate(([0.0], anchors, [anchors[-1] + FAR]))
    late = np.concatenate(([0.0], late, [late[-1] + slope * FAR])) / ticks
    return Beats(base.start, base.beat, anchors, late, np.pad(np.abs(speed) == reach, 1))


def _finer(scores, tick, speed):
    """Where between ticks the best place lies, from how well the neighbours fit; -0.5 to 0.5."""
    windows = np.arange(len(tick))
    here = scores[windows, tick, speed]
    ticks = scores.shape[1]
    before, after = scores[windows, (tick - 1) % ticks, speed], scores[windows, (tick + 1) % ticks, speed]
    depth = here - np.minimum(before, after)
    return np.clip(np.where(depth > 0, 0.5 * (after - before) / np.maximum(depth, 1e-12), 0), -0.5, 0.5)
