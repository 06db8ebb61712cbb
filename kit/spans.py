"""Spans: how blocks lie against each other on the tape, and whether two readings are of the same one."""

from bisect import bisect_left, insort

import numpy as np

__all__ = ["BlockRow", "apart", "common", "joined", "same_block"]


class BlockRow:
    """Blocks in order of time, which finds those at a place without looking at all of them.

    Attributes
    ----------
    blocks : list of FoundBlock
    """

    def __init__(self):
        self.blocks = []
        self._longest_s = 0.0

    def add(self, block):
        """Put a block in its place."""
        insort(self.blocks, block, key=_start_s)
        self._longest_s = max(self._longest_s, block.span_s[1] - block.span_s[0])

    def between(self, start_s, stop_s):
        """Blocks that share some time with a stretch, in order."""
        first = bisect_left(self.blocks, start_s - self._longest_s, key=_start_s)
        stop = bisect_left(self.blocks, stop_s, key=_start_s)
        return [block for block in self.blocks[first:stop] if block.span_s[1] > start_s]


def _start_s(block):
    return block.span_s[0]


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
