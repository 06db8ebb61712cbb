"""The level along a recording: dips in it, and how it moves while a leader should stay the same."""

from dataclasses import dataclass

import numpy as np

from kit.found import ranges

__all__ = ["Dip", "LevelCourse", "find_dips", "level_courses"]

AROUND_S = 0.25
DEEP = 0.55  # of what is usual around it
LONGEST_DIP_S = 0.5
SETTLED_S = 0.25
ONSET_S = 0.03


@dataclass(frozen=True)
class Dip:
    """A dropout: the level falls, and comes back.

    Attributes
    ----------
    start_s, stop_s : float
    depth_db : float
        How far it falls.
    """

    start_s: float
    stop_s: float
    depth_db: float


def strength(line, period_s):
    """Rms over a little more than one period, step by step: float64, (steps,).

    The rms, not the swing: where a scratch took the signal, clicks swing as far, but hold little.
    """
    from scipy.ndimage import uniform_filter1d

    width = max(2, round(1.2 * period_s / line.step_s) + 1)
    power = np.maximum(line.power - np.float32(line.offset) ** 2, 0).astype(float)
    return np.sqrt(uniform_filter1d(power, width))


def find_dips(line, period_s, weakest, silences):
    """Dropouts in one channel.

    Parameters
    ----------
    line : Outline
    period_s : float
        Of the longest cycle in the recording.
    weakest : float
        Level of the weakest cycles relative to the strongest: as low as that is no dip.
    silences : list of (float, float)
        Where no signal should be.

    Returns
    -------
    list of Dip
        In order of time.
    """
    from scipy.ndimage import percentile_filter

    if len(line.high) < 20:
        return []
    level = strength(line, period_s)
    coarse = level[::10]
    size = max(3, round(AROUND_S / (10 * line.step_s)) | 1)
    usual = np.repeat(percentile_filter(coarse, 60, size, mode="nearest"), 10)[: len(level)]
    signal = usual > 0.5 * np.percentile(level, 80)
    low = signal & (level < DEEP * weakest * usual)
    for start, stop in silences:
        # Where the signal ends is no dip in it.
        low[max(0, int((start - 0.06) / line.step_s)) : int((stop + 0.06) / line.step_s) + 1] = False
    edge = round(0.03 / line.step_s)
    low[:edge] = low[len(low) - edge :] = False
    return [_dip(level, usual, a, b, line.step_s) for a, b in ranges(low) if (b - a) * line.step_s <= LONGEST_DIP_S]


def _dip(level, usual, first, stop, step_s):
    deepest = (level[first:stop] / usual[first:stop]).min()
    return Dip(first * step_s, stop * step_s, float(-20 * np.log10(max(deepest, 1e-3))))


@dataclass(frozen=True)
class LevelCourse:
    """How the level moves through one leader.

    Attributes
    ----------
    start_s, stop_s : float
    onset_db : float
        Level of its first moment over that a quarter of a second later.
    fall_db : float
        Level a quarter of a second after its start over that of its end.
    data_db : float
        Level of what follows, over that of its end.
    after_silence : bool
    """

    start_s: float
    stop_s: float
    onset_db: float
    fall_db: float
    data_db: float
    after_silence: bool


def level_courses(line, spans, period_s, silences):
    """How the level moves through leaders.

    Parameters
    ----------
    line : Outline
    spans : list of (float, float, float)
        Leaders: start and stop in seconds, and frequency.
    period_s : float
    silences : list of (float, float)

    Returns
    -------
    list of LevelCourse
    """
    level = strength(line, period_s)
    ends = [0.0, *(stop for _, stop in silences)]
    courses = []
    for start, stop, _ in spans:
        if stop - start < SETTLED_S + 0.1:
            continue

        def over(first, last):
            a, b = int(first / line.step_s), int(last / line.step_s)
            piece = level[max(0, a) : max(a + 1, b)]
            return float(np.median(piece)) + 1e-9 if len(piece) else 1e-9

        begin, settled = over(start + period_s, start + period_s + ONSET_S), over(start + 0.2, start + 0.3)
        end, data = over(stop - 0.1, stop - 0.01), over(stop + 0.03, stop + 0.13)
        silent = any(abs(start - each) < 0.08 for each in ends)
        courses.append(LevelCourse(start, stop, _db(begin / settled), _db(settled / end), _db(data / end), silent))
    return courses


def _db(ratio):
    return float(20 * np.log10(ratio))
