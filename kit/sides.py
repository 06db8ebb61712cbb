"""Sides: files become named files, these become blocks in tape order, and blocks are dealt to sides."""

from dataclasses import dataclass
from pathlib import Path

from .blocks import CONTENTS, HEADER, LARGEST, DataPart, Header, fit_name, inverted
from .errors import SettingError, warn

__all__ = ["TapeFile", "deal_sides", "name_files", "tape_blocks", "warn_of_streams"]

LONGEST_FILE = 65536 * LARGEST
_BY_EXTENSION = {
    ".txt": "text",
    ".csv": "text",
    ".md": "text",
    ".pgm": "picture",
    ".pbm": "picture",
    ".py": "code",
}


@dataclass(frozen=True)
class TapeFile:
    """A file to be put on tape.

    Parameters
    ----------
    name : str
    data : bytes
    content : str
        bytes, text, picture or code.
    address : int
        Where a program wants to be loaded.
    """

    name: str
    data: bytes
    content: str = "bytes"
    address: int = 0

    @classmethod
    def of(cls, thing, name=None, content=None, address=0):
        """A tape file from bytes, from a path, or from a tape file; what is not said follows from the name."""
        if isinstance(thing, TapeFile):
            return thing
        if isinstance(thing, (bytes, bytearray, memoryview)):
            name, data = name or "data.bin", bytes(thing)
        elif isinstance(thing, (str, Path)):
            path = Path(thing)
            name, data = name or path.name, _file_bytes(path)
        else:
            raise SettingError(f"files must be bytes, paths or TapeFile, got {type(thing).__name__}")
        content = content or _BY_EXTENSION.get(Path(name).suffix.lower(), "bytes")
        if content not in CONTENTS:
            raise SettingError(f"content must be one of {', '.join(CONTENTS)}, got {content!r}")
        return cls(name, data, content, address)


def _file_bytes(path):
    try:
        return path.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise SettingError(f"file must be readable, got {str(path)!r}: {reason}") from None


def name_files(files, name, content, address):
    """Tape files with names that fit and differ."""
    if not files:
        raise SettingError("there must be a file to encode, got none")
    if name is not None and len(files) > 1:
        raise SettingError(f"a name can be given to a single file, got {len(files)} files")
    taken, named = set(), []
    for thing in files:
        file = TapeFile.of(thing, name, content, address)
        if len(file.data) > LONGEST_FILE:
            raise SettingError(
                f"a file may have {LONGEST_FILE} bytes at most, got {len(file.data)}: split it"
            )
        fitted = fit_name(file.name, taken)
        if fitted != file.name:
            warn(f"{file.name!r} is on the tape as {fitted!r}: names must differ and fit in 32 bytes of UTF-8")
        taken.add(fitted)
        named.append(TapeFile(fitted, file.data, file.content, file.address))
    return named


def tape_blocks(files, format):
    """What lies on the tape: for each block the seconds of leader before it, and kind byte with payload.

    In a format of streams a block is the bytes of a file, and nothing else.
    """
    if format.stream:
        yield from _streams(files, format)
        return
    first = True
    for file in files:
        header = Header.of(
            file.name, file.data, block_bytes=format.block_bytes, content=file.content, address=file.address
        )
        if header.blocks > 1 << 16:
            raise SettingError(
                f"a file may have 65536 blocks at most, got {header.blocks}: take larger blocks"
            )
        for opens, leader_s, body in _copied(header, file.data, format):
            yield format.lead_in_s if first else format.leader_s if opens else leader_s, body
            first = False


def _streams(files, format):
    for k, file in enumerate(files):
        if not file.data:
            raise SettingError(
                f"a file must hold a byte at least in format {format.name!r}, got {file.name!r} with none: "
                "a leader alone says nothing"
            )
        yield format.leader_s if k else format.lead_in_s, file.data


def warn_of_streams(format, files):
    """Say what a format of streams leaves out, and where its leaders are too short."""
    names = "names, start addresses and what files hold are not on the tape, and nothing checks it"
    warn(f"{format.name} carries bytes alone: {names}; let 30 s of tape run before the first leader")
    shortest_s = min(format.lead_in_s, format.leader_s) if len(files) > 1 else format.lead_in_s
    if shortest_s < format.leader.led_in_s:
        warn(
            f"leaders must last {format.leader.led_in_s:g} s at least in {format.name}, got {shortest_s:g} s: "
            "other readers may miss what follows"
        )


def _copied(header, data, format):
    """A file's blocks with their copies: whether the file opens there, seconds of leader, and the bytes."""
    blocks = list(_once(header, data, format))
    rounds = [range(format.copies)]
    if format.copies_apart:
        rounds = [[copy] for copy in range(format.copies)]
    for copies in rounds:
        for k, (leader_s, body) in enumerate(blocks):
            for copy in copies:
                turned = format.inverted_copies and copy % 2 == 1
                # What opens a file after others needs time to be seen on a counter, or stopped at.
                opens = k == 0 and copy == copies[0]
                yield opens, leader_s, inverted(body) if turned else body


def _once(header, data, format):
    """A file's blocks, parity blocks included: seconds of leader before each, and its bytes."""
    size, body = header.block_bytes, bytes([HEADER]) + header.pack()
    parts = [
        DataPart(header.tag, number, data[number * size : (number + 1) * size])
        for number in range(header.blocks)
    ]
    again = format.outer.header_copies - 1 if format.outer else 0
    yield format.gap_s, body
    for _ in range(again):
        yield format.leader_s, body
    for part in format.outer.bodies(parts) if format.outer else (part.body() for part in parts):
        yield format.gap_s, part
    yield format.gap_s, body
    for _ in range(again):
        yield format.leader_s, body


def deal_sides(spoken, format, speed, side_minutes):
    """Blocks dealt to sides; a new side starts with the long leader."""
    if side_minutes is None:
        return [list(spoken)]
    limit_s = _side_seconds(side_minutes)
    sides, filled = [[]], 0.0
    for leader_s, body in spoken:
        length_s = _block_seconds(leader_s, body, format, speed)
        if sides[-1] and filled + length_s > limit_s:
            sides.append([])
            leader_s, filled = format.lead_in_s, 0.0
            length_s = _block_seconds(leader_s, body, format, speed)
        if not sides[-1] and length_s > limit_s:
            raise SettingError(
                f"a side must hold a block with its leader, {length_s:.1f} s, got {side_minutes:g} minutes: "
                f"take longer sides or smaller {'files' if format.stream else 'blocks'}"
            )
        sides[-1].append((leader_s, body))
        filled += length_s
    return sides


def _side_seconds(side_minutes):
    if not (isinstance(side_minutes, (int, float)) and 0 < side_minutes <= 1440):
        raise SettingError(f"side_minutes must lie above 0 and not above 1440 minutes, got {side_minutes!r}")
    return 60.0 * side_minutes


def _block_seconds(leader_s, body, format, speed):
    return float(format.block_half_cycles(body, leader_s, speed).sum())
