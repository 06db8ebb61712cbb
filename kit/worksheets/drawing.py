"""Pages drawn in mm from the upper left corner, in black alone, and written as one PDF file."""

import io

from .typeset import font_path

__all__ = ["THIN", "Page", "pages_as_pdf"]

MM_PER_INCH = 25.4
THIN, STRONG = 0.6, 1.2  # points; photocopiers lose what is thinner than half a point
BLACK = "black"


class Page:
    """A page to draw on.

    Parameters
    ----------
    paper : Paper
    """

    def __init__(self, paper):
        from matplotlib.figure import Figure
        from matplotlib.transforms import Affine2D

        size = paper.width_mm / MM_PER_INCH, paper.height_mm / MM_PER_INCH
        self.figure = Figure(figsize=size)
        self.figure.patch.set_visible(False)  # paper is white by itself
        down = Affine2D().scale(1, -1).translate(0, paper.height_mm).scale(1 / MM_PER_INCH)
        self._from_mm = down + self.figure.dpi_scale_trans

    def text(self, x_mm, y_mm, text, size_pt, bold=False, align="left"):
        """Write a line of text; y is that of its base line."""
        from matplotlib.font_manager import FontProperties

        font = FontProperties(fname=font_path(bold), size=size_pt)
        self.figure.text(x_mm, y_mm, text, fontproperties=font, ha=align, va="baseline", color=BLACK,
                         transform=self._from_mm, parse_math=False, usetex=False)  # fmt: skip

    def line(self, xs_mm, ys_mm, width_pt=THIN):
        """Draw a line through some points."""
        from matplotlib.lines import Line2D

        drawn = Line2D(xs_mm, ys_mm, color=BLACK, linewidth=width_pt, solid_joinstyle="miter",
                       solid_capstyle="butt", transform=self._from_mm, antialiased=True)  # fmt: skip
        # Thousands of points may not be thinned out here: where each edge lies is what the sheet is about.
        drawn.get_path().should_simplify = False
        self.figure.add_artist(drawn)

    def box(self, x_mm, y_mm, width_mm, height_mm):
        """Draw the outline of a box whose upper left corner is given."""
        right, low = x_mm + width_mm, y_mm + height_mm
        self.line([x_mm, right, right, x_mm, x_mm], [y_mm, y_mm, low, low, y_mm])


def pages_as_pdf(paper, title, pages, progress=None):
    """A PDF file of some pages.

    Parameters
    ----------
    paper : Paper
    title : str
        For the file's own record.
    pages : list of callable
        Each draws a `Page`.
    progress : callable, optional
        Called with the part done, 0 to 1.

    Returns
    -------
    bytes
        The same for the same pages: there is no time of day in it, and no settings of the user's go in.
    """
    import matplotlib.style
    from matplotlib.backends.backend_pdf import PdfPages

    written = io.BytesIO()
    plain = ["default", {"pdf.fonttype": 42, "pdf.compression": 6}]  # 42: whole outlines, so that text is text
    record = {"Title": title, "CreationDate": None}
    with matplotlib.style.context(plain), PdfPages(written, metadata=record) as file:
        for done, draw in enumerate(pages, 1):
            page = Page(paper)
            draw(page)
            file.savefig(page.figure)
            if progress is not None:
                progress(done / len(pages))
    return written.getvalue()
