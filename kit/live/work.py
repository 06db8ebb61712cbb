"""The work of reading live: quick while it plays, thorough when it is over."""

import threading
import time

from ..errors import KitError
from ..hearing import Hearing
from ..listener import Listener
from ..reading import Reading
from ..tape import decode

__all__ = ["LiveReading", "Stopped", "read_whole"]

PIECE = 1 << 14  # frames read before there may be news
NEWS_S = 0.25  # news come no more often than this


class Stopped(KitError):
    """Reading was stopped before its end."""


class LiveReading:
    """Read samples as they come, and tell of it.

    Parameters
    ----------
    formats : list of Format
    rate : int
    teller : Teller
    news : callable
        Called with this and the new lines, now and then.
    """

    def __init__(self, formats, rate, teller, news):
        self._listener = Listener(formats, rate, quick=True)
        self._hearing = Hearing(formats, rate)
        self._teller, self._news = teller, news
        self._told = set()  # blocks, by where and what
        self._last = 0.0
        self._fresh = []
        self._stopping = threading.Event()

    def stop(self):
        """Have thorough reading end at its next step."""
        self._stopping.set()

    def check(self):
        """Raise `Stopped` if that is asked for."""
        if self._stopping.is_set():
            raise Stopped("reading must go on to the end for a result, got a request to stop: read again")

    def feed(self, samples):
        """Take samples, shape (n,), and tell what they bring."""
        for start in range(0, len(samples), PIECE):
            piece = samples[start : start + PIECE]
            before = len(self._teller.lines) + self._teller.earlier
            for what, seconds, hz in self._hearing.feed(piece):
                self._teller.noticed(what, seconds, hz if what == "leader" else None)
            self._listener.feed(piece)
            self.tell_rest(self._listener.blocks)
            self._spread(before)

    def _spread(self, before):
        count = len(self._teller.lines) + self._teller.earlier - before
        self._fresh += self._teller.lines[-count:] if count else []
        if self._fresh or time.monotonic() - self._last > NEWS_S:
            self._last = time.monotonic()
            fresh, self._fresh = self._fresh, []
            self._news(self, fresh)

    def finish(self):
        """No more will come; gives the `Reading` of what was read as it is."""
        self._listener.finish()
        self.tell_rest(self._listener.blocks)
        return Reading.of(*self.so_far())

    def so_far(self):
        """Blocks, events and seconds, as of now; from another thread, too."""
        return list(self._listener.blocks), list(self._listener.events), self._listener.seconds

    def tell_rest(self, blocks):
        """Tell of blocks that have not been told of."""
        for block in blocks:
            mark = (round(block.start_s, 1), block.content, block.verdict)
            if mark not in self._told:
                self._told.add(mark)
                self._teller.read(block)


def read_whole(sound, formats, patient, go_on):
    """Read a recording with every effort; `go_on` is told the part done and may raise `Stopped`."""
    go_on(0.0)
    return decode(sound, format=formats, patient=patient, progress=go_on)
