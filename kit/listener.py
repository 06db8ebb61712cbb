"""The listener: samples in, blocks and events out, as they arrive. `decode` and a live microphone both feed it.

It looks first: each channel is read as it is. Only stretches in which no block reads are read again, patiently,
and what is left then with other mixtures of the channels, smoothed and centred at several speeds.
"""

import numpy as np

from .chosen import costly, formats_of
from .ears import side_names
from .efforts import Effort
from .errors import SettingError
from .found import DAMAGED, Event
from .lanes import first_lanes, patient_lanes, smoothed_lanes
from .spans import BlockRow, apart, common, joined, same_block
from .story import story
from .streamplaces import streams_that_stand
from .together import one_of_sides

__all__ = ["Listener"]

LOUDEST = 1e6
NEAR_S = 1.0  # a block with its tail ends no later than this after its last cell


class Listener:
    """Read a tape while it is heard.

    Parameters
    ----------
    format : str, Format, or sequence of these
        What to listen for; ``"auto"`` is every named format but those that are there to compare codes.
    rate : int
        Samples per second.
    channels : int
        1 to 8.
    recording : int
        Number kept with each block and event, from 0.
    counter : Counter, optional
        Read as a processor's timing loop did, with a threshold that never adjusts, and nothing else.
    patient : bool
        Leave nothing untried where a block does not read: slower.
    quick : bool
        Read each channel as it is, and nothing else: what does not read so stays damaged, or is not found.
    brief : bool
        Where much does not read, try only some of it: a long recording of which nothing reads takes little longer
        than one that reads, but not every damaged block is told.
    doubted : sequence of str, optional
        Names of formats on which no effort is spent before a whole block of them was read. Left out, these are the
        formats whose codes are costly to read, where there are others.

    Attributes
    ----------
    blocks : list of FoundBlock
        All blocks so far, in order of time; damaged ones are added when no other way of reading does better.
    events : list of Event
    seconds : float
        How much has been heard.

    Examples
    --------
    >>> from kit import encode
    >>> sound = encode(b"wind west 5", name="log.txt")
    >>> listener = Listener("house", rate=sound.rate)
    >>> events = listener.feed(sound.samples) + listener.finish()
    >>> [event.what for event in events if event.what in ("header", "data")]
    ['header', 'data', 'header']
    """

    def __init__(self, format="auto", rate=44100, channels=1, recording=0, counter=None, patient=False,
                 quick=False, doubted=None, brief=False):
        if not 1 <= channels <= 8:
            raise SettingError(f"a recording must have 1 to 8 channels, got {channels!r}: mix it down first")
        self.formats = formats_of(format)
        self.rate, self.channels, self.recording = rate, channels, recording
        self._row, self.events = BlockRow(), []
        self._doubted = set(costly(self.formats) if doubted is None else doubted)
        self._first = first_lanes(self.formats, rate, channels, counter, self._doubted, brief)
        self._effort = self._more_effort(patient) if counter is None and not quick else None
        self._quick = quick
        self._heard = 0
        self._damaged, self._streams = [], []
        self._twins = True  # both channels carry the same tape, as far as is known

    @property
    def blocks(self):
        """Blocks so far, in order of time."""
        return self._row.blocks

    @property
    def seconds(self):
        """Seconds heard so far."""
        return self._heard / self.rate

    def feed(self, samples):
        """Take samples.

        Parameters
        ----------
        samples : ndarray of float or int16, shape (n,) or (n, channels)

        Returns
        -------
        list of Event
            What these samples brought; what took more effort may come later than what lies behind it on the tape.
        """
        samples = self._checked(samples)
        known = len(self.events)
        for start in range(0, len(samples), 1 << 18):
            piece = samples[start : start + (1 << 18)].copy()  # the caller may use its array again
            if self._effort is not None:
                self._effort.hold(self._heard, piece)
            self._heard += len(piece)
            self._listen(piece)
        return self.events[known:]

    def finish(self):
        """The recording is over; gives the last events."""
        known = len(self.events)
        for lane in self._first:
            self._take(lane.finish())
        self._admit_streams()
        self._explain(self._heard)
        if self._effort is not None:
            self._effort.close(self._heard)
        self._admit_damaged()
        return self.events[known:]

    def _checked(self, samples):
        samples = np.asarray(samples)
        if samples.ndim == 1:
            samples = samples[:, None]
        if samples.ndim != 2 or samples.shape[1] != self.channels:
            raise SettingError(f"samples must be (n, {self.channels}), got shape {samples.shape}")
        if samples.dtype.kind == "f" and samples.size and not np.abs(samples).max() <= LOUDEST:
            # Beyond this no recording goes, but numbers in a file may, or be none.
            samples = np.clip(np.nan_to_num(samples, nan=0.0, posinf=0.0, neginf=0.0), -LOUDEST, LOUDEST)
        elif samples.dtype.kind not in "fi":
            raise SettingError(f"samples must be floats or int16, got {samples.dtype}")
        return samples

    def _listen(self, piece):
        """Read each channel as it is, then the rest with more effort."""
        for k, lane in enumerate(self._first):
            side = k % self.channels
            self._take(lane.feed(np.ascontiguousarray(piece[:, side])))
        decided_s = min(lane.decided_s for lane in self._first)
        self._admit_streams(decided_s)
        self._explain(int(decided_s * self.rate))

    # -- blocks ------------------------------------------------------------------------------------------

    def _take(self, blocks):
        for block in blocks:
            block = block.changed(recording=self.recording)
            if block.stream:
                self._streams.append(block)
            elif block.verdict == DAMAGED:
                self._damaged.append(block)
            elif not self._known(block):
                self._doubted.discard(block.format.name)
                self._add(block)

    def _known(self, block):
        """Whether the same block has been read there already; notes when two sides differ."""
        for other in self._row.between(*block.span_s):
            if other.content == block.content:
                return True
            if other.side != block.side and apart(other, block) < 0.5:
                self._twins = False
        return False

    def _add(self, block):
        self._row.add(block)
        self._tell(block)

    def _admit_streams(self, before_s=float("inf")):
        """Of what was read as streams keep, once for each place, what no block of another format vouches against."""
        ready = [block for block in self._streams if block.span_s[1] < before_s]
        self._streams = [block for block in self._streams if block.span_s[1] >= before_s]
        for block in streams_that_stand(ready, [*self.blocks, *self._damaged]):
            self._twins = self._twins and not any(other.stream for other in self._row.between(*block.span_s))
            self._add(block)

    def _admit_damaged(self, before_s=float("inf")):
        """Of the damaged readings of one place make one, or keep the best, unless the block has been read there."""
        ready = [block for block in self._damaged if block.middle_s < before_s]
        self._damaged = [block for block in self._damaged if block.middle_s >= before_s]
        places = []
        for block in sorted(ready, key=lambda b: b.trust, reverse=True):
            if any(same_block(block, other) for other in self._row.between(*block.span_s)):
                continue
            same = next((place for place in places if same_block(block, place[0])), None)
            if same is None:
                places.append([block])
            elif block.side not in {other.side for other in same}:
                same.append(block)
        for place in places:
            self._add((one_of_sides(place) if len(place) > 1 else None) or place[0])

    # -- more effort -------------------------------------------------------------------------------------

    def _more_effort(self, thorough):
        """What is tried where nothing reads as it is: patience first, for it is quick, and then smoothing."""
        smoothed = smoothed_lanes(self.formats, self.rate, self.channels, self._doubted)
        last = Effort(smoothed, self.rate, self._take, self._read_spans)
        likely = [format for format in self.formats if format.name not in self._doubted]
        patiently = patient_lanes(likely, self.rate, self.channels, thorough)
        return Effort(patiently, self.rate, self._take, self._read_spans, last)

    def _explain(self, position):
        """Have what the first lanes left unread before a position tried with more effort."""
        if self._effort is not None:
            self._effort.explain(position, lambda start: self._admit_damaged(start / self.rate))
        elif self._quick:
            self._admit_damaged(position / self.rate)

    def _read_spans(self, first, stop):
        """Stretches, in samples, in which every channel that carries a tape of its own has been read."""
        sides = [None] if self._twins else list(side_names(self.channels))
        near = self._row.between(first / self.rate - NEAR_S, stop / self.rate + NEAR_S)
        spans = None
        for side in sides:
            mine = [b for b in near if (b.stream or b.verdict != DAMAGED) and side in (None, b.side)]
            mine = joined([*(self._samples_of(b) for b in mine), *self._being_read(side)])
            spans = mine if spans is None else common(spans, mine)
        return [(max(a, first), min(b, stop)) for a, b in spans or [] if b > first and a < stop]

    def _being_read(self, side):
        """Stretches, in samples, of streams that have not come to their end."""
        lanes = [lane for lane in self._first if lane.reading_s is not None and side in (None, lane.side)]
        return [(int(lane.reading_s[0] * self.rate), int(lane.reading_s[1] * self.rate), 0) for lane in lanes]

    def _samples_of(self, block):
        """A block with its tail and its leader, but for the first cycles: they show where what came before ends."""
        start, stop = block.span_s
        tail_s = block.format.tail_cycles * block.format.leader.leader_units * block.unit_s
        if block.leader_s <= start:
            first, last = min(start, block.leader_s + tail_s), stop + tail_s
        else:
            first, last = start - tail_s, max(stop, block.leader_s - tail_s)
        return int(first * self.rate), int(last * self.rate), int(2 * tail_s * self.rate)

    # -- events ------------------------------------------------------------------------------------------

    def _tell(self, block):
        for seconds, what, text in story(block):
            self.events.append(Event(seconds, what, text, self.recording))
