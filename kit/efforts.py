"""Efforts: each reads what those before it left unread, stretch by stretch, with lanes of its own."""

import numpy as np

from .samples import full_scale
from .spans import common, joined

__all__ = ["Effort"]

SHORTEST_BLOCK_S = 0.03  # a shorter stretch cannot hold a block at any speed
SILENCE = 2.0**-15  # a stretch that never leaves this level holds nothing


class Effort:
    """Lanes that are fed only with stretches in which no block has been read.

    Parameters
    ----------
    lanes : list of tuple
        Each a lane (`Lane` or `PatientLane`) and the `Mix` of channels that it hears.
    rate : int
        Samples per second.
    take : callable
        Told the blocks that lanes settle.
    spans_read : callable
        Given a first and a last sample, the stretches between them that have been read, in order.
    next_effort : Effort, optional
        What tries with what these lanes leave unread.
    """

    def __init__(self, lanes, rate, take, spans_read, next_effort=None):
        self.rate, self.next = rate, next_effort
        self._lanes = [_Fed(lane, mix) for lane, mix in lanes]
        self._take, self._spans_read = take, spans_read
        self._pending = []  # (start, samples) not yet explained, in order
        self._passed = 0  # samples before this have been given to the lanes, or need not be
        self._barren = []  # stretches in which nothing is, in order

    @property
    def held(self):
        """How many samples are kept, here and by the efforts after this."""
        mine = sum(len(samples) for _, samples in self._pending)
        return mine + (self.next.held if self.next is not None else 0)

    def hold(self, start, samples):
        """Keep samples, shape (n, channels), until it is known whether they are explained."""
        self._pending.append((start, samples))

    def explain(self, position, settled=None):
        """Hand on what has not been read before a position.

        Parameters
        ----------
        position : int
            In samples; what lies before it is held, and the efforts before this have settled it.
        settled : callable, optional
            Told each place before which all efforts have done what they can.
        """
        here = self._passed
        for start, stop in self._explained(here, position):
            self._hand_over(here, start)
            if start > here:
                self.close(start)
                if settled is not None:
                    settled(start)
            here = stop
        if position > here:
            self._hand_over(here, position)
        self._passed = max(self._passed, position)
        while self._pending and self._pending[0][0] + len(self._pending[0][1]) <= self._passed:
            self._pending.pop(0)

    def close(self, position):
        """What was handed over before a position is all there is of it: settle it, whatever it takes."""
        for fed in self._lanes:
            self._take(fed.close())
        if self.next is not None:
            self._pass_on(position)
            self.next.close(position)

    def _explained(self, first, stop):
        """Stretches that have been read, or in which nothing is."""
        self._barren = [span for span in self._barren if span[1] > first]
        barren = [(max(a, first), min(b, stop), 0) for a, b in self._barren if a < stop]
        return joined([*((a, b, 0) for a, b in self._spans_read(first, stop)), *barren])

    def _pass_on(self, position):
        """Have the next effort try with what lies before a position, but for where all lanes say that nothing is."""
        barren = None
        for fed in self._lanes:
            mine = [span for span in fed.lane.barren if span[1] > self.next._passed]
            barren = mine if barren is None else common(barren, mine)
        self.next._barren = barren or []
        self.next.explain(position)

    def _hand_over(self, start, stop):
        open_ = any(fed.open for fed in self._lanes)
        if stop - start < SHORTEST_BLOCK_S * self.rate and not open_:
            return
        for first, samples in self._pending:
            piece = samples[max(0, start - first) : max(0, stop - first)]
            if len(piece) and (np.abs(piece).max() > _silence(piece) or any(fed.open for fed in self._lanes)):
                self._feed(max(start, first), piece)

    def _feed(self, position, piece):
        if self.next is not None:
            self.next.hold(position, piece)
        mixed = {}
        for fed in self._lanes:
            if fed.mix not in mixed:
                mixed[fed.mix] = fed.mix.of(piece)
            self._take(fed.feed(position, mixed[fed.mix]))
        if self.next is not None:
            settled = [int(fed.lane.decided_s * self.rate) for fed in self._lanes]
            self._pass_on(min(settled, default=position + len(piece)))


class _Fed:
    """A lane that is only fed now and then."""

    def __init__(self, lane, mix):
        self.lane, self.mix = lane, mix
        self.open = False
        self._next = 0

    def feed(self, position, samples):
        """Take samples that begin at a position; gives the blocks settled by them."""
        blocks = []
        if not self.open or position != self._next:
            blocks = self.close()
            self.lane.skip_to(position)
            self.open = True
        self._next = position + len(samples)
        return blocks + self.lane.feed(samples)

    def close(self):
        """What was fed last is over: settle all."""
        if not self.open:
            return []
        self.open = False
        return self.lane.finish()


def _silence(samples):
    return SILENCE * full_scale(samples)
