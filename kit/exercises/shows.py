"""What an exercise shows: one line told, a lock, a question with a control beside it; each has its text equal."""

import html
from dataclasses import dataclass

__all__ = ["Asked", "Locked", "Outcome", "Told"]


@dataclass(frozen=True, repr=False)
class Told:
    """Something said.

    Attributes
    ----------
    text : str
        One line or a few.
    detail : str
        What is folded away below it.
    """

    text: str
    detail: str = ""

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        lines = "".join(f"<p>{html.escape(line)}</p>" for line in self.text.splitlines() if line)
        detail = html.escape(self.detail)
        folded = f"<details><summary>Python says</summary><pre>{detail}</pre></details>" if detail else ""
        return f'<div role="status">{lines}{folded}</div>'


class Locked(Told):
    """A result that is not shown yet, and what to do first."""


@dataclass(frozen=True, repr=False)
class Outcome(Told):
    """What a check found.

    Attributes
    ----------
    passed : bool
    mistake : str
        Name of the known mistake, if it is one.
    """

    passed: bool = False
    mistake: str = ""


class Asked:
    """Questions, each with a control to answer it: what a notebook shows of them.

    Parameters
    ----------
    questions : list of dict
        `question`, `options` (pairs of letter and text; none for one that is answered in words), `button`,
        `value` (what was answered so far), `status` and `typed` (how to answer in code) as str; `save`, a
        callable that takes an answer and gives what to say.

    Notes
    -----
    Where widgets cannot run, the question stands there with its options, and says how to answer in code.
    """

    def __init__(self, questions):
        self.questions = list(questions)

    def __repr__(self):
        return "\n\n".join("\n".join(_lines(each)) for each in self.questions)

    def _repr_html_(self):
        return "".join(_still(each) for each in self.questions)

    def _ipython_display_(self):
        from IPython.display import display

        from .control import Control

        for each in self.questions:
            made = Control.of(each)._repr_mimebundle_()
            bundle = (made[0] if isinstance(made, tuple) else made) or {}
            display({**bundle, "text/plain": "(a form)"}, raw=True)
            display({"text/html": _still(each), "text/plain": "\n".join(_lines(each))}, raw=True)


def _lines(each):
    yield each["question"]
    yield from (f"{letter}) {text}" for letter, text in each["options"])
    yield f"Answer with {each['typed']}."
    if each["status"]:
        yield each["status"]


def _still(each):
    paragraphs = "".join(f"<p>{html.escape(line)}</p>" for line in _lines(each))
    return f'<div class="kitq-still">{paragraphs}</div>'
