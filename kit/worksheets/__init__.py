"""Worksheets on paper: a tape to read with a ruler, one for each learner, and a key for who teaches."""

from .naming import MOST_SHEETS, NAMES_ONLY
from .paper import PAPERS
from .sets import LESSONS_ASKED, WorksheetSet, worksheets

__all__ = ["LESSONS_ASKED", "MOST_SHEETS", "NAMES_ONLY", "PAPERS", "WorksheetSet", "worksheets"]
