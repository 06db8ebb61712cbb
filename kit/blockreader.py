"""Read one block from the edges of a wave: what its check agrees with."""

from dataclasses import dataclass, replace

import numpy as np

from . import blocks
from .checks import CHECKS
from .found import CHECKED, UNCHECKED, FoundBlock

__all__ = [
    "LOST",
    "WAIT",
    "Stretch",
    "deglitched",
    "found_block",
    "looks_like_cells",
    "most_cells",
    "most_edges",
    "read_block",
    "worth_salvaging",
]

WAIT, LOST = "wait", "lost"
GLITCH = 0.35  # edges nearer than this part of the shortest half-cycle are a crackle on one edge
PROBE_EDGES = 96  # edges after a start that tell whether cells follow at all
PROBE_CELLS = 64
PROBE_BROKEN = 0.35  # part of these cells that may be broken
LEFT_OVER = 8  # cells that edges may have room for and not make: the last may not be whole yet


@dataclass(frozen=True)
class Stretch:
    """Edges from the first cell of a block on, with what is known of the tape there."""

    format: object
    edges: np.ndarray  # seconds
    unit: float  # seconds
    leader_s: float
    any_kind: bool = True  # False if a block whose first byte is no known kind is not worth reading


def deglitched(edges, unit, code):
    """Edges without the crackle that hiss makes round an edge: a cluster of edges becomes its mean.

    A cluster of an odd number is one edge, of an even number none.
    """
    near = np.diff(edges) < GLITCH * code.shortest_cycle_units / 2 * unit
    if not near.any():
        return edges
    first = np.flatnonzero(np.concatenate(([True], ~near)))
    count = np.diff(np.concatenate((first, [len(edges)])))
    mean = np.add.reduceat(edges, first) / count
    return mean[count % 2 == 1]


def read_block(edges, unit, leader_s, formats, final):
    """Read a block that starts at the first edge.

    Parameters
    ----------
    edges : ndarray of float64, shape (n,)
        Seconds; the first is where the first cell begins.
    unit : float
        Seconds in a unit in the leader before it.
    leader_s : float
        Where that leader begins, in seconds.
    formats : sequence of Format
        Formats to try; they share leader and sync, and the lengths of their cycles.
    final : bool
        True if no more edges will come.

    Returns
    -------
    FoundBlock, `WAIT` or `LOST`
        A block whose check agrees; `WAIT` if more edges are needed to tell; `LOST` if no format agrees.
    """
    answers = []
    likeliest = True
    for broken, same in _by_code(edges, unit, formats):
        for format in same:
            part = edges[: 3 * most_edges(format) // 2]
            answer = _read_cleaned(Stretch(format, part, unit, leader_s, likeliest), final)
            if isinstance(answer, FoundBlock):
                return answer
            answers.append(answer)
        if WAIT in answers and broken == 0 and len(edges) >= PROBE_EDGES:
            # These are cells of this code, if any are: the others are asked only if nothing comes of it.
            return WAIT
        likeliest = False
    return WAIT if WAIT in answers else LOST


def worth_salvaging(edges, unit, formats):
    """Of some formats those that a damaged block may be of.

    Parameters
    ----------
    edges, unit, formats
        As in `read_block`.

    Yields
    ------
    Format
        Those of the likeliest code; of other codes that fit as well, those as which it begins with a known kind.
    """
    likeliest = True
    if len(edges) < PROBE_EDGES // 4:
        return
    for broken, same in _by_code(edges, unit, formats):
        for format in same:
            if likeliest or (broken == 0 and _has_known_kind(Stretch(format, edges, unit, 0.0))):
                yield format
        likeliest = False


def _has_known_kind(stretch):
    return blocks.length_of(_first_bytes(stretch, blocks.PART_START)) is not None


def _by_code(edges, unit, formats):
    """What part of the first edges is broken as cells of each code, and its formats; the likeliest first."""
    doubtful = []
    for code in dict.fromkeys(format.code for format in formats):
        same = [format for format in formats if format.code == code]
        broken = _broken(edges, unit, code) if len(edges) >= PROBE_EDGES else 0.0
        if broken == 0:
            yield broken, same
        elif broken < PROBE_BROKEN:
            doubtful.append((not code.draws_alike, broken, same))
    # Costly codes find little that can be no cell of theirs, so that these parts cannot be compared.
    yield from ((broken, same) for _, broken, same in sorted(doubtful, key=lambda way: way[:2]))


def _read_cleaned(stretch, final):
    """The block as the edges are, or else without crackle."""
    answer = _read(stretch, final)
    if answer is LOST:
        clean = deglitched(stretch.edges, stretch.unit, stretch.format.code)
        if len(clean) != len(stretch.edges):
            answer = _read(replace(stretch, edges=clean), final)
    return answer


def looks_like_cells(edges, unit, code):
    """Whether the first edges of a stretch can be bit cells: noise that forged a sync mark seldom goes on so."""
    return _broken(edges, unit, code) < PROBE_BROKEN


def _broken(edges, unit, code):
    """What part of the first edges is broken as cells of a code; all where there are too few."""
    clean = deglitched(edges[:PROBE_EDGES], unit, code)
    if len(clean) < PROBE_EDGES // 4:
        return 1.0
    broken = code.decode(clean, unit, PROBE_CELLS).broken
    return float(np.mean(broken)) if len(broken) else 1.0


def _read(stretch, final):
    format = stretch.format
    have = format.code.room(stretch.edges, stretch.unit)
    total = _cells_needed(stretch, have)
    if total is LOST or total is WAIT or have < total:
        return LOST if final or total is LOST else WAIT
    cells = format.code.decode(stretch.edges, stretch.unit, total)
    if len(cells.bits) < total:
        return LOST if final or _gave_up(stretch, cells) else WAIT
    content, faults = format.frame.to_bytes(cells.bits)
    content = content.tobytes()
    upright, _ = blocks.upright(content)
    body = len(content) - format.check_bytes
    if not CHECKS[format.check].agrees(upright[:body], upright[body:]):
        return LOST
    if not format.check_bytes and (cells.broken.any() or faults.any()):
        return LOST
    verdict = CHECKED if format.check_bytes else UNCHECKED
    return found_block(
        stretch, content, np.zeros(len(content), bool), verdict, cells.bits, cells.margins, cells.times
    )


def _gave_up(stretch, cells):
    """Whether edges are left that would have made more cells."""
    last = np.searchsorted(stretch.edges, cells.times[-1])
    return stretch.format.code.room(stretch.edges[last:], stretch.unit) > LEFT_OVER


def _cells_needed(stretch, have):
    """Cells of the whole block, as its first bytes state or, for an unknown kind, as its end shows."""
    format = stretch.format
    each = format.frame.bits_per_byte
    if have < blocks.PART_START * each:
        return WAIT
    first = _first_bytes(stretch, blocks.PART_START)
    if len(first) < blocks.PART_START:
        return WAIT
    length = blocks.length_of(first)
    if length is not None:
        return (length + format.check_bytes) * each
    if have > most_cells(format) or not stretch.any_kind:
        return LOST
    end = format.leader.find_end(stretch.edges, stretch.unit, format.code)
    if end is None:
        return WAIT
    cells = format.code.decode(stretch.edges[: end[0] + 1], stretch.unit)
    whole = len(cells.bits) // each
    return whole * each if whole > 1 + format.check_bytes else LOST


def most_edges(format):
    """How many edges a block of a format has at most."""
    return format.code.most_edges(most_cells(format))


def most_cells(format):
    """How many cells a block of a format has at most."""
    return (blocks.PART_START + blocks.LARGEST + format.check_bytes) * format.frame.bits_per_byte


def _first_bytes(stretch, count):
    cells = count * stretch.format.frame.bits_per_byte
    found = stretch.format.code.decode(stretch.edges, stretch.unit, cells)
    return stretch.format.frame.to_bytes(found.bits)[0].tobytes()


def found_block(stretch, content, doubtful, verdict, bits, margins, times, **more):
    """A block as read; a copy written inverted is turned upright, if the byte that says so is sure."""
    start = float(times[0])
    if not (more.get("headless") or doubtful[:1].any()):
        content, more["inverted"] = blocks.upright(content)
    return FoundBlock(
        stretch.format,
        content,
        doubtful,
        verdict,
        bits,
        margins,
        (times - start).astype(np.float32),
        start,
        stretch.leader_s,
        stretch.unit,
        **more,
    )
