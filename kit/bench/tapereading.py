"""Reading a short tape block by block, as the benches need it: each block once, and no second look at what fails.

The tape's own reader looks again and again where something does not read; that takes seconds, where here a tenth
of one is all there is. What comes out is joined into files as ever.
"""

import numpy as np

from ..blocks import PART_START, length_of, upright
from ..checks import CHECKS
from ..found import CHECKED, UNCHECKED, FoundBlock
from ..reading import Reading
from ..waves import edges

__all__ = ["read_tape"]

STEADY = 0.15  # part by which leader cycles may differ from the usual
LEADER_PART = 0.5  # of a leader that must be heard before a block
FEWEST_CYCLES = 4


def read_tape(sound, format, longest_bytes):
    """Read the blocks of a recording that read at once.

    Parameters
    ----------
    sound : Sound
        Mono.
    format : Format
        Of whole blocks, not a stream.
    longest_bytes : int
        Of a block, kind byte and check included.

    Returns
    -------
    Reading
        Of blocks that their check vouches for, or, where there is none, that are as long as they say.
    """
    turns_s = edges(sound.samples, sound.rate)
    blocks, after = [], 0
    for group in format.leader.find(turns_s, format.code):
        start = group[0]
        if start.index < after or not _has_leader(turns_s, start, format):
            continue
        block = next(filter(None, (_block(turns_s, one, format, longest_bytes) for one in group)), None)
        if block is not None:
            blocks.append(block)
            after = int(np.searchsorted(turns_s, block.stop_s))
    return Reading.of(blocks, (), sound.seconds)


def _has_leader(turns_s, start, format):
    """Whether steady cycles of leader come before a sync mark, for half as long as they should."""
    cycle_s = format.leader.leader_units * start.unit
    stop = start.index - 2 * format.leader.sync_cycles
    count = max(FEWEST_CYCLES, int(LEADER_PART * min(format.leader_s, format.gap_s) / cycle_s))
    if stop < 2 * count:
        return False
    cycles = np.diff(turns_s[stop - 2 * count : stop + 1 : 2])
    return bool(np.mean(np.abs(cycles - cycle_s) < STEADY * cycle_s) > 0.9)


def _block(turns_s, start, format, longest_bytes):
    """The block that begins at a start, or None if it does not read."""
    each = format.frame.bits_per_byte
    turns_s = turns_s[start.index :]
    opening = format.frame.to_bytes(format.code.decode(turns_s, start.unit, PART_START * each).bits)[0]
    length = length_of(opening.tobytes())
    if length is None or length + format.check_bytes > longest_bytes:
        return None
    stop = length + format.check_bytes
    cells = format.code.decode(turns_s, start.unit, stop * each)
    content, doubt = format.frame.to_bytes(cells.bits)
    content, _ = upright(content.tobytes())
    if len(content) < stop:
        return None
    if format.check != "none" and not CHECKS[format.check].agrees(content[:length], content[length:stop]):
        return None
    kept = slice(0, stop * each)
    times = cells.times[: stop * each + 1]
    return FoundBlock(format, content[:stop], doubt[:stop], CHECKED if format.check_bytes else UNCHECKED,
                      cells.bits[kept], cells.margins[kept], (times - times[0]).astype(np.float32), float(times[0]),
                      float(times[0]), start.unit)
