"""Which readings of streams stand: nothing vouches for a stream, so anything that is vouched for comes first."""

import numpy as np

__all__ = ["streams_that_stand"]

INSIDE = 0.5  # part of the shorter of two streams that must lie in the other, for them to be in one place
ALIKE = 0.5  # part of their bytes that must agree for two sides to carry one tape


def streams_that_stand(streams, blocks):
    """Those of some streams that are kept.

    Parameters
    ----------
    streams : list of FoundBlock
        As read from all sides, and by all formats of streams that were listened for.
    blocks : list of FoundBlock
        What else was found, whole or damaged.

    Returns
    -------
    list of FoundBlock
        In order of time. None overlaps a block of a format that says what it is; of those in one place the one with
        the fewest bytes in doubt is kept, and another side only if it carries a tape of its own.
    """
    kept = []
    for stream in sorted(streams, key=_trust, reverse=True):
        if not any(_vouches_against(block, stream) for block in blocks) and not any(
            _in_one_place(stream, other) and not _apart(stream, other) for other in kept
        ):
            kept.append(stream)
    return sorted(kept, key=lambda block: block.span_s)


def _trust(stream):
    return float(np.mean(~stream.doubtful)), len(stream.content), float(np.mean(stream.margins))


def _shared_s(one, other):
    (a, b), (c, d) = one.span_s, other.span_s
    return min(b, d) - max(a, c)


def _vouches_against(block, stream):
    """Whether a block of another kind lies where a stream was read; a damaged one of no kind says nothing."""
    return not block.stream and _shared_s(block, stream) > 0 and (block.whole or block.trust[0] > 0)


def _in_one_place(one, other):
    shortest = min(block.span_s[1] - block.span_s[0] for block in (one, other))
    return _shared_s(one, other) > INSIDE * shortest


def _apart(one, other):
    """Whether two streams in one place are of two sides with a tape each."""
    if one.side == other.side:
        return False
    size = min(len(one.content), len(other.content))
    mine, theirs = (np.frombuffer(block.content[:size], np.uint8) for block in (one, other))
    return bool(np.mean(mine == theirs) < ALIKE)
