"""What came of a recording: the files in it, what is known of it, and ways to keep it."""

from pathlib import Path

from ..delivering import deliver, deliver_sound
from ..errors import SettingError
from .inputs import plain
from .take import level_in_words
from .telling import file_in_words

__all__ = ["Kept", "Words"]

MOST_TEXT = 4000  # bytes shown of a file
RECORDINGS, RECOVERED = Path("recordings"), Path("recovered")


class Kept:
    """What an `Ear` gives once there is a recording; it has `sound`, `reading` and `report`."""

    _take = _sound = _reading = None
    _name = ""
    report = None

    def files(self):
        """list of (str, str): the files found, and each in words."""
        done = self._reading.files if self._reading is not None else []
        return [(plain(file.name), file_in_words(file)) for file in done]

    def warnings(self):
        """list of str: what may spoil the recording, as far as is known by now."""
        return warnings_of(self._take, self.report)

    def facts(self):
        """str: how long, at which rate, how loud, from where; one line."""
        return facts_of(self._take, self._sound, self._name, self.report)

    def diagnose(self):
        """What is wrong with the recording: the doctor's findings.

        Returns
        -------
        Diagnosis
        """
        from ..doctor import diagnose  # takes as long to come as all the rest: only who asks for it waits

        return diagnose(self.sound)

    def text(self, file=0):
        """What a file that was found holds, as text; what cannot be shown is a dot in the middle of the line.

        Parameters
        ----------
        file : int
            Number of the file, from 0.

        Returns
        -------
        Words
        """
        found = self.reading.files
        if not found:
            return Words(["There is no file: nothing of a tape was read."])
        if isinstance(file, bool) or not isinstance(file, int) or not 0 <= file < len(found):
            last = len(found) - 1
            raise SettingError(f"file must be a number from 0 to {last}, got {str(file)[:20]!r}: choose one")
        letters = found[file].data[:MOST_TEXT].decode("utf-8", errors="replace").split("\n")
        more = len(found[file].data) - MOST_TEXT
        shown = [plain(line.replace("\ufffd", "·"), MOST_TEXT) for line in letters]
        return Words([f"{file_in_words(found[file])}:", *shown, *([f"… and {more} bytes more"] if more > 0 else [])])

    def save(self, name="recording", folder=RECORDINGS):
        """Write the recording to a WAV file, every sample as it was heard; nothing is ever replaced.

        Parameters
        ----------
        name : str
            Anything; it is made safe.
        folder : path-like
            Made if missing.

        Returns
        -------
        pathlib.Path
        """
        return deliver_sound(self.sound, Path(folder), str(name))

    def save_files(self, folder=RECOVERED):
        """Write the files found, each under its own name made safe; nothing is ever replaced.

        Returns
        -------
        list of pathlib.Path or None
            None where nothing of a file but its header was read.
        """
        return deliver(self.reading.files, Path(folder))


class Words:
    """Lines that show as text."""

    def __init__(self, lines):
        self.lines = list(lines)

    def __repr__(self):
        return "\n".join(self.lines)


def facts_of(take, sound, name, report):
    """How long, at which rate, how loud, from where; one line.

    Parameters
    ----------
    take : Take or None
        If it was recorded here.
    sound : Sound or None
        If it was opened.
    name : str
        Of its file.
    report : InputReport or None

    Returns
    -------
    str
    """
    if take is not None:
        level = f"largest level {level_in_words(take.peak)}"
        return f"{take.seconds:.1f} s at {take.rate} Hz; {level}. {report}"
    if sound is not None:
        return f"{sound.seconds:.1f} s{f' of {name}' if name else ''} at {sound.rate} Hz."
    return "Nothing recorded yet."


def warnings_of(take, report):
    """Lines on what may spoil the recording; none if nothing is known to."""
    lines = report.warnings() if report is not None else []
    if take is not None and take.lost:
        lines.append(f"{take.lost} frames ({1000 * take.lost / take.rate:.0f} ms) were lost on the way here, in "
                     f"{take.gaps} place{'s' * (take.gaps > 1)}; silence stands for them. Close other programs and "
                     "record again.")
    if take is not None and take.clipped:
        lines.append(f"{take.clipped} samples are at full scale: turn down the input.")
    return lines
