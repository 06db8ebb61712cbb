"""False fine: of what is damaged at its edges or in its bits, how much is called fine and is not."""

from collections import Counter

import numpy as np

import kit
from tests.damaged_bits import ask_damaged_bits, forge_files, most_by_chance, rate_below
from tests.damaged_edges import (
    Tally,
    blocks_damaged_at_edges,
    checked_formats,
    short,
    some_bodies,
    some_tapes,
    tapes_damaged_at_edges,
    with_sums,
)

from .rows import Row, at_most

__all__ = ["BENCHMARKS"]

EDGES, TAPES, BITS, FILES = 10_000, 3_000, 360_000, 6_000  # in all, shared among the formats


def false_fine():
    """Blocks, tapes and files, damaged: what is called fine and is not, against what the checks must let pass."""
    checked, every = checked_formats(), [format for format in kit.FORMATS.values() if not format.stream]
    edges = [blocks_damaged_at_edges(f, -(-EDGES // len(checked)), seed=51) for f in checked]
    yield from _rows("damaged at their edges", "blocks", checked, edges)
    tapes = [tapes_damaged_at_edges(f, -(-TAPES // len(every)), seed=52) for f in every]
    yield from _rows("on tapes damaged at their edges and decoded", "blocks", every, tapes)
    yield _files("files off these tapes", tapes)
    sums = with_sums()
    broken, bits = zip(*(_bits(f, -(-BITS // (len(checked) + 1))) for f in [*checked, sums]), strict=True)
    yield from _rows("damaged in their bits", "blocks", checked, bits[:-1])
    yield from _rows("damaged in their bits", "blocks", [sums], bits[-1:])
    yield at_most("of these, of classes that the check catches for certain", sum(broken), "blocks", 0)
    forged = [_forged(format, -(-FILES // len(checked))) for format in checked]
    yield _files("files whose wrong blocks all pass their check", forged)


def _bits(format, count):
    rng, tally, format = np.random.default_rng(53), Tally(), short(format, 128)
    return ask_damaged_bits(format, some_bodies(format, rng), count, rng, tally), tally


def _forged(format, count):
    rng, tally, format = np.random.default_rng(54), Tally(), short(format)
    forge_files(format, some_tapes(format, rng), count, rng, tally)
    return tally


def _rows(what, unit, formats, tallies):
    """A row for each format, then how sure one may be of them together."""
    for format, tally in zip(formats, tallies, strict=True):
        asked = f"{tally.right} right, {tally.refused} refusals, {tally.expected:.2f} expected wrong"
        name = f"{format.name}: wrong but fine of {tally.blocks} {what} ({asked}){_kinds(tally)}"
        yield at_most(name, tally.wrong, unit, most_by_chance(tally.expected))
        if tally.blind:
            yield Row(f"{format.name}: others, which Fletcher's sums cannot see (00 for FF)", tally.blind, unit)
    wrong, blocks = sum(t.wrong for t in tallies), sum(t.blocks for t in tallies)
    name = f"{wrong} of {blocks} {unit} {what}: with 95 % confidence, wrong but fine are fewer of each than"
    yield Row(name, rate_below(wrong, blocks), "share")


def _kinds(tally):
    """What was said of the wrong ones, of tapes: verdict and note."""
    notes = Counter(" ".join(case[1:-1]) for case in tally.cases if len(case) == 4)
    return f": {dict(notes)}" if notes and len(notes) < 4 else ""


def _files(what, tallies):
    complete, files = sum(t.complete for t in tallies), sum(t.files for t in tallies)
    wrong = sum(t.wrong_files for t in tallies)
    sure = f"95 %: fewer than {rate_below(wrong, files):.1g} of each"
    return at_most(f"wrong among {complete} called complete of {files} {what} ({sure})", wrong, "files", 0)


BENCHMARKS = {"false_fine": false_fine}
