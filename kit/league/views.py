"""A picture of designs: where the seconds of a tape go, and what each design is worth."""

from ..bench.ownformat import PARTS
from ..shown import BLACK, BLUE, GREEN, ORANGE, PURPLE, VERMILLION, Shown, blank_figure

__all__ = ["scores_view"]

LOOKS = dict(zip(PARTS, (
    (BLUE, "o"), (ORANGE, "s"), (GREEN, "^"), (PURPLE, "D"), (BLACK, "|"),
), strict=True))
LANE = 1.4  # height of one design


def scores_view(designs):
    """Designs below one another: a tape of each as a line, its parts one after the other, and its score.

    Parameters
    ----------
    designs : dict
        Name → `Scored`.

    Returns
    -------
    Shown
    """
    figure, (axes,) = blank_figure(1, height_in=1.6 + 0.6 * len(designs))
    longest = max([found.seconds for found in designs.values()] + [0.1])
    for lane, found in enumerate(designs.values()):
        _draw_lane(axes, -LANE * lane, found, longest)
    axes.set_yticks([-LANE * lane for lane in range(len(designs))], list(designs))
    axes.set(xlim=(0, 1.45 * longest), ylim=(-LANE * (len(designs) - 0.4), 0.9), xlabel="seconds of tape, by parts")
    handles = [axes.plot([], [], color=colour, marker=marker, linewidth=3, label=part)[0]
               for part, (colour, marker) in LOOKS.items()]
    figure.legend(handles=handles, loc="outside lower center", ncols=len(PARTS), fontsize=11, frameon=False)
    return Shown(figure, "\n".join(f"{name}: {_in_words(found)}" for name, found in designs.items()))


def _draw_lane(axes, height, found, longest):
    at = 0.0
    for part, seconds in zip(PARTS, found.parts_s, strict=False):
        colour, marker = LOOKS[part]
        if seconds > 0:
            axes.plot([at, at + seconds], [height, height], color=colour, linewidth=3, solid_capstyle="butt")
            axes.plot([at + seconds / 2], [height], color=colour, marker=marker, markersize=8)
        at += seconds
    words = "refused" if found.refusal else f"{found.score:.0f} bits/s, {found.loads} of {len(found.vouched)} load"
    axes.text(at + 0.01 * longest, height, " " + words, va="center", fontsize=12,
              color=VERMILLION if not found.loads else BLACK)


def _in_words(found):
    if found.refusal:
        return found.text
    pairs = zip(PARTS, found.parts_s, strict=True)
    parts = ", ".join(f"{part} {seconds:.2f} s" for part, seconds in pairs if seconds)
    return f"{found.text.splitlines()[0]} Its parts: {parts}."
