"""The ear without a browser: a recording comes in by chunks or as a file, and is read beside the kernel's thread."""

import threading
from queue import SimpleQueue

from ..chosen import formats_of
from ..errors import SettingError
from ..reading import Reading
from ..sound import Sound
from .inputs import InputReport, plain
from .kept import Kept, Words
from .practice import practice_tape
from .take import Take
from .telling import Teller
from .work import Work

__all__ = ["USUAL", "Ear"]

# Formats that carry files. Those that are there to compare codes are read when asked for: to have each damaged block
# tried in all of them takes longer than the block itself.
USUAL = ("house", "framed", "twice", "sturdy", "steady", "kansas")
MOST_MINUTES = 60
NOTHING = "there must be a recording, got none: press Record, or open a file"


class Ear(Kept):
    """A recording and what is read from it, while it comes in and afterwards.

    Parameters
    ----------
    format : str, Format, or list of these
        What to listen for; ``"auto"`` is every named format, and takes longer where a tape is damaged.
    most_minutes : float
        Above 0 and at most 60.

    Attributes
    ----------
    state : {"empty", "recording", "reading", "ready"}
    status : str
        What happened last, one line.
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

    def __init__(self, format=USUAL, most_minutes=30):
        proper = isinstance(most_minutes, (int, float)) and not isinstance(most_minutes, bool)
        if not (proper and 0 < most_minutes <= MOST_MINUTES):
            raise SettingError(f"most_minutes must lie above 0 and not above {MOST_MINUTES}, got {most_minutes!r}: "
                               "for more, record with another program and open the file")
        self.formats, self.most_s = formats_of(format), 60.0 * most_minutes
        self._lock, self._watchers, self._work = threading.RLock(), [], None
        self._fresh("empty", "Nothing recorded yet.")

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
            self._take, self._number, self._queue = take, number, SimpleQueue()
            self.report = InputReport.of(label, settings)
            self._work = Work(self.formats, take.rate, 1, self._teller, self._heard, self._settle)
            self._work.start(_until_none(self._queue), lambda: take.sound)
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
                             "and all that was heard until then is kept")
            self.end(number)

    def end(self, number=None):
        """The recording is over; reading goes on until all is tried."""
        with self._lock:
            if self.state != "recording" or number not in (None, self._number):
                return
            self.state, self.status = "reading", "Recording has stopped. Reading what is left."
            self._work.progress = 0.0
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
        Words
            Which of the two is in the ear.
        """
        empty = self.state == "empty"
        if empty:
            self.open(practice_tape())
            self._name = "practice tape"
        return Words([f"{'Taken' if empty else 'There is something in the ear, and it stays'}: {self.facts()}"])

    def read_again(self):
        """Read all of it once more, leaving nothing untried: that takes longer."""
        with self._lock:
            sound = self.sound
            if self.state != "ready":
                return
            self._teller = Teller()
            self._reading, self.state, self.status = None, "reading", "Reading once more, patiently."
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
            if self._take is None and self._sound is None:
                raise SettingError(NOTHING)
            return self._take.sound if self._take is not None else self._sound

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

    @property
    def seconds(self):
        """float: how much is recorded."""
        return self._take.seconds if self._take is not None else 0.0

    @property
    def progress(self):
        """float: part done of reading after the end; 1 when there is none."""
        return self._work.progress if self._work is not None and self.state == "reading" else 1.0

    def wait(self, seconds=None):
        """Until reading has come to its end, or so long; at once while a recording goes on."""
        if self._work is not None and self.state != "recording":
            self._work.wait(seconds)

    def watch(self, told):
        """Have `told` called whenever there is news; it may come from another thread."""
        self._watchers.append(told)

    def tell(self):
        """Call all that watch."""
        for told in self._watchers:
            told()

    def __repr__(self):
        return "\n".join(["Live ear", self.facts(), self.status, *(words for _, words in self.files())])

    # -- the work -----------------------------------------------------------------------------------------

    def _fresh(self, state, status):
        """Let go of what there was; its work, if it goes on, is stopped and no longer heeded."""
        if self._work is not None:
            self._work.stop()
        self._take = self._sound = self._reading = self._work = self._number = self.report = None
        self._teller, self._name = Teller(), ""
        self.state, self.status = state, status

    def _read_all_of(self, sound, patient=False):
        if self._take is None:
            self._sound = sound
        self._work = Work(self.formats, sound.rate, sound.channels, self._teller, self._heard, self._settle)
        self._work.start(sound.pieces(), lambda: sound, patient, sound.seconds or 1.0)

    def _heard(self, work, lines):
        """News of the work that goes on; of any other it is not heeded."""
        if work is self._work:
            if lines:
                self.status = "; ".join(lines[-4:])
            self.tell()

    def _settle(self, work, reading):
        """The reading is there."""
        with self._lock:
            if work is not self._work:
                return
            self._reading, self.state, self.status = reading, "ready", self._teller.lines[-1]
        self.tell()


def _until_none(queue):
    while (piece := queue.get()) is not None:
        yield piece
