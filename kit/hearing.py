"""Hearing: what can be said of a tape before a whole block of it is there, for people who listen along.

A `Listener` speaks once a block has been read, which takes seconds. This notices sooner, from the edges alone, that
a steady tone has begun and that a sync mark has ended it; what it says is a promise, and the block's check decides.
"""

import numpy as np

from .leader import Leader, Start
from .waves import EdgeFinder

__all__ = ["Hearing"]

TONE_S = 0.25  # how long a tone must be steady to pass for a leader
TONE_HALVES = 48  # and how many half-cycles it must have
EVEN = 0.12  # by which part its cycles may differ
ALIKE = 0.15  # by which part the leader of the next block may differ from the one before
KEPT_EDGES = 4096
GONE_S = 1.0  # a tape may go on at another speed after so much silence


class Hearing:
    """Notice leader and sync mark at once.

    Parameters
    ----------
    formats : sequence of Format
    rate : int
        Samples per second.

    Attributes
    ----------
    state : {"nothing", "leader", "locked"}

    Examples
    --------
    >>> from kit import FORMATS, encode
    >>> tape = encode(b"wind west 5", lead_in_s=1.0)
    >>> hearing = Hearing([FORMATS["house"]], tape.rate)
    >>> [(what, round(seconds, 2)) for what, seconds, hz in hearing.feed(tape.samples[: 60000])]
    [('leader', 0.0), ('locked', 1.0)]
    """

    def __init__(self, formats, rate):
        self.rate = rate
        kinds = {format.leader: [] for format in formats if isinstance(format.leader, Leader)}
        for format in formats:
            if format.leader in kinds:
                kinds[format.leader].append(format.code)
        self._codes = {leader: tuple(dict.fromkeys(codes)) for leader, codes in kinds.items()}
        self._finder = EdgeFinder(0.1, 256)
        self._edges, self._heard = np.zeros(0), 0
        self._searched = 0
        self._half_s = None  # half-cycle of the leader heard last
        self.state = "nothing"

    def feed(self, samples):
        """Take samples.

        Parameters
        ----------
        samples : ndarray of float32 or int16, shape (n,)

        Returns
        -------
        list of (str, float, float)
            What was noticed, "leader" or "locked", where, in seconds, and the tone of the leader, in Hz.
        """
        noticed = []
        # By pieces no longer than a tone must last: a tone in the midst of much is noticed, too.
        step = max(1, int(TONE_S * self.rate / 2))
        for start in range(0, len(samples), step):
            piece = samples[start : start + step]
            self._heard += len(piece)
            self._edges = np.concatenate((self._edges, self._finder.feed(piece) / self.rate))
            noticed += self._notice()
        return noticed

    def _notice(self):
        noticed = []
        if self._gone():
            self._edges, self._searched, self._half_s, self.state = np.zeros(0), 0, None, "nothing"
        if self.state == "leader":
            noticed += self._sync()
        if self.state != "leader":
            noticed += self._tone()
        self._forget()
        return noticed

    def _gone(self):
        return len(self._edges) > 0 and self._heard / self.rate - self._edges[-1] > GONE_S

    def _tone(self):
        """Whether the last edges are those of a steady tone; in mid-block only if it is the leader's own."""
        first = self._steady_from()
        if first is None:
            return []
        half_s = (self._edges[-1] - self._edges[first]) / (len(self._edges) - 1 - first)
        if self.state == "locked" and abs(half_s / self._half_s - 1) > ALIKE:
            return []
        self._half_s, self.state, self._searched = half_s, "leader", first
        return [("leader", float(self._edges[first]), 0.5 / half_s)]

    def _steady_from(self):
        """Number of the edge from which on all cycles are alike, or None if that is not long enough ago."""
        cycles = self._edges[2:] - self._edges[:-2]
        if len(cycles) < TONE_HALVES:
            return None
        usual = np.median(cycles[-TONE_HALVES:])
        odd = np.flatnonzero(np.abs(cycles - usual) > EVEN * usual)
        first = int(odd[-1]) + 2 if len(odd) else 0
        long = self._edges[-1] - self._edges[min(first, len(self._edges) - 1)] >= TONE_S
        return first if long and len(self._edges) - first > TONE_HALVES else None

    def _sync(self):
        """A sync mark at the end of the tone; without one the tone was none of a tape's, once it is over."""
        ready = len(self._edges) - 2
        for leader, codes in self._codes.items():
            for group in leader.find(self._edges, codes, self._searched, ready):
                if self._ends_the_tone(leader, group[0]):
                    self.state = "locked"
                    return [("locked", float(self._edges[group[0].index]), 0.5 / self._half_s)]
        last = self._edges[-24:]
        if len(last) == 24 and np.all(np.abs((last[2:] - last[:-2]) / (2 * self._half_s) - 1) > EVEN):
            self.state = "nothing"
        self._searched = max(self._searched, ready - 32)
        return []

    def _ends_the_tone(self, leader, start: Start):
        return abs(start.unit * leader.leader_units / 2 / self._half_s - 1) < ALIKE

    def _forget(self):
        extra = len(self._edges) - KEPT_EDGES
        if extra > KEPT_EDGES:
            self._edges = self._edges[extra:]
            self._searched = max(0, self._searched - extra)
