"""Run a function a learner wrote, within bounds: an error, an endless loop or a flood of words hurts nobody."""

import contextlib
import copy
import hashlib
import io
import sys
import time
import traceback
from dataclasses import dataclass

__all__ = ["STAYS", "Trouble", "attempt_of", "checking_notice", "run_bounded"]

MOST_LINES = 200_000  # lines of the learner's code: far more than an answer needs, a second or so of looping
MOST_S = 4.0  # of one call
MOST_PRINTED = 2_000  # characters kept of what is printed

STAYS = ("Checking … If this line stays, choose Kernel → Interrupt Kernel, and if that does not help, "
         "Kernel → Restart Kernel: your answers are kept.")


@dataclass(frozen=True)
class Trouble:
    """Why a function gave no result.

    Attributes
    ----------
    name : str
        "endless", "error" or "stopped".
    text : str
        One line for the learner, without a full stop.
    detail : str
        What Python says, with what was printed.
    """

    name: str
    text: str
    detail: str = ""


def run_bounded(function, arguments):
    """Run a learner's function on a copy of some arguments.

    Parameters
    ----------
    function : callable
    arguments : tuple

    Returns
    -------
    result : object
        None if there was trouble.
    trouble : Trouble or None

    Notes
    -----
    Lines are counted as each begins, and the clock is looked at with each step of Python's, as a loop may stand in
    one line; so nothing stops a single step that never ends, such as ``list(itertools.count())``.
    `checking_notice` tells what to do then.
    """
    arguments = copy.deepcopy(arguments)
    printed = _Printed()
    before = sys.gettrace()
    sys.settrace(_line_counter())
    try:
        with contextlib.redirect_stdout(printed):
            return function(*arguments), None
    except _TooLongError:
        return None, Trouble("endless", "It never finishes: look at what should end your loop", str(printed))
    except RecursionError as error:
        return None, Trouble("endless", "It calls itself without end: what should stop it?", repr(error))
    except KeyboardInterrupt:
        return None, Trouble("stopped", "It was stopped from outside: which line takes so long?", str(printed))
    except (Exception, SystemExit) as error:
        line = _line_of(error, function)
        told = _told(error) + str(printed)
        return None, Trouble("error", f"It stopped with {type(error).__name__}{line}", told)
    finally:
        sys.settrace(before)


class _TooLongError(BaseException):
    """Not an `Exception`, so that a learner's own `except` does not swallow it."""


class _Printed(io.TextIOBase):
    """Takes what is printed, and keeps the beginning."""

    def __init__(self):
        self._kept = ""

    def writable(self):
        return True

    def write(self, text):
        self._kept = (self._kept + text)[:MOST_PRINTED]
        return len(text)

    def __str__(self):
        return f"It printed:\n{self._kept}" if self._kept else ""


def _line_counter():
    left, end_s = MOST_LINES, time.monotonic() + MOST_S

    def trace(frame, event, argument):
        nonlocal left
        if event == "call":
            frame.f_trace_opcodes = True
        left -= event == "line"
        if left < 0 or time.monotonic() > end_s:
            raise _TooLongError
        return trace

    return trace


def _line_of(error, function):
    """In which line of the learner's function an error arose, counted from its `def`."""
    code = getattr(function, "__code__", None)
    trace, line = error.__traceback__, None
    while trace is not None:
        if trace.tb_frame.f_code is code:
            line = trace.tb_lineno - code.co_firstlineno + 1
        trace = trace.tb_next
    return "" if line is None else f" in line {line} of the function"


def _told(error):
    """As Python tells it, from the learner's function on."""
    trace = error.__traceback__
    while trace is not None and trace.tb_frame.f_code.co_filename == __file__:
        trace = trace.tb_next
    return "".join(traceback.format_exception(type(error), error, trace, limit=8))


def attempt_of(function):
    """What tells one attempt from another: the steps of a function, whatever its blanks and comments.

    Parameters
    ----------
    function : callable

    Returns
    -------
    str
        Hexadecimal digits.
    """
    code = getattr(function, "__code__", None)
    steps = repr(type(function)) if code is None else _steps(code)
    return hashlib.sha256(steps.encode("utf-8", "replace")).hexdigest()[:20]


def _steps(code):
    inner = [_steps(each) if hasattr(each, "co_code") else repr(each) for each in code.co_consts]
    return repr((code.co_code, inner, code.co_names, code.co_varnames))


@contextlib.contextmanager
def checking_notice():
    """While a check runs in a notebook, say what to do should it not come back."""
    shell = _kernel_shell()
    if shell is None:
        yield
        return
    from IPython.display import clear_output, display

    display({"text/plain": STAYS}, raw=True)
    sys.stdout.flush()  # waits until the line is out: a call that never returns would keep it in
    try:
        yield
    finally:
        clear_output(wait=True)


def _kernel_shell():
    """The shell of a notebook's kernel; None anywhere else."""
    if "IPython" not in sys.modules:
        return None
    shell = sys.modules["IPython"].get_ipython()
    return shell if shell is not None and hasattr(shell, "kernel") else None
