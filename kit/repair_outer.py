"""The outer code, downward: blocks of parity over groups of data blocks, dealt so that a scratch hits many groups.

Byte i of every data block of a group, with byte i of each of its parity blocks, is one Reed–Solomon codeword
(`kit.repair_field`). As each block has a check of its own, it is known which blocks are lost; m parity blocks
bring back any m lost blocks of their group.

A file's data blocks keep their order on the tape. They are taken in runs of as many as `interleave` groups hold;
neighbours in a run belong to different groups, and the run's parity blocks follow it, dealt on in the same way:
two blocks of one group never lie nearer to each other than the number of groups in the run.
"""

import struct
from dataclasses import dataclass

import numpy as np

from .blocks import PARITY, PARITY_EXTRA, PART_START
from .errors import SettingError
from .repair_field import LONGEST, parity_rows

__all__ = ["MOST_INTERLEAVE", "Group", "Outer", "ParityPart"]

MOST_INTERLEAVE = 32
_PARITY = struct.Struct(">HHHBBBB")


@dataclass(frozen=True)
class Group:
    """Data blocks that are protected together.

    Parameters
    ----------
    first : int
        Number of its first data block in the file.
    step : int
        From each of its blocks to the next.
    data_blocks, parity_blocks : int
        How many of each.
    """

    first: int
    step: int
    data_blocks: int
    parity_blocks: int

    @property
    def numbers(self):
        """Numbers of its data blocks."""
        return range(self.first, self.first + self.step * self.data_blocks, self.step)


@dataclass(frozen=True)
class ParityPart:
    """The payload of a parity block; big-endian, after the kind byte 3.

    ======  ====  ==================================================================
    offset  size  field
    ======  ====  ==================================================================
    0       2     file tag: low half of the file's CRC-32, as in data blocks
    2       2     number of the group's first data block
    4       2     length of the parity bytes plus 4
    6       1     step from one data block of the group to the next
    7       1     data blocks in the group
    8       1     parity blocks in the group
    9       1     which of these it is, from 0
    10            parity bytes: as many as the group's longest data block has
    ======  ====  ==================================================================

    Parameters
    ----------
    tag : int
    group : Group
    index : int
    data : bytes
    """

    tag: int
    group: Group
    index: int
    data: bytes

    START = PART_START + PARITY_EXTRA  # bytes of a parity block before its parity bytes

    def pack(self):
        """The payload's bytes."""
        group = self.group
        start = (self.tag, group.first, PARITY_EXTRA + len(self.data))
        return _PARITY.pack(*start, group.step, group.data_blocks, group.parity_blocks, self.index) + self.data

    @classmethod
    def unpack(cls, payload):
        """A parity part from a payload, or None where the bytes make none."""
        if len(payload) <= _PARITY.size:
            return None
        tag, first, length, step, data_blocks, parity_blocks, index = _PARITY.unpack_from(payload)
        data = bytes(payload[_PARITY.size :])
        sizes = 1 <= step <= MOST_INTERLEAVE and data_blocks >= 1 and data_blocks + parity_blocks <= LONGEST
        if not sizes or index >= parity_blocks or length != PARITY_EXTRA + len(data):
            return None
        return cls(tag, Group(first, step, data_blocks, parity_blocks), index, data)


@dataclass(frozen=True)
class Outer:
    """How many blocks are protected together, by how many, and how they are dealt.

    Parameters
    ----------
    data_blocks, parity_blocks : int
        Blocks of each kind in a full group; together 255 at most. Short files have shorter groups.
    interleave : int
        Groups whose blocks take turns on the tape, 1 to 32.
    header_copies : int
        How often the header is written at either end of the file, 1 to 9; each after a leader of the format's
        `leader_s`, so that one scratch does not take two.

    Examples
    --------
    >>> [list(group.numbers) for group in Outer(2, 1, interleave=2).groups(7)]
    [[0, 2], [1, 3], [4, 6], [5]]
    """

    data_blocks: int = 16
    parity_blocks: int = 4
    interleave: int = 3
    header_copies: int = 2

    def __post_init__(self):
        limits = {
            "data_blocks": LONGEST - 1,
            "parity_blocks": LONGEST - 1,
            "interleave": MOST_INTERLEAVE,
            "header_copies": 9,
        }
        for name, most in limits.items():
            value = getattr(self, name)
            if not (isinstance(value, int) and 1 <= value <= most):
                raise SettingError(f"{name} must be a whole number from 1 to {most}, got {value!r}")
        if self.data_blocks + self.parity_blocks > LONGEST:
            raise SettingError(
                f"data_blocks and parity_blocks must be {LONGEST} together at most, got "
                f"{self.data_blocks} and {self.parity_blocks}: make the groups smaller"
            )

    def groups(self, blocks):
        """The groups of a file of so many data blocks, in order of their first block."""
        return [group for run in self._runs(blocks) for group in run]

    def _runs(self, blocks):
        """Groups that take turns, run by run."""
        for first in range(0, blocks, self.data_blocks * self.interleave):
            held = min(blocks - first, self.data_blocks * self.interleave)
            step = -(-held // self.data_blocks)
            yield [
                Group(first + k, step, -(-(held - k) // step), self.parity_blocks) for k in range(step)
            ]

    def bodies(self, parts):
        """Data blocks and parity blocks of a file in the order of the tape, kind byte first.

        Parameters
        ----------
        parts : list of DataPart

        Yields
        ------
        bytes
        """
        for run in self._runs(len(parts)):
            first, held = run[0].first, sum(group.data_blocks for group in run)
            yield from (part.body() for part in parts[first : first + held])
            parity = [_parity_parts(group, parts) for group in run]
            for k in range(self.parity_blocks * len(run)):
                # The turns go on where the data blocks left off.
                part = parity[(held + k) % len(run)][k // len(run)]
                yield bytes([PARITY]) + part.pack()


def _parity_parts(group, parts):
    rows = [parts[number].data for number in group.numbers]
    size = max(map(len, rows))
    data = np.stack([np.frombuffer(row.ljust(size, b"\0"), np.uint8) for row in rows])
    return [
        ParityPart(parts[group.first].tag, group, index, row.tobytes())
        for index, row in enumerate(parity_rows(data, group.parity_blocks))
    ]
