"""A scene without a browser: the same picture by matplotlib, for pages where nothing can be moved."""

import numpy as np

from ..shown import LABEL_SIZE, Shown, blank_figure
from .scene import Level, Line, Marks, Stretch, Tiles, Words

__all__ = ["still"]

PIXELS_PER_INCH = 96
WIDTH_IN = 8.5
HEAD_LETTERS, MARK_LETTERS = 106, 7  # how many letters fit above a pane, and as how many a legend's mark counts
DASHES = {"": "-", "dash": "--", "dot": ":"}
SYMBOLS = {"o": "o", "x": "x", "|": "|", "v": "v", ".": "."}


def still(scene):
    """A scene as a figure with its text equal.

    Parameters
    ----------
    scene : Scene or Shown
        A `Shown` is given back as it is.

    Returns
    -------
    Shown
    """
    if isinstance(scene, Shown):
        return scene
    shares = {"height_ratios": [pane.share for pane in scene.panes]}
    height = max(2.4, scene.height / PIXELS_PER_INCH)
    figure, rows = blank_figure(len(scene.panes), WIDTH_IN, height, gridspec_kw=shares)
    for k, (axes, pane) in enumerate(zip(rows, scene.panes, strict=True)):
        _draw_pane(axes, pane, _shares_axis(pane, scene.panes[k + 1 : k + 2]))
    return Shown(figure, scene.text)


def _shares_axis(pane, following):
    return any((pane.x_label, pane.x_span) == (other.x_label, other.x_span) for other in following)


def _draw_pane(axes, pane, unlabelled):
    from matplotlib.ticker import FuncFormatter, LogLocator, NullLocator

    if pane.log_x:
        axes.set_xscale("log")
        axes.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
        axes.xaxis.set_minor_locator(NullLocator())
    axes.set(xlim=pane.x_span, ylim=pane.y_span)
    axes.set_ylabel(_plain(pane.y_label), rotation=0 if pane.bare else 90, ha="right" if pane.bare else "center")
    for place in pane.grid:
        axes.axvline(place, color="0.55", linewidth=0.8, linestyle=":")
    if pane.bare:
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
    if unlabelled or not pane.x_label:
        axes.tick_params(labelbottom=False, bottom=not pane.bare)
    else:
        axes.set_xlabel(_plain(pane.x_label))
    for item in pane.items:
        DRAW[type(item)](axes, item)
    _draw_head(axes, pane)


def _draw_head(axes, pane):
    """Title and legend: side by side, or one below the other where they are long."""
    handles, names = axes.get_legend_handles_labels()
    letters = len(pane.title) + sum(len(name) + MARK_LETTERS for name in names)
    columns = len(names)
    if letters > HEAD_LETTERS and names:
        columns = max(1, HEAD_LETTERS // (max(map(len, names)) + MARK_LETTERS))
    rows = -(-len(names) // columns) if letters > HEAD_LETTERS and names else 0
    axes.set_title(_plain(pane.title), loc="left", fontsize=LABEL_SIZE, pad=6 + 17 * rows)
    if names:
        side, at = ("lower left", (0, 1)) if rows else ("lower right", (1, 1))
        axes.legend(handles, names, loc=side, bbox_to_anchor=at, ncols=columns, fontsize=11, frameon=False,
                    borderpad=0, borderaxespad=0.2, labelspacing=0.25, columnspacing=1.2)


def _draw_line(axes, line):
    x, y = np.asarray(line.x, float), np.asarray(line.y, float)
    style = {"color": line.colour, "linestyle": DASHES[line.dash], "label": _plain(line.name) or None}
    if line.look == "stems":
        axes.vlines(x, 0, y, linewidth=1.6, **style)
        axes.plot(x, y, "o", color=line.colour, markersize=5)
    else:
        axes.plot(x, y, marker="." if line.look == "dots" else "", linewidth=1.6, **style)


def _draw_marks(axes, marks):
    hollow = {"markerfacecolor": "none"} if marks.symbol == "o" else {}
    axes.plot(marks.x, marks.y, SYMBOLS[marks.symbol], color=marks.colour, markersize=3 if marks.symbol == "." else 8,
              linestyle="none", label=_plain(marks.name) or None, **hollow)


def _draw_level(axes, level):
    draw = axes.axvline if level.upright else axes.axhline
    draw(level.at, color=level.colour, linestyle=DASHES[level.dash], linewidth=1.3, label=_plain(level.name) or None)
    if level.label and level.upright:
        place = axes.transAxes.inverted().transform(axes.transData.transform((level.at, axes.get_ylim()[0])))[0]
        axes.text(level.at, 0.95, f" {_plain(level.label)} ", transform=axes.get_xaxis_transform(), va="top",
                  ha="right" if place > 0.6 else "left", clip_on=True)
    elif level.label:
        axes.text(0.995, level.at, _plain(level.label), transform=axes.get_yaxis_transform(), ha="right",
                  va="bottom", clip_on=True)


def _draw_stretch(axes, stretch):
    axes.axvspan(stretch.start, stretch.stop, facecolor="none", edgecolor=stretch.colour, alpha=0.45,
                 hatch=2 * stretch.hatch, linewidth=0)
    if stretch.label:
        axes.text((stretch.start + stretch.stop) / 2, 0.97, _plain(stretch.label),
                  transform=axes.get_xaxis_transform(), ha="center", va="top", clip_on=True)


def _draw_words(axes, words):
    for x, text in zip(words.x, words.texts, strict=True):
        axes.text(x, words.y, _plain(text), ha=words.align, va="center", color=words.colour, clip_on=True,
                  fontsize=15 if words.large else 11)


def _draw_tiles(axes, tiles):
    from matplotlib.patches import Rectangle

    label = _plain(f"{tiles.letter} {tiles.name}".strip()) if tiles.name else None
    shades = np.asarray(tiles.shades, float)
    for k, (x, y) in enumerate(zip(tiles.x, tiles.y, strict=True)):
        face = str(min(1.0, max(0.0, shades[k]))) if len(shades) else (tiles.colour, 0.16)
        axes.add_patch(Rectangle((x, y), tiles.width, tiles.height, facecolor=face, edgecolor=(tiles.colour, 0.6),
                                 hatch=3 * tiles.hatch, linewidth=0 if len(shades) else 0.6, label=label))
        label = None
        if tiles.letter:
            axes.text(x + tiles.width / 2, y + tiles.height / 2, _plain(tiles.letter), ha="center", va="center",
                      fontsize=9, clip_on=True)


DRAW = {Line: _draw_line, Marks: _draw_marks, Level: _draw_level, Stretch: _draw_stretch, Tiles: _draw_tiles,
        Words: _draw_words}


def _plain(text):
    """Text that matplotlib takes as it stands: a dollar sign would begin a formula."""
    return text.replace("$", r"\$")
