"""Write the test tape: the programme as a stereo sound, and the tone to set a level by."""

import numpy as np

from kit.errors import SettingError
from kit.known import find_format
from kit.sound import Sound
from kit.testtape import plan
from kit.waves import render

__all__ = ["level_tone", "test_tape"]

RATES = (44100, 48000, 88200, 96000, 176400, 192000)
FADE_S = 0.01
SIDES = {"left": (1.0, 0.0), "right": (0.0, 1.0), "both": (1.0, 1.0), "opposed": (1.0, -1.0)}


def test_tape(rate=44100):
    """The test tape: two minutes to record, to play back, and to give to `measure`.

    Parameters
    ----------
    rate : int
        Samples per second: 44100, 48000, or two or four times that.

    Returns
    -------
    Sound
        Stereo, peak 0.5: for a recorder, loud; headphones off. `kit.player.recorder_files` writes it with a
        quiet copy beside it.

    Raises
    ------
    SettingError
        The rate is another one: it must carry the fastest rung of the ladder.

    Examples
    --------
    >>> test_tape()
    Sound(123.120 s, 44100 Hz, stereo)
    """
    _check_rate(rate)
    whole = plan.programme()
    samples = np.zeros((round(whole.seconds * rate), 2), np.float32)
    for start_s in whole.marks_s:
        _lay(samples, rate, start_s, _turned(plan.MARK.peak * plan.MARK.wave(rate)))
    for section in whole.sections:
        if section.kind != "quiet":
            _lay(samples, rate, section.start_s, _wave(section, rate))
    return Sound(samples, rate)


def level_tone(rate=44100):
    """A steady sound of 20 s to set a recording level by: the leader of a tape, just as loud as data will be.

    Parameters
    ----------
    rate : int
        As for `test_tape`.

    Returns
    -------
    Sound
        Stereo, both sides alike, peak 0.5.
    """
    _check_rate(rate)
    house = find_format(plan.FORMAT)
    half_s = house.leader.leader_units * house.unit_s() / 2
    wave = render(np.full(2 * round(plan.LEVEL_SECONDS / half_s / 2), half_s), rate, plan.DATA_PEAK)
    wave = _faded(wave, rate)
    return Sound(np.stack([wave, wave], axis=1), rate)


def _check_rate(rate):
    if isinstance(rate, bool) or rate not in RATES:
        raise SettingError(f"rate must be one of {', '.join(map(str, RATES))} Hz for a test tape, got {rate!r} Hz")


def _lay(samples, rate, start_s, wave):
    start = round(start_s * rate)
    samples[start : start + len(wave)] = wave


def _turned(wave):
    """A complex wave, a quarter turn apart on the two sides: no wiring that joins them makes it cancel."""
    return np.stack([wave.real, wave.imag], axis=1)


def _wave(section, rate):
    """What is played in a section: (n, 2)."""
    if section.kind in ("stair", "rung"):
        gain = 10 ** (plan.STAIRS_DB[section.number] / 20) if section.kind == "stair" else 1.0
        wave = render(plan.half_cycles_of(section.kind, section.number), rate, gain * plan.DATA_PEAK)
        return np.outer(wave, SIDES["both"])
    if section.kind == "tone":
        turned = [_sine(plan.TONE_HZ, plan.TONE_PEAK, section, rate, quarter) for quarter in (False, True)]
        return np.stack(turned, axis=1)
    if section.kind == "wiring":
        octave = _sine(2 * plan.WIRING_HZ, plan.OCTAVE_PEAK, section, rate, quarter=True)
        tone = _sine(plan.WIRING_HZ, plan.WIRING_PEAK, section, rate, quarter=True)
        return np.outer(tone + octave, SIDES[plan.WIRING[section.number]])
    pilot = _sine(plan.PILOT_HZ, plan.PILOT_PEAK, section, rate)
    return np.outer(pilot + _sine(plan.STEPS_HZ[section.number], plan.STEP_PEAK, section, rate), SIDES["both"])


def _sine(hz, peak, section, rate, quarter=False):
    """A faded sine, or with `quarter` a cosine."""
    turns = hz * np.arange(round(section.seconds * rate)) / rate + (0.25 if quarter else 0.0)
    return _faded(peak * np.sin(2 * np.pi * turns), rate)


def _faded(wave, rate):
    """Faded in and out: a tone that is cut off clicks."""
    edge_s = (np.minimum(np.arange(len(wave)), np.arange(len(wave))[::-1]) + 0.5) / rate
    return wave * np.clip(edge_s / FADE_S, 0, 1)
