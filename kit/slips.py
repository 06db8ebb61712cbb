"""Slips: blocks in which a pair of edges was lost or added, read with the count of their cells put right.

Noise, a crackle or a dropout may hide two edges of a wave, so that three half-cycles look like one, or add two. Of
cells that are two half-cycles each, all others stay what they are, but there is one too few or too many of them, and
the check fails. What was lost can be told from how long the half-cycles there are, and how often that happened from
the length that the block states of itself. The check has the last word: this is a trial.
"""

from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np

from . import blocks
from .blockreader import Stretch, deglitched, found_block, looks_like_cells, most_cells, most_edges
from .cells import CycleLength
from .checks import CHECKS
from .found import MENDED

__all__ = ["SLIP_TRIALS", "mend_slips"]

SLIP_TRIALS = 1  # for one block in each lane that mends: see `repair_copies.MOST_TRIALS` for the sum
MOST_NET = 40  # cells by which the count may be off
MOST_PLACES = 256  # of each sort that are weighed in one block
FEW_CRACKLES = 16  # edges that crowd, up to which they are weighed as they are
LOST = 9.0  # what one pair lost, or added, costs: a natural logarithm, of how rare that is
WORST = 50.0  # what a cell costs at most, however little it looks like one
FINEST = 0.03  # units that edges are off at least


@dataclass(frozen=True)
class _Place:
    """A place where other cells may have been than it looks like.

    Attributes
    ----------
    first, size : int
        The pairs of half-cycles as heard that it is about.
    bits : tuple of int
        The cells that may have been there.
    cost : float
        How much less likely that is than what it looks like, as a natural logarithm.
    """

    first: int
    size: int
    bits: tuple
    cost: float

    @property
    def more(self):
        """How many cells more there are than pairs of half-cycles."""
        return len(self.bits) - self.size


def mend_slips(edges, unit, leader_s, format):
    """Read a block whose cells were miscounted, if its check agrees with the likeliest way to count them right.

    Parameters
    ----------
    edges : ndarray of float64, shape (n,)
        Seconds; from the first cell's first edge on.
    unit : float
        Seconds in a unit.
    leader_s : float
        Where the leader before it begins, in seconds.
    format : Format

    Returns
    -------
    tuple of (FoundBlock or None, int)
        The block, mended; and how many trials that took, 0 or 1.
    """
    edges = _of_block(edges, unit, format)
    if edges is None:
        return None, 0
    cells = format.code.decode(edges, unit)
    places = _likeliest(cells, edges, format)
    if not places:
        return None, 0
    bits, heard = _counted(cells, places)
    content = format.frame.to_bytes(bits)[0].tobytes()
    upright, _ = blocks.upright(content)
    if not CHECKS[format.check].agrees(upright[: -format.check_bytes], upright[-format.check_bytes :]):
        return None, 1
    stretch, sure = Stretch(format, edges, unit, leader_s), np.zeros(len(content), bool)
    margins, times = np.append(cells.margins, np.float32(0))[heard], _times(cells, places)
    return found_block(stretch, content, sure, MENDED, bits, margins, times, note=_note(places)), 1


def _of_block(edges, unit, format):
    """The edges of a block's cells, two for each and one that ends them; None where there is nothing to be mended."""
    code, most = format.code, most_cells(format) + MOST_NET
    if not format.check_bytes or not isinstance(code, CycleLength) or not looks_like_cells(edges, unit, code):
        return None
    edges = edges[: 2 * most_edges(format)]
    clean = deglitched(edges, unit, code)
    if len(edges) - len(clean) > FEW_CRACKLES:
        edges = clean
    end = format.leader.find_end(edges, unit, code)
    if end is None or not 2 <= end[0] // 2 <= most:
        return None
    return edges[: end[0] // 2 * 2 + 1]


def _note(places):
    """What was done, in words."""
    lost, added = (sum(max(0, sign * place.more) for place in places) for sign in (1, -1))
    pairs = "pair" if (lost or added) == 1 else "pairs"
    done = [f"{count}{{}} {word}" for count, word in ((lost, "put back"), (added, "taken out")) if count]
    return " and ".join(done).format(f" {pairs} of edges", "") + ", after 1 trial"


def _likeliest(cells, edges, format):
    """The places to be changed, in order, so that there are as many cells as they say; () if none will do."""
    each, heard = format.frame.bits_per_byte, len(cells.bits)
    front = blocks.PART_START * each
    for _, chosen in _ways(_places(cells, edges, format.code), heard, each):
        # Two pairs are one cell at most: no place beyond these has a part in the front.
        bits, _ = _counted(cells, [place for place in chosen if place.first < 2 * front])
        length = blocks.length_of(format.frame.to_bytes(bits[:front])[0].tobytes())
        if length is not None and (length + format.check_bytes) * each == heard + sum(p.more for p in chosen):
            return chosen
    return ()


# -- what may have been there ---------------------------------------------------------------------------


@cache
def _guesses(code):
    """What one pair of half-cycles may be: cells, their length, how much longer the first half is, pairs lost."""
    half = (code.zero_units / 2, code.one_units / 2)
    guesses = [((x,), 2 * half[x], 0.0, 0) for x in (0, 1)]
    for bits in (bits for count in (2, 3) for bits in product((0, 1), repeat=count)):
        halves = np.repeat([half[bit] for bit in bits], 2)
        # An odd number of half-cycles in each of the two, for only pairs of edges are lost.
        firsts = range(1, len(halves), 2)
        guesses += [(bits, sum(halves), sum(halves[:k]) - sum(halves[k:]), len(bits) - 1) for k in firsts]
    bits, spans, leans, lost = zip(*guesses, strict=True)
    return bits, np.array(spans), np.array(leans), np.array(lost)


def _costs(firsts, seconds, usual, spread, code, guesses=None):
    """How unlikely each guess, or each of the first few, is for pairs of half-cycles, shape (pairs, guesses)."""
    spans, leans = (each[:guesses] for each in _guesses(code)[1:3])
    long = ((firsts + seconds)[:, None] - spans) ** 2 / (4 * spread**2)
    # The edge between is off on its own, and by half of what both ends are.
    lean = ((firsts - seconds)[:, None] - usual - leans) ** 2 / (12 * spread**2)
    return np.minimum(long + lean, WORST)


def _places(cells, edges, code):
    """Places where a pair may have been lost or added, the likeliest ones."""
    halves = np.diff(edges).reshape(-1, 2) / cells.unit[:, None]
    usual = float(np.median(halves[:, 0] - halves[:, 1]))
    off = np.abs(halves.sum(axis=1) - np.where(cells.bits, code.one_units, code.zero_units))
    spread = max(FINEST, float(np.median(off)) / 0.6745 / np.sqrt(2))
    costs = _costs(halves[:, 0], halves[:, 1], usual, spread, code)
    bits, _, _, lost = _guesses(code)
    plain = costs[:, :2].min(axis=1)
    places = []
    for more in range(1, int(lost.max()) + 1):
        of = np.flatnonzero(lost == more)
        best = of[costs[:, of].argmin(axis=1)]
        cost = costs[np.arange(len(best)), best] + LOST * more - plain
        places += [_Place(int(k), 1, bits[best[k]], float(cost[k])) for k in _least(cost)]
    joined, bit = _joined(halves, usual, spread, code)
    cost = joined + LOST - plain[1:] - plain[:-1]
    places += [_Place(int(k), 2, (int(bit[k]),), float(cost[k])) for k in _least(cost)]
    return sorted(places, key=lambda place: place.first + place.size)


def _least(costs):
    return np.argsort(costs, kind="stable")[:MOST_PLACES]


def _joined(halves, usual, spread, code):
    """For each two pairs in a row: how unlikely it is that they are one cell, and which."""
    a, b, c, d = halves[:-1, 0], halves[:-1, 1], halves[1:, 0], halves[1:, 1]
    halves = (a, b + c + d), (a + b + c, d)
    best = np.min([_costs(*ways, usual, spread, code, guesses=2) for ways in halves], axis=0)
    return best.min(axis=1), best.argmin(axis=1)


# -- which of it was there ------------------------------------------------------------------------------


def _ways(places, heard=0, each=1):
    """For each number of cells more or fewer, the likeliest places to change.

    Parameters
    ----------
    places : list of _Place
        In order of where they end.
    heard, each : int
        Cells as they were heard, and cells in a byte: what is no number of whole bytes is left out, as no block
        says that it is so long.

    Yields
    ------
    tuple of (float, tuple of _Place)
        What they cost, and the places; the least cost first.
    """
    ends = [place.first + place.size for place in places]
    values = np.full((len(places) + 1, 2 * MOST_NET + 1), np.inf)
    values[0, MOST_NET] = 0.0
    before = np.searchsorted(ends, [place.first for place in places], side="right")
    for j, place in enumerate(places):
        here, there = _moved(values[j + 1], values[before[j]], place.more)
        values[j + 1] = values[j]
        np.minimum(here, there + place.cost, out=here)
    latest = _latest(values)
    for net in np.argsort(values[-1], kind="stable"):
        if (heard + net - MOST_NET) % each == 0 and np.isfinite(values[-1, net]):
            yield float(values[-1, net]), _chosen(places, latest, before, net)


def _moved(here, there, more):
    """Of two rows by the number of cells the parts, the first reached from the second with so many cells more."""
    return (here[more:], there[:-more]) if more > 0 else (here[:more], there[-more:])


def _latest(values):
    """Of the first so many places the last one that made the least cost less, counted from 1; 0 if none did."""
    latest = np.zeros(values.shape, int)
    latest[1:] = np.where(values[1:] != values[:-1], np.arange(1, len(values))[:, None], 0)
    return np.maximum.accumulate(latest, axis=0)


def _chosen(places, latest, before, net):
    """The places to change, from the end back to the start."""
    chosen, j = [], len(places)
    while j := latest[j, net]:
        place = places[j - 1]
        chosen.append(place)
        net, j = net - place.more, before[j - 1]
    return tuple(chosen[::-1])


# -- cells counted anew ---------------------------------------------------------------------------------


def _counted(cells, places):
    """Bits with some places changed; and for each the number of the pair it was heard as, -1 where it was changed."""
    bits, heard, here = [], [], 0
    for place in places:
        bits += [cells.bits[here : place.first], np.array(place.bits, np.uint8)]
        heard += [np.arange(here, place.first), np.full(len(place.bits), -1)]
        here = place.first + place.size
    bits.append(cells.bits[here:])
    heard.append(np.arange(here, len(cells.bits)))
    return np.concatenate(bits), np.concatenate(heard)


def _times(cells, places):
    """Where cells begin and end; where they were changed, spread evenly."""
    times, here = [], 0
    for place in places:
        stop = place.first + place.size
        between = np.linspace(cells.times[place.first], cells.times[stop], len(place.bits) + 1)
        times += [cells.times[here : place.first], between[:-1]]
        here = stop
    return np.concatenate([*times, cells.times[here:]])
