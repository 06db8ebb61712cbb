"""Many runs into one tidy table: formats × decks × seeds, on several processes, stoppable, resumed from disk.

    grid = trials.grid(formats=["house", "twice"], decks=["portable", Deck(hiss_dbfs=-40)], seeds=range(10))
    table = trials.run(grid, keep="study.csv")
    print(table.shares("format", "deck"))
"""

from .running import run
from .table import Table, interval, read
from .trial import Trial, grid, vary

__all__ = ["Table", "Trial", "grid", "interval", "read", "run", "vary"]
