"""What reading finds: blocks as heard, with their bits, margins and times, and events along the tape."""

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from . import blocks
from .formats import Format
from .repair_outer import ParityPart

__all__ = ["CHECKED", "DAMAGED", "MENDED", "UNCHECKED", "Event", "FoundBlock", "ranges"]

CHECKED, MENDED, UNCHECKED, DAMAGED = "checked", "mended", "unchecked", "damaged"


@dataclass(frozen=True)
class Event:
    """Something noticed while listening.

    Attributes
    ----------
    seconds : float
        Where in the recording.
    what : str
        One of leader, sync, header, data, check, damage, note.
    text : str
        One line for people.
    recording : int
        Number of the recording, from 0.
    """

    seconds: float
    what: str
    text: str
    recording: int = 0

    def __str__(self):
        return f"{self.seconds:9.3f} s  {self.what:7s} {self.text}"


@dataclass(frozen=True)
class FoundBlock:
    """A block as heard.

    Attributes
    ----------
    format : Format
    content : bytes
        The bytes as read, kind byte first, check last; of a stream the bytes alone.
    doubtful : ndarray of bool, shape (bytes,)
        True where a byte of `content` may be wrong.
    verdict : str
        checked, mended, unchecked or damaged.
    bits : ndarray of uint8, shape (bits,)
    margins : ndarray of float32, shape (bits,)
        1 is a cycle of just the right length, 0 one on the threshold; 0 too where nothing was heard.
    cell_s : ndarray of float32, shape (bits + 1,)
        Times of the cells' edges, in seconds from `start_s`; falling if the tape was recorded backwards. Of a
        stream float64, and the last stop bit of a character lasts to the start of the next.
    start_s : float
        Where the first cell begins, in seconds from the start of the recording.
    leader_s : float
        Where the leader before the block begins.
    unit_s : float
        Length of a unit in that leader, in seconds.
    backwards : bool
        True if the recording runs backwards here.
    inverted : bool
        True if it is a copy written with every bit inverted: `content` is upright, `bits` are as on the tape.
    headless : bool
        True if the block's beginning was lost: `content` is what was read back from its end.
    room_units : float
        Of a headless block whose start was heard: how much tape lies between that start and `content`, in
        units. NaN if unknown.
    side : str
        Which channel it was read from: mono, left, right, sum, difference.
    recording : int
        Number of the recording, from 0.
    note : str
        What it took to read, if anything.
    soft : ndarray of float32, shape (bits,), or None
        From readers that weigh bits: how much likelier a one is than a zero, as a natural logarithm.
    grid : ndarray of float32, shape (beats, steps), or None
        From the same readers, of a damaged block: half of how much likelier the wave is above zero than below in
        each step of time, as a natural logarithm. The grids of copies, or of sides, may be added.
    """

    format: Format
    content: bytes
    doubtful: np.ndarray
    verdict: str
    bits: np.ndarray
    margins: np.ndarray
    cell_s: np.ndarray
    start_s: float
    leader_s: float
    unit_s: float
    backwards: bool = False
    inverted: bool = False
    headless: bool = False
    room_units: float = float("nan")
    side: str = "mono"
    recording: int = 0
    note: str = field(default="", compare=False)
    soft: np.ndarray | None = field(default=None, compare=False)
    grid: np.ndarray | None = field(default=None, compare=False)

    @cached_property
    def stop_s(self):
        """Where the last cell ends, in seconds."""
        return self.start_s + float(self.cell_s[-1])

    @cached_property
    def span_s(self):
        """Where the block's cells lie: earlier and later end, in seconds."""
        return min(self.start_s, self.stop_s), max(self.start_s, self.stop_s)

    @property
    def middle_s(self):
        """Where its middle lies, in seconds."""
        return sum(self.span_s) / 2

    @property
    def whole(self):
        """True if nothing about the block is in doubt."""
        return self.verdict in (CHECKED, MENDED, UNCHECKED)

    @property
    def sure_bytes(self):
        """How many bytes are not in doubt."""
        return int(np.count_nonzero(~self.doubtful))

    @property
    def trust(self):
        """How far a damaged block is to be believed, to compare readings of one place: greater is better."""
        known = 2 if self.stream or self.kind in (blocks.HEADER, blocks.DATA, blocks.PARITY) else int(self.headless)
        return known, self.sure_bytes

    @property
    def stream(self):
        """True if its bytes followed a leader as they are: it has no kind, and nothing checks it."""
        return self.format.stream

    @property
    def payload(self):
        """The bytes between the kind byte and the check; of a stream all."""
        return self.content if self.stream else self.content[1 : len(self.content) - self.format.check_bytes]

    @property
    def kind(self):
        """1 header, 2 data, another number for an unknown kind, None if the kind was lost, or in a stream."""
        if self.stream or self.headless or not self.content or self.doubtful[0]:
            return None
        return self.content[0]

    @property
    def header(self):
        """The `Header` in it, or None."""
        if self.kind != blocks.HEADER or not self.whole:
            return None
        return blocks.Header.unpack(self.payload)

    @property
    def part(self):
        """The `DataPart` in it, or None; of a damaged block only if the bytes that place it are sure."""
        if self.kind != blocks.DATA or self.doubtful[: blocks.PART_START].any():
            return None
        return blocks.DataPart.unpack(self.payload)

    @property
    def parity_part(self):
        """The `ParityPart` in it, or None; of a damaged block only if the bytes that place it are sure."""
        if self.kind != blocks.PARITY or self.doubtful[: ParityPart.START].any():
            return None
        return ParityPart.unpack(self.payload)

    @property
    def bits_per_byte(self):
        """Bits on tape for each byte."""
        return self.format.frame.bits_per_byte

    @property
    def speed(self):
        """Speed of the recording there, as a part of the format's ordinary speed."""
        return self.format.unit_s() / self.unit_s

    def byte_span_s(self, index):
        """Where a byte of `content` lies: the times at which its cells begin and end, in seconds."""
        each = self.bits_per_byte
        edges = self.start_s + self.cell_s[[index * each, (index + 1) * each]].astype(float)
        if self.stream:  # what comes after the last stop bit is no part of the character
            last = self.start_s + float(self.cell_s[(index + 1) * each - 1])
            edges[1] = min(edges[1], last + (last - edges[0]) / (each - 1))
        return float(edges.min()), float(edges.max())

    def byte_margin(self, index):
        """Smallest margin among the bits of a byte of `content`."""
        each = self.bits_per_byte
        return float(self.margins[index * each : (index + 1) * each].min())

    def byte_at(self, seconds):
        """Number of the byte of `content` that lies at a time, or None."""
        offset = seconds - self.start_s
        times = self.cell_s
        cell = (
            np.searchsorted(-times, -offset, "left")
            if self.backwards
            else np.searchsorted(times, offset, "right")
        )
        index = (int(cell) - 1) // self.bits_per_byte
        return index if 0 <= index < len(self.content) else None

    def with_room(self, total):
        """The same block with cells for so many bytes; those added lie at the time of the end they were lost from."""
        lost = total * self.bits_per_byte - len(self.bits)
        if lost < 0:
            bits = total * self.bits_per_byte
            return self.changed(bits=self.bits[:bits], margins=self.margins[:bits], cell_s=self.cell_s[: bits + 1])
        room = (lost, 0) if self.headless else (0, lost)
        return self.changed(
            bits=np.pad(self.bits, room),
            margins=np.pad(self.margins, room),
            cell_s=np.pad(self.cell_s, room, mode="edge"),
        )

    def changed(self, **settings):
        """The same block with some attributes changed."""
        return replace(self, **settings)

    def __repr__(self):
        kind = {blocks.HEADER: "header", blocks.DATA: "data", blocks.PARITY: "parity", None: "lost start"}.get(
            self.kind, f"kind {self.kind}"
        )
        kind = "stream" if self.stream else kind
        start, stop = self.span_s
        return f"<{kind} block, {len(self.content)} bytes, {start:.3f} to {stop:.3f} s, {self.verdict}>"


def ranges(doubtful):
    """Doubtful bytes as a list of (start, stop), stop not included.

    Examples
    --------
    >>> ranges(np.array([False, True, True, False, True]))
    [(1, 3), (4, 5)]
    """
    turns = np.flatnonzero(np.diff(np.concatenate(([0], np.asarray(doubtful, dtype=np.int8), [0]))))
    return [(int(a), int(b)) for a, b in zip(turns[::2], turns[1::2], strict=True)]
