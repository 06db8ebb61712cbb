"""Make the pictures and sounds of this folder anew: ``python media/make.py [FOLDER]``."""

import sys
from functools import cache
from itertools import groupby
from pathlib import Path

import numpy as np

import kit
from kit.codeviews import codes_view
from kit.demo import write_fallbacks
from kit.pictures import before_after_view, response_view
from kit.player import quiet
from kit.shown import BLACK, BLUE, GREEN, LABEL_SIZE, PURPLE, SKY, VERMILLION, Shown, blank_figure
from kit.trials import interval
from kit.views import byte_view, lengths_view, tape_view

LOG = b"Monday 0600. Wind west 5, rain before noon. Gulls: 3."
SCRATCH_S = 0.1
DECKS = ("studio", "home", "portable", "worn")
DUB_SPEED, DUB_GENERATIONS = 4, 2
MEASURED = Path(__file__).with_name("noise.md")  # it says how to measure anew
NEEDED_PERCENT = 90
STYLES = {  # colour, dashes, mark
    "counter": (VERMILLION, "--", "s"),
    "timer, nothing mended": (GREEN, "-.", "v"),
    "timer": (SKY, ":", "^"),
    "patient": (BLUE, "-", "o"),
    "patient, two copies": (PURPLE, (0, (1.5, 1.2)), "D"),
}


@cache
def tape():
    """The log on a tape, from which most pictures are made."""
    return kit.encode(LOG, name="log.txt", lead_in_s=1.0)


def scratched_view():
    """The tape with a scratch in the midst of its data, as it is read."""
    worn = tape().scratch(sum(kit.decode(tape()).blocks[1].span_s) / 2 - SCRATCH_S / 2, SCRATCH_S)
    return tape_view(worn, kit.decode(worn))


def dub_view():
    """A fast tape before and after it was copied from copy to copy."""
    fast = kit.encode(LOG, name="log.txt", lead_in_s=1.0, speed=DUB_SPEED)
    dub = kit.decks["portable"].copy(fast, generations=DUB_GENERATIONS, seed=1)
    return before_after_view(fast, dub, 1.02, 1.026)


# By file name, what makes a picture or a sound; those of the demonstration are made by its scenes.
MADE = {
    "one-byte.png": lambda: byte_view(tape(), kit.decode(tape()), byte=0),
    "four-lengths.png": lambda: lengths_view(tape(), 0.9, 1.9),
    "scratched-tape.png": scratched_view,
    "decks.png": lambda: response_view({name: kit.decks[name] for name in DECKS}),
    "fast-dub.png": dub_view,
    "noise.png": lambda: noise_view(measured_curves(MEASURED.read_text("utf-8"))),
    "codes.png": codes_view,
    "quiet-log.flac": lambda: quiet(tape()),
}


def make(folder):
    """Write every file of the table in README.md into a folder; gives their paths."""
    return [*(made().write(folder / name) for name, made in MADE.items()), *write_fallbacks(folder)]


def measured_curves(text):
    """The table of noise.md.

    Returns
    -------
    dict of str to ndarray of float, shape (points, 4)
        By reader: signal to noise in dB, blocks, how many of them were read, and how many by theory.
    """
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in text.splitlines() if line[:1] == "|"]
    groups = groupby(rows[2:], key=lambda row: row[0])  # below the head and its line
    return {name: np.array([[_number(cell) for cell in row[1:]] for row in group]) for name, group in groups}


def _number(cell):
    """A number of the table; there is no theory for some readers."""
    return float("nan") if cell == "–" else float(cell)


def noise_view(curves):
    """Blocks read in white noise: measured points with the intervals chance leaves them, theory as lines.

    Parameters
    ----------
    curves : dict of str to ndarray
        As from `measured_curves`.

    Returns
    -------
    kit.shown.Shown
    """
    figure, (axes,) = blank_figure(height_in=4.6)
    axes.axhline(NEEDED_PERCENT, color=BLACK, linewidth=0.8)
    for name, points in curves.items():
        colour, dashes, mark = STYLES[name]
        db, blocks, read, theory = points.T
        ends = [interval(int(count), int(trials)) for count, trials in zip(read, blocks, strict=True)]
        off = np.maximum(0, np.abs(np.array(ends).T - read / blocks))
        line = read if np.isnan(theory).any() else theory
        axes.plot(db, 100 * line / blocks, color=colour, linestyle=dashes, linewidth=2)
        axes.errorbar(
            db, 100 * read / blocks, 100 * off, color=colour, linestyle="", marker=mark, markersize=6, capsize=3
        )
        # Low down there is room to the right of where a curve is half-way up.
        axes.text(np.interp(0.5, line / blocks, db), 14, name.replace(", ", ",\n"), fontsize=LABEL_SIZE)
    axes.set(xlabel="signal to noise in dB", ylabel="blocks read in %", ylim=(-3, 104))
    axes.grid(True, color="0.9", linewidth=0.6)
    axes.set_title("Blocks read in white noise: measured (marks) and by theory (lines)", loc="left")
    all_db = np.concatenate([points[:, 0] for points in curves.values()])
    axes.set_xticks(np.arange(2 * np.floor(all_db.min() / 2), all_db.max() + 1, 2))
    axes.set_yticks([0, 20, 40, 60, 80, NEEDED_PERCENT, 100])
    return Shown(figure, _noise_in_words(curves))


def _noise_in_words(curves):
    needed = [
        f"{name} {_needed(points[:, 0], points[:, 2] / points[:, 1])} "
        + ("" if np.isnan(points[:, 3]).any() else f"(theory: {_needed(points[:, 0], points[:, 3] / points[:, 1])})")
        for name, points in curves.items()
    ]
    return f"{NEEDED_PERCENT} % of the blocks are read in white noise by: " + "; ".join(needed) + "."


def _needed(db, shares):
    """Where rising shares reach what is needed, on the line between two points, in words."""
    enough = np.flatnonzero(100 * shares >= NEEDED_PERCENT)
    if len(enough) == 0:
        return f"above {db[-1]:g} dB"
    if enough[0] == 0:
        return f"below {db[0]:g} dB"
    two = slice(enough[0] - 1, enough[0] + 1)
    return f"at {np.interp(NEEDED_PERCENT / 100, shares[two], db[two]):.1f} dB"


if __name__ == "__main__":
    for path in make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent):
        print(path)
