"""A stretch of leader as a test signal: its speed, its harmonics, and the noise that is left without it.

A leader is one steady tone, so it shows what the tape did to it: the turning of its phase is the speed, the
strengths of its harmonics are the frequency response, and what does not repeat from cycle to cycle is noise.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["ToneMeasured", "measure_tone"]

PASS = 0.42  # the phase is followed within this part of the tone's frequency
MOST_HARMONICS = 90
LEAST_CYCLES = 24
ENDED_DB = -38.0  # a harmonic so weak, after one that is much stronger, was cut off
HIGHEST = 0.45  # of the sample rate: harmonics above are left out


@dataclass(frozen=True)
class ToneMeasured:
    """What one stretch of leader shows.

    Attributes
    ----------
    start_s, stop_s : float
        Where it was measured.
    hz : float
        Mean frequency of the tone.
    deviation : numpy.ndarray
        float64, (n,): frequency over its mean, minus 1, `deviation_hz` times per second.
    deviation_hz : float
    level : numpy.ndarray
        float64, (n,): amplitude of the fundamental, as often.
    harmonics : numpy.ndarray
        complex128, (k,): strength of the tone and its multiples, the fundamental 1.
    offset : float
        The level the wave swings about.
    residue : numpy.ndarray
        float32, (samples,): what does not repeat from cycle to cycle.
    rms : float
        Of the tone with its harmonics.
    top_hz : float
        Up to here harmonics were taken out: the residue above may hold more of them.
    """

    start_s: float
    stop_s: float
    hz: float
    deviation: np.ndarray
    deviation_hz: float
    level: np.ndarray
    harmonics: np.ndarray
    offset: float
    residue: np.ndarray
    rms: float
    top_hz: float

    @property
    def seconds(self):
        """float: how long the stretch is."""
        return self.stop_s - self.start_s

    def response_db(self):
        """Levels of the odd harmonics against those of a square wave, the fundamental 0 dB.

        Returns
        -------
        hz, db : numpy.ndarray
            float64, (n,) each.
        """
        odd = np.arange(1, len(self.harmonics) + 1, 2)
        strength = np.abs(self.harmonics[odd - 1]) * odd
        return odd * self.hz, 20 * np.log10(np.maximum(strength, 1e-6))

    def ends_hz(self):
        """Where the harmonics end all at once: list of float, in Hz, empty if they do not."""
        hz, db = self.response_db()
        gone = db < ENDED_DB
        first = int(np.argmax(gone)) if gone.any() else 0
        ended = first and gone[first:].all() and db[first - 1] - db[first] > 18
        return [float(hz[first - 1 : first + 1].mean())] if ended else []

    @property
    def lean(self):
        """float: strength of the second harmonic relative to the fundamental: 0 if both halves are alike."""
        return float(np.abs(self.harmonics[1])) if len(self.harmonics) > 1 else 0.0


def measure_tone(wave, rate, hz, start_s=0.0):
    """Measure a stretch of leader.

    Parameters
    ----------
    wave : numpy.ndarray
        float32, (n,): the leader alone.
    rate : int
        In Hz.
    hz : float
        Its frequency, within a few percent.
    start_s : float
        Where the stretch begins in the recording.

    Returns
    -------
    ToneMeasured or None
        None where it is too short to be measured.
    """
    if len(wave) < LEAST_CYCLES * rate / hz or hz > rate / 5:
        return None
    base, reach = _turned_down(wave, rate, hz)
    if len(base) < LEAST_CYCLES * rate / hz / 2:
        return None
    turns = np.unwrap(np.angle(base)) / (2 * np.pi)
    phase = turns + hz / rate * np.arange(reach, reach + len(base))
    inner = wave[reach : reach + len(base)].astype(float)
    level = np.abs(base)
    steady = inner / np.maximum(level, 0.1 * np.median(level) + 1e-12)
    strengths, offset = _harmonics(steady, phase, min(MOST_HARMONICS, int(HIGHEST * rate / hz)))
    tone = _drawn(strengths, phase) * level
    middle = offset * np.median(level)
    every = max(1, int(rate / (2.5 * hz)))
    pace = np.gradient(phase[::every]) * rate / every
    mean_hz = (phase[-1] - phase[0]) * rate / max(1, len(phase) - 1)
    return ToneMeasured(
        start_s + reach / rate, start_s + (reach + len(base)) / rate, float(mean_hz), pace / mean_hz - 1,
        rate / every, level[::every], strengths / max(abs(strengths[0]), 1e-12), float(middle),
        (inner - middle - tone).astype(np.float32), float(np.sqrt(np.mean(tone**2))),
        float((len(strengths) + 0.5) * mean_hz),
    )


def _turned_down(wave, rate, hz):
    """The tone turned down to 0 Hz and low-passed; no filter over the ends."""
    from scipy.signal import firwin, oaconvolve

    taps = firwin(int(3.0 * rate / hz) | 1, PASS * hz, fs=rate)
    turned = wave * np.exp(-2j * np.pi * hz / rate * np.arange(len(wave)))
    if len(turned) <= 2 * len(taps):
        return np.zeros(0, complex), 0
    return 2 * oaconvolve(turned, taps, mode="valid"), len(taps) // 2


def _harmonics(steady, phase, count):
    """Strengths of the multiples of a tone along its own phase, and the mean."""
    turn = np.exp(-2j * np.pi * phase)
    power, strengths = np.ones_like(turn), []
    for _ in range(max(1, count)):
        power *= turn
        strengths.append(2 * np.mean(steady * power))
    return np.array(strengths), float(np.mean(steady))


def _drawn(strengths, phase):
    """The wave that harmonics make along a phase."""
    turn = np.exp(2j * np.pi * phase)
    power, wave = np.ones_like(turn), np.zeros(len(phase))
    for strength in strengths:
        power *= turn
        wave += (strength * power).real
    return wave
