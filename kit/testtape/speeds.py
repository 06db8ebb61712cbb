"""Speed, drift, wow and flutter of a recorder, from the marks and the two steady tones of the test tape."""

import math
from dataclasses import dataclass

import numpy as np

from kit.errors import ReadingError
from kit.meters import power_density, speed_trace, tone_level_dbfs, two_sigma, weighted, weighting_db
from kit.testtape import plan
from kit.testtape.figures import Figure

__all__ = ["Speeds", "read_speeds"]

SHORTER_S = 0.15
WINDOW_S = 5.0
LEAST_SPAN_S = 60.0  # marks this far apart tell the speed better than a tone does
CLOCK_PERCENT = 0.02  # assumption: two sound cards' clocks differ by no more
MARK_S = 0.002  # a mark is placed no worse than this
PHASE_HZ = 675.0  # to here the demodulator of the meter passes: the middle of its slope from 450 to 900 Hz
MOSTLY_NOISE, MUCH_NOISE = 0.85, 0.3  # of a reading; from the second on, its shape blurs that of the swings
NOISE_DOUBT = 0.3  # of the reading that hiss alone would give: how far the part taken off may be off
LEAST_TONE_TO_HISS = 16.0  # as powers, in the band of the demodulator
# Two-sigma reading over rms, by the excess kurtosis of what is read: one sine, two alike, noise (computed).
SHAPES = ((-1.5, -0.75, 0.0), (1.41, 1.82, 1.96))


@dataclass(frozen=True, eq=False)
class Speeds:
    """What the tones and marks say about speed.

    Attributes
    ----------
    difference : Figure
        Speed in replay relative to that in recording, in percent.
    drift : Figure
        Half of the distance between the slowest and the fastest 5 s, in percent.
    wow_and_flutter, unweighted : Figure
        Two-sigma readings after AES6, in percent.
    traces : tuple of kit.meters.SpeedTrace
    """

    difference: Figure
    drift: Figure
    wow_and_flutter: Figure
    unweighted: Figure
    traces: tuple


def read_speeds(place):
    """Read the speeds of a recording.

    Parameters
    ----------
    place : Place

    Returns
    -------
    Speeds
    """
    traces = tuple(trace for section in plan.programme().of("tone") for trace in _trace(place, section))
    if not traces:
        why = "less than 5 s of its tone is in the recording"
        flutter = unweighted = Figure.missing("%", why)
    else:
        flutter, unweighted = _flutter(traces, _noise_percent(place, traces[0]))
    return Speeds(_difference(place, traces), _drift(place, traces), flutter, unweighted, traces)


def _trace(place, section):
    part = place.part(section, SHORTER_S)
    if part is None or part.seconds < WINDOW_S:
        return
    try:
        yield speed_trace(part, plan.TONE_HZ, place.side)
    except ReadingError:
        return


def _difference(place, traces):
    planned_s, heard_s = place.planned_s, place.heard_s
    if len(planned_s) > 1 and planned_s[-1] - planned_s[0] >= LEAST_SPAN_S:
        percent = 100 * ((planned_s[-1] - planned_s[0]) / (heard_s[-1] - heard_s[0]) - 1)
        most = CLOCK_PERCENT + 100 * MARK_S / (planned_s[-1] - planned_s[0])
        note = f"mean over {planned_s[-1] - planned_s[0]:.0f} s, from the marks"
        return Figure(percent, "%", percent - most, percent + most, note=note)
    if not traces:
        return Figure.missing("%", "too little of the tape is in the recording")
    heard = np.concatenate([trace.deviation for trace in traces])
    percent, wander = 100 * float(np.mean(heard)), max(trace.drift_percent for trace in traces)
    most = CLOCK_PERCENT + max(wander, 0.1)
    return Figure(percent, "%", percent - most, percent + most, note=f"mean over {_seconds(traces):.0f} s of tone")


def _seconds(traces):
    return sum(len(trace.deviation) / trace.rate_hz for trace in traces)


def _drift(place, traces):
    paces = [100 * float(np.mean(part)) for trace in traces for part in _windows(trace.deviation, trace.rate_hz)]
    spans = np.diff(place.planned_s)
    far = spans >= WINDOW_S
    paces += list(100 * (spans[far] / np.diff(place.heard_s)[far] - 1))
    if len(paces) < 2:
        return Figure.missing("%", "too little of the tape is in the recording")
    return Figure((max(paces) - min(paces)) / 2, "%", note="slowest to fastest 5 s, halved")


def _windows(values, rate_hz):
    count = max(1, int(len(values) / (WINDOW_S * rate_hz)))
    return np.array_split(values, count)


def _flutter(traces, noise_percent):
    """The weighted and the unweighted reading, what the hiss adds taken off."""
    relative = [100 * ((1 + t.deviation) / (1 + np.mean(t.deviation)) - 1) for t in traces]
    heard = [weighted(values, t.rate_hz) for values, t in zip(relative, traces, strict=True)]
    raw = two_sigma(np.concatenate(heard))
    pieces = [two_sigma(part) for k, values in enumerate(heard) for part in _windows(values, traces[k].rate_hz)]
    if math.isinf(noise_percent):
        reading = Figure.missing("%", "its tone is too near to the hiss")
    elif noise_percent > MOSTLY_NOISE * raw:
        reading = Figure(raw, "%", 0.0, raw, note="no more than this: most of it is the hiss under the tone")
    else:
        left = _left_without(np.concatenate(heard), noise_percent / 1.96)
        low, value, high = (left * reading for reading in (min(pieces), raw, max(pieces)))
        note = f"weighted, two-sigma, over {_seconds(traces):.0f} s; AES6"
        if noise_percent > MUCH_NOISE * raw:
            doubt = NOISE_DOUBT * noise_percent
            low, high, note = max(0.0, low - doubt), high + doubt, f"{note}; hiss adds much to it"
        reading = Figure(value, "%", low, high, note=note)
    plain = two_sigma(np.concatenate(relative))
    return reading, Figure(plain, "%", note="unweighted, hiss included")


def _left_without(values, noise_rms):
    """What part of a reading is left without noise of some rms.

    Powers subtract, and so do fourth cumulants, of which noise has none: they tell the shape of what is left.
    """
    power = float(np.mean(values**2))
    rest = max(power - noise_rms**2, 0.1 * power)
    cumulant = float(np.mean(values**4)) - 3 * power**2
    before, after = (np.interp(cumulant / p**2, *SHAPES) for p in (power, rest))
    return float(after / before * math.sqrt(rest / power))


def _noise_percent(place, trace):
    """What the weighted meter would read of the hiss alone.

    Hiss of density N0 beside a tone of power P turns its phase by N0/P per Hz (one-sided), and its frequency by
    f² times that; nearer to the tone than some 12 dB, it makes it slip by whole turns, and no reading is one.
    """
    quiet = place.part(plan.programme().of("quiet")[0], 1.0)
    tone = place.part(max(plan.programme().of("tone"), key=lambda s: s.seconds * (place.part(s) is not None)), 0.3)
    if quiet is None or tone is None or quiet.seconds < 1:
        return 0.0
    hz, density = power_density(quiet, place.side)
    heard_hz = plan.TONE_HZ * (1 + float(np.mean(trace.deviation)))
    beside = float(np.mean(density[np.abs(hz - heard_hz) < PHASE_HZ]))
    power = 10 ** (tone_level_dbfs(tone, heard_hz, place.side) / 10)
    if power < LEAST_TONE_TO_HISS * beside * 2 * PHASE_HZ:
        return math.inf
    rate = np.arange(0.5, PHASE_HZ)
    turned = beside / power * rate**2 / heard_hz**2
    return 100 * 1.96 * math.sqrt(float(np.sum(turned * 10 ** (weighting_db(rate) / 10))))
