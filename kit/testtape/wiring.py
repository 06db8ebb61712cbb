"""How the two sides are joined between the tape's file and the recording: which side is heard where, which way up.

Left and right sound alone, one after the other; then both alike, then one against the other. A tone sounds with
its octave, and the phase between the two tells which way up the wave is, at whatever time it is read.
"""

from dataclasses import dataclass

import numpy as np

from kit.meters import skew_us
from kit.sound import Sound
from kit.testtape import plan

__all__ = ["Wiring", "read_wiring"]

SHORTER_S = 0.15
HEARD_DB = 15.0  # a side this far below the strongest is crosstalk
WIDE = 0.03
SKEW_RUNGS = slice(4, 7)  # one to two times ordinary speed: many edges, which most recorders carry
UNKNOWN = "unknown"
NAMES = {
    ((1, 0), (0, 1)): "straight",
    ((0, 1), (1, 0)): "swapped",
    ((1, 1), (1, 1)): "joined",
    ((1, 1),): "joined",
    ((1, 0),): "right-dead",
    ((0, 1),): "left-dead",
    ((1, 0), (0, 0)): "right-dead",
    ((0, 0), (0, 1)): "left-dead",
    ((1, 0), (1, 0)): "right-dead, left on both",
    ((0, 1), (0, 1)): "left-dead, right on both",
    ((0, 1), (0, 0)): "left-dead, swapped",
    ((0, 0), (1, 0)): "right-dead, swapped",
    ((1, 1), (0, 0)): "joined, right of the recording silent",
    ((0, 0), (1, 1)): "joined, left of the recording silent",
}
"""For each channel of the recording, whether left and right of the tape are heard on it; and its name."""


@dataclass(frozen=True, eq=False)
class Wiring:
    """How the sides are joined.

    Attributes
    ----------
    name : str
        straight, swapped, joined, left-dead, right-dead, …; ``, opposed`` is added if the sides arrive opposed,
        ``, cancelling`` if joining them takes away what both carry.
    gains_db : numpy.ndarray
        float64, (channels, 2): level of left and of right on each channel, relative to the strongest.
    signs : numpy.ndarray
        int, (channels, 2): 1 upright, −1 upside down, 0 if not heard or not to be told.
    separation_db : float or None
        By how much a side is weaker on the other side's channel; None where it cannot be told.
    skew_us : float or None
        How much later the right channel comes than the left.
    """

    name: str
    gains_db: np.ndarray
    signs: np.ndarray
    separation_db: float | None = None
    skew_us: float | None = None

    @property
    def known(self):
        """bool: whether the wiring could be told."""
        return self.name != UNKNOWN

    @property
    def inverted(self):
        """bool or None: whether all that is heard is upside down; None if it cannot be told."""
        heard = set(self.signs[self.signs != 0].tolist())
        return None if len(heard) != 1 else heard == {-1}

    @property
    def live(self):
        """tuple of int: channels of the recording on which the tape is heard."""
        return tuple(k for k, row in enumerate(self.gains_db) if max(row) > -HEARD_DB)


def read_wiring(place):
    """Read the wiring of a recording.

    Parameters
    ----------
    place : Place

    Returns
    -------
    Wiring
    """
    sections = dict(zip(plan.WIRING, plan.programme().of("wiring"), strict=True))
    channels = place.sound.channels
    if any(place.presence(sections[side]) != "whole" for side in ("left", "right")):
        return Wiring(UNKNOWN, np.zeros((channels, 2)), np.zeros((channels, 2), int))
    tones = np.array([[_tone(place, sections[side], channel) for side in ("left", "right")]
                      for channel in range(channels)])  # fmt: skip
    levels, signs = tones[:, :, 0], tones[:, :, 1].astype(int)
    strongest = max(float(levels.max()), 1e-12)
    gains_db = 20 * np.log10(np.maximum(levels / strongest, 1e-6))
    heard = gains_db > -HEARD_DB
    signs = np.where(heard, signs, 0)
    return Wiring(_name(heard, signs), gains_db, signs, _separation_db(gains_db, heard), _skew_us(place, heard))


def _tone(place, section, channel):
    """Amplitude of the tone on a channel, and its sign."""
    part = place.part(section, SHORTER_S)
    wave = part.samples if part.channels == 1 else part.samples[:, channel]
    window = np.hanning(len(wave))
    start_s, stop_s = place.span(section)
    expected_hz = plan.WIRING_HZ * section.seconds / (stop_s - start_s)
    time_s = np.arange(len(wave)) / part.rate
    spectrum = np.abs(np.fft.rfft(wave * window, 4 * len(wave)))
    hz = np.arange(len(spectrum)) * part.rate / (4 * len(wave))
    near = np.flatnonzero(np.abs(hz / expected_hz - 1) < WIDE)
    found_hz = float(hz[near[np.argmax(spectrum[near])]])
    turned = [_tone_at(wave, window, time_s, k * found_hz) for k in (1, 2)]
    # Over the whole part wow would turn the octave by twice as much, which its square takes out again piece by piece.
    phase = np.angle(np.sum(_pieces(turned[1]) * np.conj(_pieces(turned[0])) ** 2))
    sign = 1 if abs(phase) < np.pi / 2 else -1
    return 2 * np.sqrt(np.mean(np.abs(_pieces(turned[0])) ** 2)) / np.mean(window), sign


def _tone_at(wave, window, time_s, hz):
    return wave * window * np.exp(-2j * np.pi * hz * time_s)


def _pieces(turned):
    """Means over some 40 ms: longer than a cycle, shorter than wow."""
    return np.array([piece.mean() for piece in np.array_split(turned, 24)])


def _name(heard, signs):
    shape = tuple(tuple(int(side) for side in row) for row in heard)
    if shape not in NAMES:
        return UNKNOWN
    words = [NAMES[shape]]
    if any(row.all() and sign[0] * sign[1] < 0 for row, sign in zip(heard, signs, strict=True)):
        words.append("cancelling")
    elif len({int(row.sum() > 0) for row in signs if row.any()}) == 2:
        words.append("opposed")
    return ", ".join(words)


def _separation_db(gains_db, heard):
    """Only where each channel carries one side of its own."""
    if heard.shape != (2, 2) or not (heard.sum(axis=0) == 1).all() or not (heard.sum(axis=1) == 1).all():
        return None
    return float(min(abs(gains_db[0] - gains_db[1])))


def _skew_us(place, heard):
    """From data, which sounds on both sides alike."""
    if place.sound.channels != 2 or not heard.any(axis=1).all():
        return None
    rungs = [section for section in plan.programme().of("rung")[SKEW_RUNGS] if place.presence(section) == "whole"]
    if not rungs:
        return None
    return skew_us(Sound(np.concatenate([place.part(section).samples for section in rungs]), place.sound.rate))
