"""A format of one's own: what the designer's controls stand for, and where the seconds of its tape go."""

from dataclasses import dataclass

import numpy as np

from ..blocks import DATA, HEADER, PARITY
from ..formats import Format
from ..frames import Frame
from ..known import find_format
from ..leader import Leader
from ..repair_outer import Outer
from ..sides import TapeFile, tape_blocks
from .fields import State, choice, number, switch

__all__ = ["CODES", "FILE_BYTES", "PARTS", "DesignerState", "build", "file_bytes", "longest_bytes", "parts_s"]

CODES = {
    "cycle length": find_format("house").code,
    "two tones": find_format("steady").code,
    "phase flips": find_format("flips").code,
    "biphase mark": find_format("biphase").code,
    "phase encoding": find_format("phase").code,
    "delay modulation": find_format("delay").code,
    "on-off tone": find_format("on-off").code,
    "raw levels": find_format("levels").code,
}
CHECKED_BY = ("none", "parity", "sum-8", "fletcher-16", "crc-16/ibm-3740", "crc-32/iso-hdlc")
DECKS = ("studio", "home", "portable", "worn", "room")
GROUP_BLOCKS = 4  # data blocks that share their parity blocks
FILE_BYTES = 128
PARTS = ("leaders", "headers", "data", "parity", "rest")
SYNC_PART = 0.75  # of a leader cycle, as in the kit's own format


@dataclass(frozen=True)
class DesignerState(State):
    """One choice for each part of a format, and the recorder it is for."""

    code: str = choice("cycle length", tuple(CODES), "Cell code")
    unit_hz: float = number(2400.0, 600.0, 19200.0, 10, "Hz", "Unit", log=True, hint="a unit is one cycle of this")
    leader_units: float = number(4.0, 1.0, 8.0, 0.5, "units", "Leader cycle", hint="the sync mark has three quarters")
    leader_s: float = number(0.3, 0.1, 1.5, 0.1, "s", "Leader before each block")
    check: str = choice("crc-16/ibm-3740", CHECKED_BY, "Check")
    framed: bool = switch(False, "Start and stop bits")
    block_bytes: int = choice(64, (16, 32, 64, 128), "Bytes in a block")
    copies: int = choice(1, (1, 2, 3), "Copies")
    parity_blocks: int = choice(0, (0, 1, 2), f"Parity blocks to {GROUP_BLOCKS} data blocks")
    deck: str = choice("portable", DECKS, "Recorder")
    tapes: int = choice(3, (3, 10, 20), "Tapes tried")


def build(state):
    """The format that the controls stand for.

    Parameters
    ----------
    state : DesignerState

    Returns
    -------
    Format

    Raises
    ------
    SettingError
        The choices do not go together.
    """
    leader = Leader(state.leader_units, SYNC_PART * state.leader_units)
    frame = Frame(start_bits="0", stop_bits="1") if state.framed else Frame()
    outer = Outer(GROUP_BLOCKS, state.parity_blocks, interleave=1) if state.parity_blocks else None
    return Format(
        "own", unit_hz=state.unit_hz, code=CODES[state.code], leader=leader, frame=frame, check=state.check,
        block_bytes=state.block_bytes, lead_in_s=state.leader_s, leader_s=state.leader_s, gap_s=state.leader_s,
        copies=state.copies, outer=outer,
    )


def file_bytes(seed):
    """The file that is written: random bytes."""
    return np.random.default_rng(seed).bytes(FILE_BYTES)


def longest_bytes(format):
    """Bytes of the longest block of such a file's tape, kind byte and check included."""
    return max(len(body) for _, body in _blocks(format)) + format.check_bytes


def _blocks(format):
    return tape_blocks([TapeFile("own.bin", file_bytes(0))], format)


def parts_s(format):
    """Seconds of a tape by `PARTS`."""
    parts = dict.fromkeys(PARTS, 0.0)
    names = {HEADER: "headers", DATA: "data", PARITY: "parity"}
    for leader_s, body in _blocks(format):
        whole = format.block_half_cycles(body, leader_s).sum()
        cycle_s = format.leader.leader_units * format.unit_s()
        leader = max(5, round(leader_s / cycle_s)) * cycle_s
        content = format.code.encode(format.frame.to_bits(body)).sum() * format.unit_s()
        parts["leaders"] += leader
        parts[names[body[0]]] += content
        parts["rest"] += whole - leader - content
    return np.array(list(parts.values()))
