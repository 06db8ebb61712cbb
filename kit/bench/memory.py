"""Memory: the data blocks of a picture fill it from its start address on, and the picture appears as it is stored."""

import functools
from dataclasses import dataclass

import numpy as np

from ..known import find_format
from ..shown import BLACK, ORANGE, SKY, VERMILLION
from ..sides import TapeFile
from ..tape import encode
from .fields import State, choice, number
from .model import Experiment, Result
from .quickreading import read_at_once
from .scene import Level, Pane, Scene, Stretch, Tiles, Words

__all__ = ["MEMORY", "Memory", "MemoryState", "find", "picture"]

FORMAT = find_format("house").changed(lead_in_s=0.8, gap_s=0.1)
RATE = 22050
WIDE, HIGH = 32, 24
HEAD = b"P5\n%d %d\n255\n" % (WIDE, HIGH)
COLUMNS = 32  # bytes of memory in a row of the map
PICTURE_AT = 35  # where the picture begins, in the same measure
HEARD_S = 2.0
SEED = 5
NOT_YET, COMING, CHECKED, DOUBTFUL = range(4)


@dataclass(frozen=True)
class MemoryState(State):
    """How far the tape has been played, how it is divided, where it goes, and where it is scratched."""

    played_percent: int = number(50, 0, 100, 1, "%", "Tape played")
    block_bytes: int = choice(128, (32, 64, 128, 256), "Data bytes in a block", unit="bytes")
    address: int = choice(16384, (0, 8192, 16384, 32768), "Start address in the header")
    scratch_percent: int = number(72, 0, 100, 1, "%", "Place of the scratch", hint="of the tape")
    scratch_ms: int = number(60, 0, 400, 20, "ms", "Length of the scratch")


@dataclass(frozen=True, eq=False)
class Tape:
    """A tape as it was read, whole.

    Attributes
    ----------
    sound : Sound
    blocks : tuple of (str, float, float)
        H or D, and from when to when it lies, in seconds.
    header_s : float
        When the first whole header is over; infinite if there is none.
    values : ndarray of uint8, shape (bytes,)
        Of the file, as read; 0 where nothing was.
    come_s, told_s : ndarray of float64, shape (bytes,)
        When each byte has come in, and when the check of its block tells; infinite for those that never do.
    doubtful : ndarray of bool, shape (bytes,)
    """

    sound: object
    blocks: tuple
    header_s: float
    values: np.ndarray
    come_s: np.ndarray
    told_s: np.ndarray
    doubtful: np.ndarray


@dataclass(frozen=True, eq=False)
class Memory(Result):
    """What lies in memory at one moment.

    Attributes
    ----------
    tape : Tape
    now_s : float
    kinds : ndarray of int, shape (bytes,)
        0 not there yet, 1 there but not checked yet, 2 checked, 3 in doubt.
    """

    tape: Tape
    now_s: float
    kinds: np.ndarray


@functools.lru_cache(maxsize=1)
def picture():
    """An island with a mast and a low sun, as the bytes of a PGM file (`P5`)."""
    y, x = np.mgrid[0:HIGH, 0:WIDE].astype(float)
    grey = 235 - 4 * y  # the sky
    grey[(x - 24) ** 2 + (y - 6) ** 2 < 10] = 255
    grey[y >= 17] = (110 + 25 * np.sin(0.9 * x + 2.1 * y))[y >= 17]
    grey[y > 10 + 0.09 * (x - 11) ** 2] = 60
    grey[(abs(x - 11) < 1) & (y > 2)] = 20
    grey[(abs(y - 3) < 1) & (x > 10) & (x < 18)] = 90
    return HEAD + np.clip(grey, 0, 255).astype(np.uint8).tobytes()


@functools.lru_cache(maxsize=16)
def _clean(block_bytes, address):
    file = TapeFile("island.pgm", picture(), "picture", address)
    return encode(file, format=FORMAT.changed(block_bytes=block_bytes), rate=RATE)


@functools.lru_cache(maxsize=32)
def _tape(block_bytes, address, scratch_percent, scratch_ms):
    """The scratched tape, read whole."""
    format = FORMAT.changed(block_bytes=block_bytes)
    sound = _clean(block_bytes, address)
    if scratch_ms:
        start = min(scratch_percent / 100 * sound.seconds, sound.seconds - scratch_ms / 1000)
        sound = sound.scratch(start, scratch_ms / 1000, seed=SEED)
    reading = read_at_once(sound, format)
    headers = [block for block in reading.blocks if block.header is not None]
    blocks = tuple(("D" if block.header is None else "H", *block.span_s) for block in reading.blocks)
    header_s = min((block.span_s[1] for block in headers), default=np.inf)
    return Tape(sound, blocks, header_s, *_bytes_of(reading.files[0] if reading.files and headers else None))


def _bytes_of(file):
    """Values of a file's bytes, when each has come, when its check tells, and whether it is in doubt."""
    size = len(picture())
    values, come_s, told_s = np.zeros(size, np.uint8), np.full(size, np.inf), np.full(size, np.inf)
    doubtful = np.zeros(size, bool)
    if file is None:
        return values, come_s, told_s, doubtful
    read = np.frombuffer(file.data, np.uint8)[:size]
    values[: len(read)] = read
    for start, stop in file.doubtful:
        doubtful[start:stop] = True
    for piece in file.pieces:
        stop = min(piece.offset + piece.length, size)
        if piece.block is not None and stop > piece.offset:
            last = len(piece.block.content) - 1  # of a block that lost an end, less was heard than it holds
            places = np.clip(np.arange(piece.skip, piece.skip + stop - piece.offset), 0, last)
            ends = piece.block.cell_s[(places + 1) * piece.block.bits_per_byte]
            come_s[piece.offset : stop] = piece.block.start_s + ends
            told_s[piece.offset : stop] = piece.block.span_s[1]
    return values, come_s, told_s, doubtful


def find(state):
    """Read the tape and stop the clock where it has been played to.

    Parameters
    ----------
    state : MemoryState

    Returns
    -------
    Memory
    """
    tape = _tape(state.block_bytes, state.address, state.scratch_percent, state.scratch_ms)
    now_s = state.played_percent / 100 * tape.sound.seconds
    come = (tape.come_s <= now_s) & (tape.header_s <= now_s)
    told = come & (tape.told_s <= now_s)
    kinds = np.select([told & tape.doubtful, told, come], [DOUBTFUL, CHECKED, COMING], NOT_YET)
    there, doubt = int(np.count_nonzero(kinds)), int(np.count_nonzero(kinds == DOUBTFUL))
    figures = (
        ("time", f"{now_s:.1f} of {tape.sound.seconds:.1f} s"),
        ("bytes in memory", f"{there} of {len(kinds)}"),
        ("last address", str(state.address + int(np.flatnonzero(kinds)[-1])) if there else "none"),
        ("bytes in doubt", str(doubt)),
    )
    return Memory(_in_words(state, tape, now_s, kinds), figures, tape, now_s, kinds)


def _in_words(state, tape, now_s, kinds):
    if tape.header_s > now_s:
        late = np.isfinite(tape.header_s) and tape.blocks and min(start for _, start, _ in tape.blocks) < now_s - 1
        lost = " Its header was lost; without it the loader does not know where the bytes belong." if late else ""
        return f"At {now_s:.1f} s, no header has been read yet, so nothing is put into memory.{lost}"
    words = (f"The header says: a picture of {len(kinds)} bytes, to be put into memory from address {state.address} "
             f"on. At {now_s:.1f} s, {_blocks_in_words(state, kinds)}")
    rows = _rows(kinds)
    words += (f" The pixels are stored row by row, so the picture appears from the top: {rows} of {HIGH} rows are "
              "there." if rows else " Of the picture no whole row is there yet.")
    return words + _doubt_in_words(state, kinds)


def _rows(kinds):
    """Whole rows of the picture that have come, in doubt or not."""
    return int(np.count_nonzero((kinds[len(HEAD) :].reshape(HIGH, WIDE) != NOT_YET).all(axis=1)))


def _blocks_in_words(state, kinds):
    """How far it is, in blocks of the file."""
    rows = [kinds[start : start + state.block_bytes] for start in range(0, len(kinds), state.block_bytes)]
    whole = sum(bool((row == CHECKED).all()) for row in rows)
    coming = any((row == COMING).any() for row in rows)
    words = f"{whole} of {len(rows)} blocks {'is' if whole == 1 else 'are'} in memory and checked"
    return words + (", and one is coming in, not checked yet." if coming else ".")


def _doubt_in_words(state, kinds):
    doubt = np.flatnonzero(kinds == DOUBTFUL)
    if not len(doubt):
        missing = np.flatnonzero(kinds == NOT_YET)
        holes = len(missing) and len(np.flatnonzero(kinds)) and missing[0] < np.flatnonzero(kinds)[-1]
        return " A stretch was lost; the loader leaves a hole, for each block says where it belongs." if holes else ""
    return (f" The check of a block did not agree: {len(doubt)} bytes are in doubt, at addresses "
            f"{state.address + doubt[0]} to {state.address + doubt[-1]}. In the picture they are hatched, and what "
            "comes after them still lies where it belongs.")


def draw(state, result):
    """The tape above, memory and picture below."""
    tape = result.tape
    kinds = (("header", "H", BLACK, "\\"), ("data", "D", SKY, ""))
    tiles = [Stretch(start, stop, "", colour, hatch or "/") for name, letter, colour, hatch in kinds
             for kind, start, stop in tape.blocks if kind == letter]
    names = [Words([(start + stop) / 2 for _, start, stop in tape.blocks],
                   tuple(kind for kind, _, _ in tape.blocks), 0.3, large=False)]
    scratch = []
    if state.scratch_ms:
        start = min(state.scratch_percent / 100 * tape.sound.seconds, tape.sound.seconds - state.scratch_ms / 1000)
        scratch = [Stretch(start, start + state.scratch_ms / 1000, "scratch", VERMILLION, "\\")]
    strip = Pane((0, tape.sound.seconds), (0, 1), "time in seconds", "tape",
                 (*tiles, *scratch, *names, Level(result.now_s, "now", upright=True, dash="")), bare=True, share=0.35,
                 title="The tape: H header, D data block")
    return Scene((strip, _memory_pane(state, result)), _picture_in_words(state, result), height=520)


def _memory_pane(state, result):
    """Memory to the left, byte by byte; the picture to the right, point by point."""
    places = np.arange(len(result.kinds))
    rows = -(-len(places) // COLUMNS)
    x, y = (places % COLUMNS).astype(float), (rows - 1 - places // COLUMNS).astype(float)
    looks = ((COMING, "not checked yet", ORANGE, "/"), (CHECKED, "checked", SKY, ""),
             (DOUBTFUL, "in doubt", VERMILLION, "x"))
    tiles = [Tiles(x[which], y[which], name=name, colour=colour, hatch=hatch)
             for kind, name, colour, hatch in looks if (which := result.kinds == kind).any()]
    labels = [Words([-0.5], (str(state.address + COLUMNS * k),), rows - k - 0.5, large=False, align="right")
              for k in range(0, rows, 4)]
    heads = [Words([0], ("memory, 32 bytes a row",), rows + 0.7, large=False, align="left"),
             Words([PICTURE_AT], ("picture so far",), rows + 0.7, large=False, align="left")]
    return Pane((-9, PICTURE_AT + WIDE + 0.2), (-0.2, rows + 1.4), "", "",
                (*tiles, *_picture_tiles(result, rows), *labels, *heads), bare=True, share=2.2,
                title="What is in memory")


def _picture_tiles(result, rows):
    kinds = result.kinds[len(HEAD) :]
    places = np.arange(len(kinds))
    x, y = PICTURE_AT + (places % WIDE).astype(float), (rows - 1 - places // WIDE).astype(float)
    there, doubt = kinds != NOT_YET, kinds == DOUBTFUL
    shades = result.tape.values[len(HEAD) :] / 255
    frame = Tiles([PICTURE_AT], [rows - HIGH], WIDE, HIGH, colour=BLACK, hatch="\\") if not there.all() else None
    over = Tiles(x[doubt], y[doubt], colour=VERMILLION, hatch="x") if doubt.any() else None
    points = Tiles(x[there], y[there], shades=shades[there])
    return [each for each in (frame, points, over) if each is not None]


def _picture_in_words(state, result):
    counts = [int(np.count_nonzero(result.kinds == kind)) for kind in (CHECKED, COMING, DOUBTFUL)]
    return (f"Above, the tape with {len(result.tape.blocks)} blocks, played to {result.now_s:.1f} s. Below left, "
            f"memory from address {state.address} on: {counts[0]} bytes checked, {counts[1]} not checked yet, "
            f"{counts[2]} in doubt. Below right, the picture of an island with a mast: {_rows(result.kinds)} of "
            f"{HIGH} rows, from the top.")


def sound(state, result):
    """The last two seconds that were played."""
    tape = result.tape.sound
    start = max(0.0, min(result.now_s, tape.seconds) - HEARD_S)
    return tape.part(start, max(result.now_s, start + 0.1))


def pick(state, pane, x):
    """Pointing at the tape plays it to there."""
    tape = _tape(state.block_bytes, state.address, state.scratch_percent, state.scratch_ms)
    part = 100 * x / tape.sound.seconds
    return {"played_percent": part} if pane == 0 and 0 <= part <= 100 else {}


MEMORY = Experiment(
    "memory",
    "Fill the memory",
    "Where do the bytes of a picture go as they come off the tape, and what does a scratch do to it?",
    MemoryState, find, draw, sound, pick,
)
