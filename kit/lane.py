"""A lane: one channel of a recording, made ready in one way, and the blocks found on it as samples arrive."""

from dataclasses import replace

import numpy as np

from .blockreader import LOST, WAIT, read_block, worth_salvaging
from .blocks import LARGEST
from .ears import Ear
from .salvage import overlap, salvage_block, salvage_tails, weight
from .slips import SLIP_TRIALS, mend_slips
from .smoothing import Conditioner
from .tries import BACKWARDS, LOOK, ONWARDS, SLIP_TRIES, Tries
from .waves import EdgeFinder

__all__ = ["Lane"]

SILENCE_S = 2.0
LONGEST_STRETCH_S = 60.0  # how long a stretch may stay undecided while nothing in it looks like a block
TAIL_EDGES = 24  # edges of the next leader that show where a block ends
MOST_RIVALS = 16  # starts tried in one place; more are noise
NEEDED_EDGES = 64  # edges after a start before reading there is tried


class Lane:
    """Find blocks in one channel, piece by piece.

    Parameters
    ----------
    formats : sequence of Format
        To be tried; they share the `cycles` that a lane has to tell apart, but not always the code.
    rate : int
        Samples per second.
    ear : Ear
    side : str
        Name of the channel, kept with each block.
    doubted : set of str
        Names of formats on which no effort is spent; whoever learns that one is there may take it out.
    brief : bool
        Try only so often to make something of what does not read, and of many starts in vain only some.

    Attributes
    ----------
    decided_s : float
        Everything before this time has been settled: read, salvaged, or found to hold nothing.
    """

    reading_s = None  # blocks are short: none is ever half read

    def __init__(self, formats, rate, ear=None, side="mono", doubted=(), brief=False):
        self.formats = list(formats)
        self.leader, self.codes = self.formats[0].leader, tuple({format.code: None for format in self.formats})
        self.rate = rate
        self.ear = ear or Ear()
        self.side = side
        self._conditioner = Conditioner(self.ear.smooth, self.ear.centre)
        self._finder = EdgeFinder(self.ear.hysteresis, max(256, 2 * self.ear.centre))
        self._backwards = False
        self._unit = None  # seconds, as last seen
        self._own = set()  # names of the formats of which there were blocks in this lane, damaged ones too
        self._doubted = doubted
        self._tries = Tries(brief)
        self._trials = 0  # left for the place that is being salvaged
        self._longest_edges = max(f.code.most_edges(f.frame.bits_per_byte * (LARGEST + 16)) for f in self.formats)
        self.skip_to(0)

    def skip_to(self, position):
        """Forget what is undecided; the next samples fed begin at this one."""
        self._conditioner.restart()
        self._finder.skip_to(position - self._conditioner.reach)
        self._heard = position
        self._edges = np.zeros(0)
        self._searched = 0  # edges before this have been searched for starts
        self._starts = []  # groups of rival starts not tried yet
        self._lost = []  # groups tried in vain in the undecided stretch
        self.decided_s = position / self.rate

    def feed(self, samples):
        """Take samples, shape (n,); gives the blocks settled by them, in order of time."""
        self._heard += len(samples)
        conditioned = self._conditioner.reach or self.ear.smooth > 1
        wave = self._conditioner.feed(samples) if conditioned else samples
        found = self._sharpened(self._finder.feed(wave) / self.rate)
        self._edges = np.concatenate((self._edges, found)) if len(self._edges) else found
        return self._advance(final=False)

    def finish(self):
        """No more samples will come (before a `skip_to`): settle all."""
        rest = np.zeros(self._conditioner.reach)
        wave = self._conditioner.feed(rest) if self._conditioner.reach else rest
        rest = self._sharpened(self._finder.feed(wave, last=True) / self.rate)
        self._edges = np.concatenate((self._edges, rest))
        blocks = self._advance(final=True)
        self.decided_s = self._heard / self.rate
        return blocks

    def _sharpened(self, edges):
        """Times of edges, in seconds, as this lane takes note of them."""
        return edges

    def _advance(self, final):
        final = final or self._silent()
        self._search()
        settled = []
        while self._starts:
            group = self._starts[0]
            answer = LOST if self._tries.passes(ONWARDS) else self._try(group, final)
            if answer is WAIT:
                break
            self._starts.pop(0)
            self._tries.answered(ONWARDS, answer is not LOST)
            if answer is LOST:
                self._lost.append(group)
                continue
            settled += [*self._settle(self._stop_before(group[0])), answer]
            self._drop(int(np.searchsorted(self._edges, answer.stop_s - 1e-9)))
        if final or self._overdue():
            settled += self._settle(len(self._edges) if final else self._quiet_stop())
        self._mark_decided()
        return settled

    @property
    def _likely_formats(self):  # worth an effort
        return [format for format in self.formats if format.name not in self._doubted]

    def _search(self):
        ready = len(self._edges) - 2
        if ready > self._searched:
            self._starts += self._likely(self.leader.find(self._edges, self.codes, self._searched, ready))
            self._searched = ready

    def _likely(self, groups):
        """Starts at a speed that this ear can hear."""
        low, high = (limit / self.rate for limit in self.ear.unit_samples)
        kept = [[start for start in group if low <= start.unit <= high] for group in groups]
        return [group for group in kept if group]

    def _try(self, group, final):
        """The first of some rival starts that reads; `WAIT` if that takes more edges."""
        if not final and len(self._edges) - group[0].index < NEEDED_EDGES:
            return WAIT
        formats = self._likely_formats if self.ear.note else self.formats
        answers = (self._read(start, formats, final) for start in group)
        return next((answer for answer in answers if answer is not LOST), LOST)

    def _read(self, start, formats, final):
        leader_s = float(self._edges[self.leader.began(self._edges, start)])
        answer = read_block(self._edges[start.index :], start.unit, leader_s, formats, final)
        if answer is WAIT or answer is LOST:
            return answer
        self._unit = start.unit
        self._own.add(answer.format.name)
        return self._signed(answer)

    def _signed(self, block, backwards=False):
        note = "; ".join(filter(None, (self.ear.note, block.note)))
        return block.changed(side=self.side, note=note, backwards=backwards)

    def _stop_before(self, start):
        return self.leader.began(self._edges, start)

    def _overdue(self):
        """Whether a stretch has stayed undecided too long; a start that waits for its last edges may keep it."""
        if self._starts:
            return len(self._edges) > 8 * self._longest_edges
        waited_s = self._heard / self.rate - self._edges[0] if len(self._edges) else 0.0
        return waited_s > LONGEST_STRETCH_S or len(self._edges) > 2 * self._longest_edges

    def _silent(self):
        """Whether nothing at all has been heard for a while: what began before is over."""
        return len(self._edges) > 0 and self._heard / self.rate - self._edges[-1] > SILENCE_S

    def _quiet_stop(self):
        """Edge to settle up to: the last run of even cycles, where no block can be cut in two."""
        halves = np.diff(self._edges)
        even = np.abs(halves[1:] - halves[:-1]) < 0.1 * halves[:-1]
        run = np.convolve(even, np.ones(31, dtype=int), mode="valid") == 31 if len(even) > 31 else np.zeros(0)
        at = np.flatnonzero(run)
        at = at[at > len(self._edges) // 4]
        return int(at[-1]) if len(at) else len(self._edges)

    def _drop(self, count):
        """Forget the first edges: they are settled."""
        self._edges = self._edges[count:]
        self._searched = max(0, self._searched - count)
        self._starts = _moved(self._starts, count)
        self._lost = _moved(self._lost, count)

    def _mark_decided(self):
        if len(self._edges):
            self.decided_s = float(self._edges[0])
        else:
            self.decided_s = (self._heard - 2 * self._conditioner.reach - 2) / self.rate

    def _settle(self, stop):
        """Say what the edges up to `stop` hold, now that no block in them has read; drops them."""
        blocks = self._read_mirrored(stop) if stop >= NEEDED_EDGES // 2 else []
        self._drop(stop)
        return sorted(blocks, key=lambda block: block.span_s)

    def _read_mirrored(self, stop):
        """Read a stretch backwards, for a recording that runs so; what no check vouches for is salvaged."""
        stop = min(stop + TAIL_EDGES, len(self._edges))
        times = -self._edges[:stop][::-1]
        whole, rest, first = [], [], 0
        starts = self._likely(self.leader.find(times, self.codes))
        for group in starts:
            if group[0].index < first:
                continue
            group = () if self._tries.passes(BACKWARDS) else group
            answers = (self._read_backwards(times, start) for start in group)
            block, start = next((each for each in answers if each[0] is not LOST), (LOST, None))
            self._tries.answered(BACKWARDS, block is not LOST)
            if block is not LOST:
                rest.append((first, self.leader.began(times, start) + TAIL_EDGES))
                first = int(np.searchsorted(times, block.stop_s - 1e-9))
                whole.append(_mirrored(self._signed(block)))
                self._unit, self._backwards = start.unit, True
                self._own.add(block.format.name)
        rest.append((first, len(times)))
        if self._backwards:
            damaged = [_mirrored(b) for a, z in rest for b in self._salvage(times, a, z, starts)]
        else:
            damaged = self._salvage(self._edges, 0, stop, self._lost)
        return whole + damaged

    def _read_backwards(self, times, start):
        """A block from a start in mirrored edges, or `LOST`; and the start."""
        leader_s = float(times[self.leader.began(times, start)])
        return read_block(times[start.index :], start.unit, leader_s, self._likely_formats, final=True), start

    def _salvage(self, edges, first, stop, starts):
        """Damaged blocks between two edges, from their starts and from tails without a start."""
        found, here = [], first
        waiting = [group for group in starts if first <= group[0].index < stop]
        while waiting and self._tries.left > 0:
            block, start, end = self._best_start(edges, waiting, stop)
            waiting = [group for group in waiting if group[0].index >= end]
            if block is not None:
                found += self._salvage_tails(edges, here, self.leader.began(edges, start))
                found.append(block)
                here = end
        return found + self._salvage_tails(edges, here, stop)

    def _best_start(self, edges, groups, stop):
        """Of the first start and those inside what it would read, the one that gives most."""
        best, end = (None, None, groups[0][0]), groups[0][0].index + 1
        low, high = (limit / self.rate for limit in self.ear.mended_samples)
        self._trials = SLIP_TRIALS if low < groups[0][0].unit < high else 0
        for group in groups[:MOST_RIVALS]:
            if best[0] is not None and group[0].index >= end:
                break
            for start in group:
                for block, used_s in self._salvage_at(edges, start, stop):
                    # A rival start one cell off reads as well, but not to a kind of block that exists.
                    rank = (block.whole, block.trust[0], start.fit < 1, weight(block))
                    if best[0] is None or rank > best[0]:
                        best, end = (rank, block, start), int(np.searchsorted(edges, used_s))
        if best[1] is not None:
            self._unit = best[2].unit
            self._own.add(best[1].format.name)
        return best[1], best[2], end

    def _salvage_at(self, edges, start, stop):
        leader_s = float(edges[self.leader.began(edges, start)])
        self._tries.left -= LOOK
        for format in worth_salvaging(edges[start.index : stop], start.unit, self._likely_formats):
            self._tries.left -= 1
            if self._trials > 0:
                block, used = mend_slips(edges[start.index : stop], start.unit, leader_s, format)
                self._trials, self._tries.left = self._trials - used, self._tries.left - SLIP_TRIES
                if block is not None:
                    yield self._signed(block), block.stop_s
                    continue
            block, used_s = salvage_block(edges[start.index : stop], start.unit, leader_s, format)
            if block is not None:
                yield self._signed(block), used_s

    def _salvage_tails(self, edges, first, stop):
        """Blocks that lost their start."""
        if self._unit is None or stop - first <= NEEDED_EDGES or self._tries.left <= 0:
            return []
        one_each = {format.code: format for format in reversed(self.formats) if format.name in self._own}
        found = [b for f in one_each.values() for b in salvage_tails(edges[first:stop], self._unit, f)]
        kept = []
        for block in sorted(found, key=weight, reverse=True):
            if not any(overlap(block, other) for other in kept):
                kept.append(self._signed(block))
        return kept


def _mirrored(block):
    """A block with its times turned round."""
    return block.changed(start_s=-block.start_s, leader_s=-block.leader_s, cell_s=-block.cell_s, backwards=True)


def _moved(groups, count):
    """Groups of starts renumbered after the first edges were dropped; those among them are gone."""
    moved = [[replace(s, index=s.index - count) for s in group if s.index >= count] for group in groups]
    return [group for group in moved if group]
