"""The wave that `render` draws has the spectrum that Fourier's series gives a square wave.

Sources: the series 4/(πn) of a square wave of ±1 and its 8/π² = 81.06 % of power in the fundamental, and the
overshoot of 8.949 % of the jump (Gibbs), are textbook results (computed here from first principles). A sample that
holds the mean over its own interval weighs a component of f Hz by sinc(f / rate), sinc x = sin πx / πx, and
sampling then adds up all components that lie a whole multiple of the rate apart: both are in every text on
sampling, and are applied here to the series alone, without a look at how `render` works.
"""

import numpy as np
import pytest

from kit.waves import render

CYCLE_SAMPLES = 4000  # fine: folding and the samples' width change the ninth harmonic by 0.0025 % at most


def _fine_cycles(count=3, shift=0.0):
    """The harmonics of some whole cycles, drawn with `shift` samples before the first edge that counts.

    Returns
    -------
    ndarray of complex, shape (CYCLE_SAMPLES // 2 + 1,)
        Amplitude of each harmonic of one whole cycle from the middle.
    """
    half = CYCLE_SAMPLES / 2
    lengths = np.concatenate(([half + shift], np.full(2 * count + 1, half)))
    samples = render(lengths, rate=1, peak=1.0).astype(float)
    cycle = samples[CYCLE_SAMPLES : 2 * CYCLE_SAMPLES]
    return np.fft.rfft(cycle) / CYCLE_SAMPLES * 2


@pytest.mark.parametrize("shift", [0.0, 0.3, 0.5, 0.77])
@pytest.mark.parametrize("n", [1, 3, 5, 7, 9])
def test_odd_harmonics_of_a_square_are_four_over_pi_n(n, shift):
    """1.27324, 0.42441, 0.25465, ... wherever between two samples the edges fall."""
    amplitude = abs(_fine_cycles(shift=shift)[n])
    # sinc(n / CYCLE_SAMPLES) takes π²/6·(n / CYCLE_SAMPLES)² off, and folding changes up to twice as much.
    assert amplitude == pytest.approx(4 / (np.pi * n), rel=1e-6 + np.pi**2 / 2 * (n / CYCLE_SAMPLES) ** 2)


@pytest.mark.parametrize("shift", [0.0, 0.3])
def test_even_harmonics_of_a_square_are_nothing(shift):
    assert np.abs(_fine_cycles(shift=shift)[0:10:2]).max() < 1e-6


def test_the_fundamental_holds_81_percent_of_the_power():
    """8/π² = 0.81057."""
    harmonics = np.abs(_fine_cycles())
    power = harmonics**2 / 2
    assert power[1] / power.sum() == pytest.approx(8 / np.pi**2, abs=1e-5)
    assert power.sum() == pytest.approx(1.0, abs=1e-5)  # a wave of ±1 has a power of 1


def _folded_series(cycles, samples, shift, highest=400_000):
    """Spectrum of a square wave of ±1, sampled by means, from Fourier's series.

    `cycles` whole cycles fill `samples` samples; the wave rises at `shift` samples. Component n lies at bin
    n·cycles; it is weighed by the sample's width, turned to the sample's middle, and folded.
    """
    n = np.arange(-highest + 1, highest, 2)
    bins = n * cycles
    turns = bins / samples  # cycles of the component per sample
    parts = 2 / (1j * np.pi * n) * np.sinc(turns) * np.exp(2j * np.pi * turns * (0.5 - shift))
    spectrum = np.zeros(samples, complex)
    np.add.at(spectrum, bins % samples, parts)
    return spectrum


@pytest.mark.parametrize("shift", [0.0, 0.25, 0.6])
@pytest.mark.parametrize(("hz", "rate", "cycles", "samples"),
                         [(1200, 44100, 4, 147), (2400, 44100, 8, 147), (2400, 8000, 3, 10), (9600, 44100, 32, 147)])
def test_a_coarsely_sampled_square_has_the_folded_series_as_its_spectrum(hz, rate, cycles, samples, shift):
    """The kit's own tones at common rates: no whole number of samples a cycle, yet every bin is as predicted."""
    assert cycles * rate == samples * hz
    half = rate / hz / 2
    count = 2 * cycles * 3
    drawn = render(np.concatenate(([half + shift], np.full(count, half))) / rate, rate, peak=1.0).astype(float)
    # The first edge lies at half + shift, and falls: whole periods of the pattern later it does so again.
    stretch = drawn[samples : 2 * samples]
    wanted = -_folded_series(cycles, samples, (half + shift) % samples)
    assert np.abs(np.fft.fft(stretch) / samples - wanted).max() < 5e-6


def test_rounding_edges_to_the_sample_grid_would_not_have_that_spectrum():
    """The comparison can fail: jitter of whole samples puts power where the series has none."""
    cycles, samples, rate = 8, 147, 44100
    edges_at = np.rint(np.arange(1, 6 * cycles + 1) * samples / cycles / 2)
    drawn = render(np.diff(edges_at, prepend=0) / rate, rate, peak=1.0).astype(float)
    wanted = -_folded_series(cycles, samples, samples / cycles / 2)
    stretch = drawn[samples : 2 * samples]
    assert np.abs(np.fft.fft(stretch) / samples - wanted).max() > 1e-3


def test_a_partial_sum_of_the_drawn_harmonics_overshoots_by_9_percent_of_the_jump():
    """Gibbs: the peak tends to (2/π)·Si(π) = 1.178980, that is 8.949 % of the jump from −1 to 1."""
    harmonics = _fine_cycles()
    harmonics[100:] = 0
    fine = 16 * CYCLE_SAMPLES  # the peak of the sum of fifty harmonics is narrow
    peak = np.fft.irfft(harmonics * fine / 2, fine).max()
    assert peak == pytest.approx(1.178980, abs=4e-4)
    assert (peak - 1) / 2 == pytest.approx(0.08949, abs=2e-4)
