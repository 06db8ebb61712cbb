"""The trellis: the likeliest row of bit cells in a stretch of sound whose timing is known.

The sound comes as a grid: how far above or below zero it is, summed over each short step of time. A cell is a
pattern of steps above and below; the row of cells whose patterns fit the grid best is found by going along it
once, keeping at each place only the best way to get there (Viterbi), forwards and backwards, in many windows
at once. White noise of any size makes this the maximum-likelihood choice.
"""

from dataclasses import dataclass

import numpy as np

__all__ = ["Path", "Trellis"]

FINEST = 24  # most steps in a unit
OVERLAP_CELLS = 16  # long cells before and after a window that only lead up to it; it is three times as long
WORST = np.float32(-1e30)


@dataclass(frozen=True)
class Path:
    """A row of cells found in a grid.

    Attributes
    ----------
    bounds : ndarray of int64, shape (cells + 1,)
        The beat at which each cell begins, and the one at which the last ends.
    bits : ndarray of uint8, shape (cells,)
    soft : ndarray of float32, shape (cells,)
        How much likelier each cell is than what it would be mistaken for, as a natural logarithm if the grid is
        of log-likelihood ratios.
    """

    bounds: np.ndarray
    bits: np.ndarray
    soft: np.ndarray

    @property
    def signed(self):
        """As `soft`, but above 0 for ones and below for zeros."""
        return np.where(self.bits == 1, self.soft, -self.soft)


class Trellis:
    """The trellis of a cell code.

    Parameters
    ----------
    code : object
        Its ``encode([bit])`` gives a cell's half-cycles in units, an even number, so that cells begin alike.

    Attributes
    ----------
    beat_units : float
        Every cell lasts a whole number of beats.
    steps : int
        Steps of the grid in a beat.
    patterns : tuple of ndarray of float32, shape (beats, steps)
        For each bit: +1 where the wave is above zero, -1 where below.

    Examples
    --------
    >>> from kit.cells import CycleLength
    >>> trellis = Trellis(CycleLength())
    >>> trellis.beat_units, trellis.steps, [pattern.tolist() for pattern in trellis.patterns]
    (1.0, 2, [[[1.0, -1.0]], [[1.0, 1.0], [-1.0, -1.0]]])
    >>> grid = np.concatenate([trellis.patterns[bit] for bit in (1, 0, 0, 1)])
    >>> trellis.best(grid).bits.tolist()
    [1, 0, 0, 1]
    """

    def __init__(self, code):
        halves = [np.asarray(code.encode([bit]), dtype=float) for bit in (0, 1)]
        per_unit = _fineness(np.concatenate(halves))
        rows = [_drawn(np.maximum(1, np.rint(cell * per_unit)).astype(int)) for cell in halves]
        self.steps = int(np.gcd(len(rows[0]), len(rows[1])))
        self.beat_units = self.steps / per_unit
        self.patterns = tuple(row.reshape(-1, self.steps) for row in rows)
        self.lengths = sorted({len(pattern) for pattern in self.patterns})
        self.overlap = OVERLAP_CELLS * self.lengths[-1]
        self.window = 3 * self.overlap

    @staticmethod
    def suits(code):
        """Whether cells of a code all begin alike, so that one trellis serves."""
        return code.draws_alike and all(len(code.encode([bit])) % 2 == 0 for bit in (0, 1))

    def values(self, grid):
        """How well each bit's cell fits at each beat.

        Parameters
        ----------
        grid : ndarray of float, shape (beats, steps)

        Returns
        -------
        ndarray of float32, shape (2, beats)
            For zeros and ones; cells that would not end within the grid have -1e30.
        """
        values = np.full((2, len(grid)), WORST, np.float32)
        for bit, pattern in enumerate(self.patterns):
            room = len(grid) - len(pattern) + 1
            if room > 0:
                # Not a matrix product: threads would wait for each other longer than they work.
                rows = [np.einsum("ij,j->i", grid[k : k + room], row) for k, row in enumerate(pattern)]
                values[bit, :room] = np.sum(rows, axis=0)
        return values

    def by_length(self, values):
        """The better bit of each length of cell: dict of beats to values, shape as one of `values`."""
        found = {}
        for pattern, value in zip(self.patterns, values, strict=True):
            size = len(pattern)
            found[size] = np.maximum(found[size], value) if size in found else value
        return found

    def forwards(self, cells):
        """The best value of a row of cells up to each beat, whatever beat near the first it begins at.

        Parameters
        ----------
        cells : dict of int to ndarray of float32, shape (beats, lanes)
            As from `by_length`, one lane a column.

        Returns
        -------
        ndarray of float32, shape (beats + 1, lanes)
        """
        beats, lanes = next(iter(cells.values())).shape
        best = np.zeros((beats + 1, lanes), np.float32)
        longest = self.lengths[-1]
        for k in range(longest, beats + 1):
            first, *others = self.lengths
            np.add(best[k - first], cells[first][k - first], out=best[k])
            for size in others:
                np.maximum(best[k], best[k - size] + cells[size][k - size], out=best[k])
        return best

    def backwards(self, cells):
        """The best value of a row of cells from each beat on; as `forwards`."""
        turned = {size: _shifted(value, size)[::-1] for size, value in cells.items()}
        return self.forwards(turned)[::-1]

    def leads(self, grid, extra=0.0, values=None):
        """For each beat, by how much it is likelier that a cell begins there than that one goes on.

        Parameters
        ----------
        grid : ndarray of float32, shape (beats, steps)
            The first cell begins at its first beat, the last ends at its last.
        extra : float
            Added for each cell: above 0 more cells are found, below 0 fewer.

        Returns
        -------
        ndarray of float32, shape (beats + 1,)
        """
        values = self.values(grid) if values is None else values
        beats = values.shape[1]
        cells = self._windows({size: value + extra for size, value in self.by_length(values).items()})
        there, back = self.forwards(cells), self.backwards(cells)
        on, off = there + back, np.full_like(there, WORST)
        for size in self.lengths:
            for j in range(1, size):
                # A cell that began j beats ago and ends size - j beats from now.
                over = there[: len(there) - size] + cells[size][: len(there) - size] + back[size:]
                off[j : j + len(over)] = np.maximum(off[j : j + len(over)], over)
        lead = (on - off)[self.overlap : self.overlap + self.window].T.ravel()[: beats + 1].copy()
        lead[0] = lead[-1] = -WORST
        return lead

    def _windows(self, cells):
        """The same cells in windows side by side, each with beats that lead up to it."""
        window, overlap = self.window, self.overlap
        beats = len(next(iter(cells.values())))
        count = beats // window + 1
        found = {}
        for size, value in cells.items():
            whole = np.full((count + 1) * window + 2 * overlap, WORST, np.float32)
            whole[overlap : overlap + beats] = value
            # Before and after the stretch any way is as good, so that it begins and ends at its ends.
            whole[:overlap] = whole[overlap + beats :] = 0
            crossing = np.arange(len(whole))
            ends = crossing + size
            whole[(crossing < overlap) & (ends > overlap)] = WORST
            whole[(crossing < overlap + beats) & (ends > overlap + beats)] = WORST
            rows = np.lib.stride_tricks.sliding_window_view(whole, window + 2 * overlap)[::window][:count]
            found[size] = np.ascontiguousarray(rows.T)
        return found

    def best(self, grid, extra=0.0, values=None):
        """The likeliest row of cells.

        Parameters
        ----------
        grid : ndarray of float32, shape (beats, steps)
            The first cell begins at its first beat, the last ends at its last.
        extra : float
            See `leads`.

        Returns
        -------
        Path or None
            None where no row of cells fills the grid.
        """
        values = self.values(grid) if values is None else values
        lead = self.leads(grid, extra, values)
        bounds = np.flatnonzero(lead > 0)
        if len(bounds) < 2 or not np.isin(np.diff(bounds), self.lengths).all():
            # Two ways as good as each other, at the seam of two windows: go along it in one piece.
            bounds = self._traced({size: value + extra for size, value in self.by_length(values).items()})
            if bounds is None:
                return None
            lead = np.where(np.isin(np.arange(len(lead)), bounds), np.maximum(lead, 0), np.minimum(lead, 0))
        return self._path(bounds, values, lead)

    def _traced(self, cells):
        """Beats at which the cells of the best row begin and end, found step by step; None if no row fits."""
        beats = len(next(iter(cells.values())))
        ways = [(size, value.tolist()) for size, value in cells.items()]
        best, came = [0.0], [0]
        for k in range(1, beats + 1):
            found = [(best[k - size] + value[k - size], size) for size, value in ways if size <= k]
            top = max(found, default=(float(WORST), 0))
            best.append(top[0])
            came.append(top[1])
        bounds, k = [beats], beats
        while k > 0 and came[k]:
            k -= came[k]
            bounds.append(k)
        return np.array(bounds[::-1]) if k == 0 and best[-1] > WORST / 2 else None

    def _path(self, bounds, values, lead):
        starts, sizes = bounds[:-1], np.diff(bounds)
        lengths = [len(pattern) for pattern in self.patterns]
        bits = np.zeros(len(starts), np.uint8)
        soft = np.minimum(lead[bounds[:-1]], lead[bounds[1:]])
        if lengths[0] == lengths[1]:
            better = values[1, starts] - values[0, starts]
            bits[:] = better > 0
            soft = np.minimum(soft, np.abs(better))
        else:
            bits[:] = sizes == lengths[1]
        inner = -lead
        for j in range(1, self.lengths[-1]):
            held = np.minimum(starts + j, len(lead) - 1)
            soft = np.where(sizes > j, np.minimum(soft, inner[held]), soft)
        return Path(bounds, bits, soft.astype(np.float32))

    def with_count(self, grid, count, values=None, tries=12):
        """The likeliest row of so many cells, or None if it was not found.

        Each cell is worth a little more, or a little less, until there are as many as there must be.
        """
        values = self.values(grid) if values is None else values
        low, high, extra = -np.inf, np.inf, 0.0
        for _ in range(tries):
            path = self.best(grid, extra, values)
            have = len(path.bits) if path is not None else None
            if have == count:
                return path
            if have is None or self.lengths[0] == self.lengths[-1]:
                return None
            low, high = (extra, high) if have < count else (low, extra)
            extra = self._next_extra(path, count - have, extra, low, high)
        return None

    @staticmethod
    def _next_extra(path, missing, extra, low, high):
        """What to give a cell so that about so many more are found: as much as the least certain ones lack."""
        if np.isfinite(low) and np.isfinite(high):
            return (low + high) / 2
        # A change shows in the two or three cells it concerns.
        least = np.sort(path.soft)[: 3 * abs(missing) + 3]
        step = float(least[min(len(least) - 1, 3 * abs(missing))]) + 1e-3
        return extra + np.sign(missing) * step


def _fineness(half_cycles):
    """Fewest steps in a unit of which all half-cycles last a whole number, as nearly as need be."""
    for steps in range(1, FINEST + 1):
        off = np.abs(half_cycles * steps - np.rint(half_cycles * steps))
        if (off < 1e-6 * steps).all() and (half_cycles * steps > 0.5).all():
            return steps
    counts = np.arange(2, FINEST + 1)
    off = [np.abs(half_cycles * n - np.maximum(1, np.rint(half_cycles * n))).max() / n for n in counts]
    return int(counts[int(np.argmin(off))])


def _drawn(half_cycles):
    return np.repeat(1.0 - 2.0 * (np.arange(len(half_cycles)) % 2), half_cycles).astype(np.float32)


def _shifted(value, size):
    """Cells by the beat at which they end, counted from the stretch's end when turned round."""
    return np.concatenate((np.full((size - 1, value.shape[1]), WORST, np.float32), value))[: len(value)]
