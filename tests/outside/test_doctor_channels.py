"""The doctor on sound that others' software has coded, and at the levels of the trade.

The codings are those of libsndfile (see `test_third_party_channels.py` for their standards). Levels: consumer line
level is −10 dBV, 0.316 V; microphone level lies 50 to 60 dB below line level (published figures, secondary copy).
"""

import random

import numpy as np
import pytest

import kit

soundfile = pytest.importorskip("soundfile", minversion="0.13")

DATA = random.Random(13).randbytes(200)


def coded(sound, path, **how):
    with soundfile.SoundFile(path, "w", sound.rate, 1, **how) as audio:
        for first in range(0, sound.frames, 4096):
            audio.write(sound.samples[first : first + 4096])
    return path


def tape(rate, speed=1.0):
    return kit.encode(DATA, name="log.bin", rate=rate, speed=speed, lead_in_s=1.5)


GENTLE = {
    "µ-law": (8000, "WAV", "ULAW", {}),
    "A-law": (8000, "WAV", "ALAW", {}),
    "IMA ADPCM": (44100, "WAV", "IMA_ADPCM", {}),
    "MP3": (44100, "MP3", "MPEG_LAYER_III", {"compression_level": 0.3, "bitrate_mode": "CONSTANT"}),
    "Vorbis": (44100, "OGG", "VORBIS", {"compression_level": 0.3}),
}


@pytest.mark.parametrize("name", GENTLE)
def test_a_gentle_coding_does_no_severe_harm(name, tmp_path):
    rate, container, subtype, how = GENTLE[name]
    path = coded(tape(rate), tmp_path / f"tape.{container.lower()}", format=container, subtype=subtype, **how)
    diagnosis = kit.diagnose(path)
    assert diagnosis.reads and not diagnosis.severe


def test_speech_coding_at_13_kb_s_is_named(tmp_path):
    """GSM 06.10 at 8 kHz breaks every block at ordinary speed."""
    path = coded(tape(8000), tmp_path / "tape.wav", format="WAV", subtype="GSM610")
    diagnosis = kit.diagnose(path)
    assert not diagnosis.reads and diagnosis.findings[0].key == "voice_coding"


@pytest.mark.parametrize("level", [0.6, 0.9])
def test_music_at_a_low_rate_is_named_where_it_breaks_the_read(level, tmp_path):
    how = {"format": "OGG", "subtype": "VORBIS", "compression_level": level}
    diagnosis = kit.diagnose(coded(tape(44100, 4.0), tmp_path / "tape.ogg", **how))
    if not diagnosis.reads:
        assert "voice_coding" in {finding.key for finding in diagnosis.findings}


def test_a_microphones_level_in_a_line_input_is_a_candidate():
    """60 dB below a line signal that fills the input to −12 dBFS."""
    quiet = kit.decks["laptop"].with_settings(hiss_dbfs=-95, hum_dbfs=-95, source_level_db=-55).play(tape(44100))
    finding = {f.key: f for f in kit.diagnose(quiet).findings}["too_quiet"]
    assert any("microphone" in candidate for candidate in finding.candidates)
    at_line = kit.decks["laptop"].with_settings(source_level_db=-6).play(tape(44100))
    assert "too_quiet" not in {f.key for f in kit.diagnose(at_line).findings}


def test_a_line_output_in_a_microphone_input_is_too_loud():
    """50 dB too much: what is left is clipped, and one half sooner than the other."""
    deck = kit.Deck(replay_gain_db=50, output_clip_dbfs=0, output_lopsided_percent=20, hiss_dbfs=-60)
    findings = {f.key: f for f in kit.diagnose(deck.play(tape(44100), seed=1)).findings}
    assert any("microphone input" in candidate for candidate in findings["too_loud"].candidates)
    assert findings["too_loud"].evidence[0].value == pytest.approx(0, abs=0.1)


def test_harmonics_are_read_as_fourier_has_them():
    """A square wave's odd harmonics are 1/3 and 1/5 of the fundamental; even ones are none."""
    from kit.doctor.tone import measure_tone

    times_s = (np.arange(44100) + 0.5) / 44100
    wave = sum(np.sin(2 * np.pi * 300 * n * times_s) / n for n in range(1, 60, 2)).astype(np.float32)
    tone = measure_tone(wave, 44100, 301.0)
    strengths = np.abs(tone.harmonics[:6])
    assert strengths == pytest.approx([1, 0, 1 / 3, 0, 1 / 5, 0], abs=1e-3)
    assert tone.hz == pytest.approx(300, abs=0.01)
    assert np.abs(tone.response_db()[1][:10]).max() < 0.05
