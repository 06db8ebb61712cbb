"""Long work beside the kernel's own thread, so that a page can still be heard while it goes on."""

import threading

__all__ = ["Worker"]


class Worker:
    """Does one task at a time; of tasks that come meanwhile only the latest is done.

    Parameters
    ----------
    interrupt : callable
        Called, without arguments, to make the task that goes on end soon.
    """

    def __init__(self, interrupt):
        self._interrupt = interrupt
        self._lock = threading.Lock()
        self._next = self._thread = None

    def do(self, task):
        """Do a task soon; what goes on is interrupted."""
        with self._lock:
            self._next = task
            if self._thread is not None:
                self._interrupt()
                return
            self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def wait(self, seconds=None):
        """Until nothing is left to do, or so long."""
        thread = self._thread
        if thread is not None:
            thread.join(seconds)

    def _run(self):
        while True:
            with self._lock:
                task, self._next = self._next, None
                if task is None:
                    self._thread = None
                    return
            task()
