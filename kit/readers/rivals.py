"""Rivals: the next likeliest rows of cells, for a check to choose among.

Noise turns a one into two zeros, two zeros into a one, or swaps a zero and a one beside each other. Where it is
known how many cells there are, the first two must come in pairs.
"""

import numpy as np

__all__ = ["rivals"]

LIKELIEST = 12  # changes of each kind that are combined


def rivals(path, values, lengths, most):
    """Rows of as many bits in order of likelihood, after the likeliest.

    Parameters
    ----------
    path : Path
    values : ndarray of float32, shape (2, beats)
        How well each bit's cell fits at each beat.
    lengths : tuple of int
        Beats in a cell of each bit.
    most : int
        How many to give at most.

    Yields
    ------
    ndarray of uint8, shape (cells,)
    """
    changes = list(_changes(path, values, lengths))
    alone = [c for c in changes if c[1] == 0]
    more = sorted(c for c in changes if c[1] > 0)[:LIKELIEST]
    fewer = sorted(c for c in changes if c[1] < 0)[:LIKELIEST]
    pairs = [(a[0] + b[0], a, b) for a in more for b in fewer if a[2] + a[3] <= b[2] or b[2] + b[3] <= a[2]]
    ranked = sorted([(c[0], c) for c in alone] + pairs, key=lambda entry: entry[0])
    for _, *parts in ranked[:most]:
        bits = path.bits
        for _, _, first, count, new in sorted(parts, key=lambda c: -c[2]):
            bits = np.concatenate((bits[:first], np.array(new, np.uint8), bits[first + count :]))
        yield bits


def _changes(path, values, lengths):
    """Changes of one place: cost, cells gained, first cell, cells replaced, what by; the cheapest of each kind."""
    starts, bits = path.bounds[:-1], path.bits
    if lengths[0] == lengths[1]:
        yield from _cheapest(values[bits, starts] - values[1 - bits, starts], np.arange(len(bits)), 0, 1, bits)
        return
    short = int(lengths[1] < lengths[0])
    if lengths[1 - short] != 2 * lengths[short]:
        return
    step = lengths[short]
    last = values.shape[1] - 1
    pair = values[short] + values[short][np.minimum(np.arange(last + 1) + step, last)]
    is_long = bits != short
    at = np.flatnonzero(is_long)
    yield from _cheapest(values[1 - short, starts[at]] - pair[starts[at]], at, 1, 1, (short, short))
    at = np.flatnonzero(~is_long[1:] & ~is_long[:-1])
    yield from _cheapest(pair[starts[at]] - values[1 - short, starts[at]], at, -1, 2, (1 - short,))
    for first in (False, True):
        at = np.flatnonzero((is_long[:-1] == first) & (is_long[1:] != first))
        here, there = (1 - short, short) if first else (short, 1 - short)
        now = values[here, starts[at]] + values[there, starts[at] + lengths[here]]
        then = values[there, starts[at]] + values[here, starts[at] + lengths[there]]
        yield from _cheapest(now - then, at, 0, 2, (there, here))


def _cheapest(cost, at, gained, replaced, new):
    order = np.argsort(cost)[:LIKELIEST]
    for k in order:
        first = int(at[k])
        what = (int(1 - new[first]),) if isinstance(new, np.ndarray) else new
        yield float(cost[k]), gained, first, replaced, what
