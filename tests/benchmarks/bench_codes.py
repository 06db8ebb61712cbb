"""Cell codes side by side: words lost in each, through noise, couplings, speed errors and lost highs.

``python -m tests.benchmarks.bench_codes media/codes.md`` measures them and writes them into its table.
"""

import sys
from pathlib import Path

from kit.comparison import CODES, conditions, fact_rows, words_wrong

from .rows import Row, at_least, at_most

__all__ = ["BENCHMARKS", "measured"]

WORDS = 400
FACTS = {
    "bits_per_cycle": "bits a shortest cycle",
    "highest_cycle_hz": "shortest cycle, Hz",
    "band_hz": "band of 3/4 of the power, Hz",
    "edges_per_bit": "edges a bit",
    "longest_gap_bits": "longest time without edge, bits",
    "largest_mean_level": "largest mean level",
}


def measured(words=WORDS):
    """For each condition by name, the part of words lost in each code."""
    for group in conditions().values():
        for name, condition in group:
            yield name, {code: words_wrong(CODES[code], condition, words=words).part for code in CODES}


def codes():
    """Words of 64 bits lost in each code: through noise, couplings, unknown speed, lost highs."""
    lost = dict(measured())
    for name, parts in lost.items():
        worst = max(parts, key=parts.get)
        yield Row(f"{name}: the most words lost, in {worst}", 100 * parts[worst], "%")
    held = lost["mostly zeros, coupled at 10 Hz"]
    yield at_least("a held level through a coupling: raw levels lose", 100 * held["raw levels"], "%", 90)
    yield at_most("where phase encoding loses", 100 * held["phase encoding"], "%", 1)
    dull = lost["nothing above 1000 Hz"]
    yield at_least("highs lost above 1000 Hz: cycle length loses", 100 * dull["cycle length"], "%", 90)
    yield at_most("where delay modulation loses", 100 * dull["delay modulation"], "%", 1)


def as_tables():
    """What codes ask for, and what they lose, as two tables in Markdown."""
    names = list(CODES)
    lines = [f"| asked of the recorder | {' | '.join(names)} |", "|---" * (len(names) + 1) + "|"]
    rows = fact_rows()
    lines += [f"| {words} | {' | '.join(_said(row[key]) for row in rows)} |" for key, words in FACTS.items()]
    lines += ["", f"| words lost, % of {WORDS} | {' | '.join(names)} |", "|---" * (len(names) + 1) + "|"]
    for name, parts in measured():
        lines.append(f"| {name} | {' | '.join(f'{100 * parts[code]:.0f}' for code in names)} |")
    return "\n".join(lines) + "\n"


def _said(value):
    if isinstance(value, tuple):
        return f"{value[0]} to {value[1]}"
    return "no end" if value == float("inf") else f"{value:g}"


BENCHMARKS = {"codes": codes}

if __name__ == "__main__":
    path = Path(sys.argv[1])
    before = path.read_text("utf-8").partition("| asked of the recorder")[0]
    path.write_text(before + as_tables(), "utf-8")
