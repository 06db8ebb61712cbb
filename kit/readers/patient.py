"""The patient reader: the likeliest block for the whole of its sound, for recordings in which edges drown in hiss.

It sums the sound over whole half-cycles (matched filtering), tries many timings at once, and weighs whole rows
of cells against each other (a trellis). What it then knows of each step of sound, and how surely, is kept with
the block, so that copies and sides can be put together before anything is decided.
"""

import numpy as np

from ..known import SPEEDS
from ..trellis import Trellis
from .leadertones import find_tones
from .likeliest import signal_to_noise, uneven
from .patientblocks import BlockReader, Budget
from .starts import Heard, beginnings

__all__ = ["PatientLane"]

STRETCH_S = 60.0  # of sound worked on at once
EDGES_NEED_DB = 1.0  # a wave in more white noise than this is not read by its edges, smoothed or not
BARREN_S = 3.0  # from the nearest tone, and long: there is nothing to be found there
LONGEST_LEADER_S = 10  # of a tone kept, that may be a leader whose end is still to come
LONGEST_S = 180.0  # kept for a block that is not over
WIDE = 1.4  # how far from a named speed a tape may run
FEWEST_SAMPLES = 2.2  # in a unit
# Passes of steps of speed tried and length of windows in units: for hiss, for a speed that is far off, or swings.
REACHES = (((4, 32),), ((24, 32), (8, 16)), ((14, 8), (8, 16), (8, 16)))
NEAR_SPEED = 0.2  # part by which the speeds of blocks near each other may differ
NEAR_S = 0.05  # by which the end of a tone may be off
COLOURS = (1, 2)  # how often highs are raised, one after the other
LEADER_S = 0.1  # a tone that lasts longer is taken for a leader


class PatientLane:
    """Find blocks in one channel; a `Lane` for all that is done with it.

    Parameters
    ----------
    formats : sequence of Format
        They share leader and sync.
    rate : int
        Samples per second.
    side : str
        Name of the channel, kept with each block.
    thorough : bool
        Whether to try many speeds, and raised highs, also where there is little hope.

    Attributes
    ----------
    decided_s : float
        Everything before this time has been settled.
    barren : list of tuple
        Stretches, in samples, far from any steady tone, even one of a bit or a leader: hiss, speech, nothing.
    """

    def __init__(self, formats, rate, side="mono", thorough=False):
        self.formats, self.rate, self.side = list(formats), rate, side
        self.leader = self.formats[0].leader
        codes = dict.fromkeys(format.code for format in self.formats if Trellis.suits(format.code))
        self._readers = [
            BlockReader(code, [f for f in self.formats if f.code == code], rate, side) for code in codes
        ]
        self.thorough, self.barren = thorough, []
        self._units_s = []  # of the blocks read last
        self.skip_to(0)

    def skip_to(self, position):
        """Forget what is undecided; the next samples fed begin at this one."""
        self._first, self._pieces, self._held = position, [], 0
        self._enough = STRETCH_S * self.rate  # samples that must be held before they are worked on
        self.decided_s = position / self.rate

    def feed(self, samples):
        """Take samples, shape (n,); gives the blocks settled by them."""
        self._pieces.append(_as_floats(samples))
        self._held += len(samples)
        if self._held < self._enough:
            return []
        found = _all_of(self._work(final=False))
        self._enough = self._held + STRETCH_S * self.rate
        return found

    def finish(self):
        """No more samples will come (before a `skip_to`): settle all."""
        return _all_of(self.finishing())

    def finishing(self):
        """As `finish`, for who must not be kept waiting: a generator that yields after each place that was tried.

        Yields
        ------
        None

        Returns
        -------
        list of FoundBlock
        """
        found = yield from self._work(final=True)
        self._first += self._held
        self._pieces, self._held = [], 0
        self.decided_s = self._first / self.rate
        return found

    # -- a stretch ---------------------------------------------------------------------------------------

    def _work(self, final):
        wave = np.concatenate(self._pieces) if self._pieces else np.zeros(0, np.float32)
        tones = self._tones(wave)
        found, done = yield from self._read_all(wave, tones, final)
        self._note_barren(tones, len(wave) if final else done)
        if final and tones and not any(block.whole for block in found):
            turned = wave[::-1]
            other, _ = yield from self._read_all(turned, self._tones(turned), final)
            if any(block.whole for block in other) or not found:
                found = [self._mirrored(block, len(wave)) for block in other]
        self._note_drowned(found)
        first_s = self._first / self.rate
        found = [block.changed(start_s=block.start_s + first_s, leader_s=block.leader_s + first_s) for block in found]
        if not final:
            done = max(done, len(wave) - int(LONGEST_S * self.rate))
            self._pieces, self._held = [wave[done:].copy()], len(wave) - done
            self._first += done
            self.decided_s = self._first / self.rate
        return sorted(found, key=lambda block: block.span_s)

    def _note_drowned(self, found):
        """Keep in mind where edges drown in hiss: smoothing would not help."""
        for block in found:
            if not block.whole and not uneven(block) and signal_to_noise(block, self.rate) < EDGES_NEED_DB:
                start, stop = block.span_s
                self.barren.append((self._first + int(start * self.rate), self._first + int(stop * self.rate)))
        self.barren.sort()

    def _note_barren(self, tones, done):
        """Keep in mind where nothing is."""
        reach, here = BARREN_S * self.rate, 0
        for tone in [*tones, None]:
            stop = done if tone is None else min(done, tone.start - reach)
            if stop - here > reach:
                self.barren.append((self._first + int(here), self._first + int(stop)))
            here = tone.stop + reach if tone is not None else here

    def _read_all(self, wave, tones, final):
        """Blocks of a stretch, and up to where it is settled, in samples."""
        heard, found, waiting, budgets = Heard(wave), {}, [], {}
        for tone in sorted(tones, key=lambda tone: tone.start - tone.stop):
            # Where a block goes on beyond what has been heard, the rest is for later.
            later = [(other.stop, len(wave)) for other in waiting]
            if self._inside(tone, [*later, *(self._span_of(block) for block in found.values())]):
                continue
            budgets[tone] = Budget()
            block, over = yield from self._read_after(heard, tone, budgets[tone])
            if not over and not final:
                waiting.append(tone)
            elif block is not None or self._may_lead(tone):
                found[tone] = block
        for tone in [tone for tone, block in found.items() if block is None]:
            # By now it may be known how long blocks are.
            found[tone], _ = yield from self._read_after(heard, tone, budgets[tone])
        yield from self._read_coloured(heard, found, budgets)
        found = self._likely([block for block in found.values() if block is not None])
        # A tone that goes on to the end may be a leader whose block is still to come.
        soon, most = len(wave) - self.rate // 4, LONGEST_LEADER_S * self.rate
        late = [max(tone.start, tone.stop - most) for tone in tones if tone.stop > soon]
        read = max((int(block.stop_s * self.rate) for block in found), default=0)
        begun = [max(tone.start, tone.stop - most) for tone in waiting]
        here = min([*begun, *late[-1:], len(wave) - self.rate // 2])
        return found, max(0, here, min(read, here))

    def _likely(self, found):
        """Blocks found, but for damaged ones made of a leader, or of cells at quite another speed than the others."""
        whole = [block for block in found if block.whole]
        self._units_s = [block.unit_s for block in whole] or self._units_s
        return whole + [
            block
            for block in found
            if not block.whole
            and not any(other.leader_s < block.middle_s < other.start_s for other in whole)
            and (not self._units_s or min(abs(block.unit_s / u - 1) for u in self._units_s) < NEAR_SPEED)
        ]

    def _read_coloured(self, heard, found, budgets):
        """Read the blocks found, and those after leaders at which none was, again with highs raised."""
        for times in COLOURS:
            for tone, block in found.items():
                spans = [self._span_of(other) for other in found.values() if other is not None and other is not block]
                if block is not None and (block.whole or not uneven(block)):
                    continue
                if not self._inside(tone, spans):
                    lag = max(1, round(self.rate / tone.hz / self.leader.leader_units / 2))
                    other, _ = yield from self._read_after(heard.raised(lag, times), tone, budgets[tone])
                    found[tone] = other if block is None or (other is not None and other.whole) else block

    def _may_lead(self, tone):
        """Whether a tone lasts as long as leaders do."""
        return self.thorough or tone.stop - tone.start > LEADER_S * self.rate

    def _inside(self, tone, spans):
        """Whether most of a tone lies in a block: then it is a run of like bits."""
        return any(a <= (tone.start + tone.stop) / 2 <= b for a, b in spans)

    def _span_of(self, block):
        if block is None:
            return 0, 0
        return (block.start_s - NEAR_S) * self.rate, block.stop_s * self.rate

    def _tones(self, wave):
        unit_hz = self.formats[0].unit_hz
        low, high = min(SPEEDS.values()) / WIDE, max(SPEEDS.values()) * WIDE
        high_hz = min(unit_hz * high, self.rate / FEWEST_SAMPLES) / self.leader.leader_units
        return find_tones(wave, self.rate, unit_hz * low / self.leader.leader_units, high_hz)

    def _mirrored(self, block, size):
        """A block read from the reversed sound, with its times turned round."""
        whole_s = size / self.rate
        return block.changed(
            start_s=whole_s - block.start_s, leader_s=whole_s - block.leader_s, cell_s=-block.cell_s, backwards=True
        )

    def _read_after(self, heard, tone, budget):
        """The best block after a tone, or None; and whether all of it has been heard."""
        best, over = None, True
        for number, place in enumerate(beginnings(heard, self.rate, tone, self.leader)):
            # Many speeds are tried only where a real leader shows that there is something to be found.
            wide = self._may_lead(tone) and (number == 0 or self.thorough)
            for reader in self._readers:
                for block, ended in reader.read(heard, place, REACHES if wide else REACHES[:1], budget):
                    over &= ended or block is not None
                    if _better(best, block) is not best:
                        best, over = block, ended
                    if block is not None and block.whole:
                        return best, over
                yield
        return best, over


def _better(block, other):
    """The better of two readings of one place; either may be None."""
    if block is None or other is None:
        return block or other
    return other if (other.whole, other.trust) > (block.whole, block.trust) else block


def _all_of(steps):
    """What a generator returns when it has been gone through."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            return end.value


def _as_floats(samples):
    if samples.dtype.kind == "f":
        return samples.astype(np.float32)
    return samples.astype(np.float32) / 32768
