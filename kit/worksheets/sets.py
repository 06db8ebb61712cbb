"""A class's worksheets: what is drawn for it, and the two files that come of it."""

from dataclasses import dataclass, field

from ..errors import SettingError
from ..exercises.lessons import lesson_of
from .naming import anonymous, cut, even, named
from .paper import PAPERS
from .sheets import Question, drawn_sheet, exits_of, prediction_of

__all__ = ["LESSONS_ASKED", "WorksheetSet", "worksheets"]

LESSONS_ASKED = (1,)  # what it asks can be told from paper alone, and one session begins with it


@dataclass(frozen=True)
class WorksheetSet:
    """Worksheets for a class.

    Attributes
    ----------
    class_code : str
        As it is printed.
    paper : {"a4", "letter"}
    large : bool
        Large print: 18 points and more, and strips of twice the length.
    prediction : Question
        The same for all.
    exits : list of Question
        Each sheet has one of them.
    sheets : list of Sheet
    """

    class_code: str
    paper: str
    large: bool
    prediction: Question
    exits: list = field(repr=False)
    sheets: list = field(repr=False)

    @property
    def page_count(self):
        """How many pages the sheets have, without the key."""
        from .learnerpages import learner_pages

        return len(learner_pages(self))

    def pdf(self, progress=None):
        """The sheets as a PDF file: one page for each learner, more in large print.

        Parameters
        ----------
        progress : callable, optional
            Called with the part done, 0 to 1.

        Returns
        -------
        bytes
            The same for the same set, whenever it is made.
        """
        from .drawing import pages_as_pdf
        from .learnerpages import learner_pages

        return pages_as_pdf(PAPERS[self.paper], "Worksheets", learner_pages(self), progress)

    def key_pdf(self, progress=None):
        """The key as a PDF file: answers of each learner, and for each wrong one its idea and the next move.

        Parameters
        ----------
        progress : callable, optional

        Returns
        -------
        bytes
        """
        from .drawing import pages_as_pdf
        from .keypages import key_pages

        return pages_as_pdf(PAPERS[self.paper], "Key to the worksheets", key_pages(self), progress)


def worksheets(names=(), class_code="", *, count=None, paper="a4", large=False, lessons=LESSONS_ASKED):
    """Worksheets for a class: the same names and code give the same sheets, on any machine.

    Parameters
    ----------
    names : sequence of str
        Code names, never real ones; at most 200.
    class_code : str
        Another code gives other sheets.
    count : int, optional
        So many sheets without names, instead of `names`.
    paper : {"a4", "letter"}
    large : bool
    lessons : sequence of int
        Which lessons' predictions and exit questions are asked.

    Returns
    -------
    WorksheetSet

    Raises
    ------
    SettingError
        Names, paper or lessons are none that can be taken.

    Examples
    --------
    >>> [sheet.letters for sheet in worksheets(["gull 7", "tern 2"], "6b").sheets]
    ['RNW', 'CZJ']
    """
    if paper not in PAPERS:
        raise SettingError(f"paper must be one of {', '.join(PAPERS)}, got {str(paper)[:20]!r}: choose one of these")
    lessons = sorted({lesson_of(number).number for number in lessons})
    if not lessons:
        raise SettingError("there must be a lesson to ask about, got none: name one, such as 4")
    who = _who(list(names), count)
    code = even(class_code)
    prediction = prediction_of(lessons, code)
    exits, taken = exits_of(lessons, prediction), set()
    sheets = [drawn_sheet(k + 1, each, code, exits, taken) for k, each in enumerate(who)]
    return WorksheetSet(cut(class_code), paper, large, prediction, exits, sheets)


def _who(names, count):
    if count is None:
        return named(names)
    if names:
        raise SettingError(f"there must be code names or a number of sheets, got {len(names)} and {count}: give one")
    return anonymous(count)
