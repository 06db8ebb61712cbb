"""Line codes: ways to write bits as changes of level, each in a few lines."""

from dataclasses import dataclass
from functools import cached_property

from .patterns import Branch, PatternCode, checked_cell_units

__all__ = ["BiphaseMark"]

HALF = 0.5  # the middle of a cell


@dataclass(frozen=True)
class BiphaseMark(PatternCode):
    """Biphase mark: an edge at each border, and a one has one in mid-cell as well.

    Parameters
    ----------
    cell_units : float
        How long each bit lasts, in units.

    Examples
    --------
    >>> BiphaseMark().encode([0, 1]).tolist()
    [1.0, 0.5, 0.5]
    """

    cell_units: float = 1.0

    def __post_init__(self):
        checked_cell_units(self.cell_units)

    @cached_property
    def table(self):
        """One state: no bit depends on what came before."""
        return Branch(0, 0, (0.0,), 0), Branch(0, 1, (0.0, HALF), 0)
