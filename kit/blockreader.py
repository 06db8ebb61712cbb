"""Read one block from the edges of a wave: what its check agrees with."""

from dataclasses import dataclass

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
    "read_block",
]

WAIT, LOST = "wait", "lost"
GLITCH = 0.35  # edges nearer than this part of the shortest half-cycle are a crackle on one edge
PROBE_EDGES = 96  # edges after a start that tell whether cells follow at all
PROBE_BROKEN = 0.35  # part of these cells that may be broken


@dataclass(frozen=True)
class Stretch:
    """Edges from the first cell of a block on, with what is known of the tape there."""

    format: object
    edges: np.ndarray  # seconds
    unit: float  # seconds
    leader_s: float


def deglitched(edges, unit, code):
    """Edges without the crackle that hiss makes round an edge: a cluster of edges becomes its mean.

    A cluster of an odd number is one edge, of an even number none.
    """
    near = np.diff(edges) < GLITCH * code.shortest_units / 2 * unit
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
        Formats to try; they share leader, sync and code.
    final : bool
        True if no more edges will come.

    Returns
    -------
    FoundBlock, `WAIT` or `LOST`
        A block whose check agrees; `WAIT` if more edges are needed to tell; `LOST` if no format agrees.
    """
    if len(edges) >= PROBE_EDGES and not looks_like_cells(edges, unit, formats[0].code):
        return LOST
    answers = []
    for format in formats:
        edges = edges[: 3 * most_cells(format)]
        answer = _read(Stretch(format, edges, unit, leader_s), final)
        if answer is LOST:
            clean = deglitched(edges, unit, format.code)
            if len(clean) != len(edges):
                answer = _read(Stretch(format, clean, unit, leader_s), final)
        if isinstance(answer, FoundBlock):
            return answer
        answers.append(answer)
    return WAIT if WAIT in answers else LOST


def looks_like_cells(edges, unit, code):
    """Whether the first edges of a stretch can be bit cells: noise that forged a sync mark seldom goes on so."""
    clean = deglitched(edges[:PROBE_EDGES], unit, code)
    clean = clean[: (len(clean) - 1) // 2 * 2 + 1]
    if len(clean) < PROBE_EDGES // 4:
        return False
    return np.mean(code.decode(clean, unit).broken) < PROBE_BROKEN


def _read(stretch, final):
    format, edges = stretch.format, stretch.edges
    have = (len(edges) - 1) // 2
    total = _cells_needed(stretch, have)
    if total is LOST or total is WAIT or have < total:
        return LOST if final or total is LOST else WAIT
    cells = format.code.decode(edges[: 2 * total + 1], stretch.unit)
    content, faults = format.frame.to_bytes(cells.bits)
    content = content.tobytes()
    upright, _ = blocks.upright(content)
    body = len(content) - format.check_bytes
    if not CHECKS[format.check].agrees(upright[:body], upright[body:]):
        return LOST
    if not format.check_bytes and (cells.broken.any() or faults.any()):
        return LOST
    verdict = CHECKED if format.check_bytes else UNCHECKED
    times = edges[: 2 * total + 1 : 2]
    return found_block(
        stretch, content, np.zeros(len(content), bool), verdict, cells.bits, cells.margins, times
    )


def _cells_needed(stretch, have):
    """Cells of the whole block, as its first bytes state or, for an unknown kind, as its end shows."""
    format = stretch.format
    each = format.frame.bits_per_byte
    if have < blocks.PART_START * each:
        return WAIT
    length = blocks.length_of(_first_bytes(stretch, blocks.PART_START))
    if length is not None:
        return (length + format.check_bytes) * each
    if have * 2 > 2 * most_cells(format):
        return LOST
    end = format.leader.find_end(stretch.edges, stretch.unit, format.code)
    if end is None:
        return WAIT
    whole = end[0] // 2 // each
    return whole * each if whole > 1 + format.check_bytes else LOST


def most_cells(format):
    return (blocks.PART_START + blocks.LARGEST + format.check_bytes) * format.frame.bits_per_byte


def _first_bytes(stretch, count):
    cells = count * stretch.format.frame.bits_per_byte
    found = stretch.format.code.decode(stretch.edges[: 2 * cells + 1], stretch.unit)
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
