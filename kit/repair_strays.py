"""Repair: which damaged blocks without a place need no more attention, as what they held was got otherwise."""

from bisect import bisect
from itertools import pairwise

from .found import DAMAGED
from .repair_copies import copy_of_header

__all__ = ["explain_strays"]


def explain_strays(entries, complete):
    """Mark damaged blocks as spare that lie inside a file got whole, or are headers of one.

    Parameters
    ----------
    entries : list of Entry
        In the order of the tape; `spare` is changed.
    complete : list of Header
        Headers of the files whose CRC-32 agrees.
    """
    complete = {header.tag: header for header in complete}
    apart = _two_tapes(entries)
    lanes = {}
    for entry in entries:
        lanes.setdefault((entry.block.recording, entry.block.side if apart else ""), []).append(entry)
    for lane in lanes.values():
        known = [k for k, entry in enumerate(lane) if _tag(entry) is not None]
        for k, entry in enumerate(lane):
            if entry.block.verdict == DAMAGED and _tag(entry) is None and not entry.spare:
                entry.spare = _explained(lane, known, k, complete)


def _tag(entry):
    """Tag of the file an entry belongs to, or None."""
    if entry.header is not None:
        return entry.header.tag
    return entry.parity.tag if entry.parity is not None else entry.tag


def _explained(lane, known, k, complete):
    block, place = lane[k].block, bisect(known, k)
    before = lane[known[place - 1]] if place else None
    after = lane[known[place]] if place < len(known) else None
    tags = [_tag(entry) for entry in (before, after) if entry is not None]
    if any(tag not in complete for tag in tags):
        return False
    if len(tags) == 2 and tags[0] == tags[1]:
        return True
    if any(copy_of_header(block, e.block) for e in (before, after) if e is not None and e.header is not None):
        return True
    # A header that was to open or to close a file: there, and no more of them than are written together.
    outer = block.format.outer
    most = block.format.copies * (outer.header_copies if outer else 1)
    if before is not None and _headers(lane[known[place - 1] :: -1]) + k - known[place - 1] <= most:
        return True
    return after is not None and _headers(lane[known[place] :]) + known[place] - k <= most


def _headers(entries):
    """With how many headers a row of blocks begins."""
    return next((k for k, entry in enumerate(entries) if entry.header is None), len(entries))


def _two_tapes(entries):
    """Whether two sides carry different tapes: blocks that read whole, at one time, on different sides."""
    whole = sorted((e.block for e in entries if e.whole), key=lambda b: (b.recording, b.span_s))
    return any(
        one.recording == other.recording and one.side != other.side and other.span_s[0] < one.span_s[1]
        for one, other in pairwise(whole)
    )
