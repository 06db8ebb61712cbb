"""Trials for the tests: a small grid, what is the same in every run of it, and an executor of the least kind."""

import threading
from concurrent.futures import Executor, Future

import pytest

from kit.deck import Deck
from kit.trials import grid, run

FAST = {"size": 20, "lead_in_s": 0.2}
GONE = Deck(dropouts_per_minute=900, dropout_depth_db=120, dropout_length_s=0.3, hiss_dbfs=-110)


def small_grid(seeds=3):
    return grid(formats=["house", "framed"], decks=["home", GONE], seeds=range(seeds), listen="own", **FAST)


def settled(table):
    """The rows without what differs from run to run."""
    return [{name: value for name, value in row.items() if name != "wall_s"} for row in table]


@pytest.fixture(scope="module")
def serial():
    """The small grid, run in this process."""
    return run(small_grid(), processes=1)


class Counting(Executor):
    """An executor of the least kind: it runs a task when the next one comes, or when nothing more does."""

    def __init__(self):
        self.waiting, self.most, self.begun = [], 0, 0
        self.lock = threading.Lock()

    def submit(self, task, *arguments):
        future = Future()
        with self.lock:
            self.waiting.append((future, task, arguments))
            self.most = max(self.most, len(self.waiting))
        threading.Timer(0.01, self._run).start()
        return future

    def _run(self):
        with self.lock:
            future, task, arguments = self.waiting.pop()  # the last one first: order must not matter
            if future.set_running_or_notify_cancel():
                self.begun += 1
                future.set_result(task(*arguments))
