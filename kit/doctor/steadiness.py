"""How evenly the tape ran: wow and flutter from leaders and from the cells of blocks that were read."""

from dataclasses import dataclass

import numpy as np

from kit.doctor.codes import ideal_times

__all__ = ["Steadiness", "cell_pace", "steadiness"]

WOW_HZ = (0.2, 6.0)
FLUTTER_HZ = (6.0, 120.0)
GRID_HZ = 400.0
SLOW_S = 0.6  # a shorter stretch shows no wow
FEWEST = 3  # such stretches, whose speeds are compared


@dataclass(frozen=True)
class Steadiness:
    """Unevenness of speed.

    Attributes
    ----------
    wow_percent, flutter_percent : float
        Peak of a sine as strong as what is slower, and what is quicker, than 6 Hz; unweighted, noise taken off.
    wow_hz, flutter_hz : float
        The strongest rate of each; 0 where it is not known.
    from_s, to_s : float
        Where it was read.
    """

    wow_percent: float
    flutter_percent: float
    wow_hz: float
    flutter_hz: float
    from_s: float
    to_s: float


def cell_pace(block):
    """Speed of each cell of a block over the block's mean, on an even grid.

    Parameters
    ----------
    block : FoundBlock
        One that was read whole.

    Returns
    -------
    pace : numpy.ndarray
        float64, (n,): deviation from the mean, `GRID_HZ` times per second.
    start_s : float
    """
    ideal = ideal_times(block.format.code, block.bits, block.unit_s)
    times = np.abs(block.cell_s.astype(float))
    if times[-1] < 0.1 or len(times) < 40:
        return np.zeros(0), 0.0
    # How far the tape has run at each moment; its slope is the speed.
    at = np.arange(0, times[-1], 1 / GRID_HZ)
    way = np.interp(at, times, ideal)
    pace = np.diff(way) * GRID_HZ
    return pace / pace.mean() - 1, block.span_s[0]


def steadiness(tones, blocks):
    """Wow and flutter of a recording.

    Parameters
    ----------
    tones : list of ToneMeasured
    blocks : list of FoundBlock
        Those that were read whole.

    Returns
    -------
    Steadiness or None
        None where nothing shows the speed.
    """
    traces = [(_resampled(tone), tone.start_s) for tone in tones]
    # In a stream there may be marks of any length between characters.
    traces += [cell_pace(block) for block in blocks[:12] if not block.format.stream]
    traces = [(pace, start) for pace, start in traces if len(pace) >= 0.15 * GRID_HZ]
    if not traces:
        return None
    flutter = _strongest(traces, FLUTTER_HZ)
    long = [trace for trace in traces if len(trace[0]) >= SLOW_S * GRID_HZ]
    wow = _strongest(long, WOW_HZ) if long else (_apart(tones), 0.0)
    stop = max(start + len(pace) / GRID_HZ for pace, start in traces)
    return Steadiness(wow[0], flutter[0], wow[1], flutter[1], min(start for _, start in traces), stop)


def _apart(tones):
    """How far the speeds of short stretches lie from their middle, in percent: a slow swing is no less than that."""
    hz = [tone.hz for tone in tones]
    return 100 * (max(hz) - min(hz)) / (max(hz) + min(hz)) if len(hz) >= FEWEST else 0.0


def _resampled(tone):
    count = max(0, int(len(tone.deviation) / tone.deviation_hz * GRID_HZ) - 1)
    at = np.arange(count) / GRID_HZ
    return np.interp(at, np.arange(len(tone.deviation)) / tone.deviation_hz, tone.deviation)


def _strongest(traces, band_hz):
    """The median over traces of what is in a band: peak in percent, and its strongest rate."""
    if not traces:
        return 0.0, 0.0
    read = [_in_band(pace, band_hz) for pace, _ in traces]
    weights = np.array([len(pace) for pace, _ in traces], float)
    order = np.argsort([value for value, _ in read])
    half = np.searchsorted(np.cumsum(weights[order]), weights.sum() / 2)
    return read[order[min(half, len(order) - 1)]]


def _in_band(pace, band_hz):
    """Deviation in a band, less what noise puts there, and its strongest rate."""
    shape = np.hanning(len(pace) + 2)[1:-1]
    # A straight line is taken off: drift, and wow too slow for the stretch.
    line = np.polyfit(np.arange(len(pace)), pace, 1)
    rest = pace - np.polyval(line, np.arange(len(pace)))
    power = np.abs(np.fft.rfft(rest * shape)) ** 2 / (np.sum(shape**2) * len(pace))
    hz = np.fft.rfftfreq(len(pace), 1 / GRID_HZ)
    inside = (hz >= band_hz[0]) & (hz < band_hz[1])
    beyond = (hz > 1.2 * FLUTTER_HZ[1]) & (hz < 0.45 * GRID_HZ)
    # The noise of a phase rises with the square of the rate when read as speed.
    floor = np.median(power[beyond] / hz[beyond] ** 2) / np.log(2) if beyond.any() else 0.0
    clean = np.maximum(power[inside] - floor * hz[inside] ** 2, 0)
    if not clean.any():
        return 0.0, 0.0
    # One side of the spectrum holds half of the mean square, and a sine's peak is √2 of its rms.
    return float(100 * 2 * np.sqrt(clean.sum())), float(hz[inside][np.argmax(clean)])
