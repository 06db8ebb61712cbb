"""The recorder and the meters against facts from outside the kit.

Status of each fact: R read in the source, S in a secondary copy, M from memory, C computed here or by hand.
"""

import math

import numpy as np
import pytest
from scipy import signal

from kit.deck import Deck, capacity, heads, shannon, source, tape, transport
from kit.meters import speed_trace, two_sigma, weighting_db, wow_and_flutter
from kit.sound import Sound

RATE = 44100

# AES6-2008, table 1 (S): Hz, dB, tolerance up and down in dB; 4 Hz is the reference.
AES6_TABLE_1 = [
    (0.1, -48.0, 10, 4), (0.2, -30.6, 10, 4), (0.315, -19.7, 4, 4), (0.4, -15.0, 4, 4), (0.63, -8.4, 2, 2),
    (0.8, -6.0, 2, 2), (1.0, -4.2, 2, 2), (1.6, -1.8, 2, 2), (2.0, -0.9, 2, 2), (4.0, 0.0, 1e-9, 1e-9),
    (6.3, -0.9, 2, 2), (10, -2.1, 2, 2), (20, -5.9, 2, 2), (40, -10.4, 2, 2), (63, -14.2, 4, 4),
    (100, -17.3, 4, 4), (200, -23.0, 4, 4),
]

# Replay losses in dB at 4.7625 cm/s (C): Hz, λ in µm, spacing 1 and 5 µm, gap 2 µm, coating 5 µm, azimuth 15′
# on a track of 1.5 and 0.6 mm. Spacing and thickness: Wallace, Bell System Technical Journal 1951 (M);
# gap: Eargle 1994, equation 167.1 (R); azimuth (M).
LOSSES = [
    (1200, 39.69, 1.375, 6.88, 0.045, 3.21, 0.392, 0.062),
    (2400, 19.84, 2.750, 13.75, 0.180, 5.99, 1.614, 0.250),
    (4800, 9.92, 5.500, 27.50, 0.727, 10.39, 7.471, 1.019),
    (10000, 4.763, 11.459, 57.30, 3.363, 16.40, None, 4.852),
]

# Flux level in dB for 3180 µs and T₁, IEC 60094-1:1981 for the time constants (S), formula M, values C.
FLUX = [(50, 3.01, 3.01), (315, -0.13, 0.03), (1200, -2.59, -1.06), (2400, -6.31, -3.25),
        (6300, -13.72, -9.38), (10000, -17.62, -13.08)]


def a_tone(frequency_hz, seconds, level=0.5, rate=RATE):
    return Sound(level * np.sin(2 * np.pi * frequency_hz * np.arange(round(seconds * rate)) / rate), rate)


def a_tone_with_wow(swings, seconds=30.0, tone_hz=3150.0):
    """A tone whose speed errs by sines of (peak, rate): the integral is written out, no kit code is used."""
    t = np.arange(round(seconds * RATE)) / RATE
    way = t + sum(peak / (2 * np.pi * hz) * (1 - np.cos(2 * np.pi * hz * t)) for peak, hz in swings)
    return Sound(0.5 * np.sin(2 * np.pi * tone_hz * way), RATE)


@pytest.mark.parametrize(("hz", "db", "above", "below"), AES6_TABLE_1)
def test_the_weighting_lies_within_each_tolerance_of_the_standard(hz, db, above, below):
    """AES6-2008, table 1."""
    assert db - below <= weighting_db(hz) <= db + above


@pytest.mark.parametrize(("hz", "db", "above", "below"), AES6_TABLE_1[3:-1])
def test_a_meter_weighs_a_played_swing_as_the_standard_does(hz, db, above, below):
    """AES6-2008, table 1, through the whole meter: the reading of each rate against that of 4 Hz."""
    reading = wow_and_flutter(a_tone_with_wow([(0.002, hz)]))
    assert db - below - 0.05 <= 20 * math.log10(reading / (0.2 * 0.99692)) <= db + above + 0.05


@pytest.mark.parametrize(("hz", "reading"), [(4.0, 0.0997), (0.8, 0.0500), (20.0, 0.0505)])
def test_a_swing_of_a_tenth_of_a_percent_reads_as_computed(hz, reading):
    """A sine of peak p exceeds 0.99692·p for 5 % of the time (C); weights from AES6-2008."""
    assert wow_and_flutter(a_tone_with_wow([(0.001, hz)])) == pytest.approx(reading, abs=0.0002)


def test_two_sigma_of_a_sine_and_of_gaussian_values():
    """sin(0.95·π/2) = 0.99692, and 1.96 σ (C)."""
    sine = 0.3 * np.sin(np.linspace(0, 200 * np.pi, 1_000_001))
    assert two_sigma(sine) == pytest.approx(0.3 * 0.99692, rel=1e-4)
    gaussian = np.random.Generator(np.random.PCG64(1)).normal(0, 0.7, 1_000_000)
    assert two_sigma(gaussian) == pytest.approx(1.96 * 0.7, rel=0.005)


def test_the_timing_error_of_a_swing_is_its_depth_over_its_angular_rate():
    """0.2 % at 4 Hz is 79.6 µs (C)."""
    law = transport.SpeedLaw(swings=((0.002, 4.0, 0.25),))  # begins at its quickest
    clock = transport.run(law, 1.0)
    assert np.abs(clock.way_s - clock.time_s).max() == pytest.approx(79.6e-6, abs=0.05e-6)


def test_record_and_replay_flutter_add_to_anything_from_nothing_to_twice_one_pass():
    """Secondary source: the two passes add as vectors, by their phase."""
    deck = Deck(record_wow_percent=0.2, replay_wow_percent=0.2, record_wow_hz=4, replay_wow_hz=4)
    tone = a_tone(3150, 8)
    readings = [wow_and_flutter(deck.play(tone, seed=seed)) for seed in range(24)]
    once = 0.2 * 0.99692
    assert min(readings) < 0.4 * once
    assert 1.8 * once < max(readings) < 2.01 * once


@pytest.mark.parametrize(("hz", "wavelength", "at_1", "at_5", "gap", "coating", "wide", "narrow"), LOSSES)
def test_losses_follow_the_published_formulas(hz, wavelength, at_1, at_5, gap, coating, wide, narrow):
    """The table's sources stand beside it."""
    length = heads.wavelength_um(hz)
    assert length == pytest.approx(wavelength, abs=0.005)
    assert heads.spacing_loss_db(1, length) == pytest.approx(at_1, abs=0.0006)
    assert heads.spacing_loss_db(5, length) == pytest.approx(at_5, abs=0.006)
    assert heads.gap_loss_db(2, length) == pytest.approx(gap, abs=0.0006)
    assert heads.thickness_loss_db(5, length) == pytest.approx(coating, abs=0.006)
    assert heads.azimuth_loss_db(15, 0.6, length) == pytest.approx(narrow, abs=0.0006)
    if wide is not None:
        assert heads.azimuth_loss_db(15, 1.5, length) == pytest.approx(wide, abs=0.0006)


@pytest.mark.parametrize(("hz", "at_120", "at_70"), FLUX)
def test_flux_on_a_tape_recorded_to_the_standard(hz, at_120, at_70):
    """IEC 60094-1:1981; corners 50.05, 1326.3 and 2273.6 Hz."""
    assert heads.replay_flux_db(hz, 120) == pytest.approx(at_120, abs=0.006)
    assert heads.replay_flux_db(hz, 70) == pytest.approx(at_70, abs=0.006)


def test_a_tape_made_for_70_microseconds_sounds_bright_on_a_machine_for_120():
    """The difference of the two columns of the standard's table: 10 kHz is 4.54 dB too strong (C)."""
    played = Deck(replay_equalisation_us=120).replay(a_tone(10000, 1, level=0.1), written_equalisation_us=70)
    assert _middle_db(played) + 23.01 == pytest.approx(17.62 - 13.08, abs=0.05)
    dull = Deck(replay_equalisation_us=70).replay(a_tone(6300, 1, level=0.1))
    assert _middle_db(dull) + 23.01 == pytest.approx(9.38 - 13.72, abs=0.05)


def _middle_db(sound):
    return sound.part(0.25 * sound.seconds, 0.75 * sound.seconds).rms_dbfs


def test_a_held_level_behind_a_capacitor_decays_exponentially():
    """e^(−2π·fc·t) (C), read in the middle of each sample."""
    held = source.coupling(np.ones(RATE, np.float32), RATE, 30)
    seconds = (np.arange(2000) + 0.5) / RATE
    assert held[:2000] == pytest.approx(np.exp(-2 * math.pi * 30 * seconds), abs=1e-5)


@pytest.mark.parametrize("corner_hz", [20, 100, 500])
def test_the_coupling_agrees_with_a_first_order_filter_of_scipy(corner_hz):
    """scipy.signal.butter, analogue, first order: within 0.05 dB up to 4 kHz."""
    hz = np.geomspace(10, 4000, 40)
    impulse = np.zeros(1 << 16, np.float32)
    impulse[0] = 1
    ours = np.abs(signal.freqz(source.coupling(impulse, RATE, corner_hz), worN=hz, fs=RATE)[1])
    design = signal.butter(1, 2 * np.pi * corner_hz, "high", analog=True)
    theirs = np.abs(signal.freqs(*design, 2 * np.pi * hz)[1])
    assert np.abs(20 * np.log10(ours / theirs)).max() < 0.05


def test_far_below_saturation_the_lift_of_the_highs_and_its_undoing_cancel():
    """Linear systems that are each other's inverse (C)."""
    wave = np.random.Generator(np.random.PCG64(2)).standard_normal(20000).astype(np.float32) * 1e-3
    assert np.abs(tape.saturation(wave, RATE, 0, 4000) - wave).max() < 1e-6


def test_the_filter_of_the_heads_agrees_with_a_design_of_scipy():
    """scipy.signal.firwin2 of the same loss: within 0.05 dB where the loss is less than 40 dB."""
    hz = np.linspace(0, RATE / 2, 2049)
    loss_db = heads.SPACING_DB * 1.5 * hz / 47625
    theirs = signal.firwin2(2001, hz, 10 ** (-loss_db / 20), fs=RATE)
    impulse = np.zeros(8192, np.float32)
    impulse[4096] = 1
    ours = heads.linear_filter(impulse, RATE, lambda f: heads.spacing_loss_db(1.5, heads.wavelength_um(f)))
    at = np.geomspace(60, 16000, 50)
    gains = [np.abs(signal.freqz(taps, worN=at, fs=RATE)[1]) for taps in (ours, theirs)]
    assert np.abs(20 * np.log10(gains[0] / gains[1])).max() < 0.05


def test_the_weighting_agrees_with_scipy_evaluating_its_poles():
    """scipy.signal.freqs_zpk of the same poles and zeros."""
    from kit.meters import weighting

    hz = np.geomspace(0.1, 200, 50)
    _, theirs = signal.freqs_zpk(*weighting._analogue(), 2 * np.pi * hz)
    assert weighting_db(hz) == pytest.approx(20 * np.log10(np.abs(theirs)), abs=1e-9)


@pytest.mark.parametrize("generations", [2, 4, 8])
def test_each_doubling_of_the_generations_adds_three_decibels_of_noise(generations):
    """Doubling independent noise costs 3.01 dB (C)."""
    silence = Sound(np.zeros(4 * RATE), RATE)
    deck = Deck(hiss_dbfs=-50)
    more = deck.copy(silence, generations).rms_dbfs - deck.copy(silence, generations // 2).rms_dbfs
    assert more == pytest.approx(3.01, abs=0.05)


def test_the_wavelength_on_the_tape_is_speed_over_frequency():
    """4.7625 cm/s: 2400 Hz is 19.84 µm, 10 kHz 4.76 µm (C)."""
    assert heads.wavelength_um(2400) == pytest.approx(19.84, abs=0.005)
    assert heads.wavelength_um(10_000) == pytest.approx(4.76, abs=0.005)
    assert heads.wavelength_um(2400, speed_mm_s=2 * 47.625) == pytest.approx(2 * 19.84, abs=0.01)


def test_capacity_meets_the_textbook_value():
    """Shannon 1949: 3 kHz at 30 dB is 29,902 bit/s (C), by the formula and by integration."""
    assert shannon(3000, 30) == pytest.approx(29_902, abs=1)
    # hiss is stated over 20 kHz: what falls into 3 kHz of it is 10·lg(20/3) less
    deck = Deck(hiss_dbfs=-40 + 10 * math.log10(20 / 3))
    assert capacity(deck, level_dbfs=-10, band_hz=(0, 3000)) == pytest.approx(29_902, abs=1)


@pytest.mark.parametrize("percent", [-20.0, -3.0, 0.1, 5.0, 50.0])
def test_five_percent_of_speed_is_five_percent_of_frequency(percent):
    """A tone f played at speed s comes out at s·f, within 1e-4 (C)."""
    played = Deck(replay_speed_percent=percent).replay(a_tone(3150, 12))
    assert speed_trace(played).mean_percent == pytest.approx(percent, abs=0.01)


def test_half_amplitude_is_six_decibels():
    """20·lg ½ = −6.02 dB (C)."""
    assert 20 * math.log10(source.gain(np.ones(1, np.float32), -6.0206)[0]) == pytest.approx(-6.02, abs=0.005)
    assert Deck(replay_gain_db=-6.0206).play(a_tone(1000, 0.1)).peak == pytest.approx(0.25, abs=1e-4)
