"""Formats: one choice for each floor, tied together.

A `Format` says everything a writer and a reader must agree on. Any consistent choice encodes and decodes, so
learners build their own.
"""

from dataclasses import dataclass, field, replace
from itertools import pairwise, product

import numpy as np

from .blocks import LARGEST, PARITY_EXTRA, SMALLEST, inverted, upright
from .cells import CellCode, CycleLength
from .checks import CHECKS, check
from .errors import SettingError
from .frames import Frame
from .leader import Leader
from .marks import Marks
from .repair_outer import Outer
from .tones import TwoTones

__all__ = ["Format"]

SAMPLES_PER_HALF_CYCLE = 1.5  # fewest that a rate must give the shortest half-cycle
APART = 0.15  # cycles nearer to each other than this part could not be told apart


@dataclass(frozen=True)
class Format:
    """How data lies on a tape.

    Parameters
    ----------
    name : str
        What it is called on the command line.
    unit_hz : float
        One unit of time is one cycle of this frequency (at ordinary speed).
    code : CellCode
        Bit cells: `CycleLength`, `TwoTones`, `TonePair` or one of `linecodes`.
    leader : Leader or Marks
        Leader and sync mark; with `Marks` it is a stream: bytes alone follow, with no kind, header or check.
    frame : Frame
        Bits round each byte, and their order.
    check : str
        Name of the check that ends each block, one of `kit.checks.CHECKS`.
    block_bytes : int
        Data bytes a block, 16 to 4080.
    lead_in_s, leader_s, gap_s : float
        Leader before the first block of a tape, before later headers, between blocks; in seconds.
    tail_cycles : int
        Leader cycles that close a block, so that its last edge exists.
    copies : int
        How often each block is written.
    copies_apart : bool
        False if each copy follows its block; True if the whole file is written, and then the whole file again.
    inverted_copies : bool
        True if every second copy is written with every bit of its bytes inverted (start, stop and parity bits
        are not), so that a fault that favours one bit cannot hit both alike. There must be two copies or more.
    outer : Outer, optional
        Parity blocks that bring back lost blocks.
    about : str
        One line for people who choose.
    """

    name: str
    unit_hz: float = 2400.0
    code: CellCode = field(default_factory=CycleLength)
    leader: Leader = field(default_factory=Leader)
    frame: Frame = field(default_factory=Frame)
    check: str = "crc-16/ibm-3740"
    block_bytes: int = 1024
    lead_in_s: float = 5.0
    leader_s: float = 2.0
    gap_s: float = 0.3
    tail_cycles: int = 8
    copies: int = 1
    copies_apart: bool = False
    inverted_copies: bool = False
    outer: Outer | None = None
    about: str = ""

    def __post_init__(self):
        _in_range("unit_hz", self.unit_hz, 1.0, 100_000.0, "Hz")
        _in_range("block_bytes", self.block_bytes, SMALLEST, LARGEST, "bytes")
        for name in ("lead_in_s", "leader_s", "gap_s"):
            _in_range(name, getattr(self, name), 0.0, 600.0, "s")
        _in_range("tail_cycles", self.tail_cycles, 5, 1000, "cycles")
        _in_range("copies", self.copies, 1, 9, "copies")
        for name in ("block_bytes", "tail_cycles", "copies"):
            if not isinstance(getattr(self, name), int):
                raise SettingError(f"{name} must be a whole number, got {getattr(self, name)!r}")
        check(self.check)
        if self.stream:
            self._is_bare()
        else:
            self._cycles_differ()
        self._can_be_mended()

    def _can_be_mended(self):
        if self.inverted_copies and self.copies < 2:
            raise SettingError(
                f"copies must be 2 or more where every second one is inverted, got {self.copies!r}: write a copy"
            )
        if self.outer is not None and self.block_bytes > LARGEST - PARITY_EXTRA:
            raise SettingError(
                f"block_bytes must be {LARGEST - PARITY_EXTRA} at most with parity blocks, "
                f"got {self.block_bytes!r} bytes"
            )

    def _is_bare(self):
        """A stream is a tone of ones, and characters in it that show where they begin: nothing else is there."""
        bare = {"check": "none", "copies": 1, "outer": None}
        for name, value in bare.items():
            if getattr(self, name) != value:
                raise SettingError(
                    f"{name} must be {value!r} in a stream, got {getattr(self, name)!r}: "
                    "nothing but bytes is on the tape"
                )
        if not isinstance(self.code, TwoTones) or self.leader.leader_units != self.code.one_units:
            raise SettingError(
                "a stream must have bits of two tones, and marks of the tone of ones, "
                f"got {self.code!r} and {self.leader!r}"
            )
        if self.frame.start_bits[:1] != "0" or self.frame.stop_bits[-1:] != "1":
            raise SettingError(
                "a stream must have start bits that begin with 0 and stop bits that end with 1, "
                f"got {self.frame.start_bits!r} and {self.frame.stop_bits!r}"
            )

    def _cycles_differ(self):
        """Bit cells, sync and leader must be told apart by length alone."""
        leader = {"sync": self.leader.sync_units, "leader": self.leader.leader_units}
        if self.code.draws_alike:
            lengths = {"zero": self.code.zero_units, "one": self.code.one_units, **leader}
            pairs = list(pairwise(sorted(lengths.items(), key=lambda item: item[1])))
        else:
            data = [("data", length) for length in self.code.cycle_lengths_units]
            pairs = [sorted(pair, key=lambda item: item[1]) for pair in product(data, leader.items())]
        for (near, short), (far, long) in pairs:
            if long - short < APART * long:
                raise SettingError(
                    f"cycles of {near} and {far} must differ by {APART:.0%} at least, "
                    f"got {short:g} and {long:g} units"
                )

    @classmethod
    def of_half_cycles(cls, name, *, zero_s, one_s, sync_s, leader_s, **settings):
        """A format from the half-cycles themselves, in seconds; `settings` are the other parameters."""
        unit_s = 2 * zero_s
        if not unit_s > 0:
            raise SettingError(f"half-cycles must be longer than 0 s, got {zero_s!r} s for a zero")
        return cls(
            name,
            unit_hz=1 / unit_s,
            code=CycleLength(1.0, 2 * one_s / unit_s),
            leader=Leader(2 * leader_s / unit_s, 2 * sync_s / unit_s),
            **settings,
        )

    def changed(self, **settings):
        """The same format with some settings changed."""
        return replace(self, **settings)

    @property
    def stream(self):
        """True if bytes follow the leader as they are: what they mean is not said, and nothing checks them."""
        return isinstance(self.leader, Marks)

    @property
    def check_bytes(self):
        """Bytes of check at the end of each block."""
        return CHECKS[self.check].size_bytes

    @property
    def shortest_units(self):
        """Length of the shortest cycle that occurs, in units."""
        leader = [self.leader.leader_units] if self.stream else [self.leader.leader_units, self.leader.sync_units]
        return min(self.code.shortest_cycle_units, *leader)

    @property
    def bits_per_second(self):
        """Mean bit rate inside a block, zeros and ones being equally many, at ordinary speed."""
        return self.unit_hz / ((self.code.shortest_units + self.code.longest_units) / 2)

    @property
    def cycles(self):
        """What must be known to find where blocks start: formats that share it can be listened for together."""
        return self.unit_hz, self.leader, self.leader.sync_bounds(self.code)

    def reads_like(self, other):
        """Whether blocks of another format read as blocks of this one: cells, frames and check are the same."""
        names = ("unit_hz", "code", "leader", "frame", "check")
        return all(getattr(self, name) == getattr(other, name) for name in names)

    def unit_s(self, speed=1.0):
        """Seconds in a unit at a speed."""
        return 1 / (self.unit_hz * speed)

    def needed_rate(self, speed=1.0):
        """Fewest samples per second that can carry the format at a speed.

        Examples
        --------
        >>> Format("house").needed_rate(speed=4)
        28800.0
        """
        return SAMPLES_PER_HALF_CYCLE * 2 * self.unit_hz * speed / self.shortest_units

    def block_bits(self, content):
        """Bits of a block's bytes with its check, framed; shape (n,), uint8.

        `content` begins with the kind; of an inverted copy it is inverted already, and its check will be. In a
        stream it is the bytes alone.
        """
        if self.stream:
            return self.frame.to_bits(content)
        content, turned = upright(content)
        content += CHECKS[self.check].compute(content)
        return self.frame.to_bits(inverted(content) if turned else content)

    def block_half_cycles(self, content, leader_s, speed=1.0):
        """A whole block as half-cycles in seconds: leader, sync (if there is one), bit cells, tail."""
        unit_s = self.unit_s(speed)
        cycles = max(5, round(leader_s / (self.leader.leader_units * unit_s)))
        parts = (
            self.leader.encode(cycles),
            self.code.encode(self.block_bits(content)),
            self.leader.encode(self.tail_cycles, sync=False),
        )
        return np.concatenate(parts) * unit_s


def _in_range(name, value, low, high, unit):
    if not (isinstance(value, (int, float)) and low <= value <= high):
        raise SettingError(f"{name} must lie in {low:g} to {high:g} {unit}, got {value!r}")
