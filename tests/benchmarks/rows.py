"""What a benchmark gives back, and ways to measure: the best of several runs, and a process of its own."""

import json
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Row", "at_least", "at_most", "best_of", "import_seconds", "run_apart", "table"]


@dataclass(frozen=True)
class Row:
    """One figure.

    Parameters
    ----------
    name : str
    figure : float
    unit : str
    goal : str
        What the figure should be, in words; empty if it is only for information.
    met : bool or None
        None without a goal.
    clock : bool
        True if the figure depends on how quick the machine is: then a goal missed is no fault of the kit.
    """

    name: str
    figure: float
    unit: str
    goal: str = ""
    met: bool | None = None
    clock: bool = False

    @property
    def failed(self):
        """True if a property, not a clock, misses its goal."""
        return self.met is False and not self.clock


def at_least(name, figure, unit, goal, clock=False):
    """A row whose figure must not lie below `goal`."""
    return Row(name, figure, unit, f">= {goal:g}", bool(figure >= goal), clock)


def at_most(name, figure, unit, goal, clock=False):
    """A row whose figure must not lie above `goal`."""
    return Row(name, figure, unit, f"<= {goal:g}", bool(figure <= goal), clock)


def best_of(task, runs=5):
    """Seconds of the quickest of several runs, and what the last one gave: other work only ever adds time."""
    best, result = float("inf"), None
    for _ in range(runs):
        start = time.perf_counter()
        result = task()
        best = min(best, time.perf_counter() - start)
    return best, result


def run_apart(*arguments):
    """Run `apart.py` in a fresh process.

    Parameters
    ----------
    *arguments : str
        See `apart.py`.

    Returns
    -------
    dict
        Its report, with ``seconds`` and ``peak_mb`` among the rest.
    """
    script = Path(__file__).with_name("apart.py")
    command = [sys.executable, str(script), *map(str, arguments)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(map(str, arguments))} failed: {done.stderr.strip()[-400:]}")
    return json.loads(done.stdout.splitlines()[-1])


def import_seconds(module):
    """Seconds that a fresh process, with nothing else loaded, takes to import a module."""
    code = f"import time; start = time.perf_counter(); import {module}; print(time.perf_counter() - start)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return float(done.stdout)


def table(rows):
    """Rows as lines of text in columns."""
    cells = [("", "figure", "unit", "goal", "met")]
    for row in rows:
        met = {None: "", True: "yes", False: "no (clock)" if row.clock else "NO"}[row.met]
        cells.append((row.name, f"{row.figure:.4g}", row.unit, row.goal, met))
    widths = [max(len(line[k]) for line in cells) for k in range(5)]
    sides = "<><<<"
    lines = ["  ".join(f"{c:{s}{w}}" for c, s, w in zip(line, sides, widths, strict=True)) for line in cells]
    return [line.rstrip() for line in lines]
