"""Pictures of cell codes side by side; pure functions that give a `Shown`, a figure with its text equal."""

import numpy as np

from .codefacts import facts
from .comparison import CODES, fact_rows, unit_s
from .errors import SettingError
from .shown import BLACK, BLUE, GREEN, LABEL_SIZE, VERMILLION, Shown

__all__ = ["codes_view"]

MOST_BITS = 24
HIGHEST = 4.0  # of the spectra, in parts of the bit rate
POINTS = 800
ROW_IN = 1.05  # inches


def codes_view(bits=(0, 1, 0, 0, 1, 1, 0, 1), bits_per_second=1200, codes=None):
    """The same bits in every code: wave, edges and spectrum.

    Parameters
    ----------
    bits : sequence of int
        1 to 24 of them.
    bits_per_second : float
        Mean rate of all codes.
    codes : mapping of str to CellCode, optional
        `kit.comparison.CODES` if not given.

    Returns
    -------
    Shown
    """
    from matplotlib.figure import Figure

    bits = [int(bit) for bit in bits]
    if not 1 <= len(bits) <= MOST_BITS or set(bits) - {0, 1}:
        raise SettingError(f"there must be 1 to {MOST_BITS} bits, each 0 or 1, got {bits!r}")
    codes = codes or CODES
    figure = Figure(figsize=(11, ROW_IN * len(codes) + 0.8), layout="constrained", facecolor="white")
    rows = figure.subplots(len(codes), 2, squeeze=False, width_ratios=(3, 1), sharex="col")
    for (wave, spectrum), (name, code) in zip(rows, codes.items(), strict=True):
        _draw_wave(wave, name, code, bits, bits_per_second)
        _draw_spectrum(spectrum, code, bits_per_second)
    rows[-1][0].set_xlabel("time in ms", size=LABEL_SIZE)
    rows[-1][1].set_xlabel("frequency in Hz", size=LABEL_SIZE)
    rows[0][0].set_title(f"{' '.join(map(str, bits))} at {bits_per_second:g} bit/s", loc="left")
    rows[0][1].set_title("power, random bits", loc="left")
    return Shown(figure, _in_words(codes, bits, bits_per_second))


def _cells(code, bits, unit_ms):
    """Times of all edges of some bits in ms, the first one at the begin, and of the borders of their cells."""
    halves = code.encode(bits) * unit_ms
    edges = np.concatenate(([0.0], np.cumsum(halves)))
    lengths = np.where(bits, code._cells_units[1], code._cells_units[0]) * unit_ms
    lead = len(getattr(code, "lead_bits", ())) * code.shortest_units * unit_ms
    borders = lead + np.concatenate(([0.0], np.cumsum(lengths)))
    return edges - lead, borders - lead


def _draw_wave(axes, name, code, bits, bits_per_second):
    edges, borders = _cells(code, bits, 1000 * unit_s(code, bits_per_second))
    levels = 1.0 - 2.0 * (np.arange(len(edges)) % 2)
    axes.step(edges, levels, where="post", color="0.7", linewidth=1.8)  # with what the code adds, in grey
    inside = (edges > borders[0] - 1e-9) & (edges < borders[-1] + 1e-9)
    times = np.unique(np.concatenate((edges[inside], borders[[0, -1]])))
    at = np.clip(np.searchsorted(edges, times + 1e-9) - 1, 0, len(levels) - 1)
    axes.step(times, np.append(levels[at][:-1], levels[at][-2]), where="post", color=BLUE, linewidth=2)
    axes.plot(edges[inside], np.zeros(inside.sum()), "|", color=VERMILLION, markersize=9, markeredgewidth=1.6)
    for border in borders:
        axes.axvline(border, color="0.75", linewidth=0.8, linestyle=":")
    for bit, left, right in zip(bits, borders, borders[1:], strict=False):
        axes.text((left + right) / 2, 1.35, str(bit), ha="center", va="center", size=LABEL_SIZE)
    axes.set(ylim=(-1.4, 1.8), yticks=[], ylabel=name)
    axes.yaxis.label.set(size=LABEL_SIZE, rotation=0, ha="right", va="center")
    axes.spines[["top", "right", "left"]].set_visible(False)


def _draw_spectrum(axes, code, bits_per_second):
    found, hz = facts(code), 1 / unit_s(code, bits_per_second)
    frequencies = np.linspace(0.01, HIGHEST, POINTS) * found.bits_per_unit
    density = found.spectrum(frequencies)
    # A steady line is as high as it is narrow: it would hide all else.
    top = 1.3 * np.quantile(density, 0.985)
    axes.plot(frequencies * hz, np.minimum(density, top), color=BLACK, linewidth=1.4)
    low, high = found.band()
    axes.axvspan(low * hz, high * hz, facecolor="none", edgecolor=GREEN, hatch="///", alpha=0.6, linewidth=0)
    axes.set(yticks=[], ylim=(0, 1.05 * top))
    axes.spines[["top", "right", "left"]].set_visible(False)


def _in_words(codes, bits, bits_per_second):
    known = {row["code"]: row for row in fact_rows(bits_per_second)}
    lines = [f"The bits {' '.join(map(str, bits))} at a mean of {bits_per_second:g} bit/s, as two-level waves:"]
    for name, code in codes.items():
        edges, borders = _cells(code, bits, 1000 * unit_s(code, bits_per_second))
        count = int(np.count_nonzero((edges > borders[0] - 1e-9) & (edges < borders[-1] - 1e-9)))
        row = known.get(name)
        rest = (
            f"; three quarters of its power lie between {row['band_hz'][0]} and {row['band_hz'][1]} Hz, "
            f"and its shortest cycle is one of {row['highest_cycle_hz']} Hz"
            if row
            else ""
        )
        lines.append(f"{name}: {count} edges in {borders[-1]:.2f} ms{rest}.")
    return "\n".join(lines)
