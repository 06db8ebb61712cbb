"""A reading: the files and blocks of a tape, what happened along it, and the way from bytes to seconds and back."""

import re
from collections import Counter
from dataclasses import dataclass
from numbers import Integral

from .blocks import PART_START
from .errors import SettingError
from .found import CHECKED, DAMAGED, Event, FoundBlock
from .joining import join_blocks
from .repair_labels import read_as_neighbours

_TRIALS = re.compile(r"after (\d+) trials?")

__all__ = ["Place", "Reading", "Span"]


@dataclass(frozen=True)
class Span:
    """A stretch of a recording.

    Attributes
    ----------
    start_s, stop_s : float
        Seconds.
    margin : float
        Smallest margin of the bits in it: 1 is perfect, 0 a bit that may as well be the other, or was lost.
    recording : int
        Number of the recording, from 0.

    Examples
    --------
    >>> start, stop = Span(1.0, 2.0, 0.9)
    >>> stop
    2.0
    """

    start_s: float
    stop_s: float
    margin: float
    recording: int = 0

    def __iter__(self):
        return iter((self.start_s, self.stop_s))


@dataclass(frozen=True)
class Place:
    """What lies at a time of a recording.

    Attributes
    ----------
    block : FoundBlock
    part : str
        leader, header, data, check or mark (the first bytes of a data block, which say where it belongs).
    block_byte : int or None
        Number of the byte in the block's content; None in the leader.
    file : int or None
        Number of the file, from 0, if a byte of it lies there.
    byte : int or None
        Number of the byte in that file.
    margin : float or None
    """

    block: FoundBlock
    part: str
    block_byte: int | None = None
    file: int | None = None
    byte: int | None = None
    margin: float | None = None


@dataclass(frozen=True)
class Reading:
    """All that was read.

    Attributes
    ----------
    files : list of ReadFile
    blocks : list of FoundBlock
        In order of time, recording by recording.
    events : list of Event
        In order of time.
    left_over : list of FoundBlock
        Damaged blocks without a place in a file, and blocks of unknown kind.
    seconds : float
        How much was heard.
    """

    files: list
    blocks: list
    events: list
    left_over: list
    seconds: float = 0.0

    @classmethod
    def of(cls, blocks, events=(), seconds=0.0):
        """A reading of some blocks."""
        blocks = read_as_neighbours(sorted(blocks, key=lambda b: (b.recording, b.span_s)))
        files, left_over = join_blocks(blocks)
        events = sorted([*events, *_repairs(files, blocks)], key=lambda e: (e.recording, e.seconds))
        return cls(files, blocks, events, left_over, seconds)

    @property
    def complete(self):
        """True if there is a file, every file is complete, and nothing is left over."""
        return bool(self.files) and all(f.complete for f in self.files) and not self._damaged_left

    @property
    def _damaged_left(self):
        return [block for block in self.left_over if block.verdict == DAMAGED]

    @property
    def verdict(self):
        """The worst verdict of any file; damaged if there is none."""
        order = ("checked", "mended", "unchecked", "damaged")
        found = [file.verdict for file in self.files] + [DAMAGED] * bool(self._damaged_left)
        return max(found, key=order.index, default=DAMAGED)

    @property
    def speed(self):
        """Speed of the recording, as a part of the format's ordinary speed; None if nothing was read."""
        speeds = sorted(block.speed for block in self.blocks if block.verdict == CHECKED or block.stream)
        return speeds[len(speeds) // 2] if speeds else None

    def where(self, byte, file=0):
        """Where a byte of a file lies.

        Parameters
        ----------
        byte : int
            Number of the byte in the file, from 0.
        file : int or str
            Number of the file in `files`, or its name.

        Returns
        -------
        Span
            It unpacks as ``start_s, stop_s``; of a byte in a gap, the time between its neighbours.

        Raises
        ------
        SettingError
            There is no such byte or file.
        """
        found = self._file(file)
        if not (isinstance(byte, Integral) and 0 <= byte < len(found.data)):
            raise SettingError(f"byte must lie in 0 to {len(found.data) - 1} of {found.name!r}, got {byte!r}")
        for k, piece in enumerate(found.pieces):
            if piece.offset <= byte < piece.offset + piece.length:
                if piece.block is None:
                    return _gap(found.pieces, k)
                index = piece.skip + byte - piece.offset
                return Span(
                    *piece.block.byte_span_s(index), piece.block.byte_margin(index), piece.block.recording
                )
        raise SettingError(f"byte {byte} of {found.name!r} has no place")

    def _file(self, file):
        if isinstance(file, str):
            names = [one.name for one in self.files]
            if file not in names:
                raise SettingError(f"file must be one of {names}, got {file!r}")
            return self.files[names.index(file)]
        if not (isinstance(file, Integral) and -len(self.files) <= file < len(self.files)):
            raise SettingError(f"file must be a number below {len(self.files)} or a name, got {file!r}")
        return self.files[file]

    def at(self, seconds, recording=0):
        """What lies at a time.

        Parameters
        ----------
        seconds : float
            From the start of the recording.
        recording : int

        Returns
        -------
        Place or None
            None where no block or leader was found.
        """
        leader = None
        for block in self.blocks:
            if block.recording != recording:
                continue
            index = block.byte_at(seconds)
            if index is not None:
                return self._place(block, index)
            first, last = sorted((block.leader_s, block.start_s))
            if first <= seconds < last:
                leader = Place(block, "leader")
        return leader

    def _place(self, block, index):
        margin = block.byte_margin(index)
        for number, file in enumerate(self.files):
            for piece in file.pieces:
                inner = _same_byte(piece.block, block, index)
                if inner is not None and piece.skip <= inner < piece.skip + piece.length:
                    byte = piece.offset + inner - piece.skip
                    return Place(block, "data", index, number, byte, margin)
        if index >= len(block.content) - block.format.check_bytes and not block.headless:
            part = "check"
        elif block.part is not None:
            part = "mark" if index < PART_START else "data"
        else:
            part = "header" if block.header is not None else "data"
        return Place(block, part, index, margin=margin)

    def report(self):
        """What was read, in lines of plain text."""
        lines = [_file_line(file) for file in self.files]
        for number, file in enumerate(self.files):
            lines += [*_effort_lines(file), *self._doubt_lines(number, file)]
        lines += [f"left over: {block!r}" for block in self.left_over]
        if not lines:
            lines = [f"no block of a known format was found in {self.seconds:.1f} s of sound"]
        return "\n".join(lines)

    def _doubt_lines(self, number, file):
        for start, stop in file.doubtful:
            what = f"byte {start}" if stop == start + 1 else f"bytes {start} to {stop - 1}"
            yield f"  {file.name}: {what} in doubt{self._when(number, file, start, stop)}"

    def _when(self, number, file, start, stop):
        if start >= len(file.data):
            return ", not on this tape"
        first, last = self.where(start, number), self.where(min(stop, len(file.data)) - 1, number)
        times = (first.start_s, first.stop_s, last.start_s, last.stop_s)
        if not any(times):
            return ", somewhere on this tape"
        tape = f" of recording {first.recording + 1}" if any(b.recording for b in self.blocks) else ""
        return f", at {min(times):.3f} to {max(times):.3f} s{tape}"

    def __str__(self):
        return self.report()


def _repairs(files, heard):
    """Events of blocks that are not in the files as they were heard."""
    known = {id(block) for block in heard}
    for file in files:
        for piece in file.pieces:
            block = piece.block
            if block is not None and id(block) not in known and block.note:
                text = f"data block {block.part.number} of {file.name}: {block.note}; {block.verdict}"
                yield Event(block.span_s[0], "note", text, block.recording)


def _same_byte(used, heard, index):
    """Number of a heard block's byte in the block that was made of it, or None if it was not."""
    if used is heard:
        return index
    if used is None or (used.recording, used.start_s) != (heard.recording, heard.start_s):
        return None
    start, stop = heard.byte_span_s(index)
    return used.byte_at((start + stop) / 2)


def _file_line(file):
    note = f" ({file.note})" if file.note else ""
    return f"{file.name}: {len(file.data)} bytes, {file.verdict}{note}"


def _effort_lines(file):
    """What reading the blocks of a file took, beyond listening."""
    notes = [part.split(", after")[0] for block in file.blocks for part in block.note.split("; ") if part]
    trials = sum(int(found) for block in file.blocks for found in _TRIALS.findall(block.note))
    for note, count in Counter(notes).items():
        if note not in file.note:
            yield f"  {file.name}: {count} of {len(file.blocks)} blocks: {note}"
    if trials:
        yield f"  {file.name}: {trials} likely reading{'s' * (trials > 1)} tried against the check"


def _gap(pieces, k):
    """The time between the blocks on either side of a gap."""
    before = next((p.block for p in reversed(pieces[:k]) if p.block), None)
    after = next((p.block for p in pieces[k + 1 :] if p.block), None)
    if before is not None and after is not None and before.recording == after.recording:
        times = sorted((*before.span_s, *after.span_s))
        return Span(times[1], times[2], 0.0, before.recording)
    known = before or after
    if known is None:
        return Span(0.0, 0.0, 0.0)
    time = known.span_s[1] if before is not None else known.span_s[0]
    return Span(time, time, 0.0, known.recording)
