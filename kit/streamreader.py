"""Reading streams off edges: a leader of marks, then characters one by one, until they end.

Nothing vouches for a stream but its own regularity: a steady tone, then start bits, and stop bits where they must
be. So what is asked of it depends on what else is listened for.
"""

import numpy as np

from .characterrow import CharacterRow
from .characters import Wave
from .found import DAMAGED, UNCHECKED, FoundBlock
from .streamholes import hole_after, hole_before

__all__ = ["StreamReader"]

STEP_S = 0.25  # edges are worked on when so many are new
CLOSING_CELLS = 3  # after the last character of a short stream, which must be marks, or silent
WINDOW_CELLS = 16  # a leader is judged by so many cells at a time
MARKED = 0.7  # part of them that must be marks
LOST_WINDOWS = 6  # windows without marks, one after the other, after which a leader is over
OVER_S = 0.5  # a stream is over when so much of a pause is no tone
SURE = 8  # characters that show a stream to be one
FAIR, NEARLY_ALL = 0.5, 0.85  # part of them that must be in order: when asked for; when others are listened for too
LONG_S, CLEAR = 4.5, 0.6  # leader, and least margin, of a shorter stream, when others are listened for, too


class StreamReader:
    """Read the streams that follow a leader which was noticed, edges by edges.

    Parameters
    ----------
    format : Format
    unit : float
        Length of a unit in the leader, in seconds.
    tone : Tone
        What was heard of the leader when it was noticed.
    side : str
    strict : bool
        See `StreamLane`.
    follows : bool
        True if the speed is to be followed.

    Attributes
    ----------
    over_s : float or None
        From where on nothing more is to be read here; None while there may be.
    led_s : float
        Where the marks that are heard now, or were heard before the characters being read, began.
    reading_s : tuple of float, or None
        From where to where a stream that goes on has been read so far, when it is plainly one.
    """

    def __init__(self, format, unit, tone, side="mono", strict=False, follows=True):
        self.format, self.side, self.strict, self.follows = format, side, strict, follows
        self.each = format.frame.bits_per_byte
        self.over_s, self.led_s, self.reading_s = None, tone.begun_s, None
        self._tone, self._begun = tone, False  # whether its beginning has been looked for
        self._unit, self._edges, self._tried_s = unit, np.zeros(0), 0.0
        self._end_s, self._row = None, CharacterRow(self.each)  # where the last character ended; all of it

    @property
    def needs_s(self):
        """From where on edges are still to be worked on, in seconds; None if there are none."""
        return float(self._edges[0]) if len(self._edges) else None

    def feed(self, edges, heard_s, final=False):
        """Take edges, in seconds; gives the streams that ended, as `FoundBlock`.

        Parameters
        ----------
        edges : ndarray of float64, shape (n,)
        heard_s : float
            Up to when there would have been edges.
        final : bool
            True if no more will come.
        """
        self._edges = np.concatenate((self._edges, edges))
        blocks = []
        while self.over_s is None:
            quiet = final or not len(self._edges) or heard_s - self._edges[-1] > 2 * OVER_S
            if len(self._edges) < 4:
                if quiet:
                    blocks += self._over(heard_s)
                break
            if not quiet and self._edges[-1] - self._tried_s < STEP_S:
                break
            if not self._begun:
                self._begin()
            wave = Wave(self._edges, self._unit, self.format.code, self.format.frame, not self.follows)
            if self._end_s is None and not self._seek(wave, quiet):
                break
            blocks += self._read(wave, quiet)
        return blocks

    def _begin(self):
        """Forget what was heard before the tone."""
        self._edges = self._tone.of(self._edges)
        self.led_s, self._begun = float(self._edges[0]), True

    # -- leader ------------------------------------------------------------------------------------------

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
                self.led_s, self._led_unit = led_s, wave.mean_unit(start - 4 * WINDOW_CELLS, start)
                self._end_s = float(wave.time(hole_before(wave, start, LOST_WINDOWS * WINDOW_CELLS)))
                return True
        self._tried_s = self._edges[-1]
        begun = self._began(wave, marked, wave.last)
        if begun is None or quiet:
            self.over_s = max(self._ceased(wave, marked), self._tone.sure_s)
            return False
        self.led_s = begun
        self._keep(wave, wave.last - (LOST_WINDOWS + 1) * WINDOW_CELLS)
        return False

    def _began(self, wave, marked, stop):
        """When the marks before a place began; None if there are none there."""
        marked = marked[: int(stop / WINDOW_CELLS)]
        if len(marked) < LOST_WINDOWS:
            return self.led_s
        lost = np.flatnonzero(np.convolve(~marked, np.ones(LOST_WINDOWS), "valid") == LOST_WINDOWS)
        if len(lost) and lost[-1] + LOST_WINDOWS >= len(marked):
            return None
        return float(wave.time((lost[-1] + LOST_WINDOWS) * WINDOW_CELLS)) if len(lost) else self.led_s

    def _ceased(self, wave, marked):
        """When it could be said that marks have ceased: what follows may be another leader, of another speed."""
        last = np.flatnonzero(marked)[-1:].sum() + 1
        return float(wave.time((last + LOST_WINDOWS) * WINDOW_CELLS))

    def _leads(self, wave, led_s, start):
        """Whether the marks before a place are long enough for a leader, as far as they are heard."""
        leader = self.format.leader
        need_s = leader.parts_s if self.strict else leader.shortest_s
        return self._long_s(wave.time(start) - led_s, wave.unit(start)) >= need_s

    def _long_s(self, seconds, unit):
        """How long marks last: as heard, or as they would at ordinary speed, whichever is more."""
        return seconds * max(1.0, self.format.unit_s() / unit)

    # -- characters --------------------------------------------------------------------------------------

    def _read(self, wave, quiet):
        """Read characters from where the last one ended; gives the stream if it is over."""
        starts = wave.starts()
        found = wave.characters(starts)
        here = wave.cell(self._end_s)
        chosen = wave.chain(starts, ~found.doubt, here - 0.5, wave.last - 0.5)
        begins = starts[chosen]
        known = len(chosen) if quiet else int(np.searchsorted(begins, wave.last - 4 * self.each))
        ends = np.concatenate(([here], np.minimum(begins + self.each, np.append(begins[1:], np.inf)[: len(begins)])))
        rest = np.append(begins[:known], wave.last)
        verdicts = [self._pause(wave, a, b) for a, b in zip(ends[: known + 1], rest, strict=True)]
        last = next((k for k, verdict in enumerate(verdicts) if verdict), known)
        last = self._row.read(wave, found[chosen[:last]], ends[:last], begins[:last])
        self._end_s = float(wave.time(ends[last]))
        return self._after(wave, verdicts[last], quiet)

    def _after(self, wave, verdict, quiet):
        """What comes of a stream when the edges that are there have been read."""
        self._tried_s = self._edges[-1]
        self._closed = self._is_closed(wave)
        stray = self._row.stray()
        if stray or verdict == "lost" or (quiet and not verdict):
            self._end(wave, stray)
            return self._over(self._end_s)
        if verdict == "parts":
            self._end(wave, 0)
            end_s, unit = self._end_s, wave.unit(wave.cell(self._end_s))
            blocks = self._block()
            self._row, self._end_s, self.reading_s = CharacterRow(self.each), None, None
            self.led_s, self._tried_s = end_s, 0.0
            self._keep(wave, wave.cell(end_s) + 1, unit)
            return blocks
        self._keep(wave, wave.cell(self._end_s) - 2)
        if self._is_plain():
            self.reading_s = (self.led_s, self._end_s)
        return []

    def _end(self, wave, stray):
        """Drop what was read of noise behind the end of a stream."""
        count = len(self._row)
        end = wave.cell(self._end_s)
        behind = min(self.each, wave.last - end)
        marks = self._row.drop(stray) if stray else behind * float(wave.marks(end, end + behind))
        marks = self._row.drop_unheard(marks)
        if len(self._row) < count:
            self._closed = marks > MARKED * CLOSING_CELLS
            return
        stop = hole_after(wave, end, OVER_S / (wave.unit(end) * self.format.code.cell_units))
        if stop is not None:
            self._row.lose(wave, end, stop)
            self._end_s = float(wave.time(stop))

    def _is_closed(self, wave):
        """Whether marks follow the last character, or nothing at all."""
        end = wave.cell(self._end_s)
        edges = np.searchsorted(wave.cells, [end + 0.2, end + CLOSING_CELLS])
        return edges[1] - edges[0] < 2 or wave.marks(end, end + CLOSING_CELLS) > MARKED

    def _keep(self, wave, cell, unit=None):
        """Forget the edges before a place, but for the last of them: a hole may begin there."""
        first = max(0, int(np.searchsorted(wave.cells, cell)) - 1)
        self._unit = unit or wave.unit(wave.cells[first])
        self._edges = self._edges[first:]

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

    # -- streams -----------------------------------------------------------------------------------------

    def _is_plain(self):
        """Whether it need not be waited for that this is a stream."""
        first = min(len(self._row), 4 * SURE)
        return first >= SURE and self._row.good(first) >= NEARLY_ALL * first

    def _over(self, seconds):
        """The stream is over: gives it, and sleeps from then on."""
        blocks = self._block()
        self.over_s, self.reading_s = seconds, None
        return blocks

    def _block(self):
        """The stream, if what was read is one."""
        if not len(self._row):
            return []
        all_ = self._row.joined()
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
                self.led_s,
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
        long_s = self._long_s(all_.times[0, 0] - self.led_s, self._led_unit)
        return self._closed and good == 1 and long_s >= LONG_S and all_.margins.min() > CLEAR
