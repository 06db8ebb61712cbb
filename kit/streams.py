"""A lane for streams: it sleeps until a steady tone is heard, and then has read what follows."""

import numpy as np

from .ears import stream_ear
from .levelgate import LevelGate
from .smoothing import Conditioner
from .streamreader import StreamReader
from .streamtone import Tone
from .tonewatch import ToneWatch
from .waves import EdgeFinder

__all__ = ["StreamLane"]

SLOWEST, FASTEST = 0.19, 5.0  # speeds listened for
TAIL_S = 0.5  # a tone may be the tail of a block of another format, which reads best with all of its tail
HELD_S = 30.0  # how long a leader may keep others from going on
PORTION_S = 1.5  # so much is listened to at a time: it may turn out to be no stream


class StreamLane:
    """Find streams in one channel, piece by piece; made and used as a `Lane` is.

    Parameters
    ----------
    format : Format
        One whose leader is `Marks`.
    rate : int
        Samples per second.
    side : str
        Name of the channel.
    strict : bool
        True where a tape of another format may be heard: a stream must then have a proper leader, and nearly all of
        its characters must be in order.

    Attributes
    ----------
    decided_s : float
        Everything before this time is settled, or is in `reading_s`.
    reading_s : tuple of float, or None
        From where to where a stream that goes on has been read so far, when it is plainly one.
    """

    follows = True  # the speed of the tape, from the wave

    def __init__(self, format, rate, side="mono", strict=False):
        self.format, self.rate, self.side, self.strict = format, rate, side, strict
        hz = format.unit_hz / format.leader.leader_units
        self._watch = ToneWatch(rate, hz * SLOWEST, min(hz * FASTEST, 0.49 * rate))
        self._conditioner = self._gate = self._finder = self._reader = None
        self.skip_to(0)

    def skip_to(self, position):
        """Forget what is undecided; the next samples fed begin at this one."""
        self._heard = self._first = position
        self._samples = np.zeros(0, np.float32)  # those that may have to be heard again, from number `_first` on
        self._sleep(position / self.rate)

    @property
    def reading_s(self):
        """From where to where a stream that goes on has been read so far, when it is plainly one; or None."""
        return self._reader.reading_s if self._reader is not None else None

    def feed(self, samples):
        """Take samples, shape (n,); gives the streams that ended in them, as `FoundBlock`, in order of time."""
        self._heard += len(samples)
        self._samples = np.concatenate((self._samples, samples)) if len(self._samples) else samples.copy()
        blocks = self._listen_on()
        while self._reader is None and self._wakes():
            blocks += self._listen_on()
        self._mark_decided()
        return blocks

    def finish(self):
        """No more samples will come (before a `skip_to`): settle all."""
        blocks = []
        while self._reader is not None or self._wakes():
            blocks += self._listen_on()
            if self._reader is not None:
                blocks += self._listen(np.zeros(self._conditioner.reach), final=True)
        self.decided_s = self._heard / self.rate
        return blocks

    def _wakes(self):
        """Whether a steady tone is heard; if so, all is made ready to listen from where it began."""
        found = self._watch.feed(self._samples, self._first)
        if found is None:
            self._trim(self._heard - self._watch.reach)
            return False
        begin, hz = found
        self._trim(begin - self._watch.every)
        sure = begin + self._watch.every  # the second look that saw the tone: all of that is tone
        ear = stream_ear(self.format, self.rate / (hz * self.format.leader.leader_units))
        self._conditioner = Conditioner(ear.smooth, ear.centre)
        self._gate = LevelGate(self.rate, self._level(sure, ear))
        self._finder = EdgeFinder(ear.hysteresis, max(256, 2 * ear.centre))
        self._finder.skip_to(self._first - self._conditioner.reach)
        self._listened = self._first
        tone = Tone(begin / self.rate, (sure + self._watch.size / 2) / self.rate, 1 / hz)
        self._reader = StreamReader(self.format, self._unit_of(hz), tone, self.side, self.strict, self.follows)
        return True

    def _level(self, sure, ear):
        """Mean size of the tone that woke the lane, as it will be heard."""
        tone = self._samples[sure - self._first : sure - self._first + self._watch.size + 2 * ear.centre]
        conditioner = Conditioner(ear.smooth, ear.centre)
        return float(np.abs(conditioner.feed(tone)[2 * conditioner.reach :]).mean())

    def _sleep(self, seconds):
        """Nothing is here: look for a tone from some time on."""
        self._reader = None
        self._trim(int(seconds * self.rate))
        self._watch.skip_to(self._first)

    def _trim(self, position):
        """Keep samples from a position on."""
        past = min(max(0, position - self._first), len(self._samples))
        self._samples, self._first = self._samples[past:], self._first + past

    def _listen_on(self):
        """Listen to what has not been listened to, while there may be a stream; gives the streams that ended."""
        blocks = []
        while self._reader is not None and self._listened < self._heard:
            first, stop = self._listened, min(self._listened + round(PORTION_S * self.rate), self._heard)
            self._listened = stop
            blocks += self._listen(self._samples[first - self._first : stop - self._first])
        return blocks

    def _listen(self, samples, final=False):
        """Have the edges of samples read; gives the streams that ended."""
        found = self._finder.feed(self._gate.feed(self._conditioner.feed(samples), final), final)
        heard_s = (self._listened - self._conditioner.reach - self._gate.reach) / self.rate
        blocks = self._reader.feed(self._sharpened(found / self.rate), heard_s, final)
        if self._reader.over_s is not None:
            self._sleep(self._reader.over_s)
        elif self._reader.needs_s is not None:
            self._trim(int(self._reader.needs_s * self.rate) - self._conditioner.reach)
        return blocks

    def _unit_of(self, hz):
        """Length of a unit in a leader of some height, in seconds."""
        return 1 / (hz * self.format.leader.leader_units)

    def _sharpened(self, edges):
        """Times of edges, in seconds, as this lane takes note of them."""
        return edges

    def _mark_decided(self):
        if self.reading_s is not None:
            self.decided_s = self.reading_s[1]
        elif self._reader is None:
            self.decided_s = self._first / self.rate - TAIL_S
        else:
            self.decided_s = max(self._reader.led_s - TAIL_S, self._heard / self.rate - HELD_S)
