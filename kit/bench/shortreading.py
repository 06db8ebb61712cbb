"""Reading a few bits behind one leader, as the benches need it: quick, and without the blocks of a whole tape."""

import numpy as np

__all__ = ["read_bits"]

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
    starts = format.leader.find(edges_s, format.code) if count else []
    if not starts:
        return NOTHING
    near = [start for start in starts[0] if start.fit < starts[0][0].fit + ALIKE]
    tried = [format.code.decode(edges_s[start.index :], start.unit, count) for start in near]
    best = max(tried, key=lambda cells: cells.margins.sum())
    return (best.bits, best.times) if len(best.bits) else NOTHING
