"""A picture with its text equal: what a notebook shows, what a screen reader reads, what a file keeps.

Colours are those of M. Okabe and K. Ito, "Color Universal Design" (2008), which most colour-blind people tell
apart; no picture of the kit says anything by colour alone.
"""

import base64
import html
import io
from dataclasses import dataclass
from pathlib import Path

__all__ = [
    "BLACK",
    "BLUE",
    "GREEN",
    "LABEL_SIZE",
    "ORANGE",
    "PURPLE",
    "SKY",
    "VERMILLION",
    "Shown",
    "blank_figure",
]

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
BLUE, VERMILLION, PURPLE = "#0072B2", "#D55E00", "#CC79A7"

DOTS_PER_INCH = 144
LABEL_SIZE = 12  # points: read from the back of a room when the picture fills the screen
PAGE_DOTS_PER_INCH = 96  # what browsers take for an inch


@dataclass(frozen=True, repr=False)
class Shown:
    """A figure and the same in words.

    Attributes
    ----------
    figure : matplotlib.figure.Figure
    text : str
        Says what the figure says; plain, may have several lines.

    Notes
    -----
    In a notebook it shows as an image whose `alt` is the text, and the text below it. (The image a notebook
    makes of a bare figure has no `alt`.)
    """

    figure: object
    text: str

    def __repr__(self):
        return self.text

    def png(self):
        """bytes: the figure as a PNG file."""
        written = io.BytesIO()
        self.figure.savefig(written, format="png", dpi=DOTS_PER_INCH)
        return written.getvalue()

    def pdf(self):
        """bytes: the figure as a PDF file, without the time of day in it."""
        written = io.BytesIO()
        self.figure.savefig(written, format="pdf", metadata={"CreationDate": None})
        return written.getvalue()

    def write(self, path):
        """Write the figure as a PNG file, or as a PDF file if the name ends in .pdf.

        Returns
        -------
        pathlib.Path
        """
        path = Path(path)
        path.write_bytes(self.pdf() if path.suffix.lower() == ".pdf" else self.png())
        return path

    def _repr_html_(self):
        source = base64.b64encode(self.png()).decode("ascii")
        width = round(self.figure.get_figwidth() * PAGE_DOTS_PER_INCH)
        # A new line ends an alt text for some readers.
        alt = html.escape(" ".join(self.text.split()))
        lines = html.escape(self.text).replace("\n", "<br>")
        return (
            f'<img alt="{alt}" src="data:image/png;base64,{source}" style="width:{width}px;max-width:100%">'
            f"<p>{lines}</p>"
        )


def blank_figure(rows=1, width_in=9.5, height_in=3.2, **settings):
    """A figure with axes below one another, in the kit's type and colours.

    Parameters
    ----------
    rows : int
    width_in, height_in : float
        Inches.
    settings
        For `matplotlib.figure.Figure.subplots`.

    Returns
    -------
    figure : matplotlib.figure.Figure
    axes : list of matplotlib.axes.Axes
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in), layout="constrained", facecolor="white")
    axes = list(figure.subplots(rows, squeeze=False, **settings)[:, 0])
    for each in axes:
        each.spines[["top", "right"]].set_visible(False)
        each.tick_params(labelsize=11)
        each.xaxis.label.set_size(LABEL_SIZE)
        each.yaxis.label.set_size(LABEL_SIZE)
    return figure, axes
