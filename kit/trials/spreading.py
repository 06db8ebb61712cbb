"""Hand items over to an executor, a few at a time, and take back what comes of them."""

import queue
import time
from concurrent.futures import BrokenExecutor
from functools import partial

from .executors import EndedError, Places, alike, broken, ended_its_process, fingerprint, strange_kit

__all__ = ["ENDED", "elsewhere", "spread"]

LOOK_S = 0.2  # how often it is asked whether to stop
ENDED = "the process that ran it ended before its time"


def elsewhere(function, items, executor, pending=None, stopped=lambda: False):
    """What a function makes of items on somebody else's executor.

    Parameters
    ----------
    function : callable
        Of a module of the kit, with one argument.
    items : iterable
    executor : concurrent.futures.Executor
    pending : int, optional
        See `Places`.
    stopped : callable, optional
        Whether to hand over no more.

    Yields
    ------
    item : object
    outcome : object
        What came of it; an exception if the executor could not run it.

    Raises
    ------
    EndedError
        The executor, its scheduler or all its workers are gone, or the kit there is not that of here.
    """
    places = Places(executor, pending)
    places.check_kit()
    suspects = []
    for item, outcome in spread(_task(executor, function), items, places.most, stopped):
        if ended_its_process(outcome):
            suspects.append(item)  # perhaps it only waited behind another that ended the worker
        else:
            yield item, outcome
    for item, outcome in spread(_task(executor, function), suspects, lambda: places.most() and 1, stopped):
        yield item, EndedError(ENDED) if ended_its_process(outcome) else outcome


def _task(executor, function):
    return partial(executor.submit, alike, fingerprint(), time.time_ns(), function)


def spread(submit, items, most, stopped):
    """Pairs of an item and what came of it, as they come; never is more handed over than `most` says."""
    waiting, running, ended = iter(items), {}, queue.SimpleQueue()
    try:
        while True:
            if stopped():
                waiting = iter(())
                _cancel(running)
            room = most()
            while len(running) < room and (item := next(waiting, None)) is not None:
                future = _submitted(submit, item)
                running[future] = item
                future.add_done_callback(ended.put)
            if not running:
                return
            try:
                future = ended.get(timeout=LOOK_S)
            except queue.Empty:
                continue
            if future in running:
                yield running.pop(future), _outcome(future)
    finally:
        _cancel(running)


def _submitted(submit, item):
    try:
        return submit(item)
    except BrokenExecutor as error:
        raise _processes_gone(error) from None
    except Exception as error:  # each kind of executor has its own for being closed
        raise broken(error) from None


def _cancel(running):
    """Take back what has not begun."""
    for future in [future for future in running if future.cancel()]:
        del running[future]


def _outcome(future):
    if future.cancelled():  # not by us: those are no longer among the running
        raise broken(EndedError("its scheduler or client is gone"))
    error = future.exception()
    if error is None:
        return future.result()
    if isinstance(error, BrokenExecutor):
        raise _processes_gone(error)
    strange = strange_kit(error)
    if strange is not None:
        raise strange
    return error


def _processes_gone(error):
    return EndedError(f"the processes that run trials must stay alive, got {type(error).__name__}: start them below "
                      "if __name__ == \"__main__\", or run the same call again with processes=1; rows kept stay")
