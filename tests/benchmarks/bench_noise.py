"""White noise: how much of it the readers bear, and whether theory says the same.

``python -m tests.benchmarks.bench_noise media/noise.md`` measures the shares of blocks read that ``media/noise.png``
shows, and writes them, with what theory says of each, into its table; with names of readers after it, theirs only.
"""

import sys
from functools import partial
from pathlib import Path

import numpy as np

from kit.ears import ears
from kit.known import FORMATS

from .noise import (
    RATE,
    bare_counter,
    blocks_checked,
    blocks_read,
    counter,
    needed_db,
    parts_read,
    patient,
    patiently_alone,
    tally,
    timer,
)
from .noise_theory import bare_counter_share, block_share, counter_share, moved_share, theory_needed_db
from .noise_theory_patient import patient_share
from .rows import Row, at_most

__all__ = ["BENCHMARKS", "curves"]

NEEDED_DB, PATIENT_DB, COPIES_DB = 4.0, -0.7, -3.0
THEORY_DB = 0.5
HOUSE = FORMATS["house"]
COUNTED_BLOCKS = 400  # the counter is quick
TWO = partial(patient_share, copies=2)
# Of all ears together, the one that mends a block may come before the one that reads it at once.
ONE_EAR = partial(timer, chosen=[ear for ear in ears(HOUSE, RATE) if "ordinary" in ear.note])
CURVES = {  # reader, how the tape is written, what is counted, blocks a point, lowest and highest dB, theory
    "counter": (counter, {}, blocks_read, COUNTED_BLOCKS, 7.0, 13.0, counter_share),
    "timer, nothing mended": (ONE_EAR, {}, blocks_checked, 100, 1.0, 4.0, block_share),
    "timer": (timer, {}, blocks_read, 100, 0.0, 3.0, None),  # theory has no formula for what it puts right
    "patient": (patient, {}, blocks_read, 100, -3.0, -0.5, patient_share),
    "patient, two copies": (patiently_alone, {"copies": 2}, parts_read, 100, -5.0, -2.5, TWO),
}
STEP_DB = 0.5
HEAD = "| reader | signal to noise in dB | blocks | read | read by theory |\n|---|---|---|---|---|\n"


def noise_timer():
    """The signal to noise at which the timer reads 90 % of blocks of 1 KiB, and what theory says of it."""
    whole, one = needed_db(timer), needed_db(ONE_EAR, count=blocks_checked)
    theory = theory_needed_db(HOUSE, RATE)
    name = f"timer, 90 % of {whole.blocks} blocks, give or take {whole.error_db:.2f}"
    yield at_most(name, whole.db, "dB", NEEDED_DB)
    yield Row(f"its ear for ordinary speed alone, nothing mended, give or take {one.error_db:.2f}", one.db, "dB")
    yield Row("theory: edges moved, half-cycles swallowed and cut", theory, "dB")
    yield Row("theory: edges moved, and nothing else", theory_needed_db(HOUSE, RATE, shares=moved_share), "dB")
    yield at_most("theory and measured, that ear alone, differ by", abs(theory - one.db), "dB", THEORY_DB)


def noise_counter():
    """What the counter needs, against theory: the kit's, and one that takes every crossing for an edge."""
    yield from _against("counter", counter, counter_share, blocks=COUNTED_BLOCKS, high_db=16.0)
    name = "counter, crowds of edges left as they are"
    yield from _against(name, bare_counter, bare_counter_share, blocks=COUNTED_BLOCKS, high_db=18.0)


def noise_patient():
    """What the patient reader needs, against theory: whatever was tried, and checked at once."""
    yield from _against("patient", patient, patient_share, goal_db=PATIENT_DB, low_db=-4.0, high_db=1.0)
    likeliest = partial(patient_share, knows="count")
    how = {"count": blocks_checked, "low_db": -4.0, "high_db": 1.0}
    yield from _against("patient, checked at once", patient, likeliest, **how)
    free = partial(patient_share, knows="nothing")
    yield Row("theory: if the number of cells were not known, 90 %", theory_needed_db(HOUSE, RATE, 0.9, free), "dB")


def noise_copies():
    """What two copies on one tape need, and two sides of a stereo recording, against theory: 3 dB less than one."""
    for name, how in (("two copies", {"copies": 2}), ("two sides", {"sides": 2})):
        how |= {"count": parts_read, "low_db": -7.0, "high_db": -2.0}
        yield from _against(name, patient, TWO, goal_db=COPIES_DB, **how)


def _against(name, reader, shares, goal_db=None, **how):
    """What is needed for 90 % and for 50 % of the blocks, against theory."""
    for share in (0.9, 0.5):
        found = needed_db(reader, share=share, **how)
        theory = theory_needed_db(HOUSE, RATE, share, shares)
        line = f"{name}, {share:.0%} of {found.blocks} blocks, give or take {found.error_db:.2f}"
        if goal_db is None or share < 0.9:
            yield Row(line, found.db, "dB")
        else:
            yield at_most(line, found.db, "dB", goal_db)
        yield Row("  theory", theory, "dB")
        yield at_most("  differ by", abs(found.db - theory), "dB", THEORY_DB)


def curves(names=tuple(CURVES)):
    """Lines of a table: of each reader, how many blocks it reads at each signal to noise."""
    for name in names:
        reader, how, count, blocks, low_db, high_db, shares = CURVES[name]
        for number, db in enumerate(np.arange(low_db, high_db + STEP_DB / 2, STEP_DB)):
            # Each point has tapes of its own, so that chance moves them independently.
            read = tally(reader, db, blocks, seed=100 + number, counts=(count,), **how)[0]
            wanted = f"{blocks * shares(HOUSE, RATE, db):.1f}" if shares else "–"
            yield f"| {name} | {db:.1f} | {blocks} | {read} | {wanted} |"


def _write(path, names):
    """Measure some readers anew, or all, and put their lines into the table of a file, in order."""
    text = path.read_text("utf-8")
    kept = text[text.index(HEAD) + len(HEAD) :].splitlines()
    lines = {name: [line for line in kept if line.startswith(f"| {name} |")] for name in CURVES}
    for name in names or CURVES:
        lines[name] = list(curves((name,)))
        table = "".join(line + "\n" for some in lines.values() for line in some)
        path.write_text(text[: text.index(HEAD)] + HEAD + table, "utf-8")


BENCHMARKS = {
    "noise_timer": noise_timer,
    "noise_counter": noise_counter,
    "noise_patient": noise_patient,
    "noise_copies": noise_copies,
}

if __name__ == "__main__":
    _write(Path(sys.argv[1]), sys.argv[2:])
