"""Measure the kit: ``python -m tests.benchmarks`` runs every full set and prints a table.

With ``--only NAME`` (more than once if wished) it runs some of them, with ``--json FILE`` it keeps the
figures, with ``--list`` it names them. The exit status is 1 if a property misses its goal; clocks that miss
theirs are said so, but do not count, as they depend on the machine.
"""

import argparse
import importlib
import json
import platform
import sys
import time
from dataclasses import asdict
from pathlib import Path

from .rows import table


def benchmarks():
    """All benchmarks by name, from the modules `bench_*.py` beside this one."""
    found = {}
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        found.update(importlib.import_module(f"{__package__}.{path.stem}").BENCHMARKS)
    return found


def main(arguments=None):
    """Run what was asked for; gives the exit status."""
    known = benchmarks()
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__.split("\n")[0])
    parser.add_argument("--only", action="append", metavar="NAME", choices=list(known), help="run this one")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to a file")
    parser.add_argument("--list", action="store_true", help="name the benchmarks and end")
    asked = parser.parse_args(arguments)
    if asked.list:
        print("\n".join(f"{name:12s} {task.__doc__.splitlines()[0]}" for name, task in known.items()))
        return 0
    rows = _run({name: known[name] for name in asked.only or known})
    if asked.json:
        figures = [{**asdict(row), "failed": row.failed} for row in rows]
        asked.json.write_text(json.dumps({"machine": _machine(), "rows": figures}, indent=1))
    failed = [row.name for row in rows if row.failed]
    print(f"\n{len(rows)} figures; properties that miss their goal: {', '.join(failed) or 'none'}")
    return 1 if failed else 0


def _run(chosen):
    print(_machine())
    rows = []
    for name, task in chosen.items():
        start = time.perf_counter()
        mine = list(task())
        print(f"\n{name}: {task.__doc__.splitlines()[0]} ({time.perf_counter() - start:.0f} s)")
        print("\n".join(table(mine)), flush=True)
        rows += mine
    return rows


def _machine():
    return f"Python {platform.python_version()}, {platform.system()} {platform.machine()}"


if __name__ == "__main__":
    sys.exit(main())
