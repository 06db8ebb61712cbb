"""Reading a few bits behind one leader, as the benches need it: quick, and without the blocks of a whole tape."""

from dataclasses import replace

import numpy as np

from ..readers.counter import counted

__all__ = ["read_bits", "read_cells"]

ALIKE = 0.5  # starts whose sync mark fits worse than the best by more than this are not tried
NOTHING = np.zeros(0, np.uint8), np.zeros(0)


def read_bits(format, edges_s, count):
    """Bits behind the first sync mark.

    Parameters
    ----------
    format : kit.Format
    edges_s : ndarray of float64, shape (edges,)
        Where the wave turned, in seconds.
    count : int
        How many bits there are.

    Returns
    -------
    bits : ndarray of uint8, shape (bits,)
        Fewer than `count`, or none, if there are no more.
    times_s : ndarray of float64, shape (bits + 1,)
        Where each cell begins, and the last one ends; empty if there is none.

    Notes
    -----
    Where several edges may be the first of the data, a tape's reader lets the check decide; here the start
    whose cells fit best is taken.
    """
    cells = read_cells(format, edges_s, count)
    return NOTHING if cells is None else (cells.bits, cells.times)


def read_cells(format, edges_s, count, counter=None, opening=()):
    """Cells behind the first sync mark, by the timer or by a counter; parameters else as in `read_bits`.

    Parameters
    ----------
    counter : kit.Counter, optional
        Reads with a clock, or a threshold, that never adjusts.
    opening : array_like of int, shape (n,)
        Bits with which all blocks begin: of several starts those are taken that have most of them right.

    Returns
    -------
    kit.cells.Cells or None
        None if there is no bit.
    """
    code = format.code
    if counter is not None:
        code = counted(code, format, counter.restart)
        edges_s = np.ceil(edges_s / counter.loop_s) * counter.loop_s  # when the loop looks
    starts = format.leader.find(edges_s, code) if count else []
    if not starts:
        return None
    near = [start for start in starts[0] if start.fit < starts[0][0].fit + ALIKE]
    if counter is not None:
        near = [replace(start, unit=format.unit_s(counter.speed)) for start in near]
    tried = [code.decode(edges_s[start.index :], start.unit, count) for start in near]
    best = max(tried, key=lambda cells: (_agreeing(cells.bits, opening), cells.margins.sum()))
    return best if len(best.bits) else None


def _agreeing(bits, opening):
    count = min(len(bits), len(opening))
    return np.count_nonzero(bits[:count] == np.asarray(opening)[:count])
