"""Long work in steps, as a `find` needs it that takes its time: how far it is, and where it may be stopped."""

import itertools
from concurrent.futures import ThreadPoolExecutor, wait

__all__ = ["as_parts", "beside"]

STEP_S = 0.1
USUAL_STEPS = 5  # after which half is said to be done

# One thread: work that was stopped and cannot end at once holds up what comes next, and nothing else piles up.
_thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="bench")


def beside(task, *arguments):
    """Do what cannot be divided in a thread of its own; a generator that yields ten times a second until it is done.

    Parameters
    ----------
    task : callable
    *arguments

    Yields
    ------
    None

    Returns
    -------
    object
        What the task returns; what it raises is raised here.

    Notes
    -----
    If the generator is closed before its end, a task that has begun goes on to its end unheard; one that waits for
    its turn is dropped.
    """
    future = _thread.submit(task, *arguments)
    try:
        while not wait((future,), STEP_S).done:
            yield
        return future.result()
    finally:
        future.cancel()


def as_parts(steps, start=0.0, stop=1.0):
    """Steps, how many nobody knows beforehand, as the part that is done: half the rest after so many, and so on.

    Parameters
    ----------
    steps : generator
        What it yields is not looked at.
    start, stop : float
        The part that is done before the first, and after the last.

    Yields
    ------
    float

    Returns
    -------
    object
        What `steps` returns.

    Examples
    --------
    >>> list(as_parts((step for step in range(3)), 0.5, 1.0))[-1] < 1
    True
    """
    for step in itertools.count(1):
        try:
            next(steps)
        except StopIteration as end:
            return end.value
        yield start + (stop - start) * step / (step + USUAL_STEPS)
