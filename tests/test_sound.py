"""Sound in memory: what it takes, what it refuses, its levels, pieces, parts and scratches."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.errors import KitError, SettingError
from kit.sound import Sound, scratch

RATE = 8000


def tone(seconds=2.0, channels=1, level=0.4):
    """A tone of 500 Hz, the second channel at half the level and turned round."""
    wave = level * np.sin(2 * np.pi * 500 * np.arange(round(seconds * RATE)) / RATE)
    return Sound(wave if channels == 1 else np.stack([wave, -0.5 * wave], axis=1), RATE)


@pytest.mark.parametrize(("samples", "expected"), [
    (np.array([-32768, 0, 16384, 32767], np.int16), [-1, 0, 0.5, 32767 / 32768]),
    (np.array([-128, 0, 64, 127], np.int8), [-1, 0, 0.5, 127 / 128]),
    (np.array([0, 128, 192, 255], np.uint8), [-1, 0, 0.5, 127 / 128]),
    (np.array([-(2**31), 0, 2**30], np.int32), [-1, 0, 0.5]),
    ([0.25, -2.0], [0.25, -2.0]),
    (np.array([0.25, -0.5], np.float16), [0.25, -0.5]),
    ([True, False], [1, 0]),
    ([], []),
])
def test_whole_numbers_are_scaled_and_floats_are_kept(samples, expected):
    """Full scale is one beyond the largest whole number; floats may exceed it."""
    sound = Sound(samples, RATE)
    assert sound.samples.dtype == np.float32
    assert np.array_equal(sound.samples, np.float32(expected))


@pytest.mark.parametrize(("shape", "kept", "channels"), [
    ((5,), (5,), 1), ((5, 1), (5,), 1), ((5, 2), (5, 2), 2), ((5, 8), (5, 8), 8), ((0,), (0,), 1),
    ((0, 2), (0, 2), 2),
])
def test_one_channel_is_a_row_and_more_are_a_table(shape, kept, channels):
    """Frames go first."""
    sound = Sound(np.zeros(shape), RATE)
    assert sound.samples.shape == kept
    assert (sound.frames, sound.channels) == (shape[0], channels)
    assert sound.seconds == shape[0] / RATE


def test_samples_cannot_be_changed_through_the_sound():
    """Immutable by construction, not only by agreement."""
    sound = tone()
    with pytest.raises(ValueError, match="read-only"):
        sound.samples[0] = 1


def test_nan_and_infinity_become_silence_and_are_counted():
    """Also a double that float32 cannot hold; the caller's array is left as it was."""
    given_samples = np.array([[0.5, np.nan], [np.inf, -np.inf], [1e300, 0.25]])
    sound = Sound(given_samples, RATE)
    assert np.array_equal(sound.samples, np.float32([[0.5, 0], [0, 0], [0, 0.25]]))
    assert sound.not_numbers == 4
    assert np.isnan(given_samples[0, 1])
    assert Sound([0.5], RATE).not_numbers == 0


@pytest.mark.parametrize(("samples", "part_of_message"), [
    (["a", "b"], "real numbers"), ([None], "real numbers"), ([1 + 2j], "real numbers"),
    ("wave", "real numbers"),
    ([[1.0], [1.0, 2.0]], "unequal"), (np.zeros((2, 2, 2)), "2, 2, 2"), (0.5, r"\(frames,\)"),
    (np.zeros((2, 9)), "samples.T"), (np.zeros((3, 0)), "1 to 8 channels"), ([0, 1, -1], "int64"),
    (np.zeros(3, np.uint16), "uint16"), (np.zeros(3, "datetime64[s]"), "real numbers"),
])
def test_what_is_no_sound_is_refused_in_one_line(samples, part_of_message):
    """Each message says what samples must be."""
    with pytest.raises(SettingError, match=part_of_message) as caught:
        Sound(samples, RATE)
    assert "must" in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("rate", [0, -8000, 44100.5, np.nan, np.inf, "44100", None, 768001, 10**9, True, [8]])
def test_a_rate_must_be_a_whole_number_in_range(rate):
    """From 1 Hz to 768 kHz."""
    with pytest.raises(SettingError, match="rate must be") as caught:
        Sound([0.0], rate)
    assert "got" in str(caught.value)


@pytest.mark.parametrize("rate", [1, 768000, 44100.0, np.int64(8000), np.float32(8000)])
def test_a_rate_is_kept_as_an_int(rate):
    """Whatever kind of whole number it was."""
    assert type(Sound([0.0], rate).rate) is int
    assert Sound([0.0], rate).rate == rate


@given(st.integers(0, 60), st.integers(1, 3), st.integers(1, 70), st.integers(0, 70),
       st.none() | st.integers(0, 70), st.booleans())
@settings(deadline=None)
def test_pieces_put_together_are_the_samples(frames, channels, longest, start, stop, native):
    """For every length of piece, beginning and end; mono pieces are tables of one column."""
    sound = Sound(np.random.default_rng(5).normal(size=(frames, channels)), RATE)
    pieces = list(sound.pieces(longest, start, stop, native))
    table = sound.samples.reshape(frames, channels)[start:stop]
    assert all(piece.shape[1] == channels and 1 <= len(piece) <= longest for piece in pieces)
    assert all(piece.dtype == np.float32 and piece.flags.c_contiguous for piece in pieces)
    assert np.array_equal(np.concatenate([table[:0], *pieces]), table)


def test_pieces_of_a_sound_in_memory_are_views():
    """Nothing is copied on the way to a reader."""
    sound = tone()
    assert all(np.shares_memory(piece, sound.samples) for piece in sound.pieces(1000))


@pytest.mark.parametrize("wrong", [{"frames": 0}, {"frames": 1.}, {"start": -1}, {"stop": -1}, {"stop": "9"}])
def test_pieces_are_counted_in_whole_frames(wrong):
    """Refused at the call, not when the first piece is asked for."""
    with pytest.raises(SettingError, match="must be a whole number"):
        tone().pieces(**wrong)


def test_levels_of_known_waves():
    """A sine of amplitude A has rms A/√2, a square wave A; silence is −∞ dB."""
    assert tone(level=0.5).peak == pytest.approx(0.5)
    assert tone(level=0.5).rms == pytest.approx(0.5 / np.sqrt(2), rel=1e-6)
    assert tone(level=1.0).rms_dbfs == pytest.approx(-3.0103, abs=1e-4)
    square = Sound(np.tile([0.5, -0.5], 500), RATE)
    assert square.rms == 0.5
    assert square.peak_dbfs == square.rms_dbfs == pytest.approx(-6.0206, abs=1e-4)
    assert Sound(np.zeros(9), RATE).peak_dbfs == Sound([], RATE).rms_dbfs == -np.inf
    assert Sound([0.1, -0.9], RATE).peak == pytest.approx(0.9)


def test_a_part_is_cut_at_whole_frames():
    """From start to stop, and no further than the end."""
    sound = tone(2.0, channels=2)
    part = sound.part(0.5, 0.75)
    assert np.array_equal(part.samples, sound.samples[4000:6000])
    assert not np.shares_memory(part.samples, sound.samples)
    assert sound.part(1.5, 99).frames == 4000
    assert sound.part(2.0, 2.0).samples.shape == (0, 2)


@pytest.mark.parametrize("span", [(-0.1, 1), (2.1, 3), (1, 0.5), (np.nan, 1), (0, np.nan), ("a", 1), (0, [])])
def test_a_part_outside_the_sound_is_refused(span):
    """The message says where it may lie."""
    with pytest.raises(SettingError, match=r"_s must .*got"):
        tone(2.0).part(*span)


def test_scaling_changes_the_level_and_only_that():
    """Half the gain is 6 dB less; −1 turns the wave round."""
    sound = tone()
    assert sound.scaled(0.5).peak_dbfs - sound.peak_dbfs == pytest.approx(-6.0206, abs=1e-3)
    assert np.array_equal(sound.scaled(-1).samples, -sound.samples)
    with pytest.raises(SettingError, match="gain must be"):
        sound.scaled(np.inf)


@pytest.mark.parametrize("channels", [1, 2])
def test_a_scratch_takes_the_signal_and_leaves_crackle(channels):
    """Inside, less than a tenth of the wave is left, and there is noise with clicks well above it."""
    sound = tone(3.0, channels)
    worn = scratch(sound, 1.0, 0.5, seed=3)
    wave = sound.samples.reshape(sound.frames, -1)[8000:12000]
    inside = worn.samples.reshape(sound.frames, -1)[8000:12000]
    remaining = (wave * inside).sum(axis=0) / (wave * wave).sum(axis=0)
    assert (np.abs(remaining) < 0.1).all()
    crackle = inside - remaining * wave
    rms = np.sqrt(np.mean(crackle**2, axis=0))
    level = np.sqrt(np.mean(wave**2, axis=0))
    assert (rms > 0.2 * level).all()
    assert (rms < level).all()
    assert (np.abs(crackle).max(axis=0) > 3.5 * np.median(np.abs(crackle), axis=0) / 0.6745).all()


def test_a_scratch_touches_nothing_else_and_is_never_louder():
    """Outside the stretch each sample stays; no sample exceeds the peak of its channel."""
    sound = tone(3.0, 2)
    worn = sound.scratch(1.0, 0.5)
    assert worn.samples.shape == sound.samples.shape
    assert np.array_equal(worn.samples[:8000], sound.samples[:8000])
    assert np.array_equal(worn.samples[12000:], sound.samples[12000:])
    assert (np.abs(worn.samples).max(axis=0) <= np.abs(sound.samples).max(axis=0)).all()


def test_the_same_seed_gives_the_same_scratch():
    """And another seed another; the sound itself is not changed."""
    sound = tone()
    before = sound.samples.copy()
    first, again, other = (sound.scratch(0.5, 0.2, seed).samples for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)
    assert np.array_equal(sound.samples, before)


def test_the_crackle_follows_the_level_nearby():
    """In the quiet half it is as much quieter as the wave is."""
    quiet, loud = tone(2.0, level=0.04), tone(2.0, level=0.4)
    both = Sound(np.concatenate([quiet.samples, loud.samples]), RATE)
    worn = both.scratch(0.5, 0.5, seed=4).scratch(2.5, 0.5, seed=4)
    assert worn.part(2.5, 3.0).rms / worn.part(0.5, 1.0).rms == pytest.approx(10, rel=0.05)


def test_a_scratch_may_run_off_the_end_or_be_of_no_length():
    """What lies past the end is lost to no one."""
    sound = tone(2.0)
    assert sound.scratch(1.5, 99).frames == sound.frames
    assert np.array_equal(sound.scratch(1.0, 0).samples, sound.samples)
    assert np.array_equal(Sound(np.zeros(800), RATE).scratch(0, 0.1).samples, np.zeros(800))
    assert Sound(np.zeros((0, 2)), RATE).scratch(0, 0).channels == 2


@pytest.mark.parametrize("wrong", [
    {"start_s": -1, "length_s": 1}, {"start_s": 2.5, "length_s": 1}, {"start_s": 0, "length_s": -1},
    {"start_s": np.nan, "length_s": 1}, {"start_s": 0, "length_s": np.inf}, {"start_s": "0", "length_s": 1},
    {"start_s": 0, "length_s": 1, "seed": -1}, {"start_s": 0, "length_s": 1, "seed": None},
])
def test_a_scratch_outside_the_sound_is_refused(wrong):
    """One line with the range."""
    with pytest.raises(SettingError, match=r"must .*got"):
        tone(2.0).scratch(**wrong)


def test_refusals_belong_to_the_kits_family():
    """A wrong setting can be caught as the kit's error or as a ValueError."""
    assert issubclass(SettingError, KitError)
    assert issubclass(SettingError, ValueError)


def test_importing_sound_brings_in_numpy_only():
    """No file library and no plotting until they are needed."""
    code = "import kit.sound, sys; print({'soundfile', 'scipy', 'matplotlib'} & {*sys.modules} or 'none')"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert shown.strip() == "none"


def test_a_sound_shows_its_length_rate_and_channels():
    """In a notebook the last line of a cell says what it is."""
    assert repr(tone(2.0, 2)) == "Sound(2.000 s, 8000 Hz, stereo)"
