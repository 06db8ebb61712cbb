"""A lane for streams: characters that follow a leader of marks, read one by one as samples arrive.

Nothing vouches for a stream but its own regularity: a steady tone, then start bits, and stop bits where they must
be. So what is asked of it depends on what else is listened for.
"""

import numpy as np

from .characters import Characters, Wave
from .ears import stream_ear
from .found import DAMAGED, UNCHECKED, FoundBlock
from .smoothing import Conditioner
from .tonewatch import ToneWatch
from .waves import EdgeFinder

__all__ = ["StreamLane"]

SLOWEST, FASTEST = 0.19, 5.0  # speeds listened for
STEP_S = 0.25  # edges are worked on when so many are new
HIDES = 0.4  # part of a cell, unheard, that may hide a start bit
CLOSING_CELLS = 3  # after the last character of a short stream, which must be marks, or silent
WINDOW_CELLS = 16  # a leader is judged by so many cells at a time
MARKED = 0.7  # part of them that must be marks
LOST_WINDOWS = 6  # windows without marks, one after the other, after which a leader is over
OVER_S = 0.5  # a stream is over when so much of a pause is no tone
STRAY = (8, 24)  # characters in doubt in a row after which it is over: if they are hardly of the tones; in any case
SCARCE = 0.75  # part of their time below which they are hardly of the tones
HELD_S = 30.0  # how long a leader may keep others from going on
SURE = 8  # characters that show a stream to be one
FAIR, NEARLY_ALL = 0.5, 0.85  # part of them that must be in order: when asked for; when others are listened for too
LONG_S, CLEAR = 4.5, 0.6  # leader, and least margin, of a shorter stream, when others are listened for, too


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

    def __init__(self, format, rate, side="mono", strict=False):
        self.format, self.rate, self.side, self.strict = format, rate, side, strict
        self.each = format.frame.bits_per_byte
        hz = format.unit_hz / format.leader.leader_units
        self._watch = ToneWatch(rate, hz * SLOWEST, min(hz * FASTEST, 0.49 * rate))
        self._conditioner = self._finder = None
        self.skip_to(0)

    follows = True  # the speed of the tape, from the wave

    def skip_to(self, position):
        """Forget what is undecided; the next samples fed begin at this one."""
        self._heard = self._raw_first = position
        self._raw = np.zeros(0, np.float32)
        self._sleep(position / self.rate)

    def feed(self, samples):
        """Take samples, shape (n,); gives the streams that ended in them, as `FoundBlock`, in order of time."""
        self._heard += len(samples)
        self._raw = np.concatenate((self._raw, samples)) if len(self._raw) else samples.copy()
        blocks, fresh = [], samples
        while self._awake or self._wakes():
            self._listen(fresh if self._awake else self._raw)
            self._awake = True
            blocks += self._advance(final=False)
            if self._awake:
                break
        self._mark_decided()
        return blocks

    def finish(self):
        """No more samples will come (before a `skip_to`): settle all."""
        blocks = []
        while self._awake or self._wakes():
            if not self._awake:
                self._listen(self._raw)
            self._listen(np.zeros(self._conditioner.reach), last=True)
            self._awake = True
            blocks += self._advance(final=True)
        self.decided_s, self.reading_s = self._heard / self.rate, None
        return blocks

    # -- asleep and awake --------------------------------------------------------------------------------

    def _wakes(self):
        """Whether a steady tone is heard; if so, all is made ready to listen from where it began."""
        found = self._watch.feed(self._raw, self._raw_first)
        if found is None:
            self._trim(self._heard - self._watch.reach)
            return False
        begin, hz = found
        self._trim(begin - self._watch.every)
        self._unit = self._unit_of(hz)
        ear = stream_ear(self.format, self.rate / (hz * self.format.leader.leader_units))
        self._conditioner = Conditioner(ear.smooth, ear.centre)
        self._finder = EdgeFinder(ear.hysteresis, max(256, 2 * ear.centre))
        self._finder.skip_to(self._raw_first - self._conditioner.reach)
        self._led_s = self._raw_first / self.rate
        return True

    def _sleep(self, seconds):
        """Nothing is here: look for a tone from some time on."""
        self._awake, self._edges = False, np.zeros(0)
        self._tried_s, self._led_s, self._end_s, self._parts = 0.0, seconds, None, []
        self.reading_s = None
        self._trim(int(seconds * self.rate))
        self._watch.skip_to(self._raw_first)

    def _trim(self, position):
        """Keep samples from a position on."""
        past = min(max(0, position - self._raw_first), len(self._raw))
        self._raw, self._raw_first = self._raw[past:], self._raw_first + past

    def _listen(self, samples, last=False):
        found = self._finder.feed(self._conditioner.feed(samples), last)
        self._edges = np.concatenate((self._edges, self._sharpened(found / self.rate)))

    def _unit_of(self, hz):
        """Length of a unit in a leader of some height, in seconds."""
        return 1 / (hz * self.format.leader.leader_units)

    def _sharpened(self, edges):
        """Times of edges, in seconds, as this lane takes note of them."""
        return edges

    def _mark_decided(self):
        now_s = self._heard / self.rate
        if not self._awake:
            self.decided_s = self._raw_first / self.rate
        elif self.reading_s is not None:
            self.decided_s = self._end_s
        else:
            self.decided_s = max(self._led_s, now_s - HELD_S)

    # -- leader and characters ---------------------------------------------------------------------------

    def _advance(self, final):
        """Work on the edges there are; gives streams that ended."""
        blocks = []
        while self._awake:
            quiet = final or not len(self._edges) or self._heard / self.rate - self._edges[-1] > 2 * OVER_S
            if len(self._edges) < 4:
                if quiet:
                    blocks += self._over(self._heard / self.rate)
                break
            if not quiet and self._edges[-1] - self._tried_s < STEP_S:
                break
            wave = Wave(self._edges, self._unit, self.format.code, self.format.frame, not self.follows)
            if self._end_s is None and not self._seek(wave, quiet):
                break
            blocks += self._read(wave, quiet)
        return blocks

    def _seek(self, wave, quiet):
        """Look for the first character; False if there is none yet, or no leader any more."""
        starts = wave.starts()
        found = wave.characters(starts)
        whole = quiet | (starts + self.each < wave.last)
        edges = np.arange(0, wave.last - WINDOW_CELLS, WINDOW_CELLS)
        marked = wave.marks(edges, edges + WINDOW_CELLS) > MARKED
        for start in starts[whole & ~found.doubt]:
            led_s = self._began(wave, marked, start)
            if led_s is not None and self._leads(wave, led_s, start):
                self._led_s, self._led_unit = led_s, wave.mean_unit(start - 4 * WINDOW_CELLS, start)
                self._end_s = wave.time(start)
                return True
        self._tried_s = self._edges[-1]
        begun = self._began(wave, marked, wave.last)
        if begun is None or quiet:
            self._sleep(self._edges[-1])
            return False
        self._led_s = begun
        self._keep(wave, wave.last - 4 * self.each)
        return False

    def _began(self, wave, marked, stop):
        """When the marks before a place began; None if there are none there."""
        marked = marked[: int(stop / WINDOW_CELLS)]
        if len(marked) < LOST_WINDOWS:
            return self._led_s
        lost = np.flatnonzero(np.convolve(~marked, np.ones(LOST_WINDOWS), "valid") == LOST_WINDOWS)
        if len(lost) and lost[-1] + LOST_WINDOWS >= len(marked):
            return None
        return float(wave.time((lost[-1] + LOST_WINDOWS) * WINDOW_CELLS)) if len(lost) else self._led_s

    def _leads(self, wave, led_s, start):
        """Whether the marks before a place are long enough for a leader, as far as they are heard."""
        need_s = max(self.format.leader.shortest_s, self._asked_s() if self.strict else 0.0)
        return self._long_s(wave.time(start) - led_s, wave.unit(start)) >= need_s

    def _asked_s(self):
        return self.format.leader.parts_s

    def _long_s(self, seconds, unit):
        """How long marks last: as heard, or as they would at ordinary speed, whichever is more."""
        return seconds * max(1.0, self.format.unit_s() / unit)

    def _read(self, wave, quiet):
        """Read characters from where the last one ended; gives the stream if it is over."""
        starts = wave.starts()
        found = wave.characters(starts)
        stop = wave.last - (0.5 if quiet else (self.each * 4))
        here = wave.cell(self._end_s)
        chosen = wave.chain(starts, ~found.doubt, here - 0.5, stop)
        begins = starts[chosen]
        ends = np.concatenate(([here], begins + self.each))
        rest = np.append(begins, wave.last)
        verdicts = [self._pause(wave, a, b) for a, b in zip(ends, rest, strict=True)]
        last = next((k for k, verdict in enumerate(verdicts) if verdict), len(chosen))
        for k in range(last):
            self._fill(wave, ends[k], begins[k])
            one = found[chosen[k] : chosen[k] + 1]
            one.doubt[:] |= self._may_be_late(wave, ends[k], begins[k])
            self._parts.append(one)
        self._end_s = float(wave.time(ends[last]))
        return self._after(wave, verdicts[last], quiet)

    def _after(self, wave, verdict, quiet):
        """What comes of a stream when the edges that are there have been read."""
        self._tried_s = self._edges[-1]
        self._closed = self._is_closed(wave)
        stray = self._stray()
        if stray or verdict == "lost" or (quiet and not verdict):
            return self._over(self._end_s, stray)
        if verdict == "parts":
            end_s, unit = self._end_s, wave.unit(wave.cell(self._end_s))
            blocks = self._block()
            self._parts, self._end_s, self.reading_s, self._led_s, self._tried_s = [], None, None, end_s, 0.0
            self._keep(wave, wave.cell(end_s) + 1, unit)
            return blocks
        self._keep(wave, wave.cell(self._end_s) - 2)
        if self._is_plain():
            self.reading_s = (self._led_s, self._end_s)
        return []

    def _is_closed(self, wave):
        """Whether marks follow the last character, or nothing at all."""
        end = wave.cell(self._end_s)
        edges = np.searchsorted(wave.cells, [end + 0.2, end + CLOSING_CELLS])
        return edges[1] - edges[0] < 2 or wave.marks(end, end + CLOSING_CELLS) > MARKED

    def _keep(self, wave, cell, unit=None):
        """Forget the edges, and samples, before a place."""
        cell = max(0.0, cell)
        first = int(np.searchsorted(wave.cells, cell))
        self._unit = unit or wave.unit(wave.cells[first])
        self._edges = self._edges[first:]
        self._trim(int(self._edges[0] * self.rate) - self._conditioner.reach if len(self._edges) else self._heard)

    def _pause(self, wave, end, start):
        """What marks, or none, between two characters mean: "parts", "lost", or "" if the stream goes on."""
        if start - end < self.each:
            return ""
        seconds = float(wave.time(start) - wave.time(end))
        proper = float(wave.proper(end, start))
        if (1 - proper) * seconds > OVER_S:
            return "lost"
        unit = wave.unit(start)
        return "parts" if self._long_s(seconds * proper, unit) >= self.format.leader.parts_s else ""

    def _may_be_late(self, wave, end, start):
        """Whether what is unheard before a start bit may hide the true one of its character."""
        near = max(end, start - self.each)
        return (start - near) * (1 - float(wave.proper(near, start))) > HIDES

    def _fill(self, wave, end, start):
        """Characters in doubt for those lost where nothing was heard between two that were."""
        gap = start - end
        unheard = gap * (1 - float(wave.proper(end, start))) if gap > self.each - 1 else 0.0
        count = round(unheard / self.each)
        if unheard > 1 and count == 0 and gap < 1.5 * self.each:
            count = 1
        elif unheard > 1 and count == 0 and self._parts:
            self._parts[-1].doubt[:] = True  # in so long a pause there need not have been one, but there may
        for k in range(count):
            places = end + (start - end) * (k + np.arange(self.each + 1) / self.each) / count
            self._parts.append(
                Characters(
                    np.zeros((1, self.each), np.uint8),
                    np.zeros((1, self.each), np.float32),
                    wave.time(places)[None],
                    np.ones(1, bool),
                )
            )

    def _stray(self):
        """How many of the last characters are none: noise after the end."""
        count = 0
        for part in reversed(self._parts[-STRAY[1] :]):
            if not part.doubt[0]:
                break
            count += 1
        weak = [part.margins.mean() for part in self._parts[len(self._parts) - count :]]
        return count if count >= STRAY[1] or (count >= STRAY[0] and np.mean(weak) < SCARCE) else 0

    # -- streams -----------------------------------------------------------------------------------------

    def _is_plain(self):
        """Whether it need not be waited for that this is a stream."""
        good = sum(not part.doubt[0] for part in self._parts[: 4 * SURE])
        return len(self._parts) >= SURE and good >= NEARLY_ALL * len(self._parts[: 4 * SURE])

    def _over(self, seconds, stray=0):
        """The stream is over: gives it, and sleeps from then on."""
        if stray:
            del self._parts[len(self._parts) - stray :]
        blocks = self._block()
        self._sleep(seconds)
        return blocks

    def _block(self):
        """The stream, if what was read is one."""
        if not self._parts:
            return []
        all_ = Characters.joined(self._parts)
        if self.reading_s is None and not self._accepted(all_):
            return []
        bits = all_.bits.reshape(-1)
        content, _ = self.format.frame.to_bytes(bits)
        times = np.append(all_.times[:, :-1].reshape(-1), all_.times[-1, -1])
        return [
            FoundBlock(
                self.format,
                content.tobytes(),
                all_.doubt,
                DAMAGED if all_.doubt.any() else UNCHECKED,
                bits,
                all_.margins.reshape(-1),
                times - times[0],  # float64: a stream may be long
                float(times[0]),
                self._led_s,
                self._led_unit,
                side=self.side,
            )
        ]

    def _accepted(self, all_):
        """Whether characters are enough of a stream."""
        good = np.mean(~all_.doubt)
        if len(all_) >= SURE:
            return good >= (NEARLY_ALL if self.strict else FAIR)
        if not self.strict:
            return self._closed and good >= FAIR
        long_s = self._long_s(all_.times[0, 0] - self._led_s, self._led_unit)
        return self._closed and good == 1 and long_s >= LONG_S and all_.margins.min() > CLEAR
