"""The one player, and the level sounds leave the kit at: quiet to listen to, loud only for a recorder.

Whatever a notebook plays goes through `play`: never by itself, never loud, faded at both ends, short unless
more is asked for. A file for a recorder goes through `recorder_files`, which puts a quiet copy beside it.
"""

import html
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from .errors import SettingError
from .sound import Sound

__all__ = ["CAUTION", "Player", "RecorderFiles", "play", "quiet", "quiet_path", "recorder_files"]

CAUTION = "for a recorder: loud; headphones off, lower the volume before opening it elsewhere"

QUIET_PEAK = 0.1  # −20 dBFS: a bare tone at this level is heard, and startles nobody
LOUDEST_PEAK = 0.25  # −12 dBFS: no player goes beyond
RECORDER_PEAK = 0.5  # −6 dBFS: fills a line input, with room before full scale
FADE_S = 0.010
USUAL_S = 3.0
LONGEST_S = 60.0  # the sound is kept inside the page: a minute of stereo at 44.1 kHz is 14 MB of it


@dataclass(frozen=True, repr=False)
class Player:
    """A sound ready to be played in a notebook, with its text beside it.

    Attributes
    ----------
    sound : Sound
        Just what is played: cut, faded, at its level.
    text : str
        How long and how loud, one line.
    audio : IPython.display.Audio
        With `normalize` off, so that a quiet sound stays quiet.
    """

    sound: Sound
    text: str
    audio: object

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        line = html.escape(self.text)
        return f'<div role="group" aria-label="{line}">{self.audio._repr_html_()}<p>{line}</p></div>'


def play(sound, seconds=USUAL_S, peak=QUIET_PEAK, start_s=0.0):
    """A player for the beginning of a sound; it waits for a press of its button.

    Parameters
    ----------
    sound : Sound
        Mono or stereo; of more channels the first two are played.
    seconds : float
        Longest it plays, above 0 and at most 60 s.
    peak : float
        Largest sample it may have, as a part of full scale, above 0 and at most 0.25. A sound that is
        quieter already stays as it is.
    start_s : float
        Where to begin, in seconds.

    Returns
    -------
    Player

    Raises
    ------
    SettingError
        One line: it would be too loud, too long, or begin after the end.
    """
    if not (_is_number(seconds) and 0 < seconds <= LONGEST_S):
        raise SettingError(
            f"seconds must lie above 0 and not above {LONGEST_S:g} s, got {seconds!r}: "
            "play a part, or write the sound to a file"
        )
    _check_peak(peak)
    part = quiet(_pair(sound.part(start_s, start_s + seconds)), peak)
    if not part.frames:
        raise SettingError("there must be sound to play, got 0 samples: begin earlier, or play more")
    from IPython.display import Audio

    audio = Audio(part.samples.T, rate=part.rate, autoplay=False, normalize=False)
    return Player(part, _line(part, sound, start_s), audio)


def quiet(sound, peak=QUIET_PEAK):
    """The same sound for ears: its largest sample brought down to `peak`, if it lies above; its ends faded.

    Parameters
    ----------
    sound : Sound
    peak : float
        Part of full scale, above 0 and at most 0.25.

    Returns
    -------
    Sound
        Of the same length; faded in and out over 10 ms, since a tone that is cut off clicks.

    Raises
    ------
    SettingError
        `peak` is louder than listening allows.

    Examples
    --------
    >>> tone = Sound(0.5 * np.sin(np.arange(8000)), rate=8000)
    >>> round(quiet(tone).peak, 3)
    0.1
    """
    _check_peak(peak)
    table = sound.samples.reshape(sound.frames, sound.channels) * np.float32(peak / max(sound.peak, peak))
    size = min(round(FADE_S * sound.rate), sound.frames // 2)
    ramp = ((np.arange(size) + 0.5) / max(size, 1)).astype(np.float32)[:, None]
    table[:size] *= ramp
    table[sound.frames - size :] *= ramp[::-1]
    return Sound(table, sound.rate)


@dataclass(frozen=True, repr=False)
class RecorderFiles:
    """A file for a recorder and the listening copy beside it.

    Attributes
    ----------
    path, listening_path : pathlib.Path
    text : str
        Which is which, with the caution.
    """

    path: Path
    listening_path: Path
    text: str

    def __repr__(self):
        return self.text


def quiet_path(path):
    """Where the listening copy of a recording goes.

    Examples
    --------
    >>> quiet_path("tapes/log.wav").name
    'quiet-log.wav'
    """
    path = Path(path)
    return path.with_name(f"quiet-{path.name}")


def recorder_files(sound, path, bits=16):
    """Write a sound for a recorder, its peak at half of full scale (−6 dBFS), and a quiet copy beside it.

    Parameters
    ----------
    sound : Sound
    path : str or path-like
        As in `Sound.write`; files of the two names are replaced.
    bits : {8, 16, 24, "float"}

    Returns
    -------
    RecorderFiles
        Its text says which of the two is for the recorder, and to be careful with it.

    Raises
    ------
    SettingError, SoundError
        As `Sound.write` does.
    """
    level = sound.peak
    # An untouched sound is written as it is, to the bit.
    loud = sound if level in (0.0, RECORDER_PEAK) else sound.scaled(RECORDER_PEAK / level)
    path = loud.write(path, bits)
    copy = quiet(sound).write(quiet_path(path), bits)
    return RecorderFiles(path, copy, f"{path}: {CAUTION}\n{copy}: a quiet copy to listen to")


def _check_peak(peak):
    if not (_is_number(peak) and 0 < peak <= LOUDEST_PEAK):
        raise SettingError(
            f"peak must lie above 0 and not above {LOUDEST_PEAK:g} of full scale in a player, "
            f"got {peak!r}: turn up the loudspeaker instead"
        )


def _is_number(value):
    return isinstance(value, (int, float, np.integer, np.floating)) and not isinstance(value, bool)


def _pair(sound):
    return sound if sound.channels <= 2 else Sound(sound.samples[:, :2], sound.rate)


def _line(part, whole, start_s):
    stop_s = start_s + part.seconds
    cut = "" if part.frames == whole.frames else f", {start_s:.2f} to {stop_s:.2f} s of {whole.seconds:.2f} s"
    return f"{part.seconds:.2f} s of sound{cut}; peak {part.peak:.2f} of full scale"
