"""A report on a design: what was given up for what, with the tapes that show whether it was worth it."""

import html
from dataclasses import dataclass

from ..bench.fields import fields_of
from .designs import TRADES, Design, rival_of
from .scoring import Scored, score
from .tables import Table

__all__ = ["Report", "report"]

HEAD = ("trade-off", "chosen", "given up", "bits a second", "tapes that load", "your reason")


@dataclass(frozen=True)
class Report:
    """A design with its trade-offs, each tried.

    Attributes
    ----------
    design : Design
    scored : Scored
    rivals : tuple of Scored
        For each trade-off, the same design with that one thing changed.
    """

    design: Design
    scored: Scored
    rivals: tuple

    @property
    def missing(self):
        """int: trade-offs that are still to be justified."""
        return max(0, TRADES - len({trade.setting for trade in self.design.trades}))

    @property
    def text(self):
        """str: the whole report."""
        table = [self._table().text] if self.rivals else []
        return "\n".join([self._opening(), *table, *self._findings(), *self._open()])

    def _opening(self):
        return f"The design of {self.design.code_name}, for the recorder {self.design.state.deck}. {self.scored.text}"

    def _table(self):
        pairs = zip(self.design.trades, self.rivals, strict=True)
        return Table(HEAD, [_row(self.scored, rival, trade) for trade, rival in pairs])

    def _findings(self):
        pairs = zip(self.design.trades, self.rivals, strict=True)
        return [_finding(trade.setting, self.scored, rival) for trade, rival in pairs]

    def _open(self):
        count = self.missing
        return [f"Still to be justified: {count} trade-off{'s' if count > 1 else ''}."] if count else []

    def __repr__(self):
        return self.text

    def _repr_html_(self):
        above = "".join(f"<p>{html.escape(line)}</p>" for line in self._opening().splitlines())
        below = "".join(f"<p>{html.escape(line)}</p>" for line in (*self._findings(), *self._open()))
        return above + (self._table().html if self.rivals else "") + below


def _row(mine, rival, trade):
    field = {field.name: field for field in fields_of(mine.state)}[trade.setting]
    values = [field.shown(getattr(found.state, trade.setting)) for found in (mine, rival)]
    return (field.label, *values, f"{mine.score:.0f}, not {rival.score:.0f}",
            f"{mine.loads}, not {rival.loads}", trade.because)


def _finding(setting, mine, rival):
    if rival.refusal:
        return f"{setting}: what you gave up is refused: {rival.refusal}."
    if mine.score == rival.score:
        return f"{setting}: on these tapes both score the same, so the reason must lie elsewhere."
    ahead, words = (mine, "Your choice scores more") if mine.score > rival.score else (
        rival, "What you gave up scores more, so the reason must lie elsewhere")
    safer = [found for found in (mine, rival) if found.loads > min(mine.loads, rival.loads)]
    if safer and safer[0] is not ahead:
        words += "; fewer of its tapes load" if ahead is mine else "; but more of your tapes load"
    return f"{setting}: {words}."


def report(design):
    """Try a design, and beside it what each of its trade-offs gave up.

    Parameters
    ----------
    design : Design

    Returns
    -------
    Report
    """
    rivals = tuple(score(rival_of(design.state, trade)) for trade in design.trades)
    return Report(design, score(design.state), rivals)
