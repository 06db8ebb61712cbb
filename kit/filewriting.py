"""Write audio files to disk. `kit.sound` is the door to this.

Added to what libsndfile does: a type that cannot carry the sound says so in one line, values never wrap,
and a file appears under its name only once it is whole.
"""

import os
import secrets
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .errors import SettingError, SoundError
from .samples import MAX_CHANNELS, MAX_RATE_HZ

__all__ = ["FILE_TYPES", "quantised", "write_pieces"]

FRAMES_PER_WRITE = 1 << 16  # one very long write of Ogg can overrun the encoder's stack
MAX_BYTES_32_BIT = 2**32 - 2**16  # sizes in these containers are 32-bit numbers; leave room for the header


@dataclass(frozen=True)
class FileType:
    """A type of file to write: its container, its sample widths, and the rates and channels it can carry."""

    container: str
    widths: dict
    rates: tuple = ()
    max_rate_hz: int = MAX_RATE_HZ
    max_channels: int = MAX_CHANNELS
    tens_above_hz: int = MAX_RATE_HZ

    def carries(self, rate):
        """Whether this type can carry `rate`, in Hz."""
        if self.rates:
            return rate in self.rates
        return rate <= self.max_rate_hz and (rate <= self.tens_above_hz or rate % 10 == 0)

    def rates_in_words(self):
        """The rates this type can carry, for a message."""
        if self.rates:
            return ", ".join(map(str, self.rates)) + " Hz"
        tens = f", in tens of Hz above {self.tens_above_hz}" if self.tens_above_hz < MAX_RATE_HZ else ""
        return f"1 to {self.max_rate_hz} Hz{tens}"


_WIDTHS = {16: "PCM_16", 24: "PCM_24"}
_UNSIGNED_8 = {8: "PCM_U8", **_WIDTHS, "float": "FLOAT"}
_SIGNED_8 = {8: "PCM_S8", **_WIDTHS, "float": "FLOAT"}
_NO_8 = {**_WIDTHS, "float": "FLOAT"}  # an odd number of bytes comes back one longer
_MP3_RATES = (8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000)
# What libsndfile 1.2.2 was seen to take; above 200 kHz its Vorbis encoder does not refuse, it crashes.
FILE_TYPES = {
    ".wav": FileType("WAV", _UNSIGNED_8),
    ".flac": FileType("FLAC", {8: "PCM_S8", **_WIDTHS}, max_rate_hz=655_350, tens_above_hz=65_535),
    ".ogg": FileType("OGG", {16: "VORBIS"}, max_rate_hz=200_000),
    ".opus": FileType("OGG", {16: "OPUS"}, rates=(8000, 12000, 16000, 24000, 48000)),
    ".mp3": FileType("MP3", {16: "MPEG_LAYER_III"}, rates=_MP3_RATES, max_channels=2),
    ".aiff": FileType("AIFF", _NO_8),
    ".aif": FileType("AIFF", _NO_8),
    ".au": FileType("AU", _SIGNED_8),
    ".caf": FileType("CAF", _SIGNED_8),
    ".w64": FileType("W64", _UNSIGNED_8),
}


def write_pieces(path, pieces, rate, channels, frames, bits):
    """Write pieces of sound to a new file, which takes its name only when it is whole.

    Parameters
    ----------
    path : pathlib.Path
        Its ending chooses the type; an existing file is replaced.
    pieces : iterable of numpy.ndarray
        float32, (n, channels), full scale ±1; values beyond that are clipped.
    rate : int
        In Hz.
    channels, frames : int
    bits : int or str
        8, 16, 24 or "float".

    Raises
    ------
    SettingError
        The type is unknown, or cannot carry these bits, channels, rate or length; the folder does not exist.
    SoundError
        Writing failed; nothing is left behind.
    """
    kind = _file_type(path, bits)
    _refuse_what_it_cannot_carry(path, kind, rate, channels, frames, bits)
    target = _checked_target(path)
    unfinished = target.with_name(f".unfinished-{secrets.token_hex(6)}{target.suffix}")
    try:
        _write_file(unfinished, pieces, rate, channels, kind, kind.widths[bits])
        os.replace(unfinished, target)
    except OSError as error:
        raise SoundError(
            f"writing {str(path)!r} failed ({error.strerror or error}): is there room, "
            "and may you write in this folder?"
        ) from None
    finally:
        unfinished.unlink(missing_ok=True)


def _file_type(path, bits):
    kind = FILE_TYPES.get(path.suffix.lower())
    if kind is None:
        raise SettingError(f"the name must end in {' '.join(FILE_TYPES)}, got {path.name!r}: rename it")
    if not isinstance(bits, int | str) or bits not in kind.widths:
        known = ", ".join(map(repr, kind.widths))
        raise SettingError(f"bits must be one of {known} for a {path.suffix} file, got {bits!r}: choose")
    return kind


def _refuse_what_it_cannot_carry(path, kind, rate, channels, frames, bits):
    if not kind.carries(rate):
        raise SettingError(
            f"the rate must be {kind.rates_in_words()} in a {path.suffix} file, got {rate}: "
            "use such a rate, or write .wav"
        )
    if channels > kind.max_channels:
        raise SettingError(
            f"a {path.suffix} file holds up to {kind.max_channels} channels, got {channels}: write .wav"
        )
    if frames == 0 and path.suffix.lower() in (".flac", ".opus", ".mp3"):
        raise SettingError(f"a {path.suffix} file must hold at least one sample, got none: write .wav")
    size_bytes = frames * channels * (4 if bits == "float" else bits // 8)
    if kind.container in ("WAV", "AIFF", "AU") and size_bytes > MAX_BYTES_32_BIT:
        raise SettingError(
            f"a {path.suffix} file holds at most 4.29 GB, got {size_bytes / 1e9:.2f} GB: write .w64 or .flac"
        )


def _checked_target(path):
    """The file to write, behind any symbolic links."""
    try:
        target = Path(os.path.realpath(path))
        if target.parent.is_dir() and (target.is_file() or not target.exists()):
            return target
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise SettingError(f"the name must suit a file, got {path.name!r} ({reason}): rename it") from None
    if target.parent.is_dir():
        raise SettingError(f"the name must be a file's, got {str(path)!r}, which is none: choose another")
    raise SettingError(f"the folder must exist to write {path.name!r}, got {str(path.parent)!r}: make it")


def _write_file(path, pieces, rate, channels, kind, subtype):
    import soundfile

    path.open("xb").close()  # asks the system first: its reason is clearer than the library's
    written = 0
    try:
        name, container = os.fspath(path), kind.container
        with soundfile.SoundFile(name, "w", rate, channels, subtype, format=container) as audio:
            for piece in pieces:
                written += len(piece)
                for first in range(0, len(piece), FRAMES_PER_WRITE):
                    audio.write(quantised(piece[first : first + FRAMES_PER_WRITE], subtype))
    except (soundfile.SoundFileError, AssertionError) as error:  # it asserts that all was taken
        raise OSError(str(error).rstrip(".") or "not all of it was taken") from None
    if not _is_whole(path, written):
        raise OSError("its end is missing")


def _is_whole(path, frames):
    """Whether the last frame is there: what an encoder holds back to the end is lost without a word."""
    import soundfile

    try:
        with soundfile.SoundFile(os.fspath(path)) as audio:
            audio.seek(max(frames - 1, 0))
            return audio.frames == frames and len(audio.read(1)) == min(frames, 1)
    except soundfile.SoundFileError:
        return False


def quantised(samples, subtype):
    """Samples as the file will hold them: clipped, and for PCM rounded to whole steps.

    Full scale is 2**(bits − 1) steps, as in reading, so that what was read from a file is written back to one
    of the same width unchanged; +1 becomes one step less.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, any shape, full scale ±1.
    subtype : str
        In libsndfile's words.

    Returns
    -------
    numpy.ndarray
        int16 (8 and 16 bits) or int32 (24 bits) with the steps in the topmost bits; for others float32.

    Examples
    --------
    >>> quantised(np.array([-2, -1, 0, 0.5, 1], np.float32), "PCM_16")
    array([-32768, -32768,      0,  16384,  32767], dtype=int16)
    """
    bits = {"PCM_U8": 8, "PCM_S8": 8, "PCM_16": 16, "PCM_24": 24}.get(subtype)
    if bits is None:
        return np.clip(samples, -1, 1)
    full = 1 << (bits - 1)
    steps = np.clip(np.rint(samples.astype(np.float64) * full), -full, full - 1)
    container = np.int16 if bits <= 16 else np.int32
    return (steps * 2.0 ** (8 * np.dtype(container).itemsize - bits)).astype(container)
