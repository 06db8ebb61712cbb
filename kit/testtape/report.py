"""Measure a recorder by its recording of the test tape: `measure`, and the `RecorderReport` it gives."""

import math
from dataclasses import dataclass
from pathlib import Path

from kit.errors import SettingError
from kit.sound import Sound
from kit.testtape import plan
from kit.testtape.figures import Figure, spelt_out
from kit.testtape.find import find_programme
from kit.testtape.levels import Levels, read_levels
from kit.testtape.loading import read_ladder, read_noisier, read_sides, read_stairs
from kit.testtape.noise import Noise, read_noise
from kit.testtape.response import read_response
from kit.testtape.speeds import Speeds, read_speeds
from kit.testtape.wiring import Wiring, read_wiring

__all__ = ["RecorderReport", "measure"]

CANCELS = "on one machine a steady error of recording and replay cancels, so it cannot be known from this recording"
TAPE_MM_S, PITCH_MM = 47.625, 0.9  # compact cassette: speed; middle to middle of a stereo pair (0.6 + 0.3 mm)
SKEW_US = 2.0  # a skew is read no better than this
PART_NAMES = {"tone": "tones", "quiet": "quiet part", "stair": "level stairs", "wiring": "wiring tones",
              "step": "frequency steps", "rung": "speed ladder"}  # fmt: skip


@dataclass(frozen=True, repr=False)
class RecorderReport:
    """What a recording of the test tape says about the recorder.

    Attributes
    ----------
    recording : str
        Its name, as it was given.
    seconds : float
        How long it is.
    start_s : float
        Where in it the programme begins; below 0 if it began before the recording did.
    parts : dict of str to str
        Each part of the tape: whole, cut or missing.
    recorded_elsewhere : bool
        What the caller said: the tape was recorded on another machine, whose speed and azimuth are right.
    speeds : Speeds
    absolute_speed : Figure
        Of this machine in replay, in percent; unknown on one machine.
    azimuth : Figure
        Of this machine's replay head, relative to the recording, in minutes of arc; unknown on one machine.
    noise : Noise
    signal_to_noise : tuple of Figure
        For each side, in dB: level of data over level of noise.
    response : dict of int to Response
        For each side on which the tape is heard.
    wiring : Wiring
    levels : Levels
    stairs, ladder : tuple of Loads
    fastest : Figure
        The fastest rung of which all blocks load, as a part of ordinary speed.
    fastest_noisy : Figure
        The same with 6 dB more noise.
    advised : Figure
        A speed with a margin: the rung below the fastest one that loads with 6 dB more noise.
    by_side : dict of int to bool
        Whether the fastest rung loads from each side by itself, where the sides are apart.
    """

    recording: str
    seconds: float
    start_s: float
    parts: dict
    recorded_elsewhere: bool
    speeds: Speeds
    absolute_speed: Figure
    azimuth: Figure
    noise: Noise
    signal_to_noise: tuple
    response: dict
    wiring: Wiring
    levels: Levels
    stairs: tuple
    ladder: tuple
    fastest: Figure
    fastest_noisy: Figure
    advised: Figure
    by_side: dict

    @property
    def complete(self):
        """bool: whether every part of the tape is in the recording."""
        return all(state == "whole" for state in self.parts.values())

    @property
    def advice(self):
        """tuple of Advice: what to do about what was found."""
        from kit.testtape.advice import advice_on

        return advice_on(self)

    def picture(self):
        """Shown: one page with the figures and four pictures, to look at or to write as PNG or PDF."""
        from kit.testtape.picture import page

        return page(self)

    def as_json(self):
        """dict: all of it as JSON can carry it."""
        from kit.testtape.jsonform import as_json

        return as_json(self)

    def __str__(self):
        from kit.testtape.words import in_words

        return in_words(self)

    __repr__ = __str__

    def _repr_html_(self):
        from kit.testtape.words import in_html

        return in_html(self)


def measure(recording, *, recorded_elsewhere=False, progress=None):
    """Measure a recorder by its recording of the test tape.

    Parameters
    ----------
    recording : Sound or path
        The test tape, recorded and played back: any start, rate from 8000 Hz, level, speed within ±15 %.
    recorded_elsewhere : bool
        True if the tape was recorded on another machine, which is taken to be right: speed and azimuth of this
        one can then be told.
    progress : callable, optional
        Called with the part done, 0 to 1.

    Returns
    -------
    RecorderReport
        Of a cut recording, what was there.

    Raises
    ------
    ReadingError
        The recording is silent, or no test tape.
    SoundError
        A path holds no readable sound.
    """
    sound, name = _opened(recording)
    told = progress if progress is not None else lambda done: None
    place = find_programme(sound)
    told(0.2)
    speeds, noise, wiring = read_speeds(place), read_noise(place), read_wiring(place)
    told(0.3)
    sides = wiring.live if wiring.known else range(sound.channels)
    response = {side: read_response(place, side) for side in sides}
    told(0.4)
    stairs = read_stairs(place)
    levels = read_levels(place, stairs, noise.rise_db)
    told(0.6)
    ladder = read_ladder(place)
    told(0.8)
    fastest, noisy, advised = _speeds_that_load(place, ladder)
    by_side = _by_side(place, ladder, wiring)
    told(1.0)
    return RecorderReport(
        name, sound.seconds, place.offset_s + place.at(0.0), _parts(place), recorded_elsewhere, speeds,
        *_steady_errors(recorded_elsewhere, speeds, wiring, place), noise, _signal_to_noise(levels, noise, sides),
        response, wiring, levels, stairs, ladder, fastest, noisy, advised, by_side)  # fmt: skip


def _opened(recording):
    if isinstance(recording, Sound):
        return recording, spelt_out(recording.path or "a sound in memory")
    if not isinstance(recording, (str, Path)):
        raise SettingError(f"recording must be a Sound or a file's name, got {type(recording).__name__}: give one")
    return Sound.read(recording), spelt_out(recording)


def _parts(place):
    found = {}
    for kind, name in PART_NAMES.items():
        states = {place.presence(section) for section in plan.programme().of(kind)}
        found[name] = states.pop() if len(states) == 1 else "cut"
    return found


def _signal_to_noise(levels, noise, sides):
    return tuple(_data_above(levels, level, side in sides) for side, level in enumerate(noise.level))


def _data_above(levels, noise, heard):
    """Level of data over that of the noise of a side."""
    if not heard:
        return Figure.missing("dB", "the tape is not heard on this side")
    if not (levels.data_dbfs.known and noise.known):
        return Figure.missing("dB", noise.unknown or levels.data_dbfs.unknown)
    return Figure(levels.data_dbfs.value - noise.value, "dB")


def _steady_errors(elsewhere, speeds, wiring, place):
    """Absolute speed and azimuth."""
    if not elsewhere:
        return Figure.missing("%", CANCELS), Figure.missing("arcmin", CANCELS)
    speed = speeds.difference
    if speed.known:
        speed = Figure(speed.value, "%", speed.low, speed.high, note="as right as the machine that recorded the tape")
    if wiring.skew_us is None:
        return speed, Figure.missing("arcmin", "it is read from two sides that are both heard")
    angles = [math.degrees(math.atan(1e-6 * us * TAPE_MM_S * place.pace / PITCH_MM)) * 60
              for us in (wiring.skew_us, wiring.skew_us - SKEW_US, wiring.skew_us + SKEW_US)]  # fmt: skip
    note = "if the leads delay both sides alike; positive: the right side is read later"
    return speed, Figure(angles[0], "arcmin", angles[1], angles[2], note=note)


def _speeds_that_load(place, ladder):
    """The fastest rung that loads, the fastest with more noise, and the one to use."""
    present = [rung for rung in ladder if rung.read is not None]
    whole = [rung for rung in present if rung.whole]
    if not whole:
        why = "no rung loads whole" if present else "the speed ladder is not in the recording"
        return (Figure.missing("x", why),) * 3
    more = whole[-1].number == len(plan.LADDER_SPEEDS) - 1
    fastest = _speed(whole[-1], "or more: it is the fastest on the tape" if more else "")
    noisy = _fastest_noisy(place, whole)
    if not noisy.known:
        return fastest, noisy, Figure.missing("x", noisy.unknown)
    slower = [rung for rung in whole if rung.number < plan.LADDER_SPEEDS.index(noisy.value)]
    if not slower:
        return fastest, noisy, Figure(noisy.value, "x", note="bears 6 dB more noise, with no rung in reserve")
    return fastest, noisy, _speed(slower[-1], "a rung below the fastest that bears 6 dB more noise")


def _speed(rung, note):
    return Figure(plan.LADDER_SPEEDS[rung.number], "x", note=note)


def _fastest_noisy(place, whole):
    for rung in reversed(whole):
        loads = read_noisier(place, rung)
        if loads is None:
            return Figure.missing("x", "the quiet part is not in the recording")
        if loads.whole:
            return _speed(rung, "with 6 dB more noise")
    return Figure.missing("x", "no rung loads whole with 6 dB more noise")


def _by_side(place, ladder, wiring):
    """Whether the fastest rung loads from each side alone, where the two sides are apart."""
    whole = [rung for rung in ladder if rung.read is not None and rung.whole]
    if not whole or wiring.separation_db is None:
        return {}
    return {side: loads.whole for side, loads in read_sides(place, whole[-1], wiring.live).items()}


