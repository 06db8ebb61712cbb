"""Warp time: read samples at places between them, along a course that speeds up and slows down.

The samples are first drawn twice as densely by a low-pass filter, which also removes what a faster replay
would fold back, and then read with a quintic B-spline, six samples wide. The filter makes good the spline's
own droop. The images of a 10 kHz tone at 44.1 kHz lie about (10/78)⁶, or −107 dB, below it.

Source: M. Unser, "Splines: a perfect fit for signal and image processing", IEEE Signal Processing Magazine
16(6), 1999, for the spline's weights and its frequency response sinc⁶.
"""

import functools
from dataclasses import dataclass

import numpy as np

from kit.deck.pieces import spans

__all__ = ["Course", "warp"]

REACH = 40  # source samples the filter looks to either side, at an even pace
CUTOFF_GRID = 1.05  # one filter serves all paces within 5 %
FFT_GRID = 6144  # sizes of transforms are multiples of it, so that few filters are ever made
EVEN_PACE = 1.01  # up to here the full band is kept
UNEVEN = 1.6  # ratio of the paces that one filter may serve: wow and flutter stay within it


@dataclass(frozen=True)
class Course:
    """Where to read, as a cubic from knot to knot.

    Attributes
    ----------
    position : numpy.ndarray
        float64, (knots,): the place in the source, in samples, at each knot.
    pace : numpy.ndarray
        float64, (knots,): source samples per output sample there.
    step : int
        Output samples from knot to knot.
    """

    position: np.ndarray
    pace: np.ndarray
    step: int

    def places(self, first, last):
        """The place of each output sample from knot `first` to knot `last`, float64."""
        t = np.arange(self.step) / self.step
        start, stop = slice(first, last), slice(first + 1, last + 1)
        left, right = self.pace[start] * self.step, self.pace[stop] * self.step
        rise = self.position[stop] - self.position[start]
        bend, twist = 3 * rise - 2 * left - right, left + right - 2 * rise
        # Not as a product of matrices: its threads stall on a busy machine.
        slope = (twist[:, None] * t + bend[:, None]) * t + left[:, None]
        return (slope * t + self.position[start][:, None]).ravel()


def warp(samples, course, frames):
    """The samples read along a course.

    Parameters
    ----------
    samples : numpy.ndarray
        float32, (frames,); beyond its ends there is silence.
    course : Course
    frames : int
        How many samples to give.

    Returns
    -------
    numpy.ndarray
        float32, (frames,).
    """
    out = np.empty(frames, np.float32)
    knots_per_piece = max(1, (1 << 15) // course.step)
    for first, last in _pieces(course.pace, -(-frames // course.step), knots_per_piece):
        fastest = float(course.pace[first:last + 1].max())
        place = course.places(first, last)[:frames - first * course.step]
        out[first * course.step:first * course.step + len(place)] = _read(samples, place, _grid_pace(fastest))
    return out


def _pieces(pace, knots, most):
    """Knots of pieces that are read through one filter each; where the pace changes much, these are short.

    Were a motor's start one piece, the filter that its fastest part needs would take the treble of all of it.
    """
    for first, last in spans(knots, most):
        while first < last:
            here = pace[first:last + 1]
            unlike = np.maximum.accumulate(here) > UNEVEN * np.minimum.accumulate(here)
            stop = min(last, first + max(1, int(np.argmax(unlike)) - 1)) if unlike.any() else last
            yield first, stop
            first = stop


def _grid_pace(pace):
    """The next pace up for which there is a filter."""
    return 1.0 if pace <= EVEN_PACE else float(CUTOFF_GRID ** np.ceil(np.log(pace) / np.log(CUTOFF_GRID)))


def _read(samples, place, pace):
    """The samples at these places, of which none lies much behind the one before it."""
    start, stop = int(np.floor(place.min())) - 2, int(np.ceil(place.max())) + 4
    dense = _twice_as_dense(samples, start, stop, pace)
    place = 2 * (place - start)
    whole = place.astype(np.int64)
    fraction = (place - whole).astype(np.float32)
    return _spline([dense.take(whole + tap) for tap in range(-2, 4)], fraction)


def _spline(taps, f):
    """The quintic B-spline between the third and fourth of six coefficients, at 0 ≤ f < 1; float32."""
    a, b, c, d, e, last = taps
    outer, inner, outer_slope, inner_slope = a + e, b + d, e - a, d - b
    middle = 6 * c
    value = (last - a + 5 * (b - e) + 10 * (d - c)) * f
    value = (value + 5 * (outer - 4 * inner + middle)) * f
    value = (value + 10 * (outer_slope - 2 * inner_slope)) * f
    value = (value + 10 * (outer + 2 * inner - middle)) * f
    value = (value + 5 * (outer_slope + 10 * inner_slope)) * f
    return (value + outer + 26 * inner + 11 * middle) / np.float32(120)


def _twice_as_dense(samples, start, stop, pace):
    """Spline coefficients for source samples `start` to `stop`, two per sample."""
    from scipy import fft

    reach = _reach(pace)
    left, right = start - reach, stop + reach
    part = samples[max(left, 0):max(right, 0)]
    part = np.concatenate([np.zeros(min(max(-left, 0), right - left), np.float32), part])
    size = -(-(right - left) // FFT_GRID) * FFT_GRID
    spectrum = fft.rfft(part, size)  # fills up with silence behind the end
    dense = np.empty(2 * (stop - start), np.float32)
    for offset, factor in enumerate(_filter_spectra(pace, size)):
        dense[offset::2] = fft.irfft(spectrum * factor, size)[2 * reach:2 * reach + stop - start]
    return dense


def _reach(pace):
    return int(np.ceil(REACH * pace))


@functools.lru_cache(maxsize=32)
def _filter_spectra(pace, size):
    from scipy import fft

    return tuple(fft.rfft(taps, size) for taps in _filters(pace))


def _filters(pace):
    """The low-pass filter's taps for the samples and for the places half-way between: float32, as many."""
    reach = _reach(pace)
    n = np.arange(-2 * reach, 2 * reach + 2)
    frequency = np.linspace(0, 0.5, 16 * reach + 1)  # in cycles per dense sample
    wanted = np.where(frequency < 0.25 / pace, np.sinc(frequency) ** -6.0, 0)
    wanted[np.isclose(frequency, 0.25 / pace)] /= 2
    full = np.fft.fftshift(np.fft.irfft(wanted))
    middle = len(full) // 2
    taps = (2 * full[middle + n] * np.kaiser(len(n), 8.0)).astype(np.float32)
    taps[-1] = 0  # has no partner on the other side of the half-way place
    return taps[:-1:2], taps[1::2]
