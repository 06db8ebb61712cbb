"""The likeliest content of a block, weighed whole: the best row of cells, and the next ones for a check to pick."""

from dataclasses import dataclass

import numpy as np

from .. import blocks
from ..checks import CHECKS
from ..found import CHECKED, DAMAGED, MENDED, UNCHECKED
from ..smoothing import average
from ..trellis import Path, Trellis
from .rivals import rivals

__all__ = ["WEAK", "Likely", "drawing", "likeliest", "said_length", "scale_of", "signal_to_noise", "uneven"]

WEAK = 12.0  # a cell less certain than this (natural logarithm) may be wrong in a block whose check fails
LEVEL_BEATS, NOISE_BEATS = 512, 24  # over which the level and the noise are taken
RUNNING, FAINT = 0.25, 0.75  # how alike neighbouring steps of noise are, and cells' levels, where it is not white


@dataclass(frozen=True)
class Likely:
    """What a block most likely is.

    Attributes
    ----------
    path : Path
    content : bytes
        As on tape.
    doubtful : ndarray of bool, shape (bytes,)
    verdict : str
    trials : int
        How many rows of cells after the likeliest the check was asked about.
    grid : ndarray of float32, shape (beats, steps)
        As `FoundBlock.grid`.
    """

    path: Path
    content: bytes
    doubtful: np.ndarray
    verdict: str
    trials: int
    grid: np.ndarray

    @property
    def upright(self):
        """The content as it was before a copy was inverted, if its first byte is sure, and whether it was."""
        return (self.content, False) if self.doubtful[0] else blocks.upright(self.content)

    def says(self, length):
        """Whether a block that is whole says itself that it has so many bytes, check left out; a damaged one may.

        Some checks do not see zeros added to a block that is whole.
        """
        return self.verdict == DAMAGED or blocks.length_of(self.content[: blocks.PART_START]) == length


def likeliest(trellis, grid, count, format, trials):
    """The likeliest content of a block whose cells fill a grid.

    Parameters
    ----------
    trellis : Trellis
    grid : ndarray of float32, shape (beats, steps)
        From the first cell of the block to its last; in any scale.
    count : int
        How many cells there must be.
    format : Format
    trials : int
        How many other rows of cells the check may be asked about.

    Returns
    -------
    Likely or None
        None where no row of cells fills the grid.
    """
    path = trellis.best(grid)
    if path is None:
        return None
    # In scale, so that what lies in a hole is worth little when cells must be found or given up.
    grid = grid * scale_of(trellis, path, grid)
    values = trellis.values(grid)
    free, path = trellis.best(grid, values=values), trellis.with_count(grid, count, values)
    if free is None:
        return None
    if path is None:
        return _miscounted(free, grid, count, format)
    content, faults = format.frame.to_bytes(path.bits)
    if _vouched(content.tobytes(), format):
        return Likely(path, content.tobytes(), np.zeros(len(content), bool), CHECKED, 0, grid)
    if not format.check_bytes:
        weak = faults | (path.soft.reshape(len(content), -1).min(axis=1) < WEAK)
        return Likely(path, content.tobytes(), weak, DAMAGED if weak.any() else UNCHECKED, 0, grid)
    lengths = tuple(len(pattern) for pattern in trellis.patterns)
    for used, bits in enumerate(rivals(path, values, lengths, trials), 1):
        other, _ = format.frame.to_bytes(bits)
        if _vouched(other.tobytes(), format):
            bounds = np.concatenate(([0], np.cumsum(np.asarray(lengths)[bits])))
            row = Path(bounds, bits, path.soft)
            return Likely(row, other.tobytes(), np.zeros(len(other), bool), MENDED, used, grid)
    doubtful = _doubt(path, len(content)) | faults
    if _worth(free, values) - _worth(path, values) > WEAK * abs(len(free.bits) - count):
        # No noise made so many cells of so few: some were lost, or doubled, without a trace.
        doubtful[blocks.PART_START :] = True
    return Likely(path, content.tobytes(), doubtful, DAMAGED, 0, grid)


def _vouched(content, format):
    """Whether a block's check agrees, upright or turned."""
    upright, _ = blocks.upright(content)
    body = len(upright) - format.check_bytes
    return format.check_bytes > 0 and CHECKS[format.check].agrees(upright[:body], upright[body:])


def _miscounted(path, grid, count, format):
    """What there is of a block whose cells could not be made as many as they must be: nothing is certain."""
    bits = np.zeros(count, np.uint8)
    kept = min(count, len(path.bits))
    bits[:kept] = path.bits[:kept]
    bounds = np.rint(np.interp(np.arange(count + 1), np.arange(len(path.bounds)), path.bounds)).astype(int)
    content, _ = format.frame.to_bytes(bits)
    soft = np.zeros(count, np.float32)
    return Likely(Path(bounds, bits, soft), content.tobytes(), np.ones(len(content), bool), DAMAGED, 0, grid)


def _worth(path, values):
    """How well a row of cells fits, all in all."""
    return float(values[path.bits, path.bounds[:-1]].sum(dtype=float))


def _doubt(path, count):
    """Bytes in doubt: from the first cell that may be wrong to the last, for between two all may have moved."""
    weak = np.flatnonzero(path.soft < WEAK)
    doubtful = np.ones(count, bool)
    if len(weak):
        each = len(path.bits) // count
        doubtful[: weak[0] // each] = False
        if weak[0] // each >= blocks.PART_START:  # else the block may be longer or shorter than it seems to say
            doubtful[weak[-1] // each + 1 :] = False
    return doubtful


def scale_of(trellis, path, grid):
    """What makes a grid log-likelihoods, of the wave above zero against none: the level over the noise's variance.

    Returns
    -------
    ndarray of float32, shape (beats, 1)
    """
    drawn = drawing(trellis, path)
    level = np.maximum(_around((drawn * grid).mean(axis=1), LEVEL_BEATS), 1e-12)
    off = ((grid - level[:, None] * drawn) ** 2).mean(axis=1)
    noise = np.maximum(_around(off, NOISE_BEATS), max(off.mean() * 0.5, 1e-6 * float(np.mean(level)) ** 2, 1e-30))
    return (level / noise)[:, None].astype(np.float32)


def _around(values, width):
    """The mean of some values round each; at the ends of what there is."""
    width = min(width, len(values)) | 1
    return average(np.pad(values, width // 2, mode="edge"), width)[: len(values)]


def signal_to_noise(block, rate):
    """Of a damaged block, in dB for each sample: how much stronger the wave is than what it is in; NaN if unknown."""
    trellis, _, drawn = _redrawn(block)
    if drawn is None:
        return float("nan")
    samples = abs(block.unit_s) * rate * trellis.beat_units / trellis.steps
    fit = float(np.mean(drawn * block.grid)) / samples
    return 10 * float(np.log10(fit)) if fit > 0 else float("-inf")


def uneven(block):
    """Whether a damaged block's noise is far from white, or its short cells far weaker than its long ones."""
    _, path, drawn = _redrawn(block)
    if drawn is None:
        return False
    fit = drawn * block.grid
    levels = [np.mean(fit[path.bounds[:-1][path.bits == bit]]) for bit in (0, 1) if (path.bits == bit).any()]
    rest = (block.grid - np.mean(fit) * drawn).ravel()
    running = np.einsum("i,i", rest[1:], rest[:-1]) / max(np.einsum("i,i", rest, rest), 1e-30)
    return bool(abs(running) > RUNNING or min(levels) < FAINT * max(levels))


def _redrawn(block):
    """The trellis of a block that kept its sound, the likeliest row of cells in it, and the wave of these."""
    trellis = Trellis(block.format.code)
    path = trellis.best(block.grid) if block.grid is not None else None
    return trellis, path, None if path is None else drawing(trellis, path)


def said_length(path, format):
    """How many bytes a block has, check left out, as its first cells say; None if they say nothing that can be."""
    each = format.frame.bits_per_byte
    count = min(len(path.bits) // each, blocks.PART_START)
    start, _ = format.frame.to_bytes(path.bits[: count * each])
    return blocks.length_of(start.tobytes())


def drawing(trellis, path):
    """The wave of a row of cells, +1 and -1, shape (beats, steps)."""
    drawn = np.zeros((int(path.bounds[-1] - path.bounds[0]), trellis.steps), np.float32)
    starts = path.bounds[:-1] - path.bounds[0]
    for bit, pattern in enumerate(trellis.patterns):
        at = starts[path.bits == bit]
        for k, row in enumerate(pattern):
            drawn[at + k] = row
    return drawn
