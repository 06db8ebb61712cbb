"""The paper of the demonstration: pictures of one size, in type that is read from the back row.

A picture is as many pixels wide on the page as its figure has hundredths of an inch, so a size of type in points
is a size in pixels. Whatever a notebook has set for its own figures changes nothing here.
"""

import contextlib

from ..shown import blank_figure

__all__ = ["DOTS_PER_INCH", "HEIGHT_PX", "TYPE_PT", "TYPE_PX", "WIDTH_PX", "plain_settings", "sheet", "title"]

WIDTH_PX, HEIGHT_PX = 720, 450
TYPE_PX = 24.5  # a little above the 24 pixels that are promised
DOTS_PER_INCH = 100
TYPE_PT = TYPE_PX * 72 / DOTS_PER_INCH


@contextlib.contextmanager
def plain_settings():
    """The settings matplotlib comes with, for as long as something is drawn or written."""
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        yield


def sheet(rows=1, width_px=WIDTH_PX, height_px=HEIGHT_PX, **settings):
    """A blank picture; settings as in `kit.shown.blank_figure`.

    Returns
    -------
    figure : matplotlib.figure.Figure
    axes : list of matplotlib.axes.Axes
    """
    size = {"width_in": width_px / DOTS_PER_INCH, "height_in": height_px / DOTS_PER_INCH}
    figure, axes = blank_figure(rows, **size, **settings)
    figure.set_dpi(DOTS_PER_INCH)
    for each in axes:
        each.tick_params(labelsize=TYPE_PT)
        each.xaxis.label.set_size(TYPE_PT)
        each.yaxis.label.set_size(TYPE_PT)
        each.locator_params(nbins=5)
    return figure, axes


def title(axes, words):
    """What a picture shows, over it."""
    axes.set_title(words, loc="left", fontsize=TYPE_PT)


def bare(axes):
    """Leave out the frame and the ticks."""
    axes.set_axis_off()
