"""Spans: how blocks lie against each other on the tape, and whether two readings are of the same one."""

import numpy as np

__all__ = ["apart", "common", "joined", "overlapping", "same_block"]


def overlapping(blocks, block):
    start, stop = block.span_s
    return [b for b in blocks if b.span_s[0] < stop and b.span_s[1] > start]


def apart(one, other):
    """How far two blocks lie apart, as a part of the longer: 0 is the same place."""
    (a, b), (c, d) = one.span_s, other.span_s
    return (abs(a - c) + abs(b - d)) / max(b - a, d - c)


def same_block(damaged, other):
    """Whether a damaged reading is of a block that has been read, or damaged less, in the same place."""
    start, stop = damaged.span_s
    first, last = other.span_s
    inside = min(stop, last) - max(start, first)
    if inside < 0.5 * (stop - start):
        return False
    if other.side == damaged.side or other.headless or damaged.headless:
        return True
    size = min(len(other.content), len(damaged.content))
    sure = ~damaged.doubtful[:size] & ~other.doubtful[:size]
    mine = np.frombuffer(damaged.content[:size], np.uint8)[sure]
    theirs = np.frombuffer(other.content[:size], np.uint8)[sure]
    # Two tapes on two sides agree in one byte of many by chance; one tape agrees nearly everywhere.
    return len(mine) < 16 or np.mean(mine == theirs) > 0.5


def joined(spans):
    """Spans in order; those nearer to each other than the third number are made one."""
    joined = []
    for start, stop, gap in sorted(spans):
        if joined and start - joined[-1][1] < gap:
            joined[-1] = (joined[-1][0], max(stop, joined[-1][1]))
        else:
            joined.append((start, stop))
    return joined


def common(one, other):
    return [(max(a, c), min(b, d)) for a, b in one for c, d in other if max(a, c) < min(b, d)]
