"""Sound files with something wrong in them: what can be read is read, the rest is refused in one line."""

import struct
import tracemalloc

import numpy as np
import pytest
import soundfile

from kit.errors import SettingError, SoundError
from kit.sound import Sound

RATE = 48000


def wave(frames):
    """A tone, mono."""
    return 0.3 * np.sin(2 * np.pi * 700 * np.arange(frames) / RATE)


def file_bytes(tmp_path, samples=None):
    """A 16-bit WAV with its usual 44-byte header."""
    path = Sound(wave(1000) if samples is None else samples, 8000).write(tmp_path / "good.wav")
    return bytearray(path.read_bytes())


def patched(tmp_path, content, place, layout, *values):
    """A file like `content`, with other numbers at one place."""
    struct.pack_into(layout, content, place, *values)
    path = tmp_path / "patched.wav"
    path.write_bytes(content)
    return path


def refused_in_one_line(path):
    """Reading it raises one of the kit's errors, of one line."""
    with pytest.raises((SoundError, SettingError)) as caught:
        Sound.read(path)
    assert len(str(caught.value).splitlines()) == 1
    assert "sf_" not in str(caught.value)


def test_nan_in_a_file_becomes_silence_and_is_counted(tmp_path):
    """Float files may hold anything; doubles may exceed what float32 holds."""
    path = tmp_path / "nan.wav"
    soundfile.write(path, np.array([0.5, np.nan, np.inf, -np.inf, 1e300]), RATE, subtype="DOUBLE")
    sound = Sound.read(path)
    assert np.array_equal(np.concatenate(list(sound.pieces()))[:, 0], np.float32([0.5, 0, 0, 0, 0]))
    assert sound.not_numbers == 4
    assert np.array_equal(sound.samples, np.float32([0.5, 0, 0, 0, 0]))
    assert sound.not_numbers == 4


@pytest.mark.parametrize("promised", [2_000_000_000, 4_000_000_000, 0xFFFFFFFF])
def test_a_header_that_promises_too_much_is_not_believed(tmp_path, promised):
    """What is there is read; nothing is reserved for the rest."""
    path = patched(tmp_path, file_bytes(tmp_path), 40, "<I", promised)
    tracemalloc.start()
    sound = Sound.read(path)
    assert sound.samples.shape == (1000,)
    assert sound.seconds == 1000 / 8000
    assert tracemalloc.get_traced_memory()[1] < 5_000_000
    tracemalloc.stop()


@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg", ".opus", ".mp3", ".aiff", ".w64"])
def test_a_file_cut_in_the_middle_is_read_as_far_as_it_goes(tmp_path, ending, capfd):
    """About half of it, sample by sample what was there."""
    samples = np.random.default_rng(9).normal(size=400000) * 0.1
    content = Sound(samples, RATE).write(tmp_path / f"whole{ending}").read_bytes()
    cut = tmp_path / f"cut{ending}"
    cut.write_bytes(content[:len(content) // 2])
    pieces = np.concatenate(list(Sound.read(cut).pieces()))
    assert 150000 < len(pieces) < 250000
    whole = Sound.read(tmp_path / f"whole{ending}").samples
    assert np.abs(pieces[:140000, 0] - whole[:140000]).max() < 1e-3
    assert Sound.read(cut).samples.shape == (len(pieces),)


def test_damage_inside_a_compressed_file_costs_only_the_damaged_stretch(tmp_path):
    """The lost frames are silent, those before and after stand where they belong."""
    samples = np.random.default_rng(6).normal(size=100000) * 0.1
    path = Sound(samples, RATE).write(tmp_path / "log.flac")
    content = bytearray(path.read_bytes())
    middle = len(content) // 2
    content[middle:middle + 300] = bytes(300)
    path.write_bytes(content)
    pieces = np.concatenate(list(Sound.read(path).pieces()))[:, 0]
    wrong = np.flatnonzero(np.abs(pieces - samples) > 2.0**-15)
    assert len(pieces) == 100000
    assert len(wrong) > 0
    assert np.ptp(wrong) < 3 * 4096


@pytest.mark.parametrize("frames", [0, 2**36 - 1])
def test_a_length_that_is_unknown_or_cannot_be_is_counted(tmp_path, frames):
    """A stream says 0 for unknown; the sound knows its length all the same."""
    path = Sound(wave(40960), RATE).write(tmp_path / "log.flac")
    content = bytearray(path.read_bytes())
    # STREAMINFO (RFC 9639 §8.2) begins at byte 8; its number of samples is the low 36 bits of bytes 18 to 25.
    packed = int.from_bytes(content[18:26], "big") >> 36 << 36 | frames
    content[18:26] = packed.to_bytes(8, "big")
    path.write_bytes(content)
    sound = Sound.read(path)
    assert sound.frames == 40960
    assert sound.samples.shape == (40960,)


@pytest.mark.parametrize("content", [b"", b"RIFF", b"hello, island" * 100, bytes(5000), b"fLaC" + bytes(100)])
@pytest.mark.parametrize("ending", [".wav", ".raw", ".mp3", ""])
def test_what_is_not_audio_is_refused_in_one_line(tmp_path, content, ending, capfd):
    """Whatever it is called."""
    path = tmp_path / f"not{ending}"
    path.write_bytes(content)
    refused_in_one_line(path)


@pytest.mark.parametrize("length", [0, 3, 11, 12, 20, 35])
def test_a_cut_header_is_refused_in_one_line(tmp_path, length):
    """Nothing can be read without it."""
    path = tmp_path / "cut.wav"
    path.write_bytes(file_bytes(tmp_path)[:length])
    refused_in_one_line(path)


@pytest.mark.parametrize(("place", "layout", "value"), [
    (24, "<I", 0), (24, "<I", 768001), (24, "<I", 0xFFFFFFFF),
    (22, "<H", 0), (22, "<H", 9), (22, "<H", 300), (22, "<H", 65535), (34, "<H", 0), (20, "<H", 999),
])
def test_a_header_with_impossible_numbers_is_refused_in_one_line(tmp_path, place, layout, value):
    """Rate, channels, sample width and coding, each wrong by itself."""
    refused_in_one_line(patched(tmp_path, file_bytes(tmp_path), place, layout, value))


def test_nine_channels_are_named_in_the_refusal(tmp_path):
    """The message says how many there are and how many may be."""
    soundfile.write(tmp_path / "many.wav", np.zeros((10, 9)), 8000)
    with pytest.raises(SoundError, match=r"at most 8 channels.*got 9"):
        Sound.read(tmp_path / "many.wav")


def test_a_recording_that_was_broken_off_says_so(tmp_path):
    """A recorder that lost power leaves the length at 0; silence would be the wrong answer."""
    content = file_bytes(tmp_path, wave(100000))
    with pytest.raises(SoundError, match="says it holds no sound, but has 200044 bytes"):
        Sound.read(patched(tmp_path, content, 40, "<I", 0))


@pytest.mark.parametrize("name", ["missing.wav", "", "no/folder.wav", "nul\0byte.wav", "x" * 5000])
def test_a_file_that_is_not_there_is_refused_in_one_line(tmp_path, monkeypatch, name):
    """The message quotes the name."""
    monkeypatch.chdir(tmp_path)
    refused_in_one_line(name)


def test_a_folder_is_not_a_recording(tmp_path):
    """Said as such."""
    with pytest.raises(SoundError, match="is a folder"):
        Sound.read(tmp_path)


@pytest.mark.parametrize("name", [None, 5, b"log.wav", ["log.wav"]])
def test_a_path_is_text_or_a_path(name):
    """Anything else is a wrong setting."""
    with pytest.raises(SettingError, match="path must be"):
        Sound.read(name)
    with pytest.raises(SettingError, match="path must be"):
        Sound([0.0], RATE).write(name)
