"""Whatever file decode is given, sound or not, it gives a result or one line, never a traceback."""

import json
import os
import struct

import numpy as np
import pytest
import soundfile
from crafted import RATE, samples_of, small_file

pytest_plugins = ["commandline_fixtures"]


def wav_header(rate=RATE, channels=1, bits=16, align=None, data_bytes=2000, form=1):
    """The 44 bytes at the start of a WAV file, with anything in them."""
    align = channels * bits // 8 if align is None else align
    fields = (16, form, channels, rate, (rate * align) % 2**32, align, bits)
    riff = b"RIFF" + struct.pack("<I", (36 + data_bytes) % 2**32) + b"WAVE"
    return riff + b"fmt " + struct.pack("<IHHIIHH", *fields) + b"data" + struct.pack("<I", data_bytes)


# -- not sound -----------------------------------------------------------------------------------------

SOME_SOUND = (8000 * np.sin(np.arange(1000) / 5)).astype("<i2").tobytes()
NOT_AUDIO = {
    "empty": b"",
    "one byte": b"R",
    "text": b"wind west 5\n" * 50,
    "zeros": bytes(5000),
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(100),
    "zero rate": wav_header(rate=0) + SOME_SOUND,
    "huge rate": wav_header(rate=2**31) + SOME_SOUND,
    "no channels": wav_header(channels=0, align=2) + SOME_SOUND,
    "hundreds of channels": wav_header(channels=300) + SOME_SOUND,
    "thousands of channels": wav_header(channels=65535, align=2) + SOME_SOUND,
    "unknown coding": wav_header(form=0x7777) + SOME_SOUND,
    "zero bits": wav_header(bits=0, align=2) + SOME_SOUND,
    "other ending": b"RIFF" + bytes(4) + b"AVI " + bytes(200),
} | {f"cut after {n}": wav_header()[:n] for n in (4, 8, 12, 20, 27, 36)}


@pytest.mark.parametrize("name", NOT_AUDIO)
def test_what_is_not_audio_is_one_line(tmp_path, hear, name):
    """Status 2, one line with the file's name, nothing written."""
    (tmp_path / "strange.wav").write_bytes(NOT_AUDIO[name])
    status, out, err = hear(tmp_path / "strange.wav")
    assert (status, out, err.count("\n")) == (2, "", 1) and "strange.wav" in err
    assert not (tmp_path / "deep").exists()


def test_what_is_no_file_is_one_line(tmp_path, hear):
    """A folder, a pipe that never ends, a link to nowhere, a name no system takes: one line each."""
    os.mkfifo(tmp_path / "pipe.wav")
    (tmp_path / "link.wav").symlink_to(tmp_path / "nowhere")
    for path in (tmp_path, tmp_path / "pipe.wav", tmp_path / "link.wav", "/dev/zero", "a\0b.wav", "x" * 5000):
        status, out, err = hear(path)
        assert (status, out, err.count("\n")) == (2, "", 1)


def test_a_name_with_escapes_is_not_obeyed_even_when_refused(tmp_path, hear):
    """A recording's own name may hold anything; the complaint spells it out."""
    path = tmp_path / "a\x1b[2J\u202e\n.wav"
    path.write_bytes(b"no sound")
    status, _, err = hear(path)
    assert status == 2 and "\\x1b[2J\\u202e" in err


@pytest.mark.parametrize("frames", [0, 1, 2, 100])
def test_hardly_any_sound_is_nothing_found(tmp_path, hear, frames):
    """A few samples hold nothing: status 1 and advice."""
    (tmp_path / "short.wav").write_bytes(wav_header(data_bytes=2 * frames) + SOME_SOUND[: 2 * frames])
    status, _, err = hear(tmp_path / "short.wav")
    assert status == 1 and "nothing was found" in err


@pytest.mark.parametrize("kind", ["silence", "noise", "NaN", "infinity", "one level", "clicks"])
@pytest.mark.parametrize("channels", [1, 2, 8])
def test_sound_without_data_is_nothing_found(tmp_path, hear, kind, channels):
    """Silence, noise and what is not even a number make no files: status 1."""
    noise = np.random.default_rng(1).normal(0, 0.2, (60_000, channels)).astype("f4")
    fill = {"silence": 0.0, "NaN": np.nan, "infinity": np.inf, "one level": 0.7}
    samples = noise if kind == "noise" else np.full_like(noise, fill.get(kind, 0.0))
    if kind == "clicks":
        samples[::1000] = 1
    soundfile.write(tmp_path / "sound.wav", samples, RATE, subtype="FLOAT")
    status, out, _ = hear(tmp_path / "sound.wav")
    assert status == 1 and "whole" not in out.replace("0 of", "")


def test_numbers_that_are_none_are_damage_like_any_other(tmp_path, hear):
    """NaN and infinity in the middle of a tape cost the bytes they lie on, and no more."""
    data = np.random.default_rng(2).bytes(900)
    samples = samples_of(small_file("log.bin", data))
    samples[35_000:36_000] = np.nan
    samples[36_000:36_200] = -np.inf
    soundfile.write(tmp_path / "tape.wav", samples, RATE, subtype="FLOAT")
    status, out, _ = hear(tmp_path / "tape.wav", "--json")
    found = json.loads(out)["files"][0]
    got = (tmp_path / "deep" / "deeper" / "out" / "log.bin").read_bytes()
    doubtful = {k for part in found["doubtful"] for k in range(part["start"], part["stop"])}
    assert status == 1 and 0 < len(doubtful) < 60
    assert {k for k in range(900) if data[k] != got[k]} <= doubtful


@pytest.mark.parametrize("size", [1e30, 3e38])
def test_numbers_far_beyond_full_scale_are_damage_like_any_other(tmp_path, hear, size):
    """Samples as large as a float can be cost the second header they lie on, without a word of overflow."""
    samples = samples_of(small_file("log.txt", b"calm")).astype("f4")
    samples[30_000::2], samples[30_001::2] = size, -size
    soundfile.write(tmp_path / "tape.wav", samples, RATE, subtype="FLOAT")
    status, out, _ = hear(tmp_path / "tape.wav")
    assert status == 0 and "log.txt: 4 bytes, checked" in out


def test_a_length_beyond_the_file_is_only_a_claim(tmp_path, hear):
    """A recording whose header promises 4 GB, or nothing, gives what is there."""
    data = (samples_of(small_file("log.txt", b"calm")) * 32767).astype("<i2").tobytes()
    for claimed in (2**32 - 40, 2**31, len(data) + 2):
        (tmp_path / "tape.wav").write_bytes(wav_header(data_bytes=claimed) + data)
        assert hear(tmp_path / "tape.wav")[0] == 0


# -- anything at all -----------------------------------------------------------------------------------


def test_random_bytes_are_never_a_traceback(tmp_path, hear):
    """Hundreds of files of random bytes, some beginning like audio: status 1 or 2, one line."""
    generator = np.random.default_rng(11)
    starts = (b"", b"RIFF", b"fLaC", b"OggS", b"FORM", b"ID3\x04", b"\xff\xfb", b".snd", b"caff")
    starts += (wav_header(),)
    for k in range(300):
        path = tmp_path / f"noise{('.wav', '.flac', '.mp3', '.ogg', '')[k % 5]}"
        path.write_bytes(starts[k % len(starts)] + generator.bytes(int(generator.integers(0, 3000))))
        assert hear(path)[0] in (1, 2)


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "aiff"])
def test_mutated_headers_are_never_a_traceback(tmp_path, hear, ending):
    """A good recording with a few bytes near its start changed at random: a result or one line."""
    generator = np.random.default_rng(12)
    soundfile.write(tmp_path / f"good.{ending}", samples_of(small_file("log.txt", b"calm"))[20_000:], RATE)
    good = (tmp_path / f"good.{ending}").read_bytes()
    statuses = set()
    for _ in range(150 if ending == "wav" else 40):
        mutant = bytearray(good)
        for place in generator.integers(0, 48, generator.integers(1, 5)):
            mutant[place] = generator.choice([0, 1, 255, 128, generator.integers(256)])
        (tmp_path / f"mutant.{ending}").write_bytes(mutant)
        statuses.add(hear(tmp_path / f"mutant.{ending}", "--json")[0])
    assert {0, 2} <= statuses
