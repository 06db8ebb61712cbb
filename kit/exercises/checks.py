"""From what was found to what is said: which hint a learner gets, and what is kept of a try."""

import re

from .items import WANTED, rungs_of
from .plain import digest, plain
from .running import attempt_of, checking_notice
from .shows import Outcome

__all__ = ["checked_entry", "checked_function"]

NUMBER_WITH_UNIT = re.compile(r"[-+]?[0-9]+(?:[.,][0-9]+)?\s*[^0-9\s.,;:][^0-9]{0,11}")
CHANGE = "Change something, then check again for the next hint."


def checked_function(task, data, seed, record, function):
    """Check a function, and choose the hint.

    Parameters
    ----------
    task : FunctionTask
    data : tuple
        The learner's own arguments.
    seed : bytes
    record : dict
        What was kept of this item so far.
    function : callable

    Returns
    -------
    outcome : Outcome
    fields : dict
        What is to be kept now.
    """
    try:
        with checking_notice():
            found = task.check(function, data, seed)
    except KeyboardInterrupt:  # not while the function ran, but just before or after
        return Outcome("It was stopped from outside: check again.", mistake="stopped"), {}
    fields, text = _step(record, found, attempt_of(function), list(found.answer))
    return Outcome(text, found.detail, found.passed, found.mistake), fields


def checked_entry(entry, data, record, answer):
    """Check bits, a number or words, and choose the hint.

    Parameters
    ----------
    entry : Entry
    data : object
    record : dict
    answer : object
        As typed.

    Returns
    -------
    outcome : Outcome
    fields : dict
    """
    given = entry.accepts(answer)
    if given is None:
        return Outcome(_not_of_its_kind(entry, answer), mistake="wrong type"), {}
    right, _ = entry.judged(data, b"", given)
    known = entry.mistake_in(data, given)
    found = _Entered(right, (entry.reply,)) if right else _Entered(
        False, rungs_of(known, entry) if known else ("Not yet.", entry.look, entry.worked),
        known.name if known else "other")
    fields, text = _step(record, found, digest(plain(given)), given)
    return Outcome(text, "", right, found.mistake), fields


def _not_of_its_kind(entry, answer):
    if entry.kind == "number" and isinstance(answer, str) and NUMBER_WITH_UNIT.fullmatch(answer.strip()):
        return f"Leave the unit away and give the number alone, got {answer.strip()[:20]!r}."
    return f"This answer is {WANTED[entry.kind]}, got {repr(answer)[:20]}."


class _Entered:
    def __init__(self, passed, rungs, mistake=""):
        self.passed, self.rungs, self.mistake = passed, rungs, mistake


def _step(record, found, attempt, answer):
    """The hint: the next one for the same trouble in a changed try, the same one for the same try."""
    same_trouble = record.get("mistake") == found.mistake and not found.passed
    same_try = record.get("attempt") == attempt
    last = len(found.rungs) - 1
    rung = min(max(0, record.get("rung", 0)) + (not same_try), last) if same_trouble else 0
    fields = {"mistake": found.mistake, "rung": rung, "attempt": attempt, "tries": record.get("tries", 0) + 1}
    if found.passed or not record.get("passed"):  # what was right once is not lost by trying further
        fields |= {"answer": answer, "passed": found.passed}
    text = found.rungs[rung]
    if same_trouble and same_try and rung < last:
        text = f"{text}\n{CHANGE}"
    return fields, text
