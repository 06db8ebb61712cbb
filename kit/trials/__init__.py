"""Many runs into one tidy table: formats × decks × seeds, on processes or machines, stoppable, resumed from disk.

    grid = trials.grid(formats=["house", "twice"], decks=["portable", Deck(hiss_dbfs=-40)], seeds=range(10))
    table = trials.run(grid, keep="study.csv")
    print(table.shares("format", "deck"))
"""

from .clusters import cluster
from .running import run
from .table import Table, interval, read
from .trial import Trial, grid, vary

__all__ = ["Table", "Trial", "cluster", "grid", "interval", "read", "run", "vary"]
