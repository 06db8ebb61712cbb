"""What is asked of an executor: how much it runs at a time, whether the kit is the same there, what ended a process.

Executors of `concurrent.futures` tell little of this. That of dask knows its client, which is asked by the names of
its methods, so that nothing of dask need be there.
"""

import functools
import hashlib
import os
import time
from pathlib import Path

from ..errors import KitError

__all__ = ["AHEAD", "EndedError", "Places", "alike", "broken", "ended_its_process", "fingerprint", "processors",
           "strange_kit"]

AHEAD = 4  # items handed over for each place, so that none waits
ASKED_S = 2.0  # how often a cluster is asked for its size
WITHOUT_WORKERS_S = 30.0  # one whose process ended is there again in a few seconds
NOT_THERE = (ImportError, AttributeError)  # raised where something is unpacked that is only the kit's


class EndedError(KitError):
    """Whatever runs trials is gone, or cannot."""


class AnotherKitError(KitError):
    """The kit of a machine is not that of the machine which asks."""


def processors():
    """How many this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Places:
    """How many items an executor is given beforehand at most.

    Parameters
    ----------
    executor : concurrent.futures.Executor
    pending : int, optional
        None: four for each thread of a cluster, asked again as it grows or shrinks; of any other executor, four for
        each thread or process it has, if it says so, else for each processor here.
    """

    def __init__(self, executor, pending=None):
        client = getattr(executor, "_client", None)
        self.client = client if hasattr(client, "nthreads") else None
        self._pending = pending
        self._count = getattr(executor, "_max_workers", None) or processors()
        self._asked_s, self._seen_s = float("-inf"), None

    def most(self, now_s=None):
        """The number, now.

        Raises
        ------
        EndedError
            A cluster has had no worker for half a minute.
        """
        now_s = time.monotonic() if now_s is None else now_s
        if self.client is not None and now_s - self._asked_s >= ASKED_S:
            self._asked_s = now_s
            self._ask(now_s)
        return AHEAD * self._count if self._pending is None else max(1, self._pending)

    def _ask(self, now_s):
        try:
            count = sum(self.client.nthreads().values())
        except Exception as error:  # a client that is closed or has lost its scheduler raises what it likes
            raise broken(error) from None
        if count or self._seen_s is None:
            self._seen_s = now_s
        if now_s - self._seen_s > WITHOUT_WORKERS_S:
            raise EndedError(f"a cluster must have workers, got none for {now_s - self._seen_s:.0f} s: start some, "
                             "and run the same call again; rows kept stay")
        self._count = max(1, count)

    def check_kit(self):
        """Refuse a cluster whose workers have another kit, or none; other executors answer with each item.

        Raises
        ------
        EndedError
            One line that names the first such worker.
        """
        if self.client is None:
            return
        try:
            found = self.client.run(fingerprint, on_error="return")
        except Exception as error:  # as above
            raise broken(error) from None
        for where, theirs in found.items():
            if isinstance(theirs, Exception) and _not_there(theirs):
                raise _another("none, or an older one,", f" at {where}")
            if isinstance(theirs, str) and theirs != fingerprint():
                raise _another("another", f" at {where}")


@functools.cache
def fingerprint():
    """16 hexadecimal digits that differ between kits whose sources do."""
    top = Path(__file__).parents[1]
    folders = [top, *sorted(path.parent for path in top.glob("*/__init__.py"))]
    digest = hashlib.sha256()
    for path in (path for folder in folders for path in sorted(folder.glob("*.py"))):
        lines = path.read_bytes().replace(b"\r\n", b"\n")
        digest.update(f"{path.relative_to(top).as_posix()} {len(lines)}\n".encode() + lines)
    return digest.hexdigest()[:16]


def alike(ours, moment, function, item):
    """What a function makes of an item, on a machine that has the kit of the one which asks.

    The moment at which it was asked keeps a cluster from answering with what it still knows of the same item.
    """
    if fingerprint() != ours:
        raise AnotherKitError("another")
    return function(item)


def strange_kit(error):
    """The refusal to raise where an item came back because of the kit over there; else None."""
    if isinstance(error, AnotherKitError):
        return _another("another")
    if _not_there(error):
        return _another("none, or an older one")
    return None


def _not_there(error):
    """Whether the kit, or a part of it, is missing there: some cross the wire as their text alone."""
    kinds = ("ModuleNotFoundError", "ImportError", "AttributeError")
    return isinstance(error, NOT_THERE) or isinstance(error.__cause__, NOT_THERE) or str(error).startswith(kinds)


def _another(got, where=""):
    return EndedError(f"machines that run trials must have the kit that is here, got {got}{where}: install the same "
                      "on scheduler and workers, and start them again; rows kept stay")


def ended_its_process(error):
    """Whether a cluster gave an item up because the workers that tried it ended."""
    return type(error).__name__ == "KilledWorker"


def broken(error):
    """The refusal where an executor takes no more, whatever it says."""
    said = " ".join(f"{type(error).__name__} {error}".split())[:200]
    return EndedError(f"the executor must take trials, got {said}: open it, or its scheduler, again, and run the "
                      "same call; rows kept stay")
