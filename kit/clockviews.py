"""Pictures of a clock that is set once: how far a tape that runs unsteadily carries it off, letter by letter."""

from dataclasses import dataclass

import numpy as np

from .blocks import PART_START
from .errors import SettingError
from .readers import Counter
from .readers.counter import can_count, counted
from .shown import BLACK, BLUE, LABEL_SIZE, VERMILLION, Shown, blank_figure
from .tape import decode
from .waves import edges

__all__ = ["ClockRun", "clock_run", "clock_view"]

MOST_EXTRA = 3  # edges that may be lost or added at the ends of a tape when it is played
NEAR_CELLS = 0.1  # of a cell: how exactly the first edge of the data is known
UNREADABLE = "·"


@dataclass(frozen=True, eq=False)
class ClockRun:
    """What a clock, set at the first bit of a block and never again, makes of the block.

    Attributes
    ----------
    written, read : str
        One letter for each byte of data; what is no printable letter, or is missing, is "·" in `read`.
    late_bits : ndarray of float64, shape (read bits,)
        How much later than each bit the clock has it, in bits.
    letters_s : ndarray of float64, shape (letters + 1,)
        When each letter begins as it is heard, and the last one ends, from the first bit on.
    bits_s : ndarray of float64, shape (bits + 1,)
        The same of each bit.
    """

    written: str
    read: str
    late_bits: np.ndarray
    letters_s: np.ndarray
    bits_s: np.ndarray

    @property
    def wrong(self):
        """list of bool: of each letter, whether it was read wrongly."""
        return [one != other for one, other in zip(self.written, self.read, strict=True)]


def clock_run(tape, played, format):
    """Read the first block of data of a tape by a clock that is set at its first bit.

    Parameters
    ----------
    tape : Sound
        As it was written.
    played : Sound
        The same tape as it was played: no edge may be lost or added but at its ends.
    format : Format
        Of cells of equal length, such as `kit.FORMATS["steady"]`.

    Returns
    -------
    ClockRun

    Raises
    ------
    SettingError
        One line: the format has no such cells, the tape no data, or the two do not belong together.
    """
    code = _clock_of(format)
    block = _data_block(tape, format)
    written_s = block.start_s + block.cell_s.astype(float)
    before_s, heard_s = _paired(edges(tape.samples, tape.rate), edges(played.samples, played.rate))
    borders_s = np.interp(written_s, before_s, heard_s)
    first = np.searchsorted(heard_s, borders_s[0] - NEAR_CELLS * code.cell_units * format.unit_s())
    cells = code.decode(heard_s[first:], format.unit_s(), len(block.bits))
    count = len(cells.bits)
    late = (cells.times[:count] - borders_s[:count]) / (code.cell_units * format.unit_s())
    written = block.part.data
    letters = block.bits_per_byte * (PART_START + np.arange(len(written) + 1))
    bits_s = borders_s - borders_s[0]
    read, _ = format.frame.to_bytes(cells.bits)
    read = _printable(bytes(read)[PART_START : PART_START + len(written)]).ljust(len(written), UNREADABLE)
    return ClockRun(_printable(written), read, late, bits_s[letters], bits_s)


def _clock_of(format):
    if not can_count(format.code) or not hasattr(format.code, "cell_units"):
        raise SettingError(f"a clock needs cells of equal length, got format {format.name!r}: take 'steady'")
    return counted(format.code, format, Counter().restart)


def _data_block(tape, format):
    found = [block for block in decode(tape, format=format).blocks if block.whole and block.part]
    if not found:
        raise SettingError(f"a tape must hold a block of data in {format.name!r}, got none: take another")
    return found[0]


def _paired(before_s, after_s):
    """Edges of a tape as it was written and as it was played, each with its own: those at the ends may differ."""
    if abs(len(before_s) - len(after_s)) > MOST_EXTRA or min(len(before_s), len(after_s)) < 2 * MOST_EXTRA + 2:
        raise SettingError(
            f"both tapes must have the same edges, got {len(before_s)} and {len(after_s)}: play it without noise"
        )
    pairs = [_overlap(before_s, after_s, more) for more in range(-MOST_EXTRA, MOST_EXTRA + 1)]
    return min(pairs, key=lambda pair: np.std(np.diff(pair[1]) / np.diff(pair[0])))


def _overlap(before_s, after_s, more):
    before_s, after_s = before_s[max(0, -more):], after_s[max(0, more):]
    count = min(len(before_s), len(after_s))
    return before_s[:count], after_s[:count]


def _printable(data):
    return "".join(chr(byte) if 32 <= byte < 127 else UNREADABLE for byte in data)


def clock_view(tape, played, format):
    """How far a clock, set at the first bit, is off, and what it reads.

    Parameters
    ----------
    tape, played, format
        As for `clock_run`.

    Returns
    -------
    Shown
    """
    run = clock_run(tape, played, format)
    figure, (above, below) = blank_figure(2, height_in=4.4, sharex=True, gridspec_kw={"height_ratios": [3, 1]})
    reach = max(1.0, 1.15 * float(np.abs(run.late_bits).max(initial=0)))
    above.plot(run.bits_s[: len(run.late_bits)], run.late_bits, color=BLUE, linewidth=1.6)
    for half in (0.5, -0.5):
        above.axhline(half, color=VERMILLION, linewidth=1, linestyle="--")
    above.set(ylabel="bits late", ylim=(-reach, reach))
    above.set_title("How far the clock is off; dashed: half a bit", loc="left")
    below.set(xlabel="time in seconds from the first bit on", xlim=(0, run.bits_s[-1]))
    _write_letters(below, run)
    return Shown(figure, _in_words(run))


def _write_letters(axes, run):
    """Two rows of letters, a cross below each that was read wrongly."""
    middles = (run.letters_s[:-1] + run.letters_s[1:]) / 2
    crosses = ["×" if wrong else "" for wrong in run.wrong]
    for height, row, colour in ((2, run.written, BLACK), (1, run.read, BLACK), (0, crosses, VERMILLION)):
        for at, letter in zip(middles, row, strict=True):
            axes.text(at, height, letter.replace("$", r"\$"), ha="center", va="center", family="monospace",
                      fontsize=10, color=colour)
    axes.set_yticks([2, 1, 0], ["written", "read", "wrong"], fontsize=LABEL_SIZE)
    axes.set_ylim(-0.7, 2.7)
    axes.tick_params(axis="y", length=0)


def _in_words(run):
    late = run.late_bits
    early, late_most = max(0.0, -float(late.min(initial=0))), max(0.0, float(late.max(initial=0)))
    off = np.flatnonzero(np.abs(late) > 0.5)
    beyond = f"from bit {1 + off[0]} on" if len(off) else "nowhere"
    wrong = run.wrong
    return (f"The clock is at most {early:.1f} bits early and {late_most:.1f} bits late; more than half a bit off: "
            f"{beyond}.\nWritten: {run.written}\nRead: {run.read}\n{sum(wrong)} of {len(wrong)} letters are wrong.")
