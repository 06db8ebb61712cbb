"""The ear without a browser: a recording comes in by chunks or as a file, and is read beside the kernel's thread."""

import sys
import threading
from pathlib import Path
from queue import SimpleQueue

from ..delivering import deliver, deliver_sound
from ..errors import KitError, SettingError
from ..listener import formats_of
from ..reading import Reading
from ..sound import Sound
from .inputs import InputReport, plain
from .practice import practice_tape
from .take import Take, level_in_words
from .telling import Teller, file_in_words
from .work import LiveReading, Stopped, read_whole

__all__ = ["Ear"]

MOST_MINUTES = 60
RECORDINGS, RECOVERED = Path("recordings"), Path("recovered")
NOTHING = "there must be a recording, got none: press Record, or open a file"


class Ear:
    """A recording and what is read from it, while it comes in and afterwards.

    Parameters
    ----------
    format : str, Format, or list of these
    most_minutes : float
        Above 0 and at most 60.

    Attributes
    ----------
    state : {"empty", "recording", "reading", "ready"}
    status : str
        What happened last, one line.
    progress : float
        Part of the reading after the end that is done; 1 when there is none.
    report : InputReport or None
        What the browser says of the input.

    Examples
    --------
    >>> from kit import encode
    >>> tape, ear = encode(b"wind west 5", name="log.txt", lead_in_s=1.0), Ear("house")
    >>> ear.begin(1, tape.rate)
    >>> ear.hear(1, 0, tape.samples)
    >>> ear.end(1)
    >>> ear.reading.files[0].data
    b'wind west 5'
    >>> ear.status
    'done: log.txt, 11 bytes, whole (checked)'
    """

    def __init__(self, format="auto", most_minutes=30):
        if isinstance(most_minutes, bool) or not isinstance(most_minutes, (int, float)) or not (
                0 < most_minutes <= MOST_MINUTES):
            raise SettingError(f"most_minutes must lie above 0 and not above {MOST_MINUTES}, got {most_minutes!r}: "
                               "for more, record with another program and open the file")
        self.formats, self.most_s = formats_of(format), 60.0 * most_minutes
        self.state, self.status, self.progress = "empty", "Nothing recorded yet.", 1.0
        self.report, self._name = None, ""
        self._take = self._sound = self._reading = self._thread = self._work = None
        self._number = None
        self._teller = Teller()
        self._lock = threading.RLock()
        self._watchers = []

    # -- a recording, chunk by chunk ----------------------------------------------------------------------

    def begin(self, number, rate, label="", settings=None):
        """A recording begins; what was there before is let go of.

        Parameters
        ----------
        number : int
            Tells this recording from others.
        rate : int
            Frames per second.
        label : str
            Name of the input.
        settings : dict, optional
            What the browser says of it.

        Raises
        ------
        SettingError
            The rate is out of range, or another recording goes on.
        """
        with self._lock:
            if self.state == "recording":
                raise SettingError("a recording must end before the next begins, got a second: press Stop first")
            take = Take(rate, self.most_s)
            self._fresh("recording", "Listening.")
            self._take, self._number = take, number
            self.report = InputReport.of(label, settings)
            self._work = LiveReading(self.formats, take.rate, self._teller, self._heard)
            self._queue = SimpleQueue()
            self._start(self._follow, self._work, self._queue, take)
        self.tell()

    def hear(self, number, first, samples):
        """Some samples of the recording that goes on; those of any other are left out.

        Raises
        ------
        SettingError
            They cannot be part of it; the recording is ended, and what came before is kept.
        """
        with self._lock:
            if self.state != "recording" or number != self._number:
                return
            try:
                pieces = self._take.add(first, samples)
            except SettingError:
                self.end(number)
                raise
            for piece in pieces:
                self._queue.put(piece)
            full = self._take.full
        if full:
            self._teller.say(f"the limit of {self.most_s / 60:g} minutes is reached: recording has stopped, "
                             "and all that was heard is kept")
            self.end(number)

    def end(self, number=None):
        """The recording is over; reading goes on until all is tried."""
        with self._lock:
            if self.state != "recording" or number not in (None, self._number):
                return
            self.state, self.status = "reading", "Recording has stopped. Reading what is left."
            self._queue.put(None)
        self.tell()

    # -- a file, a practice tape --------------------------------------------------------------------------

    def open(self, recording):
        """Take a recording that is there already, in place of one made here, and read it.

        Parameters
        ----------
        recording : str, path-like or Sound

        Returns
        -------
        Ear
            Itself; `reading` waits until it is read.

        Raises
        ------
        SoundError
            The file holds no readable sound; what was there before is kept.
        """
        sound = recording if isinstance(recording, Sound) else Sound.read(recording)
        with self._lock:
            if self.state == "recording":
                raise SettingError("a recording must end before a file is opened, got one that goes on: press Stop")
            self._fresh("reading", "Reading the file.")
            self._name = plain(sound.path.name) if sound.path else ""
            self._read_all_of(sound)
        self.tell()
        return self

    def practise(self):
        """Take a practice tape, with a scratch in it, unless there is a recording.

        Returns
        -------
        Ear
        """
        return self.open(practice_tape()) if self.state == "empty" else self

    def read_again(self):
        """Read all of it once more, leaving nothing untried: that takes longer."""
        with self._lock:
            sound = self.sound
            if self.state != "ready":
                return
            self._teller.say("reading once more, patiently")
            self._reading, self.state, self.status = None, "reading", "Reading patiently."
            self._read_all_of(sound, patient=True)
        self.tell()

    def stop(self):
        """End what goes on: a recording, or reading after it."""
        if self.state == "recording":
            self.end()
        elif self._work is not None:
            self._work.stop()

    # -- what came of it ----------------------------------------------------------------------------------

    @property
    def sound(self):
        """Sound: the recording, so far; a `SettingError` if there is none."""
        with self._lock:
            if self._sound is not None:
                return self._sound
            if self._take is None:
                raise SettingError(NOTHING)
            return self._take.sound

    @property
    def reading(self):
        """Reading: what was read, so far while it is recorded; after that it waits until all is read."""
        if self.state == "recording":
            return Reading.of(*self._work.so_far())
        self.wait()
        if self._reading is None:
            raise SettingError(NOTHING)
        return self._reading

    @property
    def lines(self):
        """list of str: what was said, line by line; the last 500."""
        return list(self._teller.lines)

    @property
    def earlier(self):
        """int: how many lines were said before these."""
        return self._teller.earlier

    def files(self):
        """list of (str, str): the files found, and each in words."""
        done = self._reading.files if self._reading is not None else []
        return [(file.name, file_in_words(file)) for file in done]

    def warnings(self):
        """list of str: what may spoil the recording, as far as is known by now."""
        lines = self.report.warnings() if self.report is not None else []
        take = self._take
        if take is not None and take.lost:
            lines.append(f"{take.lost} frames ({1000 * take.lost / take.rate:.0f} ms) were lost on the way here, in "
                         f"{take.gaps} place{'s' * (take.gaps > 1)}; silence stands for them. Close other programs "
                         "and record again.")
        if take is not None and take.clipped:
            lines.append(f"{take.clipped} samples are at full scale: turn down the input.")
        return lines

    def facts(self):
        """str: how long, at which rate, how loud, from where; one line."""
        if self._sound is None and self._take is None:
            return "Nothing recorded yet."
        if self._take is None:
            name = f" of {self._name}" if self._name else ""
            return f"{self._sound.seconds:.1f} s{name} at {self._sound.rate} Hz."
        level = f"largest level {level_in_words(self._take.peak)}"
        return f"{self._take.seconds:.1f} s at {self._take.rate} Hz; {level}. {self.report}"

    def diagnose(self):
        """What is wrong with the recording, by the kit's doctor; without one, what the ear itself knows.

        Returns
        -------
        object
            Shows as text.
        """
        sound, doctor = self.sound, getattr(sys.modules["kit"], "diagnose", None)
        return Words([self.facts(), *self.warnings(), self.reading.report()]) if doctor is None else doctor(sound)

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

    def wait(self, seconds=None):
        """Until reading has come to its end, or so long."""
        thread = self._thread
        if thread is not None and thread is not threading.current_thread() and self.state != "recording":
            thread.join(seconds)

    def watch(self, callable):
        """Have something called whenever there is news; it may come from another thread."""
        self._watchers.append(callable)

    def tell(self):
        """Call all that watch."""
        for each in self._watchers:
            each()

    def __repr__(self):
        return "\n".join(["Live ear", self.facts(), self.status, *(words for _, words in self.files())])

    # -- beside the kernel's thread -----------------------------------------------------------------------

    def _fresh(self, state, status):
        """Let go of what there was; its work, if it goes on, is stopped and no longer heeded."""
        if self._work is not None:
            self._work.stop()
        self._take = self._sound = self._reading = self._work = self._number = self.report = None
        self._teller, self._name = Teller(), ""
        self.state, self.status, self.progress = state, status, 1.0

    def _start(self, task, *arguments):
        self._thread = threading.Thread(target=task, args=arguments, daemon=True)
        self._thread.start()

    def _follow(self, work, queue, take):
        """Read what comes until it ends; then try with more effort, if there is need."""
        try:
            while (piece := queue.get()) is not None:
                work.feed(piece)
            quick = work.finish()
        except Exception as error:  # whatever it is, the recording is kept, and the page must not wait for ever
            self._settle(work, Reading.of([]), f"reading failed ({error}): the recording is kept")
            return
        if quick.complete or not take.frames:
            self._settle(work, quick)
        else:
            self._thoroughly(work, take.sound, False, quick)

    def _read_all_of(self, sound, patient=False):
        self._sound, self._work = sound, LiveReading(self.formats, sound.rate, self._teller, self._heard)
        self._start(self._thoroughly, self._work, sound, patient, Reading.of([]))

    def _thoroughly(self, work, sound, patient, quick):
        """Read all of it as `decode` does, with every effort, unless that is stopped."""
        def go_on(part):
            if work is self._work:
                self.progress = min(part, 0.999)
                self.tell()
            work.check()

        try:
            whole = read_whole(sound, self.formats, patient, go_on)
            self._settle(work, whole)
        except Stopped:
            self._settle(work, quick, "stopped before all was tried: what was read until then is kept")
        except Exception as error:
            words = error if isinstance(error, KitError) else f"{type(error).__name__}: {error}"
            self._settle(work, quick, f"reading failed ({words}): the recording is kept")

    def _settle(self, work, reading, note=""):
        """The reading is there, if this work is still what is asked for."""
        with self._lock:
            if work is not self._work:
                return
            work.tell_rest(reading.blocks)
            if note:
                self._teller.say(note)
            self._teller.files(reading.files)
            self._reading, self.state, self.progress = reading, "ready", 1.0
            self.status = self._teller.lines[-1]
        self.tell()

    def _heard(self, work, lines):
        """Lines that the work has brought while listening."""
        if work is self._work:
            if lines:
                self.status = "; ".join(lines[-4:])
            self.tell()


class Words:
    """Lines that show as text."""

    def __init__(self, lines):
        self.lines = list(lines)

    def __repr__(self):
        return "\n".join(self.lines)
