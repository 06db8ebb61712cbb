"""The table of a class: designs of a folder in the order of their scores, and files that are none."""

import html
import unicodedata
from dataclasses import dataclass
from pathlib import Path

from ..trials.executors import EndedError, broken
from ..trials.spreading import elsewhere
from .designs import DesignError, read_design
from .scoring import DECK, Scored, design_of, score

__all__ = ["League", "Table", "league"]

MOST_FILES = 200
FIRST = "(the first design)"  # what the bench begins with: a mark to beat
HEAD = ("place", "design", "bits a second", "tape plays", "tapes that load", "right, but not known to be")


@dataclass(frozen=True)
class Table:
    """A table in both forms.

    Attributes
    ----------
    head : tuple of str
    rows : list of tuple of str
    """

    head: tuple
    rows: list

    @property
    def text(self):
        """str: one line for each row, the columns below one another."""
        rows = [self.head, *self.rows]
        widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
        lines = ("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in rows)
        return "\n".join(line.rstrip() for line in lines)

    @property
    def html(self):
        """str: the same for a notebook; whatever the cells hold is shown as text."""
        top = "".join(f'<th scope="col">{html.escape(cell)}</th>' for cell in self.head)
        rows = ("".join(f"<td>{html.escape(cell)}</td>" for cell in row) for row in self.rows)
        body = "".join(f"<tr>{row}</tr>" for row in rows)
        return f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


@dataclass(frozen=True)
class League:
    """The designs of a class.

    Attributes
    ----------
    rows : tuple of (str, Scored)
        Name and score, the best first.
    complaints : tuple of str
        One line for each file that does not count.
    """

    rows: tuple
    complaints: tuple = ()

    @property
    def text(self):
        """str: the table, and below it what does not count."""
        return "\n".join([self._table().text, *self._below()])

    def _table(self):
        scores = [found.score for _, found in self.rows]
        places = [str(scores.index(each) + 1) for each in scores]
        return Table(HEAD, [(place, name, *_figures(found))
                            for place, (name, found) in zip(places, self.rows, strict=True)])

    def _below(self):
        return [f"{name}: {found.text}" for name, found in self.rows if found.refusal] + [
            f"Does not count: {each}" for each in self.complaints]

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        below = "".join(f"<p>{html.escape(line)}</p>" for line in self._below())
        return f"{self._table().html}{below}"


def _figures(found):
    if found.refusal:
        return "0", "–", "refused", "–"
    return (f"{found.score:.0f}", f"{found.seconds:.2f} s", f"{found.loads} of {len(found.vouched)}",
            str(sum(found.right) - found.loads))


def league(folder="league", deck=DECK, *, executor=None):
    """Read the designs of a folder, try each on the same tapes, and rank them.

    Parameters
    ----------
    folder : path-like
        Each file in it whose name ends in .json is read as a design; 200 at most. Nothing in them is ever run.
    deck : str
        The recorder they were to be made for.
    executor : concurrent.futures.Executor, optional
        Tries the designs, such as that of `kit.trials.cluster`; else they are tried here, one after the other.

    Returns
    -------
    League
        With the design that the bench begins with as a mark to beat. Files that are no design, or are made for
        another recorder, are named in `complaints`; they keep nobody else from being ranked.

    Raises
    ------
    KitError
        The executor is closed, its machines are gone, or the kit there is another.
    """
    designs, complaints = _gathered(Path(folder), deck)
    entries = [(design.code_name, design.state) for design in designs] + [(FIRST, design_of(deck=deck))]
    scores = {state: score(state) for _, state in entries} if executor is None else _scores(entries, executor)
    rows = [(name, scores[state]) for name, state in entries]
    return League(tuple(sorted(rows, key=lambda row: (-row[1].score, row[0]))), tuple(complaints))


def _scores(entries, executor):
    """Of each state, from wherever an executor runs it."""
    found = {}
    for state, outcome in elsewhere(score, dict.fromkeys(state for _, state in entries), executor):
        if isinstance(outcome, EndedError):
            outcome = Scored(state, refusal=str(outcome))
        elif isinstance(outcome, Exception):
            raise broken(outcome)
        found[state] = outcome
    return found


def _gathered(folder, deck):
    paths = sorted(folder.glob("*.json"), key=lambda path: path.name)
    designs, complaints = {}, [_shown(path.name) + ": only 200 files are read" for path in paths[MOST_FILES:]][:1]
    if not paths:
        complaints.append(f"{_shown(str(folder))}: there must be designs, got no file that ends in .json: "
                          "check the folder")
    for path in paths[:MOST_FILES]:
        try:
            design = read_design(path)
        except DesignError as error:
            complaints.append(_shown(str(error)))
            continue
        name = design.code_name.casefold()
        if design.state.deck != deck:
            complaints.append(f"{_shown(path.name)}: a design must be for the recorder {deck}, it is for "
                              f"{design.state.deck}: change its deck")
        elif name in designs:
            complaints.append(f"{_shown(path.name)}: {design.code_name} has a design already: choose one of the two")
        else:
            designs[name] = design
    return list(designs.values()), complaints


def _shown(words):
    """A line about a file, whatever its name holds."""
    return "".join(each if unicodedata.category(each)[0] != "C" else "�" for each in words)[:300]
