"""The tape: files to one Sound (`encode`), and recordings to files with a report (`decode`)."""

import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .blocks import CONTENTS, DATA, HEADER, LARGEST, SMALLEST, DataPart, Header, fit_name
from .errors import SettingError
from .formats import find_format, find_speed
from .listener import Listener
from .reading import Reading
from .sound import Sound
from .waves import Renderer

__all__ = ["TapeFile", "decode", "encode", "encode_sides", "playing_seconds", "sides_needed"]

LONGEST_FILE = 65536 * LARGEST
_BY_EXTENSION = {".txt": "text", ".csv": "text", ".md": "text", ".pgm": "picture", ".pbm": "picture", ".py": "code"}


@dataclass(frozen=True)
class TapeFile:
    """A file to be put on tape.

    Parameters
    ----------
    name : str
    data : bytes
    content : str
        bytes, text, picture or code.
    address : int
        Where a program wants to be loaded.
    """

    name: str
    data: bytes
    content: str = "bytes"
    address: int = 0

    @classmethod
    def of(cls, thing, name=None, content=None, address=0):
        """A tape file from bytes, from a path, or from a tape file; what is not said follows from the name."""
        if isinstance(thing, TapeFile):
            return thing
        if isinstance(thing, (bytes, bytearray, memoryview)):
            name, data = name or "data.bin", bytes(thing)
        elif isinstance(thing, (str, Path)):
            path = Path(thing)
            name, data = name or path.name, _file_bytes(path)
        else:
            raise SettingError(f"files must be bytes, paths or TapeFile, got {type(thing).__name__}")
        content = content or _BY_EXTENSION.get(Path(name).suffix.lower(), "bytes")
        if content not in CONTENTS:
            raise SettingError(f"content must be one of {', '.join(CONTENTS)}, got {content!r}")
        return cls(name, data, content, address)


def _file_bytes(path):
    try:
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise SettingError(f"file must be readable, got {str(path)!r}: {reason}") from None


def encode(files, *, name=None, format="house", speed=1.0, rate=44100, content=None, address=0,
           copies=None, block_bytes=None, lead_in_s=None):
    """Put files on one tape.

    Parameters
    ----------
    files : bytes, path, TapeFile, or a list of these
        Text is bytes too: ``"wind west".encode()``.
    name : str, optional
        Name of a single file; a path has its own.
    format : str or Format
    speed : float or str
        Part of ordinary speed, or the name of a speed.
    rate : int
        Samples per second.
    content : str, optional
        What the files hold: bytes, text, picture or code; else it follows from the name.
    address : int
        Start address noted in the header.
    copies, block_bytes, lead_in_s : optional
        In place of the format's own.

    Returns
    -------
    Sound
        Mono, peak 0.5: for a recorder, loud; headphones off.

    Raises
    ------
    SettingError
        A setting is out of range, or the rate cannot carry the speed; the message names the rate needed.

    Examples
    --------
    >>> encode(b"wind west 5", name="log.txt").rate
    44100
    """
    return encode_sides(files, name=name, format=format, speed=speed, rate=rate, content=content, address=address,
                        copies=copies, block_bytes=block_bytes, lead_in_s=lead_in_s)[0]


def encode_sides(files, *, side_minutes=None, name=None, format="house", speed=1.0, rate=44100, content=None,
                 address=0, copies=None, block_bytes=None, lead_in_s=None, progress=None):
    """Put files on as many sides as they need; parameters as in `encode`.

    Parameters
    ----------
    side_minutes : float, optional
        Longest a side may play; without it there is one side.
    progress : callable, optional
        Called with the part done, 0 to 1.

    Returns
    -------
    list of Sound
        `decode` joins them.
    """
    changes = {"copies": copies, "block_bytes": block_bytes, "lead_in_s": lead_in_s}
    format = find_format(format)
    format = format.changed(**{key: value for key, value in changes.items() if value is not None})
    speed = find_speed(speed)
    _check_rate(rate, format, speed)
    files = _named(_as_list(files), name, content, address)
    sides = _sides(_spoken_blocks(files, format), format, speed, side_minutes)
    total, done, sounds = sum(len(side) for side in sides), 0, []
    for side in sides:
        renderer, pieces = Renderer(rate), []
        for leader_s, body in side:
            pieces.append(renderer.feed(format.block_half_cycles(body, leader_s, speed)))
            done += 1
            if progress is not None:
                progress(done / total)
        sounds.append(Sound(np.concatenate([*pieces, renderer.finish()]), rate))
    return sounds


def _as_list(files):
    return list(files) if isinstance(files, (list, tuple)) else [files]


def _check_rate(rate, format, speed):
    if not (isinstance(rate, (int, np.integer)) and 8000 <= rate <= 192000):
        raise SettingError(f"rate must be a whole number from 8000 to 192000 Hz, got {rate!r}")
    needed = format.needed_rate(speed)
    if rate < needed:
        raise SettingError(
            f"rate must be at least {int(np.ceil(needed))} Hz for format {format.name!r} at speed {speed:g}, "
            f"got {rate} Hz: take a higher rate or a lower speed"
        )


def _named(files, name, content, address):
    """Tape files with names that fit and differ."""
    if not files:
        raise SettingError("there must be a file to encode, got none")
    if name is not None and len(files) > 1:
        raise SettingError(f"a name can be given to a single file, got {len(files)} files")
    taken, named = set(), []
    for thing in files:
        file = TapeFile.of(thing, name, content, address)
        if len(file.data) > LONGEST_FILE:
            raise SettingError(f"a file may have {LONGEST_FILE} bytes at most, got {len(file.data)}: split it")
        fitted = fit_name(file.name, taken)
        if fitted != file.name:
            warnings.warn(f"{file.name!r} is on the tape as {fitted!r}: names must differ and fit in 32 bytes of UTF-8",
                          stacklevel=4)
        taken.add(fitted)
        named.append(TapeFile(fitted, file.data, file.content, file.address))
    return named


def _spoken_blocks(files, format):
    """What lies on the tape: for each block the seconds of leader before it, and kind byte with payload."""
    first = True
    for file in files:
        header = Header.of(file.name, file.data, block_bytes=format.block_bytes, content=file.content,
                           address=file.address)
        if header.blocks > 1 << 16:
            raise SettingError(f"a file may have 65536 blocks at most, got {header.blocks}: take larger blocks")
        bodies = [bytes([HEADER]) + header.pack()]
        for number in range(header.blocks):
            data = file.data[number * format.block_bytes : (number + 1) * format.block_bytes]
            bodies.append(bytes([DATA]) + DataPart(header.tag, number, data).pack())
        for k, body in enumerate([*bodies, bodies[0]]):
            for copy in range(format.copies):
                # A header that opens a file after others needs time to be seen on a counter, or stopped at.
                leader_s = format.leader_s if k == 0 and copy == 0 else format.gap_s
                yield format.lead_in_s if first else leader_s, body
                first = False


def _sides(spoken, format, speed, side_minutes):
    """Blocks dealt to sides; a new side starts with the long leader."""
    if side_minutes is None:
        return [list(spoken)]
    limit_s = _side_seconds(side_minutes)
    sides, filled = [[]], 0.0
    for leader_s, body in spoken:
        length_s = _block_seconds(leader_s, body, format, speed)
        if sides[-1] and filled + length_s > limit_s:
            sides.append([])
            leader_s, filled = format.lead_in_s, 0.0
            length_s = _block_seconds(leader_s, body, format, speed)
        if not sides[-1] and length_s > limit_s:
            raise SettingError(
                f"a side must hold a block with its leader, {length_s:.1f} s, got {side_minutes:g} minutes: "
                "take longer sides or smaller blocks"
            )
        sides[-1].append((leader_s, body))
        filled += length_s
    return sides


def _side_seconds(side_minutes):
    if not (isinstance(side_minutes, (int, float)) and 0 < side_minutes <= 1440):
        raise SettingError(f"side_minutes must lie above 0 and not above 1440 minutes, got {side_minutes!r}")
    return 60.0 * side_minutes


def _block_seconds(leader_s, body, format, speed):
    return float(format.block_half_cycles(body, leader_s, speed).sum())


def playing_seconds(sounds):
    """How long some sides play together, in seconds."""
    return sum(sound.seconds for sound in sounds)


def sides_needed(seconds, cassette_minutes):
    """How many sides of a cassette a recording fills; a C60 has 60 minutes on two sides.

    Examples
    --------
    >>> sides_needed(31 * 60, 60)
    2
    """
    return max(1, int(np.ceil(seconds / (30.0 * cassette_minutes))))


def decode(recordings, *, format="auto", patient=False, progress=None):
    """Read the files off a recording, or off several recordings of one tape's parts.

    Parameters
    ----------
    recordings : Sound, path, or a list of these
    format : str, Format, or list of these
        What to listen for; ``"auto"`` is every named format.
    patient : bool
        Not there yet: must be False.
    progress : callable, optional
        Called with the part done, 0 to 1.

    Returns
    -------
    Reading
        Also when nothing was found: then it has no files.

    Raises
    ------
    SoundError
        A path holds no readable sound.
    """
    if patient:
        raise SettingError("patient must be False: the patient reader is not part of this version")
    sounds = [sound if isinstance(sound, Sound) else Sound.read(sound) for sound in _as_list(recordings)]
    if not sounds:
        raise SettingError("there must be a recording to decode, got none")
    total = sum(sound.seconds for sound in sounds) or 1.0
    blocks, events, heard = [], [], 0.0
    for number, sound in enumerate(sounds):
        listener = Listener(format, sound.rate, sound.channels, recording=number)
        for piece in sound.pieces(native=True):
            listener.feed(piece)
            if progress is not None:
                progress(min(1.0, (heard + listener.seconds) / total))
        listener.finish()
        heard += listener.seconds
        blocks += listener.blocks
        events += listener.events
    return Reading.of(blocks, events, heard)
