"""Detectors: the best a receiver can do that knows when each cell begins, to compare readers and codes with.

A reader has to find the cells first; these are told where they lie. A coherent detector knows the phase of the
tones too, and holds the wave against each pattern it may have; a non-coherent one knows only their frequencies.
"""

import numpy as np

from .errors import SettingError
from .likelyrows import LikelyRows
from .patterns import PatternCode
from .tonepairs import TonePair
from .tones import TwoTones
from .trellis import Trellis

__all__ = ["cell_integrals", "coherent", "noncoherent", "rounded", "tone_amplitudes"]

FINE = 8  # parts of a half-cycle in which a rounded wave is held against a sine


def rounded(half_cycles_s, rate, peak=0.5):
    """Draw half-cycles as halves of a sine, as a modem sends tones; edges lie where `render` has them.

    Parameters
    ----------
    half_cycles_s : array_like of float, shape (n,)
        Durations in seconds.
    rate : int
        Samples per second.
    peak : float
        Amplitude, as a part of full scale.

    Returns
    -------
    ndarray of float32, shape (samples,)
        The wave in the middle of each sample's interval.

    Examples
    --------
    >>> rounded([0.5, 0.5], rate=4, peak=1.0).astype(float).round(3).tolist()
    [0.707, 0.707, -0.707, -0.707]
    """
    edges_s = np.concatenate(([0.0], np.cumsum(np.asarray(half_cycles_s, dtype=float))))
    times = (np.arange(round(edges_s[-1] * rate)) + 0.5) / rate
    return (peak * np.sin(np.pi * np.interp(times, edges_s, np.arange(len(edges_s))))).astype(np.float32)


def cell_integrals(samples, rate, borders_s):
    """Sum of a wave over each stretch between borders, which may fall between samples.

    Parameters
    ----------
    samples : ndarray of float or complex, shape (n,)
        Each stands for its own interval, ``k / rate`` to ``(k + 1) / rate``.
    rate : int
        Samples per second.
    borders_s : ndarray of float64, shape (stretches + 1,)
        Seconds from the start of the first sample, rising.

    Returns
    -------
    ndarray of float or complex, shape (stretches,)
        In samples: a wave of 1 gives the number of samples in the stretch.
    """
    total = np.concatenate(([0], np.cumsum(samples, dtype=np.result_type(samples, np.float64))))
    return np.diff(np.interp(np.asarray(borders_s) * rate, np.arange(len(total)), total))


def tone_amplitudes(samples, rate, hz, borders_s):
    """How strong a tone is in each stretch between borders, whatever its phase.

    Parameters
    ----------
    samples : ndarray of float, shape (n,)
    rate : int
        Samples per second.
    hz : float
    borders_s : ndarray of float64, shape (stretches + 1,)

    Returns
    -------
    ndarray of float64, shape (stretches,)
        A sine of this frequency and amplitude 1 gives 1.
    """
    times = (np.arange(len(samples)) + 0.5) / rate
    turned = np.asarray(samples) * np.exp(-2j * np.pi * hz * times)
    lengths = np.diff(borders_s) * rate
    return 2 * np.abs(cell_integrals(turned, rate, borders_s)) / lengths


def noncoherent(samples, rate, code, unit_s, start_s=0.0, cells=None):
    """Bits of two tones by which of them is the stronger in each cell.

    Parameters
    ----------
    samples : ndarray of float, shape (n,)
    rate : int
        Samples per second.
    code : TwoTones or TonePair
    unit_s : float
        Seconds in a unit.
    start_s : float
        Where the first cell begins.
    cells : int, optional
        How many there are; as many as the samples hold, if not given.

    Returns
    -------
    bits : ndarray of uint8, shape (cells,)
    margins : ndarray of float64, shape (cells,)
        From 0, both alike, to 1, only one is there.

    Source
    ------
    The errors it makes in white noise, if the tones are orthogonal: ½ exp(−Eb / 2 N0), J. G. Proakis, Digital
    Communications, the chapter on non-coherent detection (from memory).
    """
    if not isinstance(code, TwoTones | TonePair):
        raise SettingError(f"the code must be one of two tones, got {type(code).__name__}: take `coherent`")
    borders_s = _borders(samples, rate, code.cell_units * unit_s, start_s, cells)
    zero, one = (
        tone_amplitudes(samples, rate, count / (2 * code.cell_units * unit_s), borders_s)
        for count in (code.zero_half_cycles, code.one_half_cycles)
    )
    return (one > zero).astype(np.uint8), np.abs(one - zero) / np.maximum(one + zero, 1e-300)


def coherent(samples, rate, code, unit_s, start_s=0.0, cells=None, wave="square", peak=0.5):
    """Bits of any code, of which the whole wave is known but for the bits: the likeliest ones in white noise.

    Parameters
    ----------
    samples : ndarray of float, shape (n,)
        The first cell begins with an edge that goes up.
    rate : int
        Samples per second.
    code : CellCode
    unit_s : float
        Seconds in a unit.
    start_s : float
        Where the first cell begins.
    cells : int, optional
        How many bits there are; as many as the samples hold, if not given.
    wave : {"square", "rounded"}
        What it was drawn with: `render` or `rounded`; the latter for codes of two tones.
    peak : float
        Amplitude of the wave without noise. Only the on-off tone needs it, to tell a weak tone from none.

    Returns
    -------
    bits : ndarray of uint8, shape (cells,)
        Of a code whose cells differ in length, those of the likeliest row, however many.

    Source
    ------
    The errors it makes in white noise: antipodal signals Q(√(2 Eb/N0)), orthogonal ones and a tone or none
    Q(√(Eb/N0)), J. G. Proakis, Digital Communications, the chapter on optimum receivers (from memory).
    """
    if not isinstance(code, PatternCode | TwoTones):
        return _likeliest_lengths(samples, rate, code, unit_s, start_s)
    lead, tail = 0, 0
    if isinstance(code, TwoTones):
        code = TonePair(code.zero_half_cycles, code.one_half_cycles, code.cell_units)
    else:
        lead, tail = len(code.lead_bits), len(code.tail_bits)
    if wave == "rounded" and not isinstance(code, TonePair):
        raise SettingError(f'a rounded wave must be of two tones, got {type(code).__name__}: take wave="square"')
    more = None if cells is None else cells + lead + tail
    borders_s = _borders(samples, rate, code.cell_units * unit_s, start_s, more)
    if len(borders_s) < 2:
        return np.zeros(0, np.uint8)
    rows = LikelyRows(code.table, (0,), code.lead_bits)
    breaks, patterns = (rows.breaks, rows.patterns) if wave == "square" else _sines(rows, code)
    worths = _worths(samples / peak, rate, borders_s, rows, breaks, patterns)
    found = rows.best(rows.at_first(), worths, np.ones(len(worths)))  # how well cells fit is not asked here
    return found.bits[lead : len(found.bits) - tail]


def _borders(samples, rate, cell_s, start_s, cells):
    """When cells of equal length begin, and when the last ends."""
    whole = max(0, int((len(samples) / rate - start_s) / cell_s + 1e-6))
    return start_s + cell_s * np.arange((whole if cells is None else min(cells, whole)) + 1)


def _worths(samples, rate, borders_s, rows, breaks, patterns):
    """How well each branch agrees with each cell; a full wave of one branch gives 1 for it."""
    begins, lengths = borders_s[:-1], np.diff(borders_s)
    times = np.append((begins[:, None] + lengths[:, None] * breaks[:-1]).ravel(), borders_s[-1])
    grid = cell_integrals(samples, rate, times).reshape(len(begins), -1)
    worths = grid @ patterns.T / (rate * lengths[0])
    worths[:, rows.silent] = 0.5
    for k, bit in enumerate(rows.lead):
        worths[k, rows.bits != bit] = -np.inf
    worths[0, ~rows.first] = -np.inf
    return np.maximum(worths, -1e9)


def _sines(rows, code):
    """For each branch of two tones its sine, in small parts of the cell: their borders, and the patterns."""
    counts = np.where(rows.bits, code.one_half_cycles, code.zero_half_cycles)
    breaks = np.linspace(0, 1, FINE * int(np.ceil(counts.max())) + 1)
    middles = (breaks[1:] + breaks[:-1]) / 2
    # A half-cycle that is under way when the cell begins ends at the first edge in it.
    phases = np.where(rows.edges[:, 0] > 0, 1 - rows.edges[:, 0] * counts, 0.0)
    signs = rows.patterns[:, np.searchsorted(rows.breaks, middles) - 1]
    return breaks, signs * np.abs(np.sin(np.pi * (phases[:, None] + counts[:, None] * middles)))


def _likeliest_lengths(samples, rate, code, unit_s, start_s):
    """The likeliest row of cells that differ in length, with as many beats as the samples hold."""
    trellis = Trellis(code)
    step_s = trellis.beat_units * unit_s / trellis.steps
    steps = int((len(samples) / rate - start_s) / step_s + 1e-6) // trellis.steps * trellis.steps
    grid = cell_integrals(samples, rate, start_s + step_s * np.arange(steps + 1))
    path = trellis.best(grid.reshape(-1, trellis.steps).astype(np.float32))
    return np.zeros(0, np.uint8) if path is None else path.bits
