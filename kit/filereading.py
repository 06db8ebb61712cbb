"""Read audio files on disk, piece by piece. `kit.sound` is the door to this.

The sample formats are libsndfile's business (through the soundfile package, imported when first needed).
What is added here: every complaint is one clear line, nothing is allocated because a header promises it, and
what can still be read of a damaged file is read.
"""

import os
import stat
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from .errors import SoundError
from .samples import MAX_CHANNELS, MAX_RATE_HZ

__all__ = ["AudioHeader", "open_header", "read_pieces"]

FRAMES_PER_RETRY = 1 << 12  # a usual FLAC block: how finely a damaged stretch is narrowed down
MAX_FAILED_RETRIES = 16
ROOM_FOR_A_HEADER = 1 << 16  # bytes; a longer file that says it holds no sound was never finished
MOST_FRAMES_PER_BYTE = 1 << 13  # silence as FLAC comes near; more is unknown (a stream) or a lie
NARROW_PCM = ("PCM_16", "PCM_U8", "PCM_S8")
PCM = (*NARROW_PCM, "PCM_24", "PCM_32")


@dataclass(frozen=True)
class AudioHeader:
    """What an audio file says about itself.

    Attributes
    ----------
    rate : int
        Frames per second, in Hz.
    channels : int
    frames : int
        As promised by the file: a cut or damaged one may hold fewer. Where it promises nothing or what cannot
        be, counted by reading it through.
    subtype : str
        How the samples are stored, in libsndfile's words ("PCM_16", "VORBIS", …).
    """

    rate: int
    channels: int
    frames: int
    subtype: str

    @property
    def is_pcm(self):
        """bool: samples are whole numbers, so none can be NaN."""
        return self.subtype in PCM

    @property
    def fits_int16(self):
        """bool: samples are whole numbers of at most 16 bits."""
        return self.subtype in NARROW_PCM

    @property
    def finds_its_way(self):
        """bool: the decoder skips damage by itself, so that no more is to be had where it gives up."""
        return self.subtype.startswith("MPEG")


def open_header(path):
    """Open an audio file just long enough to read what it says about itself.

    Parameters
    ----------
    path : pathlib.Path

    Returns
    -------
    AudioHeader

    Raises
    ------
    SoundError
        It is missing, empty, a folder, not audio, or its rate or number of channels is out of range.
    """
    _refuse_all_but_files(path)
    size = path.stat().st_size
    with _opened(path) as audio:
        header = AudioHeader(audio.samplerate, audio.channels, max(audio.frames, 0), audio.subtype)
    if not 1 <= header.rate <= MAX_RATE_HZ:
        raise SoundError(
            f"the rate must be 1 to {MAX_RATE_HZ} Hz, got {header.rate} Hz in {str(path)!r}: "
            "record or export it again"
        )
    if header.channels > MAX_CHANNELS:
        raise SoundError(
            f"at most {MAX_CHANNELS} channels are read, got {header.channels} in {str(path)!r}: "
            "save the one or two that carry the data"
        )
    if header.frames == 0 and size > ROOM_FOR_A_HEADER:
        raise SoundError(
            f"{str(path)!r} says it holds no sound, but has {size} bytes: its recording broke "
            "off; save it again from a sound editor"
        )
    if header.frames > MOST_FRAMES_PER_BYTE * size:
        pieces = read_pieces(path, header, 1 << 16, 0, header.frames, "int16")
        return replace(header, frames=sum(map(len, pieces)))
    return header


def _refuse_all_but_files(path):
    try:
        status = path.stat()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise SoundError(f"cannot open {str(path)!r} ({reason.lower()}): check the name") from None
    if not stat.S_ISREG(status.st_mode):
        what = "a folder" if stat.S_ISDIR(status.st_mode) else "not an ordinary file"
        raise SoundError(f"a recording must be a file, but {str(path)!r} is {what}: name the file itself")
    if status.st_size == 0:
        raise SoundError(f"a recording must hold sound, but {str(path)!r} is empty (0 bytes): copy it again")


@contextmanager
def _opened(path):
    """The soundfile object of `path`; closed at the end."""
    import soundfile

    try:
        audio = _straight_reader()(os.fspath(path))
    except (soundfile.SoundFileError, OSError, TypeError, ValueError):
        raise SoundError(
            f"a recording must be audio (WAV, FLAC, Ogg, Opus, MP3, AIFF …), but {str(path)!r} "
            "is not, or its header is damaged: record or export it again"
        ) from None
    with audio:
        yield audio


@cache
def _straight_reader():
    """A `soundfile.SoundFile` that reads straight on.

    soundfile sets the position anew after each read, where it is already. That is harmless in PCM, but
    the decoders of MP3 and Opus start afresh, with wrong samples at each joint.
    """
    import soundfile

    class StraightReader(soundfile.SoundFile):
        def seekable(self):
            return False

        @property
        def can_jump(self):
            return super().seekable()

    return StraightReader


def read_pieces(path, header, frames, start, stop, dtype):
    """The samples of a file, in order, piece by piece, from one open handle.

    Parameters
    ----------
    path : pathlib.Path
    header : AudioHeader
    frames : int
        The longest piece, in frames.
    start, stop : int
        First frame, and the frame after the last.
    dtype : str
        "int16" or "float32".

    Yields
    ------
    numpy.ndarray
        (n, channels), C order, a fresh array each time. Where a FLAC stream is damaged and goes on later,
        the lost frames are zeros, so that time stays right; the decoders of Ogg and MP3 leave them out. Where
        a file ends early, so do the pieces.
    """
    position, stop, lost, failures = start, min(stop, header.frames), 0, 0
    most_failures = 0 if header.finds_its_way else MAX_FAILED_RETRIES
    while position < stop and failures <= most_failures:
        with _opened(path) as audio:
            piece = _piece(audio, min(frames, stop - position), dtype) if _moved_to(audio, position) else None
            while piece is not None:
                if not len(piece):
                    return
                if lost:
                    yield np.zeros((lost, header.channels), dtype)
                lost = failures = 0
                position += len(piece)
                yield piece
                piece = _piece(audio, min(frames, stop - position), dtype)
        if frames > FRAMES_PER_RETRY:  # the damage may lie late in a long piece
            frames = FRAMES_PER_RETRY
        else:
            position, lost, failures = position + frames, lost + frames, failures + 1


def _piece(audio, frames, dtype):
    """The next piece, empty at the end; None where the stream is damaged."""
    import soundfile

    try:
        return audio.read(frames, dtype=dtype, always_2d=True)
    except (soundfile.SoundFileError, ValueError):
        return None


def _moved_to(audio, frame):
    """Go to a frame; a few old codings can only be read through to it. False where that fails."""
    import soundfile

    try:
        if audio.can_jump:
            return frame == 0 or audio.seek(frame) == frame
        while frame > 0 and (skipped := len(audio.read(min(frame, 1 << 16), dtype="int16", always_2d=True))):
            frame -= skipped
        return frame == 0
    except (soundfile.SoundFileError, ValueError):
        return False
