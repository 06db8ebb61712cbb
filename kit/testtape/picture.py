"""One page on a recorder: the figures in words, four pictures, and what to do."""

import textwrap

import numpy as np

from kit.shown import BLACK, BLUE, GREEN, ORANGE, VERMILLION, Shown
from kit.testtape.advice import LOUD_CAUTION
from kit.testtape.plan import LADDER_SPEEDS
from kit.testtape.words import SIDES, heading, in_words, rows

__all__ = ["page"]

PAGE_IN = (8.27, 11.69)  # A4
TEXT_SIZE, TITLE_SIZE, LABEL_SIZE = 6.8, 12, 8
WIDE = 150  # letters of a line of small type across the page
STYLES = ((BLUE, "-", "o"), (VERMILLION, "--", "s"))
SMOOTH_S = 0.02
MOST_POINTS = 3000
MOST_LINES = 51


def page(report):
    """A page on a report.

    Parameters
    ----------
    report : RecorderReport

    Returns
    -------
    Shown
        An upright page of A4; its text equal is the report in words.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=PAGE_IN, facecolor="white")
    grid = figure.add_gridspec(2, 2, left=0.09, right=0.97, bottom=0.045, top=0.42, hspace=0.5, wspace=0.24)
    draws = (_draw_response, _draw_speed, _draw_levels, _draw_ladder)
    for k, draw in enumerate(draws):
        axes = figure.add_subplot(grid[k // 2, k % 2])
        axes.spines[["top", "right"]].set_visible(False)
        axes.tick_params(labelsize=LABEL_SIZE - 1)
        draw(axes, report)
        axes.title.set_size(LABEL_SIZE + 1)
        axes.xaxis.label.set_size(LABEL_SIZE)
        axes.yaxis.label.set_size(LABEL_SIZE)
    _write(figure, report)
    return Shown(figure, in_words(report))


def _write(figure, report):
    """The words, above the pictures; a name in them is never taken for mathematics."""
    figure.text(0.04, 0.975, "What this recorder carries", fontsize=TITLE_SIZE, parse_math=False)
    lines = [*textwrap.wrap(heading(report), WIDE)[:3], f"caution: {LOUD_CAUTION}", ""]
    for what, value, note in rows(report):
        text = f"{what}: {value}" + (f"; {note}" if note else "")
        lines += textwrap.wrap(text, WIDE, subsequent_indent="     ")
    for item in report.advice:
        lines += textwrap.wrap(f"→ {item}", WIDE, subsequent_indent="     ")
    if len(lines) > MOST_LINES:
        lines = [*lines[: MOST_LINES - 1], "…: measure says the rest in words"]
    figure.text(0.04, 0.965, "\n".join(lines), fontsize=TEXT_SIZE, va="top", linespacing=1.25, parse_math=False)


def _nothing(axes, why):
    axes.text(0.5, 0.5, why, ha="center", va="center", fontsize=LABEL_SIZE, transform=axes.transAxes)


def _draw_response(axes, report):
    drawn = False
    for (side, response), (colour, dashes, mark) in zip(report.response.items(), STYLES, strict=False):
        hz, level_db = response.curve
        if len(hz):
            name = SIDES[side] if len(report.response) > 1 else "level"
            axes.semilogx(hz, level_db, color=colour, linestyle=dashes, marker=mark, markersize=3, label=name)
            drawn = True
    axes.set(title="What passes", xlabel="frequency in Hz", ylabel="dB against 1000 Hz", xlim=(50, 20_000))
    if drawn:
        axes.set_ylim(-45, 6)
        axes.grid(True, color="0.85", linewidth=0.6)
        axes.legend(fontsize=LABEL_SIZE - 1, loc="lower left")
    else:
        _nothing(axes, "not in the recording")


def _draw_speed(axes, report):
    axes.set(title="How evenly the tape ran", xlabel="seconds of tone", ylabel="speed error in %")
    if not report.speeds.traces:
        return _nothing(axes, "not in the recording")
    begin = 0.0
    for trace, (colour, _, _) in zip(report.speeds.traces, STYLES, strict=False):
        width = max(1, round(SMOOTH_S * trace.rate_hz))
        shown = 100 * np.convolve(trace.deviation, np.full(width, 1 / width), mode="valid")
        every = max(1, len(shown) // MOST_POINTS)
        axes.plot(begin + np.arange(len(shown))[::every] / trace.rate_hz, shown[::every], color=colour, linewidth=0.7)
        begin += len(trace.deviation) / trace.rate_hz
    return None


def _draw_levels(axes, report):
    levels = report.levels
    axes.set(title="Level out for level in", xlabel="level in, dB", ylabel="level out, dBFS")
    stairs = zip(levels.into_db, levels.out_dbfs, report.stairs, strict=True)
    pairs = [(into, out.value, stair.whole) for into, out, stair in stairs if out.known]
    if not pairs:
        return _nothing(axes, "not in the recording")
    into, out, whole = (np.array(column) for column in zip(*pairs, strict=True))
    axes.plot(into, out, color=BLUE, linewidth=1)
    axes.plot(into[whole], out[whole], "o", color=GREEN, markersize=5, label="loads")
    axes.plot(into[~whole], out[~whole], "x", color=VERMILLION, markersize=6, label="does not load")
    _draw_noise(axes, report)
    axes.legend(fontsize=LABEL_SIZE - 1, loc="upper left")
    return None


def _draw_noise(axes, report):
    known = [figure.value for figure in report.noise.level if figure.known]
    if known:
        axes.axhline(float(np.mean(known)), color=ORANGE, linestyle="--", linewidth=1, label="noise")


def _draw_ladder(axes, report):
    axes.set(title="Blocks that load, by speed", xlabel="times ordinary speed", ylabel="blocks read, %",
             ylim=(-5, 108))  # fmt: skip
    pairs = [(LADDER_SPEEDS[rung.number], 100 * rung.read / rung.blocks) for rung in report.ladder
             if rung.read is not None]  # fmt: skip
    if not pairs:
        return _nothing(axes, "not in the recording")
    axes.semilogx(*zip(*pairs, strict=True), color=BLUE, marker="o", markersize=4)
    axes.set_xticks([0.25, 0.5, 1, 2, 4], ["¼", "½", "1", "2", "4"])
    axes.minorticks_off()
    if report.advised.known:
        axes.axvline(report.advised.value, color=BLACK, linestyle=":", label="with a margin")
        axes.legend(fontsize=LABEL_SIZE - 1, loc="lower left")
    return None
