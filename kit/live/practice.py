"""A practice tape, for those who have none at hand: the station's log, with a scratch in it."""

from ..tape import encode

__all__ = ["LOG", "practice_tape"]

LOG = ("Monday 0600. Wind west 5, rain before noon. Gulls: 3.\n"
       "Monday 1800. Wind north-west 6, showers. Boat not in sight.\n")
LEAD_IN_S, BLOCK_BYTES = 1.5, 64
SCRATCH_S = (2.15, 0.06)  # where it begins, and how long it is: in the data, and short
SEED = 3


def practice_tape():
    """Sound: a few seconds of tape that reads but for some bytes."""
    tape = encode(LOG.encode(), name="log.txt", lead_in_s=LEAD_IN_S, block_bytes=BLOCK_BYTES)
    return tape.scratch(*SCRATCH_S, SEED)
