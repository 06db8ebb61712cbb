"""Check a function a learner wrote: compare its results with the right ones and name the mistake.

A task ships the right function and the usual wrong ones. Where a learner's results are those of a wrong one, its
hints are given.
"""

import reprlib
from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

from .draws import Draws
from .items import own_data, rungs_of
from .plain import NOT_PLAIN, alike, plain
from .running import run_bounded

__all__ = ["Finding", "FunctionTask"]

FRESH = 3  # inputs a function is tried on beside the learner's own


@dataclass(frozen=True)
class Finding:
    """What came of trying a function.

    Attributes
    ----------
    passed : bool
    rungs : tuple of str
        One line if it passed; otherwise hints, from what the result shows to a worked line on other data.
    mistake : str
        Names the kind of trouble, so that the next one of the same kind is known.
    detail : str
        What Python says, where the function stopped.
    answer : list
        What the function gives on the learner's own data, on fresh ones and at the edge, as far as it came, and on
        the probe if a mistake was known; None for what is no plain data.
    """

    passed: bool
    rungs: tuple
    mistake: str = ""
    detail: str = ""
    answer: tuple = ()


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
        Plain result → the result, or None if it is of another kind.
    draw : callable
        `Draws` → arguments, as a tuple of plain data.
    edge : tuple
        Arguments at the edge.
    edge_words : str
        What these are, for messages: "an empty text".
    about : callable
        Arguments → a few words that tell them from others.
    look, worked : str
        Second and third hint for a wrong result that is no known mistake.
    probe : tuple
        Arguments on which mistakes part that look the same on all others; () if there are none. Of such mistakes
        the last stands for whatever else looks the same.
    """

    name: str
    right: Callable
    mistakes: tuple
    what: str
    accepts: Callable
    draw: Callable
    edge: tuple
    edge_words: str
    about: Callable
    look: str
    worked: str
    probe: tuple = ()

    kind = "function"

    def asked(self, data):
        """What is asked, as plain data."""
        return [self.name, plain(data)]

    def tells_apart(self, data):
        """Whether the right function and all mistakes give different results on some arguments."""
        apart = [mistake for mistake in self.mistakes if not mistake.like]
        results = [plain(self.right(*data)), *(plain(mistake.function(*data)) for mistake in apart)]
        return not any(alike(one, other) for one, other in combinations(results, 2))

    def judged(self, data, seed, answer):
        """Whether results are right, and the belief behind the mistake if it is a known one.

        Parameters
        ----------
        data : tuple
            The learner's own arguments.
        seed : bytes
        answer : list
            As in `Finding`.

        Returns
        -------
        right : bool
        belief : str
        """
        inputs = [data, *self.fresh(seed), self.edge]
        if alike(answer, [plain(self.right(*each)) for each in inputs]):
            return True, ""
        made = [each for each in self.mistakes if answer and alike(answer[0], plain(each.function(*data)))]
        probed = answer[len(inputs)] if len(answer) > len(inputs) else NOT_PLAIN
        return False, self._probed(made, probed).means if made else ""

    def _probed(self, made, result):
        """Of mistakes that look the same, the one that gives this on the probe, or else the last of them."""
        if len(made) == 1 or not self.probe:
            return made[0]
        return next((each for each in made if alike(result, plain(each.function(*self.probe)))), made[-1])

    def fresh(self, seed):
        """Other inputs for a learner, in which mistakes show as well.

        Parameters
        ----------
        seed : bytes

        Returns
        -------
        list of tuple
        """
        return [own_data(self, Draws(seed, number).bytes(32)) for number in range(1, FRESH + 1)]

    def check(self, function, own, seed):
        """Run a learner's function on their own input, on fresh ones and on one at the edge.

        Parameters
        ----------
        function : callable
        own : tuple
            The learner's own arguments.
        seed : bytes
            Fresh inputs are drawn from it.

        Returns
        -------
        Finding
        """
        if not callable(function):
            return self._trouble("not a function", f"Give the function itself: {self.name}, without brackets.")
        inputs = [own, *self.fresh(seed)]
        results = []
        for arguments in [*inputs, self.edge]:
            result, trouble = run_bounded(function, arguments)
            if trouble is not None:
                return self._stopped(trouble, _kept(results), at_edge=arguments is self.edge)
            results.append(plain(result))
        return self._judged(function, inputs, results)

    def _stopped(self, trouble, answer, at_edge):
        text = f"{trouble.text}, given {self.edge_words}." if at_edge else f"{trouble.text}."
        return self._trouble(trouble.name, text.replace("?.", "?"), trouble.detail, answer)

    def _trouble(self, name, text, detail="", answer=()):
        # What happened is said each time: at the second attempt, too, it may be news.
        return Finding(False, (text, f"{text}\n{self.look}", f"{text}\n{self.worked}"), name, detail, answer)

    def _known(self, function, inputs, results):
        """The finding of a known mistake, or None."""
        made = [each for each in self.mistakes
                if all(alike(got, plain(each.function(*data))) for got, data in zip(results, inputs, strict=False))]
        if not made:
            return None
        if self.probe:  # also if only one is left: marking goes by fewer inputs
            results = [*results, plain(run_bounded(function, self.probe)[0])]
        mistake = self._probed(made, results[-1])
        return Finding(False, rungs_of(mistake, self), mistake.name, answer=_kept(results))

    def _judged(self, function, inputs, results):
        own = _kept(results)
        if known := self._known(function, inputs, results):
            return known
        for result in results:
            if result is NOT_PLAIN or self.accepts(result) is None:
                return self._trouble("wrong type", f"It must return {self.what}, got {_short(result)}.", answer=own)
        wrong = [self._difference(data, got) for data, got in zip([*inputs, self.edge], results, strict=True)]
        if not any(wrong):
            return Finding(True, (f"Passed on your message and {FRESH} others.",), answer=own)
        if not wrong[0] and all(wrong[1:-1]):
            text = "Right on your message, wrong on others: what in your function fits yours alone?"
            return self._trouble("own only", text, answer=own)
        return self._trouble("difference", f"Not yet: {next(filter(None, wrong))}", answer=own)

    def _difference(self, data, result):
        """Where a result leaves the right one, without saying what is right there; "" if nowhere."""
        got, right = self.accepts(result), plain(self.right(*data))
        about = self.edge_words if data is self.edge else self.about(*data)
        if alike(got, right):
            return ""
        if not isinstance(right, list):
            return f"with {about}, yours gives {_short(got)}."
        if len(got) != len(right):
            return f"{about} needs {len(right)} of them, you give {len(got)}."
        place = next(k for k, (one, other) in enumerate(zip(got, right, strict=True)) if not alike(one, other))
        return f"with {about}, look at number {place + 1} of your {len(got)}."


def _kept(results):
    return [None if result is NOT_PLAIN else result for result in results]


def _short(value):
    """A value as text of a few words at most."""
    brief = reprlib.Repr()
    brief.maxlist = brief.maxtuple = 3
    words = brief.repr(value).split()
    return " ".join(words[:4] + ["…"] * (len(words) > 4))
