"""Find the programme of the test tape in a recording of it, however it begins, ends, or runs off speed.

The steady tone tells the pace; the marks, rising tones between the parts, tell where each part lies. A mark
is found by its shape (correlation, relative to the level around it), so that level and polarity do not matter.
"""

from dataclasses import dataclass

import numpy as np

from kit.errors import ReadingError
from kit.sound import Sound
from kit.testtape import plan
from kit.testtape.tones import tone_runs

__all__ = ["Place", "find_programme"]

LEAST_RATE_HZ = 8000
SILENT_PEAK = 2.0**-12
MARK_RATE_HZ = 8800  # marks are looked for at about this rate
ALIKE = 0.35  # normalised correlation of a mark with what is heard
APART_S = 1.0
STRAY_S = 1.2  # how far a mark may lie from where the pace of the tone puts it
TONE_STRAY_S = 2.5  # the leaders of the fastest rung may pass for the beginning of the closing tone
LEAST_SCORE_OF_ONE = 1.1  # likeness of the mark, at most 1, and fit of the tone, at most 1
MOST_RUNS = 6
LONGEST_TONE_S = 60.0  # the tape's own is shorter at any speed: a tone of an hour need not be loaded


@dataclass(frozen=True, eq=False)
class Place:
    """Where the programme lies in a recording.

    Attributes
    ----------
    sound : Sound
        The stretch of the recording that holds it, in memory.
    offset_s : float
        Where in the recording that stretch begins.
    planned_s, heard_s : numpy.ndarray
        float64, (marks,): the marks that were found: when they were to come, and when in `sound` they did.
    pace : float
        How fast it plays; 1 as it was made.
    side : int
        The side on which the tone is strongest.
    """

    sound: Sound
    offset_s: float
    planned_s: np.ndarray
    heard_s: np.ndarray
    pace: float
    side: int

    def at(self, planned_s):
        """When in `sound` a moment of the programme is heard, in seconds."""
        first, last = self.planned_s[0], self.planned_s[-1]
        inside = np.interp(planned_s, self.planned_s, self.heard_s)
        return float(inside + (min(planned_s - first, 0.0) + max(planned_s - last, 0.0)) / self.pace)

    def span(self, section):
        """Start and stop of a section in `sound`; they may lie outside of it."""
        return self.at(section.start_s), self.at(section.stop_s)

    def presence(self, section):
        """str: whole, cut or missing."""
        start_s, stop_s = self.span(section)
        inside = min(stop_s, self.sound.seconds) - max(start_s, 0.0)
        if inside <= 0:
            return "missing"
        return "whole" if inside > (stop_s - start_s) - 0.02 else "cut"

    def part(self, section, shorter_s=0.0):
        """The sound of a section, as far as it is there, a little shorter at either end; None if missing."""
        start_s, stop_s = self.span(section)
        start_s = max(start_s, 0.0) + shorter_s
        stop_s = min(stop_s, self.sound.seconds) - shorter_s
        return self.sound.part(start_s, stop_s) if stop_s > start_s else None


def find_programme(sound):
    """Find the test tape in a recording.

    Parameters
    ----------
    sound : Sound
        Of any rate from 8000 Hz, level, polarity and speed (±15 %), with one or two channels.

    Returns
    -------
    Place

    Raises
    ------
    ReadingError
        One line: the recording is silent, or holds no test tape.
    """
    if sound.rate < LEAST_RATE_HZ or sound.channels > 2:
        raise ReadingError(
            f"a test tape is measured from 1 or 2 channels at {LEAST_RATE_HZ} Hz or more, got {sound.channels} at "
            f"{sound.rate} Hz: record it again"
        )
    runs = tone_runs(sound)
    best = None
    for run in [run for run in runs if run.seconds < LONGEST_TONE_S][:MOST_RUNS]:
        place = _placed(sound, run)
        if place is not None and (best is None or len(place.planned_s) > len(best.planned_s)):
            best = place
        if best is not None and len(best.planned_s) == len(plan.programme().marks_s):
            break
    if best is None:
        raise ReadingError(_why_not(sound, runs))
    return best


def _why_not(sound, runs):
    if sound.peak < SILENT_PEAK:
        return (
            f"the recording must hold the test tape, got {sound.seconds:.1f} s of silence: turn the volume down, "
            "then check the lead, the side of the tape and the recording level"
        )
    heard = f"got {len(runs)} without its marks" if runs else "got none that stands out"
    return (
        f"the recording must hold the test tape with its {plan.TONE_HZ:g} Hz tone, {heard} in {sound.seconds:.1f} s: "
        "record the file that testtape writes, and give the recording of it"
    )


def _placed(sound, run):
    """The programme laid round a tone, or None if the marks do not fit."""
    reach_s = plan.programme().seconds / run.pace + 2
    first_s = max(0.0, run.start_s - reach_s)
    near = sound.part(first_s, min(sound.seconds, run.stop_s + reach_s))
    times_s, alike = _marks(near, run)
    if not len(times_s):
        return None
    tone = (run.start_s - first_s, run.stop_s - first_s)
    fits = [_fit(time - mark_s / run.pace, times_s, alike, run.pace, tone)
            for time in times_s for mark_s in plan.programme().marks_s]  # fmt: skip
    score, matched = max(fits, key=lambda fit: fit[0])
    # One mark alone must lie just where the end of the tone puts it.
    if score < (0 if len(matched) > 1 else LEAST_SCORE_OF_ONE) or not matched:
        return None
    planned_s, which = np.array(list(matched)), list(matched.values())
    return Place(near, first_s, planned_s, times_s[which], run.pace, run.side)


def _fit(offset_s, times_s, alike, pace, tone):
    """How well marks and tone fit a beginning of the programme, and the mark heard for each mark planned."""
    matched, score = {}, 0.0
    for mark_s in plan.programme().marks_s:
        far = np.abs(times_s - (offset_s + mark_s / pace))
        nearest = int(np.argmin(far))
        if far[nearest] < STRAY_S:
            matched[mark_s] = nearest
            score += float(alike[nearest]) - 0.2 * far[nearest] / STRAY_S
    return score + _fit_of_tone(offset_s, pace, tone), matched


def _fit_of_tone(offset_s, pace, tone):
    """Up to 1 if the tone lies within one of the programme's, and an end of it where one is planned; else -10."""
    best = -10.0
    for section in plan.programme().of("tone"):
        start_s, stop_s = (offset_s + time / pace for time in (section.start_s, section.stop_s))
        within = tone[0] > start_s - TONE_STRAY_S and tone[1] < stop_s + TONE_STRAY_S
        off_s = min(abs(tone[0] - start_s), abs(tone[1] - stop_s))
        if within and off_s < TONE_STRAY_S:
            best = max(best, 1.0 - off_s / TONE_STRAY_S)
    return best


def _marks(sound, run):
    """Times of what sounds like a mark, in seconds, and its likeness, 0 to 1."""
    from scipy.signal import fftconvolve, find_peaks, resample_poly

    down = max(1, sound.rate // MARK_RATE_HZ)
    samples = sound.samples if sound.channels == 1 else sound.samples[:, run.side]
    heard = resample_poly(samples.astype(np.float64), 1, down)
    mark = plan.MARK.wave(sound.rate / down, run.pace)
    if len(heard) < len(mark):
        return np.zeros(0), np.zeros(0)
    energy = np.concatenate([[0.0], np.cumsum(heard**2)])
    energy = energy[len(mark) :] - energy[: -len(mark)] + 1e-9 * energy[-1] / len(heard) * len(mark) + 1e-12
    likeness = fftconvolve(heard, np.conj(mark[::-1]), mode="valid") / np.sqrt(energy * np.sum(np.abs(mark) ** 2) / 2)
    height = np.abs(likeness)
    peaks, _ = find_peaks(height, height=ALIKE, distance=round(APART_S * sound.rate / down))
    places = np.array([peak + _beside(height[peak - 1 : peak + 2]) for peak in peaks])
    return places * down / sound.rate, height[peaks]


def _beside(three):
    """How far the top of a parabola through three heights lies from the middle one, in steps."""
    bend = three[0] - 2 * three[1] + three[2]
    return 0.5 * (three[0] - three[2]) / bend if bend else 0.0

