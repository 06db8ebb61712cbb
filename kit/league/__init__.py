"""The league: what a format of one's own is worth on twenty tapes, and a table of a class's formats.

A design is a few settings, never code. ``score(deck="worn", unit_hz=4800)`` says what one is worth, `put_in` keeps
it as a small file, and `league` reads a folder of such files.
"""

from .designs import Design, DesignError, Trade, put_in, read_design
from .reports import Report, report
from .scoring import TAPES, Scored, design_of, format_of, score
from .tables import League, league
from .views import scores_view

__all__ = ["TAPES", "Design", "DesignError", "League", "Report", "Scored", "Trade", "design_of", "format_of",
           "league", "put_in", "read_design", "report", "score", "scores_view"]
