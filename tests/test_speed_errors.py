"""Speed errors: clean tapes played too fast, too slow and unevenly are read whole, the speed not being told.

The tape is warped here with numpy alone: at each time of the playing machine, the place on the tape is the integral
of its speed, and the wave there is read off between two samples.
"""

import numpy as np
import pytest

import kit

RATE = 44100
SIZE = 3000  # bytes: three blocks, some 15 seconds


def tape(seed):
    """Random bytes, and the samples of their tape."""
    data = np.random.default_rng(seed).bytes(SIZE)
    return data, kit.encode(data, name="log.bin", format="house", rate=RATE, lead_in_s=1.0).samples.reshape(-1)


def played(samples, speed, swing=0.0, swing_hz=1.0, phase=0.0):
    """Samples as a machine gives them whose speed is `speed * (1 + swing * sin(2 pi swing_hz t + phase))`."""
    times = np.arange(int(len(samples) / (speed * (1 - swing)))) / RATE
    turn = 2 * np.pi * swing_hz
    places = speed * (times + swing / turn * (np.cos(phase) - np.cos(turn * times + phase))) * RATE
    places = places[places <= len(samples) - 1]
    return np.interp(places, np.arange(len(samples)), samples).astype(np.float32)


def reads_whole(samples, data):
    """Whether the default reader gives just these bytes and vouches for them."""
    reading = kit.decode(kit.Sound(samples, RATE), format="house")
    return reading.complete and [file.data for file in reading.files] == [data]


@pytest.mark.parametrize("percent", [-40, -30, -15, -5, 5, 15, 30, 40])
def test_a_steady_speed_error_is_borne(percent):
    """A machine that always runs too slow or too fast by up to 40 %."""
    data, samples = tape(seed=100 + percent)
    assert reads_whole(played(samples, 1 + percent / 100), data)


@pytest.mark.parametrize("phase", [0.0, 2.0, 4.0])
@pytest.mark.parametrize("speed", [0.95, 1.0, 1.05])
def test_wow_of_10_percent_at_1_hz_is_borne(speed, phase):
    """The speed swings by 10 % either way once a second."""
    data, samples = tape(seed=7)
    assert reads_whole(played(samples, speed, swing=0.10, swing_hz=1.0, phase=phase), data)


@pytest.mark.parametrize("phase", [0.0, 2.0, 4.0])
@pytest.mark.parametrize("speed", [0.95, 1.0, 1.05])
def test_flutter_of_2_percent_at_10_hz_is_borne(speed, phase):
    """The speed swings by 2 % either way ten times a second."""
    data, samples = tape(seed=8)
    assert reads_whole(played(samples, speed, swing=0.02, swing_hz=10.0, phase=phase), data)


def test_all_three_at_once_are_borne():
    """20 % too slow, with 10 % of wow, and 2 % of flutter on top."""
    data, samples = tape(seed=9)
    swung = played(samples, 0.8, swing=0.10, swing_hz=1.0)
    assert reads_whole(played(swung, 1.0, swing=0.02, swing_hz=10.0), data)


def test_the_warp_changes_the_length_and_the_pitch_as_it_says():
    """A tone played 25 % too fast is 25 % higher, and its tape is over after four fifths of the time."""
    tone = np.sin(2 * np.pi * 1000 * np.arange(RATE) / RATE)
    fast = played(tone, 1.25)
    assert len(fast) == pytest.approx(RATE / 1.25, abs=2)
    assert np.abs(np.fft.rfft(fast[:RATE // 2])).argmax() * 2 == 1250


def test_the_wow_is_as_strong_as_it_says():
    """Zeros of a tone lie closest where the speed is highest: 10 % above, and farthest apart 10 % below."""
    tone = np.sin(2 * np.pi * 1000 * np.arange(3 * RATE) / RATE)
    swung = played(tone, 1.0, swing=0.1, swing_hz=1.0)
    rising = np.flatnonzero((swung[:-1] < 0) & (swung[1:] >= 0))
    places = rising + swung[rising] / (swung[rising] - swung[rising + 1])
    pitch_hz = RATE / np.convolve(np.diff(places), np.full(9, 1 / 9), mode="valid")
    assert pitch_hz.max() == pytest.approx(1100, rel=0.003)
    assert pitch_hz.min() == pytest.approx(900, rel=0.003)
