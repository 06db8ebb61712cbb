"""Sound: samples and the rate they were taken at. The ground floor of the kit.

A `Sound` is either an array in memory or a file on disk, whose samples are fetched only when asked for.
Full scale is ±1. One frame is one sample of each channel.
"""

import math
from pathlib import Path

import numpy as np

from . import filereading, filewriting
from .errors import SettingError
from .samples import (
    check_frame_span,
    check_start,
    checked_number,
    checked_rate,
    checked_samples,
    count_not_numbers,
    without_not_numbers,
)
from .scratches import scratched

__all__ = ["Sound", "scratch"]

PIECE_FRAMES = 1 << 18


class Sound:
    """Samples and the rate they were taken at; never changed once made.

    Parameters
    ----------
    samples : array_like
        (frames,) or (frames, channels), at most 8 channels. Floats are kept as float32, full scale ±1.
        Whole numbers of 8, 16 or 32 bits are scaled to −1 ≤ x < 1 (unsigned bytes: silence is 128).
        NaN and infinite values become 0 and are counted in `not_numbers`.
    rate : int
        Frames per second, 1 to 768000 Hz.

    Raises
    ------
    SettingError
        The samples are not numbers, have another shape, or the rate is out of range.

    Examples
    --------
    >>> beep = Sound(0.5 * np.sin(2 * np.pi * 1200 * np.arange(8000) / 8000), rate=8000)
    >>> beep
    Sound(1.000 s, 8000 Hz, mono)
    >>> round(beep.peak_dbfs, 2)
    -6.02
    >>> beep.scaled(0.5).part(0.25, 0.5).frames
    2000
    """

    def __init__(self, samples, rate):
        self._rate = checked_rate(rate)
        self._samples, self._not_numbers = checked_samples(samples)
        self._path = self._header = None

    @classmethod
    def read(cls, path):
        """Open a recording of any type soundfile carries; its samples stay on disk until asked for.

        Parameters
        ----------
        path : str or path-like

        Returns
        -------
        Sound

        Raises
        ------
        SoundError
            One line: the file is missing, empty, not audio, has more than 8 channels, …
        """
        sound = cls.__new__(cls)
        sound._path = _checked_path(path)
        sound._header = filereading.open_header(sound._path)
        sound._rate = sound._header.rate
        sound._samples = sound._not_numbers = None
        return sound

    def __repr__(self):
        channels = {1: "mono", 2: "stereo"}.get(self.channels, f"{self.channels} channels")
        place = f", {self.path.name!r}" if self.path else ""
        return f"Sound({self.seconds:.3f} s, {self.rate} Hz, {channels}{place})"

    @property
    def rate(self):
        """int: frames per second, in Hz."""
        return self._rate

    @property
    def path(self):
        """pathlib.Path or None: the file this sound was read from."""
        return self._path

    @property
    def samples(self):
        """numpy.ndarray: float32, (frames,) if mono, else (frames, channels); read-only."""
        if self._samples is None:
            self._samples, _ = checked_samples(_joined(self.pieces(), self.channels))
        return self._samples

    @property
    def frames(self):
        """int: samples per channel; until a file is read, as it promises (a cut MP3 or FLAC holds fewer)."""
        return self._header.frames if self._samples is None else len(self._samples)

    @property
    def channels(self):
        """int: 1 is mono, 2 is stereo."""
        if self._samples is None:
            return self._header.channels
        return 1 if self._samples.ndim == 1 else self._samples.shape[1]

    @property
    def seconds(self):
        """float: how long it plays, going by `frames`."""
        return self.frames / self.rate

    @property
    def not_numbers(self):
        """int: how many samples were NaN or infinite, and became 0. A file is read through to count them."""
        if self._not_numbers is None:
            raw = [] if self._header.is_pcm else self._file_pieces(PIECE_FRAMES, 0, None, "float32")
            self._not_numbers = sum(count_not_numbers(piece) for piece in raw)
        return self._not_numbers

    def pieces(self, frames=PIECE_FRAMES, start=0, stop=None, native=False):
        """Go through the sound piece by piece, in little memory.

        Parameters
        ----------
        frames : int
            The longest piece, in frames.
        start, stop : int
            First frame, and the frame after the last (None: to the end).
        native : bool
            Give int16, full scale 32768, where a file holds 8- or 16-bit PCM: quicker by far.

        Returns
        -------
        iterator of numpy.ndarray
            (n, channels), C order, float32 (or int16 if `native`), without NaN or infinity. Treat them as
            read-only: those of a sound in memory are views of it. A cut file ends where no more can be read.
        """
        check_frame_span(frames, start, stop)
        if native and self._header and self._header.fits_int16:
            return self._file_pieces(frames, start, stop, "int16")
        if self._samples is not None:
            return self._memory_pieces(frames, start, stop)
        raw = self._file_pieces(frames, start, stop, "float32")
        return raw if self._header.is_pcm else (without_not_numbers(piece)[0] for piece in raw)

    def _memory_pieces(self, frames, start, stop):
        table = self._samples.reshape(self.frames, self.channels)[:stop]
        return (table[first : first + frames] for first in range(start, len(table), frames))

    def _file_pieces(self, frames, start, stop, dtype):
        stop = self._header.frames if stop is None else stop
        return filereading.read_pieces(self._path, self._header, frames, start, stop, dtype)

    def part(self, start_s, stop_s):
        """A stretch of the sound, copied into memory.

        Parameters
        ----------
        start_s, stop_s : float
            In seconds; `stop_s` may lie past the end.

        Returns
        -------
        Sound
        """
        check_start(start_s, self.seconds)
        if checked_number("stop_s", stop_s) < start_s:
            raise SettingError(f"stop_s must not lie before start_s ({start_s} s), got {stop_s} s: swap them")
        start, stop = round(start_s * self.rate), round(min(stop_s, self.seconds) * self.rate)
        return Sound(_joined(self.pieces(start=start, stop=stop), self.channels), self.rate)

    def scaled(self, gain):
        """Sound: the same, `gain` times as large (−1 turns it upside down), at most a million times."""
        if abs(checked_number("gain", gain)) > 1e6:
            raise SettingError(f"gain must be within ±1e6, got {gain!r}: 1 changes nothing")
        return Sound(self.samples * np.float32(gain), self.rate)

    def scratch(self, start_s, length_s, seed=0):
        """The same sound with a scratch in the tape; see `kit.sound.scratch`."""
        return scratch(self, start_s, length_s, seed)

    def write(self, path, bits=16):
        """Write the sound to a file, piece by piece.

        Parameters
        ----------
        path : str or path-like
            The ending chooses the type: .wav .flac .ogg (Vorbis) .opus .mp3 .aiff .au .caf .w64. An existing
            file is replaced, once the new one is whole; the folder must exist.
        bits : {8, 16, 24, "float"}
            Sample width, where the type has a choice. Values beyond ±1 are clipped.

        Returns
        -------
        pathlib.Path

        Raises
        ------
        SettingError
            The type is unknown or cannot carry this width, rate, length or number of channels.
        SoundError
            Writing failed; nothing is left behind.
        """
        path = _checked_path(path)
        filewriting.write_pieces(path, self.pieces(), self.rate, self.channels, self.frames, bits)
        return path

    @property
    def peak(self):
        """float: the largest absolute sample; 1 is full scale."""
        return max((float(max(piece.max(), -piece.min())) for piece in self.pieces()), default=0.0)

    @property
    def rms(self):
        """float: root mean square over all channels; 1 is a square wave at full scale."""
        total, count = 0.0, 0
        for piece in self.pieces():
            total += float(np.square(piece, dtype=np.float64).sum())
            count += piece.size
        return math.sqrt(total / max(count, 1))

    @property
    def peak_dbfs(self):
        """float: `peak` in dB below full scale (a sample of ±1 is 0 dB); −inf for silence."""
        return _db(self.peak)

    @property
    def rms_dbfs(self):
        """float: `rms` in dB relative to 1 (a sine at full scale is −3.01 dB); −inf for silence."""
        return _db(self.rms)


def scratch(sound, start_s, length_s, seed=0):
    """What a scratch in the tape does: the signal all but gone, and crackle in its place.

    Parameters
    ----------
    sound : Sound
    start_s, length_s : float
        Where it begins and how long it lasts, in seconds; it may run off the end.
    seed : int
        Same seed, same crackle.

    Returns
    -------
    Sound
        Of the same length, never louder than the sound's own peak; the crackle follows the level nearby.

    Raises
    ------
    SettingError
        It would begin outside the sound, or its length is negative.
    """
    check_start(start_s, sound.seconds)
    if checked_number("length_s", length_s) < 0:
        raise SettingError(f"length_s must be 0 to {sound.seconds:.3f} s, got {length_s} s: turn it round")
    start, stop = round(start_s * sound.rate), round(min(start_s + length_s, sound.seconds) * sound.rate)
    table = sound.samples.reshape(sound.frames, sound.channels)
    return Sound(scratched(table, sound.rate, start, stop, _generator(seed)), sound.rate)


def _generator(seed):
    if isinstance(seed, int | np.integer) and seed >= 0:
        return np.random.Generator(np.random.PCG64(seed))
    raise SettingError(f"seed must be a whole number, 0 or more, got {seed!r}: any such number will do")


def _joined(pieces, channels):
    return np.concatenate([np.zeros((0, channels), np.float32), *pieces])


def _db(ratio):
    return 20 * math.log10(ratio) if ratio > 0 else -math.inf


def _checked_path(path):
    try:
        checked = Path(path)
    except TypeError:
        raise SettingError(f"path must be a file's name, got {path!r}: give it as text or a Path") from None
    if not str(path):
        raise SettingError("path must be a file's name, got an empty one: give the name")
    return checked
