"""Why a block did not read: what is nearest in time, and the samples to look at."""

from dataclasses import dataclass

import numpy as np

from kit.found import ranges

__all__ = ["BlockTrouble", "explain_blocks"]

AROUND_S = 0.02
NEAR_S = 0.05
MOST_LOOKED_S = 0.12
WEAK = 0.3


@dataclass(frozen=True)
class BlockTrouble:
    """A block that did not read.

    Attributes
    ----------
    start_s, stop_s : float
        Where it lies.
    look_s : (float, float)
        Where the trouble is, in seconds.
    samples : (int, int)
        The same in samples: first, and one past the last.
    cause : str
        Key of the finding it is laid to; empty if none.
    text : str
        One line.
    """

    start_s: float
    stop_s: float
    look_s: tuple
    samples: tuple
    cause: str
    text: str


def explain_blocks(seen, findings):
    """Say of each block that did not read what is to blame.

    Parameters
    ----------
    seen : Evidence
    findings : list of Finding
        In order of harm.

    Returns
    -------
    list of BlockTrouble
        In order of time.
    """
    return [_explained(block, seen, findings) for block in sorted(seen.bad, key=lambda block: block.span_s)]


def _explained(block, seen, findings):
    start, stop = block.span_s
    dip = _nearest_dip(seen.dips, start, stop)
    cause = _cause(block, seen, findings, dip)
    weak = (dip.start_s, dip.stop_s) if dip is not None and cause == "dropouts" else _weakest(block)
    first, last = max(0.0, weak[0] - AROUND_S), min(seen.seconds, weak[1] + AROUND_S)
    last = min(max(last, first + 2 / seen.rate), first + MOST_LOOKED_S)
    samples = round(first * seen.rate), round(last * seen.rate)
    name = next((f.name for f in findings if f.key == cause), "nothing measured explains it")
    text = (f"block at {start:.2f} to {stop:.2f} s, {_how_bad(block)}: {name}; "
            f"look at {first:.3f} to {last:.3f} s")
    return BlockTrouble(start, stop, (first, last), samples, cause, text)


def _how_bad(block):
    """What of a block is in doubt, in words: it does not read even where no byte stands out."""
    count, total = int(np.count_nonzero(block.doubtful)), len(block.content)
    if count:
        return f"{count} of {total} byte{'s' * (total != 1)} in doubt"
    if block.headless:
        return f"its beginning lost and only its last {total} byte{'s' * (total != 1)} heard"
    return f"its check does not agree, though none of {total} byte{'s' * (total != 1)} stands out"


def _nearest_dip(dips, start, stop):
    """The deepest dropout in a block, or right beside it."""
    inside = [dip for dip in dips if dip.start_s < stop + NEAR_S and dip.stop_s > start - NEAR_S]
    return max(inside, key=lambda dip: dip.depth_db, default=None)


def _cause(block, seen, findings, dip):
    """The finding to blame: one that lies in the block, or else the most harmful that lies everywhere."""
    keys = [finding.key for finding in findings if finding.harm_db >= 1]
    if "end_cut" in keys and block.span_s[1] > seen.seconds - 0.3:
        return "end_cut"
    if "start_cut" in keys and block.headless and block.span_s[0] < 0.5:
        return "start_cut"
    if dip is not None and dip.depth_db > 6 and "dropouts" in keys:
        return "dropouts"
    everywhere = [key for key in keys if key not in ("dropouts", "start_cut", "end_cut", "other_format")]
    return everywhere[0] if everywhere else keys[0] if keys else ""


def _weakest(block):
    """Where the bytes in doubt begin, or the weakest bit lies."""
    spans = ranges(block.doubtful)
    weak = np.flatnonzero(block.margins < WEAK)
    each = block.bits_per_byte
    for first, last in spans:
        inside = weak[(weak >= first * each) & (weak < last * each)]
        if len(inside):
            bit = int(inside[0])
            times = sorted(block.start_s + block.cell_s[[bit, min(bit + 1, len(block.cell_s) - 1)]].astype(float))
            return float(times[0]), float(times[1])
    if spans:
        times = (*block.byte_span_s(spans[0][0]), *block.byte_span_s(min(spans[0][1], len(block.content)) - 1))
        return min(times), max(times)
    return block.span_s
