"""Where a recording holds the steady tone of the test tape: the first thing looked for."""

from dataclasses import dataclass

import numpy as np

from kit.testtape.plan import TONE_HZ

__all__ = ["SLOWEST", "FASTEST", "ToneRun", "tone_runs"]

SLOWEST, FASTEST = 0.84, 1.17  # paces looked for: ±15 %, and what wow adds
FRAME_S = 0.1
STANDS_OUT, OF_ALL = 0.5, 0.1  # a tone holds this part of the power of the band, and of all that is audible
BAND_HZ, AUDIBLE_HZ = (2400.0, 4000.0), (200.0, 8000.0)
NEIGHBOURS_HZ = 90.0  # wow and flutter and the window's own width
STEADY = 0.06  # from one frame to the next
GAP_FRAMES = 5  # a dropout may be this long
LEAST_S = 3.0


@dataclass(frozen=True)
class ToneRun:
    """A stretch of steady tone on one side.

    Attributes
    ----------
    start_s, stop_s : float
        In the recording, within a frame of 0.1 s.
    pace : float
        Frequency heard divided by the nominal one.
    side : int
    power : float
        Mean square.
    """

    start_s: float
    stop_s: float
    pace: float
    side: int
    power: float

    @property
    def seconds(self):
        """float: how long it lasts."""
        return self.stop_s - self.start_s


def tone_runs(sound):
    """All stretches of 3 s and more in which a tone near 3150 Hz stands out.

    Parameters
    ----------
    sound : Sound
        Read piece by piece; of any length.

    Returns
    -------
    list of ToneRun
        The most of sound (length times power) first.
    """
    frame = round(FRAME_S * sound.rate)
    tables = [_frames(piece, sound.rate, frame) for piece in sound.pieces(frames=frame * 64)]
    if not tables:
        return []
    table = np.concatenate(tables)  # (frames, sides, 2): frequency or NaN, power
    runs = [run for side in range(table.shape[1]) for run in _runs(table[:, side], side, frame / sound.rate)]
    return sorted(runs, key=lambda run: run.seconds * run.power, reverse=True)


def _frames(piece, rate, frame):
    """For each frame and side: the frequency of the tone that stands out, or NaN, and the mean square."""
    count = len(piece) // frame
    frames = piece[: count * frame].reshape(count, frame, piece.shape[1])
    power = np.abs(np.fft.rfft(frames * np.hanning(frame).astype(np.float32)[:, None], axis=1)) ** 2
    hz = np.arange(power.shape[1]) * rate / frame
    searched = np.flatnonzero((hz >= SLOWEST * TONE_HZ) & (hz <= FASTEST * TONE_HZ))
    band, audible = (power[:, (hz >= low) & (hz <= high)].sum(axis=1) for low, high in (BAND_HZ, AUDIBLE_HZ))
    if not len(searched) or not count:
        return np.full((count, piece.shape[1], 2), np.nan)
    peak = searched[np.argmax(power[:, searched], axis=1)]
    near = np.abs(hz[None, :, None] - hz[peak][:, None, :]) <= NEIGHBOURS_HZ
    tone = np.sum(power * near, axis=1)
    centre = np.sum(power * near * hz[None, :, None], axis=1) / np.maximum(tone, 1e-30)
    stands_out = tone > np.maximum(STANDS_OUT * band, OF_ALL * audible) + 1e-20
    found = np.where(stands_out, centre, np.nan)
    return np.stack([found, np.mean(np.square(frames, dtype=np.float64), axis=1)], axis=2)


def _runs(table, side, frame_s):
    """Rows of frames that hold one steady tone."""
    row = []
    for k in np.flatnonzero(np.isfinite(table[:, 0])):
        if row and (k - row[-1] > GAP_FRAMES or abs(table[k, 0] / table[row[-1], 0] - 1) > STEADY):
            yield from _long_enough(row, table, side, frame_s)
            row = []
        row.append(int(k))
    yield from _long_enough(row, table, side, frame_s)


def _long_enough(row, table, side, frame_s):
    if len(row) * frame_s >= LEAST_S:
        pace = float(np.median(table[row, 0])) / TONE_HZ
        yield ToneRun(row[0] * frame_s, (row[-1] + 1) * frame_s, pace, side, float(np.mean(table[row, 1])))
