"""Speed of a recorder, read from a recording of a steady tone: mean, drift, wow and flutter.

The tone of AES6-2008 is 3150 Hz. It is demodulated: turned down to 0 Hz, low-pass filtered, and its phase
followed.
"""

from dataclasses import dataclass

import numpy as np

from kit.errors import ReadingError
from kit.meters.weighting import two_sigma, weighted

__all__ = ["SpeedTrace", "drift", "mean_speed", "speed_trace", "wow_and_flutter"]

TONE_HZ = 3150.0
PASS_HZ, STOP_HZ = 450.0, 900.0  # within ±450 Hz of the tone is speed, beyond ±900 Hz is not
LEAST_S = 5.0  # AES6: read for at least 5 s
DRIFT_WINDOW_S = 5.0
TONE_WIDTH = 0.03  # a tone's power lies within ±3 % of its frequency, wow and flutter included
SEARCH = (0.6, 1.6)  # the tone is looked for from here to there, relative to its nominal frequency


@dataclass(frozen=True)
class SpeedTrace:
    """Speed over time.

    Attributes
    ----------
    deviation : numpy.ndarray
        float64, (n,): frequency heard divided by the nominal one, minus 1.
    rate_hz : float
        Values per second.
    start_s : float
        Time of the first value.
    tone_hz : float
        The nominal frequency.
    """

    deviation: np.ndarray
    rate_hz: float
    start_s: float
    tone_hz: float

    @property
    def time_s(self):
        """numpy.ndarray: float64, (n,): when each value was."""
        return self.start_s + np.arange(len(self.deviation)) / self.rate_hz

    @property
    def mean_percent(self):
        """float: mean speed error; positive is fast."""
        return 100 * float(np.mean(self.deviation))

    @property
    def drift_percent(self):
        """float: half of the distance between the slowest and the fastest 5 s."""
        window = min(len(self.deviation), round(DRIFT_WINDOW_S * self.rate_hz))
        total = np.concatenate([[0.0], np.cumsum(self.deviation)])
        means = (total[window:] - total[:-window]) / window
        return 50 * float(means.max() - means.min())

    @property
    def wow_and_flutter_percent(self):
        """float: weighted two-sigma reading after AES6; ± this many percent of the mean speed."""
        relative = (1 + self.deviation) / (1 + np.mean(self.deviation)) - 1
        return 100 * two_sigma(weighted(relative, self.rate_hz))

    @property
    def unweighted_percent(self):
        """float: two-sigma reading without weighting."""
        relative = (1 + self.deviation) / (1 + np.mean(self.deviation)) - 1
        return 100 * two_sigma(relative)


def speed_trace(sound, tone_hz=TONE_HZ, side=0):
    """Follow the speed through a recording of a tone.

    Parameters
    ----------
    sound : Sound
        The tone alone, from beginning to end (take a `part` of a longer recording).
    tone_hz : float
        Its nominal frequency.
    side : int
        Which channel.

    Returns
    -------
    SpeedTrace
        At least 2000 values per second where the sample rate allows.

    Raises
    ------
    ReadingError
        No such tone is there, or it lasts less than 5 s.
    """
    if sound.seconds < LEAST_S:
        raise ReadingError(f"speed is read from at least {LEAST_S:g} s of tone, got {sound.seconds:.2f} s: "
                           "record it for longer")
    heard_hz = _find_tone(sound, tone_hz, side)
    down = max(1, int(sound.rate // 2200))
    taps = _low_pass(sound.rate)
    base = _turned_down(sound, heard_hz, side, taps, down)
    rate_hz = sound.rate / down
    turns = np.diff(np.unwrap(np.angle(base))) / (2 * np.pi)
    heard = heard_hz + turns * rate_hz
    return SpeedTrace(heard / tone_hz - 1, rate_hz, (len(taps) // 2 + down / 2) / sound.rate, tone_hz)


def _find_tone(sound, tone_hz, side):
    """Frequency of the tone, from a stretch in the middle, within a few Hz."""
    frames = min(sound.frames, 1 << 15)
    start = (sound.frames - frames) // 2
    stretch = np.concatenate([piece[:, side] for piece in sound.pieces(start=start, stop=start + frames)])
    power = np.abs(np.fft.rfft(stretch * np.hanning(frames), 4 * frames)) ** 2
    hz = np.arange(len(power)) * sound.rate / (4 * frames)
    near = np.flatnonzero((hz > SEARCH[0] * tone_hz) & (hz < SEARCH[1] * tone_hz))
    found_hz = float(hz[near[np.argmax(power[near])]]) if len(near) else 0.0
    tone = power[np.abs(hz - found_hz) <= TONE_WIDTH * found_hz].sum()
    if not tone > max(0.3 * power[near].sum(), 0.01 * power.sum()):
        raise ReadingError(f"a tone near {tone_hz:g} Hz must be in the recording, got none that stands out: "
                           "play the test tone, or say which tone_hz it is")
    return found_hz


def _low_pass(rate):
    from scipy.signal import firwin, kaiserord

    stop_hz = min(STOP_HZ, 0.49 * rate)
    count, beta = kaiserord(80, (stop_hz - PASS_HZ) / (rate / 2))
    return firwin(count | 1, (PASS_HZ + stop_hz) / 2, window=("kaiser", beta), fs=rate).astype(np.float32)


def _turned_down(sound, heard_hz, side, taps, down):
    """The tone turned down to 0 Hz: complex64, one value per `down` samples, no filter over the ends."""
    kept, base, first = np.zeros(0, np.complex64), [], 0
    for piece in sound.pieces():
        turns = heard_hz / sound.rate * np.arange(first, first + len(piece))
        kept = np.concatenate([kept, (piece[:, side] * np.exp(-2j * np.pi * turns)).astype(np.complex64)])
        first += len(piece)
        count = (len(kept) - len(taps)) // down + 1
        if count > 0:
            base.append(_every(taps, kept, count, down))
            kept = kept[count * down:]
    return np.concatenate(base)


def _every(taps, samples, count, down):
    """The filter's output at every `down`-th sample, without computing the others."""
    from scipy.signal import upfirdn

    lead = -(len(taps) - 1) % down  # so that the first whole output falls on a multiple of `down`
    out = upfirdn(taps, np.concatenate([np.zeros(lead, samples.dtype), samples]), down=down)
    first = (lead + len(taps) - 1) // down
    return out[first:first + count]


def mean_speed(sound, tone_hz=TONE_HZ):
    """Mean speed error in percent; positive is fast. Parameters as for `speed_trace`.

    Returns
    -------
    float
    """
    return speed_trace(sound, tone_hz).mean_percent


def drift(sound, tone_hz=TONE_HZ):
    """Slow change of speed: ± this many percent between the slowest and the fastest 5 s.

    Returns
    -------
    float
    """
    return speed_trace(sound, tone_hz).drift_percent


def wow_and_flutter(sound, tone_hz=TONE_HZ):
    """Wow and flutter after AES6-2008, weighted, two-sigma: ± this many percent.

    Returns
    -------
    float
    """
    return speed_trace(sound, tone_hz).wow_and_flutter_percent
