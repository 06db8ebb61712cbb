"""Check a function a learner wrote: run it within bounds, compare, and name the mistake.

An exercise ships the right function and the usual wrong ones. Where a learner's results are those of a wrong
one, its hint is given.
"""

import hashlib
import html
import reprlib
import sys
from collections.abc import Callable
from dataclasses import dataclass

__all__ = ["FunctionTask", "Mistake", "Outcome", "pick", "run_bounded"]

MOST_LINES = 200_000  # lines of the learner's code: far more than an answer needs, a second or so of looping


@dataclass(frozen=True)
class Mistake:
    """A known way to go wrong.

    Parameters
    ----------
    name : str
    function : callable
        Does what the learner would get.
    hint : str
        What happened and where to look next; one line, not the answer.
    """

    name: str
    function: Callable
    hint: str


@dataclass(frozen=True, repr=False)
class Outcome:
    """What a check found.

    Attributes
    ----------
    passed : bool
    text : str
        One line for the learner.
    mistake : str
        Name of the known mistake, if it is one.
    detail : str
        The error as Python told it, where the function stopped with one.
    """

    passed: bool
    text: str
    mistake: str = ""
    detail: str = ""

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        detail = html.escape(self.detail)
        folded = f"<details><summary>Python says</summary>{detail}</details>" if detail else ""
        return f'<div role="status">{html.escape(self.text)}{folded}</div>'


@dataclass(frozen=True)
class FunctionTask:
    """A function to write.

    Parameters
    ----------
    name : str
    right : callable
        The reference.
    mistakes : tuple of Mistake
    what : str
        What the function must give, for messages: "a list of 0 and 1".
    accepts : callable
        Result → the result in plain form, or None if it is of another kind.
    fresh : callable
        Learner's own input → a list of other inputs.
    edge : object
        An input at the edge.
    """

    name: str
    right: Callable
    mistakes: tuple
    what: str
    accepts: Callable
    fresh: Callable
    edge: object

    def check(self, function, own):
        """Run a learner's function on their own input, on fresh ones and on one at the edge.

        Parameters
        ----------
        function : callable
        own : object

        Returns
        -------
        Outcome
        """
        if not callable(function):
            return Outcome(False, f"Give the function itself: {self.name}, without brackets.")
        inputs = [own, *self.fresh(own)]
        results = []
        for value in [*inputs, self.edge]:
            result, trouble = run_bounded(function, value)
            if trouble is not None:
                return trouble
            results.append(result)
        return self._judged(inputs, results)

    def _judged(self, inputs, results):
        plain = [self.accepts(result) for result in results]
        for mistake in self.mistakes:
            if all(map(self._made_by, [mistake] * len(inputs), inputs, results, plain)):
                return Outcome(False, mistake.hint, mistake.name)
        for result, form in zip(results, plain, strict=True):
            if form is None:
                return Outcome(False, f"It must return {self.what}, got {_short(result)}.", "wrong type")
        for value, got in zip([*inputs, self.edge], plain, strict=True):
            if got != self.right(value):
                return Outcome(False, f"Not yet: {_difference(value, got, self.right(value))}")
        return Outcome(True, f"Passed on your message and {len(inputs) - 1} others.")

    def _made_by(self, mistake, value, result, plain):
        """Whether a result is what a mistake makes of an input; a tuple or array is as good as a list."""
        wanted = mistake.function(value)
        return _alike(result, wanted) or (plain is not None and plain == self.accepts(wanted))


def run_bounded(function, value):
    """Run a learner's function on one input; an endless loop and an error become an `Outcome`.

    Parameters
    ----------
    function : callable
    value : object

    Returns
    -------
    result : object
        None if there was trouble.
    trouble : Outcome or None
    """
    before = sys.gettrace()
    sys.settrace(_line_counter())
    try:
        return function(value), None
    except _TooLongError:
        return None, Outcome(False, "It never finishes: look at what should end your loop.", "endless")
    except RecursionError as error:
        text = "It calls itself without end: what should stop it?"
        return None, Outcome(False, text, "endless", repr(error))
    except (Exception, SystemExit) as error:
        line = _line_of(error, function)
        return None, Outcome(False, f"It stopped with {type(error).__name__}{line}.", "error", repr(error))
    finally:
        sys.settrace(before)


class _TooLongError(BaseException):
    """Not an `Exception`, so that a learner's own `except` does not swallow it."""


def _line_counter():
    left = MOST_LINES

    def trace(frame, event, argument):
        nonlocal left
        left -= 1
        if left < 0:
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


def _alike(got, wanted):
    """Equal in value and kind; anything that refuses to be compared is not."""
    try:
        return type(got) is type(wanted) and bool(got == wanted)
    except Exception:
        return False


def _difference(value, got, wanted):
    """Where a result leaves the right one, without saying what is right there."""
    if len(got) != len(wanted):
        return f"{_short(value)} needs {len(wanted)} of them, you give {len(got)}."
    place = next(k for k, (a, b) in enumerate(zip(got, wanted, strict=True)) if a != b)
    return f"with {_short(value)}, look at number {place + 1} of your {len(got)}."


def _short(value):
    """A value as text of a few words at most."""
    if isinstance(value, str) and not value:
        return "an empty text"
    brief = reprlib.Repr()
    brief.maxlist = brief.maxtuple = 3
    words = brief.repr(value).split()
    return " ".join(words[:4] + ["…"] * (len(words) > 4))


def pick(choices, count, *seed):
    """Some of the choices, the same ones for the same seed wherever and whenever it runs.

    Parameters
    ----------
    choices : sequence
    count : int
        At most as many as there are choices.
    seed
        Anything with a text form.

    Returns
    -------
    list

    Examples
    --------
    >>> pick("abcdef", 3, "a message") == pick("abcdef", 3, "a message")
    True
    """
    ranked = sorted(choices, key=lambda choice: hashlib.sha256(repr((seed, choice)).encode()).digest())
    return ranked[:count]
