"""Paper, and how large things are on it: what is printed at 11 points, and in large print at 18."""

from dataclasses import dataclass

__all__ = ["LEADINGS", "PAPERS", "Look", "Paper"]

MARGIN_MM = 15.0
ABOVE_FOOT_MM = 1.5
MM_PER_POINT = 25.4 / 72
LEADINGS = (1.3, 1.23, 1.17, 1.15)  # the first with which sheets have few pages is taken


@dataclass(frozen=True)
class Paper:
    """A sheet of paper, upright.

    Parameters
    ----------
    name : str
    width_mm, height_mm : float
    """

    name: str
    width_mm: float
    height_mm: float


# Sources: ISO 216 (A4); ANSI/ASME Y14.1 (Letter, 8.5 by 11 inches).
PAPERS = {"a4": Paper("A4", 210.0, 297.0), "letter": Paper("Letter", 215.9, 279.4)}


@dataclass(frozen=True)
class Look:
    """How a page looks.

    Parameters
    ----------
    paper : Paper
    large : bool
        Large print.
    leading : float
        From one line of type to the next, in sizes of the type.

    Attributes
    ----------
    type_pt, head_pt, title_pt : float
        Sizes of type, in points.
    unit_mm : float
        Length of a short cycle on a strip.
    """

    paper: Paper
    large: bool = False
    leading: float = LEADINGS[0]

    @property
    def type_pt(self):
        """Ordinary type."""
        return 18.0 if self.large else 11.0

    @property
    def head_pt(self):
        """Headings."""
        return 20.0 if self.large else 12.0

    @property
    def title_pt(self):
        """The title."""
        return 24.0 if self.large else 16.0

    @property
    def unit_mm(self):
        """A short cycle on a strip."""
        return 12.0 if self.large else 6.0

    @property
    def line_mm(self):
        """From one line of type to the next."""
        return self.leading * self.type_pt * MM_PER_POINT

    @property
    def left_mm(self):
        """Where type begins."""
        return MARGIN_MM

    @property
    def width_mm(self):
        """Room for type, across."""
        return self.paper.width_mm - 2 * MARGIN_MM

    @property
    def top_mm(self):
        """Where type begins, from the upper edge."""
        return 12.0

    @property
    def height_mm(self):
        """Room for type, downward, without the line at the foot."""
        return self.paper.height_mm - 2 * self.top_mm - self.line_mm - ABOVE_FOOT_MM
