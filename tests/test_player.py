"""The one player: quiet, short, faded, never by itself; and files for a recorder with their caution."""

import base64
import io
import re
import subprocess
import sys
import wave

import numpy as np
import pytest

from kit.errors import KitError, SettingError
from kit.player import CAUTION, play, quiet, quiet_path, recorder_files
from kit.sound import Sound

RATE = 8000


def tone(level=0.5, seconds=1.0, channels=1, hertz=440.0, rate=RATE):
    samples = level * np.sin(2 * np.pi * hertz * np.arange(round(seconds * rate)) / rate)
    sides = [samples * (k + 1) / channels for k in range(channels)]
    return Sound(np.stack(sides, axis=1), rate)


def played(player):
    """What the page would play: samples (frames, channels) as integers, and the rate, read with `wave`."""
    data = re.search(r"base64,([^\"]+)\"", player._repr_html_()).group(1)
    with wave.open(io.BytesIO(base64.b64decode(data))) as file:
        assert file.getsampwidth() == 2
        samples = np.frombuffer(file.readframes(file.getnframes()), "<i2")
        return samples.reshape(-1, file.getnchannels()), file.getframerate()


@pytest.mark.parametrize("level", [1.0, 0.5, 0.11])
def test_a_loud_sound_is_played_at_a_tenth_of_full_scale(level):
    samples, rate = played(play(tone(level)))
    assert rate == RATE
    assert np.abs(samples).max() == pytest.approx(0.1 * 32767, abs=2)


def test_a_quiet_sound_stays_as_quiet_as_it_is():
    samples, _ = played(play(tone(0.02)))
    assert np.abs(samples).max() == pytest.approx(0.02 * 32767, abs=2)


def test_silence_stays_silence():
    samples, _ = played(play(Sound(np.zeros(RATE), RATE)))
    assert not samples.any()


def test_the_level_may_be_raised_to_a_quarter_and_not_beyond():
    samples, _ = played(play(tone(1.0), peak=0.25))
    assert np.abs(samples).max() == pytest.approx(0.25 * 32767, abs=2)
    for peak in (0.2501, 1, 0, -0.1, float("nan"), float("inf"), "0.1", None, True):
        with pytest.raises(SettingError, match=r"peak must lie above 0 and not above 0\.25 .* got") as caught:
            play(tone(), peak=peak)
        assert "\n" not in str(caught.value)


def test_three_seconds_are_played_unless_more_is_asked_for():
    sound = tone(seconds=10)
    assert len(played(play(sound))[0]) == 3 * RATE
    assert len(played(play(sound, seconds=7))[0]) == 7 * RATE
    assert len(played(play(tone(seconds=0.5)))[0]) == RATE // 2


@pytest.mark.parametrize("seconds", [0, -1, 61, float("nan"), "3", None])
def test_lengths_out_of_range_are_refused_in_one_line(seconds):
    with pytest.raises(SettingError, match="seconds must lie above 0 and not above 60 s, got"):
        play(tone(), seconds=seconds)


def test_a_stretch_further_in_is_played_from_its_start():
    sound = Sound(np.concatenate((np.zeros(RATE), tone().samples)), RATE)
    assert not played(play(sound, seconds=1.0))[0].any()
    assert np.abs(played(play(sound, seconds=1.0, start_s=1.0))[0]).max() > 3000
    for start_s in (-0.1, 5.0):
        with pytest.raises(SettingError, match="start_s"):
            play(sound, start_s=start_s)
    with pytest.raises(SettingError, match="there must be sound to play"):
        play(sound, start_s=sound.seconds)


def test_both_ends_fade_over_ten_milliseconds_and_the_middle_is_untouched():
    level = Sound(np.full(RATE, 0.1), RATE)
    samples = played(play(level))[0][:, 0] / 3276.7
    fade = RATE // 100
    assert samples[0] < 0.02 and samples[-1] < 0.02
    assert np.all(np.diff(samples[:fade]) > 0) and np.all(np.diff(samples[-fade:]) < 0)
    assert np.allclose(samples[fade:-fade], 1, atol=1e-3)


@pytest.mark.parametrize("frames", [1, 2, 3, 30])
def test_a_sound_shorter_than_its_fades_is_still_played(frames):
    samples, _ = played(play(Sound(np.full(frames, 0.5), RATE)))
    assert len(samples) == frames
    assert np.abs(samples).max() <= 3277


def test_stereo_is_kept_side_by_side():
    samples, _ = played(play(tone(channels=2)))
    assert samples.shape == (RATE, 2)
    assert np.abs(samples[:, 0]).max() == pytest.approx(np.abs(samples[:, 1]).max() / 2, abs=2)


def test_of_more_channels_the_first_two_are_played():
    samples, _ = played(play(tone(channels=4)))
    assert samples.shape == (RATE, 2)


def test_nothing_plays_by_itself_and_the_player_has_its_text():
    player = play(tone(seconds=10), start_s=1.0)
    shown = player._repr_html_()
    assert "autoplay" not in shown and 'controls="controls"' in shown
    assert repr(player) == "3.00 s of sound, 1.00 to 4.00 s of 10.00 s; peak 0.10 of full scale"
    assert f'aria-label="{player.text}"' in shown and f"<p>{player.text}</p>" in shown


def test_a_file_is_played_without_reading_more_than_is_played(tmp_path, monkeypatch):
    path = tone(seconds=20).write(tmp_path / "long.wav")
    frames, pieces = [], Sound.pieces

    def counted(sound, **span):
        for piece in pieces(sound, **span):
            frames.append(len(piece))
            yield piece

    monkeypatch.setattr(Sound, "pieces", counted)
    play(Sound.read(path))
    assert 3 * RATE <= sum(frames) <= 9 * RATE  # a file of 20 s


def test_the_original_is_never_changed():
    sound = tone(0.5)
    before = sound.samples.copy()
    play(sound)
    quiet(sound)
    assert np.array_equal(sound.samples, before)


def test_importing_the_player_imports_no_notebook():
    code = "import sys, kit.player; sys.exit('IPython' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_a_recorder_gets_half_of_full_scale_and_ears_get_a_quiet_copy(tmp_path):
    made = recorder_files(tone(0.2), tmp_path / "log.wav")
    assert made.path == tmp_path / "log.wav"
    assert made.listening_path == quiet_path(made.path) == tmp_path / "quiet-log.wav"
    assert Sound.read(made.path).peak == pytest.approx(0.5, abs=1e-4)
    assert Sound.read(made.listening_path).peak == pytest.approx(0.1, abs=1e-4)
    lines = str(made).splitlines()
    assert CAUTION in lines[0] and "log.wav" in lines[0]
    assert "quiet-log.wav" in lines[1] and "quiet" in lines[1]


def test_a_sound_at_the_right_level_is_written_to_the_bit(tmp_path):
    sound = Sound(np.tile(np.float32([0.5, 0.25, -0.5]), 100), RATE)
    assert np.array_equal(Sound.read(recorder_files(sound, tmp_path / "a.wav").path).samples, sound.samples)


def test_silence_for_a_recorder_stays_silence(tmp_path):
    assert Sound.read(recorder_files(Sound(np.zeros(100), RATE), tmp_path / "a.wav").path).peak == 0


def test_a_wrong_ending_is_refused_in_one_line_and_leaves_nothing(tmp_path):
    with pytest.raises(KitError) as caught:
        recorder_files(tone(), tmp_path / "log.doc")
    assert "\n" not in str(caught.value)
    assert list(tmp_path.iterdir()) == []
