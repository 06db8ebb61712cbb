"""What the picture area shows: panes of lines, marks, stretches, tiles and words, and the same in words.

A scene is data; `packed` makes it ready for the browser, `still.py` draws it without one. Colours are those of
`kit.shown`, and whatever has a colour has a name, a dash or a hatching as well.
"""

from dataclasses import asdict, dataclass, fields

import numpy as np

from ..shown import BLACK, BLUE, PURPLE, VERMILLION

__all__ = ["Level", "Line", "Marks", "Pane", "Scene", "Stretch", "Tiles", "Words"]


@dataclass(frozen=True)
class Line:
    """A trace.

    Attributes
    ----------
    x, y : array_like of float, shape (n,)
    name : str
        In the legend; "" keeps it out.
    colour : str
    dash : {"", "dash", "dot"}
    look : {"line", "stems", "dots"}
        Joined points; a stem up from zero for each; a dot at each point of the line.
    """

    x: object
    y: object
    name: str = ""
    colour: str = BLUE
    dash: str = ""
    look: str = "line"


@dataclass(frozen=True)
class Marks:
    """Points that are marked: crossings, edges, where one stands now.

    Attributes
    ----------
    x, y : array_like of float, shape (n,)
    name : str
    colour : str
    symbol : {"o", "x", "|", "v", "."}
        Ring, cross, upright stroke, triangle pointing down, small dot.
    """

    x: object
    y: object
    name: str = ""
    colour: str = VERMILLION
    symbol: str = "o"


@dataclass(frozen=True)
class Level:
    """A straight line across a pane.

    Attributes
    ----------
    at : float
    label : str
        Written beside it.
    name : str
        In the legend; "" keeps it out.
    upright : bool
        False: at a level of y; True: at a place of x.
    colour : str
    dash : {"", "dash", "dot"}
    """

    at: float
    label: str = ""
    name: str = ""
    upright: bool = False
    colour: str = BLACK
    dash: str = "dash"


@dataclass(frozen=True)
class Stretch:
    """A shaded, hatched part of the x axis.

    Attributes
    ----------
    start, stop : float
    label : str
        Written at its top.
    colour : str
    hatch : {"/", "\\\\", ""}
        Which way the hatching leans; without, it is only tinted and must have a label.
    """

    start: float
    stop: float
    label: str = ""
    colour: str = PURPLE
    hatch: str = "/"


@dataclass(frozen=True)
class Words:
    """Text at places of the picture.

    Attributes
    ----------
    x : array_like of float, shape (n,)
    texts : tuple of str
        Drawn as text, whatever they hold.
    y : float
        In the measure of the pane's y axis.
    colour : str
    large : bool
    align : {"center", "left", "right"}
        Which part of each text lies at its x.
    """

    x: object
    texts: tuple
    y: float = 0.5
    colour: str = BLACK
    large: bool = True
    align: str = "center"


@dataclass(frozen=True)
class Tiles:
    """Rectangles of one size that mean the same: bits, bytes, blocks or points of a picture.

    Attributes
    ----------
    x, y : array_like of float, shape (n,)
        Their left and lower edges.
    width, height : float
        In the measure of the pane's axes.
    name : str
        In the legend; "" keeps it out.
    colour : str
    hatch : {"", "/", "\\\\", "x"}
        Which way the hatching leans; "x" is crossed.
    letter : str
        Written on each, where there is room.
    shades : array_like of float, shape (n,) or (0,)
        How light each one is, 0 black and 1 white, in place of a tint of `colour`.
    """

    x: object
    y: object
    width: float = 1.0
    height: float = 1.0
    name: str = ""
    colour: str = BLUE
    hatch: str = ""
    letter: str = ""
    shades: object = ()


@dataclass(frozen=True)
class Pane:
    """One drawing with its axes.

    Attributes
    ----------
    x_span, y_span : tuple of float
        From and to.
    x_label, y_label : str
        With units. Panes below one another with the same label and span of x share one axis; without an `x_label`
        there are no ticks along it.
    items : tuple of Line, Marks, Level, Stretch, Tiles or Words
        Drawn in this order, tiles and stretches first.
    title : str
    share : float
        Part of the picture's height, relative to the other panes'.
    log_x : bool
    bare : bool
        A row of words: no ticks and no frame at its side.
    grid : tuple of float
        Places of x with a dotted line from top to bottom.
    """

    x_span: tuple
    y_span: tuple
    x_label: str
    y_label: str
    items: tuple
    title: str = ""
    share: float = 1.0
    log_x: bool = False
    bare: bool = False
    grid: tuple = ()


@dataclass(frozen=True)
class Scene:
    """All that is shown.

    Attributes
    ----------
    panes : tuple of Pane
    text : str
        Says what the picture says.
    height : int
        Pixels of the page.
    """

    panes: tuple
    text: str
    height: int = 380

    def packed(self):
        """The scene for the browser.

        Returns
        -------
        plan : dict
            Of plain values; a row of numbers is ``[first, count]`` in `numbers`.
        numbers : bytes
            float32, little-endian, all rows one after another.
        """
        rows = []
        panes = [_packed_pane(pane, rows) for pane in self.panes]
        numbers = np.concatenate([np.zeros(0, "<f4"), *rows]).astype("<f4")
        return {"panes": panes, "height": self.height}, numbers.tobytes()


def _packed_pane(pane, rows):
    plan = {one.name: getattr(pane, one.name) for one in fields(pane)}
    plan["grid"] = [float(place) for place in pane.grid]
    for span in ("x_span", "y_span"):
        plan[span] = [float(end) for end in plan[span]]
    return {**plan, "items": [_packed_item(item, rows) for item in pane.items]}


def _packed_item(item, rows):
    plan = {"kind": type(item).__name__, **asdict(item)}
    for axis in {"x", "y", "shades"} & set(plan):
        if isinstance(item, Words) and axis == "y":
            continue
        first = sum(len(row) for row in rows)
        rows.append(np.asarray(plan[axis], "<f4").reshape(-1))
        plan[axis] = [first, len(rows[-1])]
    return plan


