"""The work of reading: quick while samples come, thorough when they are over; in a thread of its own."""

import threading
import time

from ..errors import KitError
from ..found import DAMAGED
from ..hearing import Hearing
from ..listener import Listener
from ..reading import Reading
from ..tape import decode

__all__ = ["Work"]

PIECE = 1 << 14  # frames read before there may be news
NEWS_S = 0.25  # without new lines, news come no more often than this
KEPT = "the recording is kept"


class Stopped(KitError):
    """Reading was stopped before its end."""


class Work:
    """Read one recording, and tell of it.

    Parameters
    ----------
    formats : list of Format
    rate, channels : int
    teller : Teller
    news : callable
        Called with this work and the lines that are new, now and then, from the thread that works.
    done : callable
        Called with this work and the `Reading`, at the end.

    Attributes
    ----------
    progress : float
        Part that is done of what is left once the recording is over.
    """

    def __init__(self, formats, rate, channels, teller, news, done):
        self._formats = formats
        self._listener = Listener(formats, rate, channels, quick=True)
        self._hearing = Hearing(formats, rate)
        self._teller, self._news, self._done = teller, news, done
        self._told = set()  # blocks, by where and what
        self._last, self._seen = 0.0, 0
        self._stopping = threading.Event()
        self._thread = self._seconds = None
        self.progress = 1.0

    def start(self, pieces, sound_of, patient=False, seconds=None):
        """Begin.

        Parameters
        ----------
        pieces : iterable of ndarray, shape (n,) or (n, channels)
            The recording, as it comes.
        sound_of : callable
            Gives all of it once it is over, as a `Sound`.
        patient : bool
            Leave nothing untried.
        seconds : float, optional
            How long the recording is, if it is there already.
        """
        self._seconds = seconds
        self._thread = threading.Thread(target=self._run, args=(pieces, sound_of, patient), daemon=True)
        self._thread.start()

    def stop(self):
        """Have it end soon, with what is read by then."""
        self._stopping.set()

    def wait(self, seconds=None):
        """Until it has ended, or so long; from another thread."""
        if self._thread is not threading.current_thread():
            self._thread.join(seconds)

    def so_far(self):
        """Blocks, events and seconds, as of now; from any thread."""
        return list(self._listener.blocks), list(self._listener.events), self._listener.seconds

    def _run(self, pieces, sound_of, patient):
        reading = Reading.of([])
        try:
            self._listen(pieces)
            reading = Reading.of(*self.so_far())
            self._tell_of(reading.blocks)
            if patient or (not reading.complete and self._listener.seconds):
                reading = self._thorough(reading, sound_of(), patient)
                self._tell_of(reading.blocks)
        except Stopped:
            self._teller.say("stopped before all was tried: what was read until then is kept")
        except Exception as error:  # whatever it is, nothing recorded is lost, and nobody waits for ever
            words = error if isinstance(error, KitError) else f"{type(error).__name__}: {error}"
            self._teller.say(f"reading failed ({words}): {KEPT}")
        self.progress = 1.0
        self._teller.files(reading.files)
        self._done(self, reading)

    def _listen(self, pieces):
        """Read as it comes; where that fails, hear it to its end all the same."""
        pieces = iter(pieces)
        try:
            for piece in pieces:
                self._feed(piece)
            self._listener.finish()
        except Stopped:
            raise
        except Exception:
            for _ in pieces:
                self._spread()
            raise

    def _feed(self, piece):
        for start in range(0, len(piece), PIECE):
            self._check()
            part = piece[start : start + PIECE]
            first = part if part.ndim == 1 else part[:, 0]
            for what, seconds, hz in self._hearing.feed(first):
                self._teller.noticed(what, seconds, hz if what == "leader" else None)
            self._listener.feed(part)
            if self._seconds is not None:
                self.progress = min(self._listener.seconds / self._seconds / 2, 0.5)
            self._tell_of(self._listener.blocks)
            self._spread()

    def _tell_of(self, blocks):
        """Tell of blocks that have not been told of."""
        for block in blocks:
            mark = (round(block.start_s, 1), block.content, block.verdict)
            if mark not in self._told:
                self._teller.read(block, again=any(mark[0] == each[0] for each in self._told))
                self._told.add(mark)

    def _spread(self):
        said = self._teller.earlier + len(self._teller.lines)
        count, self._seen = said - self._seen, said
        if count or time.monotonic() - self._last > NEWS_S:
            self._last = time.monotonic()
            self._news(self, self._teller.lines[-count:] if count else [])

    def _thorough(self, quick, sound, patient):
        """Read all of it with every effort, unless that is stopped.

        Where something was read, only its format is tried, for each one costs as much again.
        """
        heard = {b.format.name: b.format for b in quick.blocks if b.verdict != DAMAGED}
        formats = self._formats if patient or not heard else list(heard.values())
        try:
            return decode(sound, format=formats, patient=patient, progress=self._go_on)
        except Stopped:
            self._teller.say("stopped before all was tried: what was read until then is kept")
            return quick

    def _go_on(self, part):
        # Of a file, the first half is hearing it.
        self.progress = min(part if self._seconds is None else 0.5 + part / 2, 0.999)
        self._spread()
        self._check()

    def _check(self):
        if self._stopping.is_set():
            raise Stopped("reading must go on to its end, got a request to stop: read again")
