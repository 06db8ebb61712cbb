"""Run many trials, here or on any executor, with progress, a way to stop, and a file to go on from."""

import os
from concurrent.futures import BrokenExecutor

from ..errors import SettingError
from .executors import AHEAD, EndedError, processors
from .keeping import Keep
from .one import COLUMNS, error_row, one
from .spreading import ENDED, elsewhere, spread
from .table import Table
from .trial import Trial

__all__ = ["run"]

def run(trials, *, processes=None, executor=None, pending=None, progress=None, stop=None, keep=None):
    """Run trials and put what came of them into a table.

    Parameters
    ----------
    trials : iterable of Trial
    processes : int, optional
        How many at a time: 1 runs all in this process, None as many as there are processors. A script that
        starts more than one must do so below ``if __name__ == "__main__":``.
    executor : concurrent.futures.Executor, optional
        Runs them instead; it is left open. `cluster` gives that of many machines. All must have the same kit.
    pending : int, optional
        With an executor: how many trials it is given beforehand at most; None: four for each that it runs at a
        time, or for each processor here if it does not say.
    progress : callable, optional
        Called with the part done, 0 to 1.
    stop : callable or threading.Event, optional
        Trials not begun are left out as soon as it gives True or is set; those running are awaited, but for a
        cluster's, which does not say which run: they are left out, too.
    keep : str or path, optional
        File (.csv or .jsonl) to which each row is added as it comes. Trials whose rows are there already are
        not run again, so the same call goes on where another was stopped or killed. It may hold rows of other
        trials, too, but only one run at a time may write to it. (A row tells what the kit of its day read: take
        a new file for a new version.)

    Returns
    -------
    Table
        One row for each trial that differs from the others, in their order, the same whatever ran them (but
        for ``wall_s``). After a stop, or an interrupt from the keyboard, it has fewer rows than trials.

    Raises
    ------
    SettingError
        A setting is wrong, or the file is something else; then it is not touched.
    KitError
        The executor's processes ended before their time, it is closed, its scheduler or all its workers are
        gone, or the kit there is another. Rows that were kept stay.
    """
    wanted = {trial.key: trial for trial in map(_checked_trial, trials)}
    with Keep(keep) as kept:
        done = {key: row for key, row in kept.rows.items() if key in wanted}
        left = [trial for key, trial in wanted.items() if key not in done]
        rows = _rows(left, _checked(processes, executor, len(left)), executor, pending, _asked(stop))
        tell = progress or (lambda part: None)
        try:
            tell(len(done) / len(wanted) if wanted else 1.0)
            for row in rows:
                kept.add(row)
                done[row["key"]] = row
                tell(len(done) / len(wanted))
        except KeyboardInterrupt:
            pass  # what there is, is kept and given back
        finally:
            rows.close()
    return Table([done[key] for key in wanted if key in done], COLUMNS)


def _checked_trial(trial):
    if not isinstance(trial, Trial):
        raise SettingError(f"trials must be of kit.trials.Trial, got {trial!r}: grid makes them")
    return trial


def _checked(processes, executor, left):
    if executor is not None:
        if processes is not None:
            raise SettingError(f"processes must be None where an executor is given, got {processes!r}")
        return 0
    if processes is None:
        processes = processors()
    if not isinstance(processes, int) or processes < 1:
        raise SettingError(f"processes must be a whole number of 1 or more, got {processes!r}: None takes all")
    return min(processes, left)


def _asked(stop):
    """A function that tells whether to stop."""
    if stop is None:
        return lambda: False
    ask = getattr(stop, "is_set", stop)
    if not callable(ask):
        raise SettingError(f"stop must be a function or a threading.Event, got {stop!r}")
    return ask


def _rows(trials, processes, executor, pending, stopped):
    """Rows as they come."""
    if executor is not None:
        for trial, outcome in elsewhere(one, trials, executor, pending, stopped):
            yield _row(trial, outcome)
    elif processes <= 1:
        for trial in trials:
            if stopped():
                return
            yield one(trial)
    else:
        yield from _own_processes({trial.key: trial for trial in trials}, processes, stopped)


def _row(trial, outcome):
    return error_row(trial, outcome) | {"wall_s": 0.0} if isinstance(outcome, Exception) else outcome


def _in_pool(trials, pool, most, stopped):
    for trial, outcome in spread(lambda trial: pool.submit(one, trial), trials, lambda: most, stopped):
        yield _row(trial, outcome)


def _own_processes(left, processes, stopped):
    """Rows as they come from processes of our own; a trial that ends the process it runs in gets a row, too."""
    while left and not stopped():
        try:
            with _pool(processes) as pool:
                for row in _in_pool(list(left.values()), pool, AHEAD * processes, stopped):
                    del left[row["key"]]
                    yield row
            return
        except EndedError as error:
            _check_processes_start(error)
        suspects = list(left.values())[: AHEAD * processes]  # they were handed over in order
        for row in _until_one_ends(suspects, stopped):
            del left[row["key"]]
            yield row


def _check_processes_start(ended):
    """If no process can even count, no trial is to blame."""
    try:
        with _pool(1) as pool:
            pool.submit(int).result()
    except BrokenExecutor:
        raise ended from None


def _until_one_ends(suspects, stopped):
    """Rows of trials run one at a time, up to one that ends its process."""
    done = 0
    try:
        with _pool(1) as pool:
            for row in _in_pool(suspects, pool, 1, stopped):
                done += 1
                yield row
    except EndedError:
        yield _row(suspects[done], EndedError(ENDED))


def _pool(processes):
    """Processes of our own: fresh ones, as a copy of a process with threads (a notebook's) may hang."""
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    return ProcessPoolExecutor(processes, multiprocessing.get_context("spawn"), _prepare_process)


def _prepare_process():
    """In a process of our own: leave interrupts to the first process, and end when it is gone.

    An interrupt from the keyboard reaches all of them. And if the first one is killed, nobody else tells the
    others: they would wait for trials for ever.
    """
    import multiprocessing
    import signal
    import threading

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    first = multiprocessing.parent_process()
    threading.Thread(target=_end_with, args=(first,), daemon=True).start()


def _end_with(process):
    process.join()
    os._exit(1)
