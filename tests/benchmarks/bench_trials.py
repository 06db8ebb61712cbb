"""Trials: as many a second on a cluster's workers as on processes of this machine."""

import multiprocessing
from concurrent.futures import ProcessPoolExecutor

from kit.trials import grid, run

from .rows import Row, at_least, best_of

__all__ = ["BENCHMARKS"]

MANY, WORKERS = 60, 2
SHARE_GOAL = 0.8  # of what processes do: more than a fifth must not go into handing over


def cluster_trials():
    """Trials a second on a cluster of this machine's, against as many processes, both started before."""
    from distributed import Client, LocalCluster

    trials = grid(formats=["house", "framed"], seeds=range(MANY // 2), size=20, lead_in_s=0.2, listen="own")
    with ProcessPoolExecutor(WORKERS, multiprocessing.get_context("spawn")) as pool, \
            LocalCluster(n_workers=WORKERS, threads_per_worker=1, dashboard_address=None,
                         silence_logs=50) as machines, \
            Client(machines, set_as_default=False) as client:
        executors = [pool, client.get_executor()]
        for executor in executors:
            run(trials[:8], executor=executor)  # imports the kit there
        seconds, tables = zip(*(best_of(lambda each=each: run(trials, executor=each), 2) for each in executors),
                              strict=True)
    here, there = ([{**row, "wall_s": 0} for row in table] for table in tables)
    yield at_least(f"rows of {MANY} that are the same", sum(a == b for a, b in zip(here, there, strict=True)),
                   "rows", MANY)
    yield Row(f"{WORKERS} processes", MANY / seconds[0], "trials/s")
    yield Row(f"{WORKERS} workers of a cluster", MANY / seconds[1], "trials/s")
    yield at_least("workers to processes", seconds[0] / seconds[1], "of one", SHARE_GOAL, clock=True)


BENCHMARKS = {"trials-cluster": cluster_trials}
