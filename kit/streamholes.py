"""Holes at the two ends of a stream: where a dropout may have taken characters that nothing else would tell of."""

import numpy as np

__all__ = ["hole_after", "hole_before"]

HOLE_CELLS = 5  # so many cells of neither tone are a hole
SILENT = 0.2  # part of them that may be of one
MARKED = 0.9  # part that must be marks, for there to be nothing else
CLOSING_CELLS = 3  # marks that last so long follow a stream


def hole_before(wave, start, cells):
    """Where the hole before the first character begins, in cells; `start` if there is none but marks.

    Parameters
    ----------
    wave : Wave
    start : float
        Where the first character that reads begins, in cells.
    cells : int
        Before it, so many are looked at.
    """
    holes = _holes(wave, max(0.0, start - cells), start)
    if not holes:
        return start
    begin, stop = holes[-1]
    led = start - stop >= wave.frame.bits_per_byte and wave.marks(stop, start) > MARKED
    return start if led else begin


def hole_after(wave, end, cells):
    """Where the hole behind the last character ends, in cells, if marks follow it; else None.

    Parameters
    ----------
    wave : Wave
    end : float
        Where the last character that reads ends, in cells.
    cells : int
        The hole must end before so many.
    """
    for begin, stop in _holes(wave, end, min(end + cells, wave.last))[:1]:
        follow = stop + CLOSING_CELLS
        if begin - end < CLOSING_CELLS and follow <= wave.last and wave.marks(stop, follow) > MARKED:
            return stop
    return None


def _holes(wave, first, stop):
    """Stretches between two places in which hardly anything is of either tone: pairs of places."""
    places = np.arange(first, stop)
    silent = wave.proper(places, places + 1) < SILENT
    turns = np.flatnonzero(np.diff(np.concatenate(([0], silent.astype(np.int8), [0]))))
    return [(first + a, min(first + b, stop)) for a, b in turns.reshape(-1, 2).tolist() if b - a >= HOLE_CELLS]
