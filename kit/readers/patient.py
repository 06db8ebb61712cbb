"""The patient reader: the likeliest block for the whole of its sound, for recordings in which edges drown in hiss.

It sums the sound over whole half-cycles (matched filtering), tries many timings at once, and weighs whole rows
of cells against each other (a trellis). What it then knows of each step of sound, and how surely, is kept with
the block, so that copies and sides can be put together before anything is decided.
"""

from itertools import product

import numpy as np

from ..formats import SPEEDS
from ..trellis import Trellis
from .leadertones import find_tones
from .patientblocks import BlockReader
from .starts import Heard, beginnings

__all__ = ["PatientLane"]

STRETCH_S = 60.0  # of sound worked on at once
LONGEST_S = 180.0  # kept for a block that is not over
WIDE = 1.4  # how far from a named speed a tape may run
FEWEST_SAMPLES = 2.2  # in a unit
LOUDEST = 1e6  # a sample that is larger is cut off
REACHES = (4, 24)  # steps of speed tried, first few, then many
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
    taken : callable, optional
        Given two times in seconds, the spans of blocks between them that have been read already.

    Attributes
    ----------
    decided_s : float
        Everything before this time has been settled.
    """

    def __init__(self, formats, rate, side="mono", taken=None):
        self.formats, self.rate, self.side = list(formats), rate, side
        self.leader = self.formats[0].leader
        codes = dict.fromkeys(format.code for format in self.formats if Trellis.suits(format.code))
        self._readers = [
            BlockReader(code, [f for f in self.formats if f.code == code], rate, side) for code in codes
        ]
        self._taken = taken or (lambda start_s, stop_s: [])
        self.skip_to(0)

    def skip_to(self, position):
        """Forget what is undecided; the next samples fed begin at this one."""
        self._first, self._pieces, self._held = position, [], 0
        self.decided_s = position / self.rate

    def feed(self, samples):
        """Take samples, shape (n,); gives the blocks settled by them."""
        self._pieces.append(_as_floats(samples))
        self._held += len(samples)
        if self._held < STRETCH_S * self.rate:
            return []
        return self._work(final=False)

    def finish(self):
        """No more samples will come (before a `skip_to`): settle all."""
        found = self._work(final=True)
        self._first += self._held
        self._pieces, self._held = [], 0
        self.decided_s = self._first / self.rate
        return found

    # -- a stretch ---------------------------------------------------------------------------------------

    def _work(self, final):
        wave = np.concatenate(self._pieces) if self._pieces else np.zeros(0, np.float32)
        found, done = self._read_all(wave, final)
        if final and not found:
            found = [self._mirrored(block, len(wave)) for block in self._read_all(wave[::-1], final)[0]]
        first_s = self._first / self.rate
        found = [block.changed(start_s=block.start_s + first_s, leader_s=block.leader_s + first_s) for block in found]
        if not final:
            done = max(done, len(wave) - int(LONGEST_S * self.rate))
            self._pieces, self._held = [wave[done:].copy()], len(wave) - done
            self._first += done
            self.decided_s = self._first / self.rate
        return sorted(found, key=lambda block: block.span_s)

    def _read_all(self, wave, final):
        """Blocks of a stretch, and up to where it is settled, in samples."""
        heard, found, spans = Heard(wave), [], self._known_spans(len(wave))
        tones = self._tones(wave)
        waiting = []
        for tone in sorted(tones, key=lambda tone: tone.start - tone.stop):
            if any(a <= tone.stop - 0.05 * self.rate and tone.stop <= b for a, b in spans):
                continue
            block, over = self._read_after(heard, tone)
            if not over and not final:
                waiting.append(tone.start)
            elif block is not None:
                found.append(block)
                spans.append((block.start_s * self.rate - 0.05 * self.rate, block.stop_s * self.rate))
        # A tone that goes on to the end may be a leader whose block is still to come.
        late = [tone.start for tone in tones if tone.stop > len(wave) - self.rate // 4]
        read = max((int(block.stop_s * self.rate) for block in found), default=0)
        here = min([*waiting, *late[-1:], len(wave) - self.rate // 2])
        return found, max(0, here, min(read, here))

    def _tones(self, wave):
        unit_hz = self.formats[0].unit_hz
        low, high = min(SPEEDS.values()) / WIDE, max(SPEEDS.values()) * WIDE
        high_hz = min(unit_hz * high, self.rate / FEWEST_SAMPLES) / self.leader.leader_units
        return find_tones(wave, self.rate, unit_hz * low / self.leader.leader_units, high_hz)

    def _known_spans(self, size):
        first_s = self._first / self.rate
        spans = self._taken(first_s, first_s + size / self.rate)
        return [((a - first_s - 0.05) * self.rate, (b - first_s) * self.rate) for a, b in spans]

    def _mirrored(self, block, size):
        """A block read from the reversed sound, with its times turned round."""
        whole_s = size / self.rate
        return block.changed(
            start_s=whole_s - block.start_s, leader_s=whole_s - block.leader_s, cell_s=-block.cell_s, backwards=True
        )

    def _read_after(self, heard, tone):
        """The best block after a tone, or None; and whether all of it has been heard."""
        best, over = None, True
        places = beginnings(heard, self.rate, tone, self.leader)
        # Many speeds are tried only where a real leader shows that there is something to be found.
        wide = places[:1] if tone.stop - tone.start > LEADER_S * self.rate else []
        for reach, some in zip(REACHES, (places, wide), strict=True):
            ways = product(some if best is None else [], self._readers)
            for block, ended in (found for way in ways for found in way[1].read(heard, way[0], reach)):
                over &= ended or block is not None
                if block is not None:
                    if best is None or (block.whole, block.trust) > (best.whole, best.trust):
                        best, over = block, ended
                    if block.whole:
                        return best, over
        return best, over


def _as_floats(samples):
    if samples.dtype.kind == "f":
        # Beyond this no recording goes, but numbers in a file may.
        return np.clip(samples, -LOUDEST, LOUDEST).astype(np.float32)
    return samples.astype(np.float32) / 32768
