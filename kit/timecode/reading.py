"""Reading time code from a sound, in stretches: each is heard plainly first, then smoothed where that fails."""

from bisect import bisect
from dataclasses import dataclass

import numpy as np

from ..ears import mixtures
from ..errors import SettingError
from ..smoothing import Conditioner
from ..sound import Sound
from ..waves import EdgeFinder
from .cutting import cut_frames
from .frame import BITS, FRAME_RATES
from .judging import judged

__all__ = ["decode_timecode"]

STRETCH_S, OVERLAP_S = 20.0, 2.0
SMOOTHING = (0.5, 0.3)  # widths of the moving average against hiss, in cells: half a cell, or less
CENTRING = 4.0  # width of the moving average that is taken off, in cells
HYSTERESIS = 0.3
CELLS_S = tuple(0.0001 * 1.5**step for step in range(12))  # lengths of a cell for which smoothing is tried unasked
WHOLE = 0.98  # part of a stretch that must be explained for no more to be tried
OVERLAP = 0.25  # part of the shorter of two frames that may overlap
FEWEST_SAMPLES = 1.5  # between an end of the recording and an edge, for the end to be taken for one
SILENT = 1e-4  # peak below which nothing is looked for


def decode_timecode(sound, fps=None, side=None):
    """Every frame of time code in a sound, at any speed and in either direction of play.

    Parameters
    ----------
    sound : Sound
    fps : {24, 25, 30}, optional
        Frames counted to a second. The bits do not say: if not given, it is told from how the frames count, or,
        in a recording too short for that, from the speed at which the tape seems to run.
    side : str, optional
        left, right, sum, difference, mono or "channel 3": hear this only. If not given, the others are heard where
        the first does not give all; so give it where sides hold different codes.

    Returns
    -------
    list of FoundFrame
        In order of time. What is not beyond doubt says so: see `FoundFrame.doubts`.

    Raises
    ------
    SettingError
        There is no such rate or side.

    Examples
    --------
    >>> from kit.timecode import TimecodeFrame, encode_timecode
    >>> found = decode_timecode(encode_timecode(TimecodeFrame.of("09:59:59:24"), count=2))
    >>> [str(each.frame) for each in found if each.sure]
    ['09:59:59:24', '10:00:00:00']
    """
    if not isinstance(sound, Sound):
        raise SettingError(f"sound must be a Sound, got {type(sound).__name__}: read a file with Sound.read")
    if fps is not None and (isinstance(fps, bool) or fps not in FRAME_RATES):
        raise SettingError(f"fps must be one of {', '.join(map(str, FRAME_RATES))}, got {fps!r}: or leave it out")
    mixes = _chosen(mixtures(sound.channels), side)
    found, cell_s, stretch = [], None, round(STRETCH_S * sound.rate)
    for start in range(0, sound.frames, stretch):
        frames, cell_s = _read_stretch(sound, start, start + stretch, mixes, cell_s)
        found += frames
    return judged(_best_of_each_place(found), fps)


def _chosen(mixes, side):
    names = [mix.side for mix in mixes]
    if side is not None and side not in names:
        raise SettingError(f"side must be one of {', '.join(names)}, got {side!r}: or leave it out")
    return [mix for mix in mixes if side in (None, mix.side)]


def _read_stretch(sound, start, stop, mixes, cell_s):
    """Frames whose middle lies in a stretch, and the length of a cell there."""
    around = round(OVERLAP_S * sound.rate)
    first = max(0, start - around)
    samples = np.concatenate(list(sound.pieces(start=first, stop=stop + around)))
    span = start / sound.rate, min(stop, sound.frames) / sound.rate
    ends = [first == 0, stop + around >= sound.frames]
    heard = [_Listening(mix.of(samples), sound.rate, first / sound.rate, mix.side, ends) for mix in mixes]
    found, tried = [], set()
    for ways in (_plain, _smoothed, _searching, _smoothed):
        for one in heard:
            for way in ways(one, found, cell_s):
                if (one.side, way) in tried:
                    continue
                tried.add((one.side, way))
                found = _best_of_each_place(found + [each for each in one.frames(*way) if _lies_in(each, span)])
                if _is_whole(found, span):
                    return found, _cell_s(found)
    return found, _cell_s(found) or cell_s


@dataclass
class _Listening:
    """A stretch of one side, and whether it begins and ends with the recording."""

    wave: np.ndarray
    rate: int
    start_s: float
    side: str
    ends: list

    @property
    def is_silent(self):
        return len(self.wave) == 0 or max(self.wave.max(), -self.wave.min()) < SILENT

    def frames(self, smooth, centre, hysteresis):
        """Frames heard in one way."""
        conditioner = Conditioner(smooth, centre)
        finder = EdgeFinder(hysteresis, max(256, 2 * centre))
        wave = self.wave
        if conditioner.reach or smooth > 1:
            wave = conditioner.feed(np.concatenate((wave, np.zeros(conditioner.reach))))
        edges = self._bounded(finder.feed(wave, last=True) - conditioner.reach) / self.rate + self.start_s
        return cut_frames(edges, False, self.side) + cut_frames(edges, True, self.side)

    def _bounded(self, edges):
        """Edges, in samples, with the two ends of the recording: a frame may begin or end just there."""
        ends = np.array([0.0, len(self.wave)])[self.ends]
        clear = [np.abs(edges - end).min(initial=np.inf) > FEWEST_SAMPLES for end in ends]
        return np.sort(np.concatenate((edges, ends[clear])))


def _plain(one, found, cell_s):
    """The way to listen where nothing is in the way."""
    return [] if one.is_silent else [(1, 0, 0.0)]


def _smoothed(one, found, cell_s):
    """Ways to listen against noise, made for the length of a cell seen here or before."""
    cell_s = _cell_s(found) or cell_s
    return [] if cell_s is None or one.is_silent else _made_for(one, cell_s, SMOOTHING)


def _searching(one, found, cell_s):
    """Ways to listen where no frame has been seen, whatever the length of a cell."""
    lengths = [] if found or one.is_silent else CELLS_S
    return [way for length in lengths for way in _made_for(one, length, SMOOTHING[:1])]


def _made_for(one, cell_s, parts):
    cell = cell_s * one.rate
    return [(part * cell, round(CENTRING * cell), HYSTERESIS) for part in parts if cell >= FEWEST_SAMPLES]


def _lies_in(each, span):
    return span[0] <= (each.start_s + each.stop_s) / 2 < span[1]


def _cell_s(found):
    return float(np.median([each.stop_s - each.start_s for each in found])) / BITS if found else None


def _is_whole(found, span):
    """Whether clear frames fill a stretch, but for its ends, which may lie in mid-frame."""
    if not found or not all(each.clear and each.polarity_agrees for each in found):
        return False
    lengths = [each.stop_s - each.start_s for each in found]
    return sum(lengths) + 2 * max(lengths) > WHOLE * (span[1] - span[0])


def _best_of_each_place(found):
    """Of frames that overlap the one that speaks for itself best, in order of time."""
    kept = []
    for each in sorted(found, key=lambda one: (one.fits, one.polarity_agrees, one.margin), reverse=True):
        place = bisect(kept, each.start_s, key=lambda one: one.start_s)
        if not any(_overlap(each, other) for other in kept[max(0, place - 2) : place + 2]):
            kept.insert(place, each)
    return kept


def _overlap(one, other):
    common = min(one.stop_s, other.stop_s) - max(one.start_s, other.start_s)
    return common > OVERLAP * min(one.stop_s - one.start_s, other.stop_s - other.start_s)
