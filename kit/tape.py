"""The tape: files to one Sound (`encode`), and recordings to files with a report (`decode`)."""

import math

import numpy as np

from .chosen import formats_to_hear
from .errors import SettingError
from .known import find_format, find_speed
from .listener import Listener
from .readers import Counter
from .reading import Reading
from .sides import TapeFile, deal_sides, name_files, tape_blocks, warn_of_streams
from .sound import Sound
from .waves import Renderer

__all__ = ["TapeFile", "decode", "encode", "encode_sides", "playing_seconds", "sides_needed"]

LOOK_S = 10.0  # of a recording the first look takes in where a reading is brief: two pieces at the usual rate


def encode(
    files,
    *,
    name=None,
    format="house",
    speed=1.0,
    rate=44100,
    content=None,
    address=0,
    copies=None,
    block_bytes=None,
    lead_in_s=None,
):
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
    return encode_sides(
        files,
        name=name,
        format=format,
        speed=speed,
        rate=rate,
        content=content,
        address=address,
        copies=copies,
        block_bytes=block_bytes,
        lead_in_s=lead_in_s,
    )[0]


def encode_sides(
    files,
    *,
    side_minutes=None,
    name=None,
    format="house",
    speed=1.0,
    rate=44100,
    content=None,
    address=0,
    copies=None,
    block_bytes=None,
    lead_in_s=None,
    progress=None,
):
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
    if format.stream and block_bytes is not None:
        raise SettingError(f"block_bytes must be left out in {format.name!r}, got {block_bytes!r}: it has no blocks")
    format = format.changed(**{key: value for key, value in changes.items() if value is not None})
    speed = find_speed(speed)
    _check_rate(rate, format, speed)
    files = name_files(_as_list(files), name, content, address)
    if format.stream:
        warn_of_streams(format, files)
    sides = deal_sides(tape_blocks(files, format), format, speed, side_minutes)
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


def decode(recordings, *, format="auto", patient=False, counter=None, progress=None, quick=False,
           brief=False):
    """Read the files off a recording, or off several recordings of one tape's parts.

    Parameters
    ----------
    recordings : Sound, path, or a list of these
    format : str, Format, or list of these
        What to listen for; ``"auto"`` is every named format.
    patient : bool
        Leave nothing untried where a block does not read: slower. Without it, too, whole blocks are weighed at once
        where they do not read as they are, but only where a leader gives hope.
    counter : kit.Counter, optional
        Read as a processor's timing loop did, with a threshold that never adjusts: to see what it cannot bear.
    progress : callable, optional
        Called with the part done, 0 to 1.
    quick : bool
        Read each channel as it is and spend no effort on what does not read so: for those who want to know how a
        recording reads by itself.
    brief : bool
        With `quick`: where much does not read, try only some of it. A long recording of which nothing reads takes
        little longer then than one that reads, but not every damaged block is told.

    Returns
    -------
    Reading
        Also when nothing was found: then it has no files.

    Raises
    ------
    SoundError
        A path holds no readable sound.
    """
    if counter is not None and not isinstance(counter, Counter):
        raise SettingError(f"counter must be a kit.Counter or None, got {counter!r}: kit.Counter() is the usual one")
    if patient and counter is not None:
        raise SettingError("patient must be False with a counter, which reads in its own way: leave one of them out")
    if brief and not quick:
        raise SettingError("quick must be True where brief is True, got False: only a quick reading may be brief")
    if patient and quick:
        raise SettingError("patient must be False where quick is True, got both: leave one of them out")
    sounds = [sound if isinstance(sound, Sound) else Sound.read(sound) for sound in _as_list(recordings)]
    if not sounds:
        raise SettingError("there must be a recording to decode, got none")
    total = sum(sound.seconds for sound in sounds) or 1.0
    look_s = LOOK_S if brief else math.inf
    formats, doubted = (format, None) if counter is not None else formats_to_hear(format, sounds, look_s)
    blocks, events, heard = [], [], 0.0
    for number, sound in enumerate(sounds):
        listener = Listener(formats, sound.rate, sound.channels, number, counter, patient, quick, doubted,
                            brief)
        for piece in sound.pieces(native=True):
            listener.feed(piece)
            if progress is not None:
                progress(min(1.0, (heard + listener.seconds) / total))
        listener.finish()
        heard += listener.seconds
        blocks += listener.blocks
        events += listener.events
    return Reading.of(blocks, events, heard)
