"""The recorder as a whole: passes, chance, lengths, odd inputs, copies, capacity."""

import math
import sys

import numpy as np
import pytest
import soundfile

from kit.deck import Deck, capacity, decks
from kit.deck.chance import STREAMS, stream
from kit.errors import SettingError, SoundError
from kit.sound import Sound

RATE = 44100
EVERYTHING = decks["worn"].with_settings(
    record_drift_percent=0.5, record_motor_start_s=0.1, record_noise_reduction_db=10,
    replay_noise_reduction_db=10,
    replay_level_control_dbfs=-6, replay_level_boost_db=6, source_level_db=3, input_clip_dbfs=-3,
    replay_gain_db=1, input_lopsided_percent=10, print_through_db=-50, room_distance_m=2,
    room_reverberation_s=0.3,
    room_noise_dbfs=-55, noise_suppression_db=10, coating_um=1, source_inverted=True,
    replay_equalisation_us=70)


def wave(seconds, channels=1, rate=RATE, seed=0):
    """Half-cycles of random length, a wave like that of a tape."""
    rng = np.random.Generator(np.random.PCG64(seed))
    frames = round(seconds * rate)
    turns = np.repeat(rng.integers(0, 2, frames // 10 + 1) * 2 - 1, 10)[:frames] * 0.5
    return Sound(turns if channels == 1 else np.stack([turns] * channels, axis=1), rate)


def test_a_deck_without_settings_gives_back_the_very_sound():
    sound = wave(0.1)
    assert Deck().play(sound) is sound
    assert Deck().record(sound) is sound
    assert Deck().replay(sound) is sound
    assert Deck().copy(sound, generations=3) is sound


def test_playing_is_recording_and_then_replaying():
    sound, deck = wave(0.5), decks["portable"].with_settings(record_azimuth_arcmin=0, replay_azimuth_arcmin=0)
    in_two = deck.replay(deck.record(sound, seed=5), seed=5)
    assert np.array_equal(deck.play(sound, seed=5).samples, in_two.samples)


def test_one_machine_cancels_its_steady_speed_and_azimuth_and_another_shows_them():
    sound, deck = wave(2), Deck(record_speed_percent=3, replay_speed_percent=3, record_azimuth_arcmin=20,
                                replay_azimuth_arcmin=20)
    same = deck.play(sound)
    assert same.frames == sound.frames
    assert abs(same.rms_dbfs - sound.rms_dbfs) < 0.5
    other = deck.play(sound, on=Deck())
    assert other.frames == pytest.approx(sound.frames * 1.03, abs=1)
    assert other.rms_dbfs < sound.rms_dbfs - 1
    assert deck.replay(sound).frames == pytest.approx(sound.frames / 1.03, abs=1)
    assert deck.replay(sound).rms_dbfs < sound.rms_dbfs - 1


def test_the_same_seed_gives_the_same_samples_and_another_seed_others():
    sound = wave(1, channels=2)
    first, again, other = (EVERYTHING.play(sound, seed=seed).samples for seed in (3, 3, 4))
    assert np.array_equal(first, again)
    shared = min(len(first), len(other))
    assert not np.array_equal(first[:shared], other[:shared])


def test_known_samples_come_out_of_a_known_seed():
    """Noise is PCG64's; the figures were written down once and hold for this major version of numpy."""
    played = Deck(hiss_dbfs=-40).play(Sound(np.zeros(4), RATE), seed=1).samples
    key = (0, STREAMS.index("hiss"))
    expected = np.random.Generator(np.random.PCG64(np.random.SeedSequence(1, spawn_key=key)))
    rms = 0.01 * math.sqrt(RATE / 2 / 20000)
    assert played == pytest.approx(rms * expected.standard_normal(4, dtype=np.float32), abs=1e-6)


@pytest.mark.parametrize("added", [
    {"dropouts_per_minute": 300.0}, {"hum_dbfs": -40}, {"old_recording_dbfs": -50},
    {"record_wow_percent": 1e-9}, {"room_reverberation_s": 0.2}])
def test_switching_a_stage_on_leaves_the_noise_of_the_others_as_it_was(added):
    silence = Sound(np.zeros(RATE), RATE)
    hiss = Deck(hiss_dbfs=-40).play(silence, seed=9).samples
    both = Deck(hiss_dbfs=-40, **added).play(silence, seed=9).samples
    if "hum_dbfs" in added or "old_recording_dbfs" in added:
        both = both - Deck(**added).play(silence, seed=9).samples
    if "room_reverberation_s" in added:
        both, hiss = both[:80], hiss[:80]  # before the first echo
    assert both == pytest.approx(hiss, abs=1e-6)


def test_each_generation_and_each_stage_draws_from_a_stream_of_its_own():
    drawn = {stream(0, name, generation).integers(1 << 62) for name in STREAMS for generation in range(3)}
    assert len(drawn) == 3 * len(STREAMS)


@pytest.mark.parametrize("seed", [-1, 0.5, None, "1"])
def test_a_seed_must_be_a_whole_number(seed):
    with pytest.raises(SettingError, match="seed must be a whole number of 0 or more, got"):
        Deck(hiss_dbfs=-40).play(wave(0.1), seed=seed)


def test_a_first_copy_is_a_play_and_each_further_one_adds():
    sound, deck = wave(0.5), decks["home"]
    assert deck.copy(sound, 0) is sound
    assert np.array_equal(deck.copy(sound, 1, seed=2).samples, deck.play(sound, seed=2).samples)
    twice = deck.copy(sound, 2, seed=2)
    assert np.array_equal(deck.copy(sound, generations=2, seed=2).samples, twice.samples)
    assert deck.copy(sound, 3, seed=2).frames != 0
    for wrong in (-1, 1.5, None):
        with pytest.raises(SettingError, match="generations must be a whole number of 0 or more, got"):
            deck.copy(sound, wrong)


@pytest.mark.parametrize("name", [*decks, "everything"])
@pytest.mark.parametrize("frames", [0, 1, 2, 500])
@pytest.mark.parametrize("channels", [1, 2])
def test_very_short_sounds_go_through_and_come_out_as_numbers(name, frames, channels):
    deck = dict(decks, everything=EVERYTHING)[name]
    samples = np.full(frames if channels == 1 else (frames, channels), 0.5, np.float32)
    played = deck.play(Sound(samples, RATE))
    assert np.isfinite(played.samples).all()
    late = round(deck.room_distance_m / 343 * RATE)
    assert 0.97 * frames - 1 <= played.frames - late <= 2 * frames + round(deck.replay_motor_start_s * RATE)


@pytest.mark.parametrize("name", [*decks, "everything"])
def test_silence_comes_out_as_noise_alone(name):
    deck = dict(decks, everything=EVERYTHING)[name]
    played = deck.play(Sound(np.zeros(2 * RATE), RATE))
    assert np.isfinite(played.samples).all()
    assert played.rms_dbfs < -25
    quiet = deck.with_settings(hiss_dbfs=-math.inf, hum_dbfs=-math.inf, old_recording_dbfs=-math.inf,
                               room_noise_dbfs=-math.inf)
    assert quiet.play(Sound(np.zeros(RATE), RATE)).peak == 0


@pytest.mark.parametrize("name", [*decks, "everything"])
@pytest.mark.parametrize("channels", [1, 2])
def test_no_deck_makes_a_wave_much_louder_or_longer_than_its_speed_says(name, channels):
    deck = dict(decks, everything=EVERYTHING)[name]
    sound = wave(4, channels)
    played = deck.play(sound)
    assert np.isfinite(played.samples).all()
    assert played.peak <= (1.5 if deck.room_distance_m else 1)
    start_s = deck.replay_motor_start_s + deck.room_distance_m / 343
    pace = (100 + deck.record_speed_percent) / (100 + deck.replay_speed_percent)
    assert pace * 4 * 0.97 - deck.record_motor_start_s < played.seconds < pace * 4 * 1.03 + start_s
    mono = deck.source_wiring == "mono" or channels == 1
    assert played.channels == (1 if mono else channels)


def test_ten_minutes_go_through_everything_and_keep_their_length():
    sound = wave(600, rate=8000)
    deck = EVERYTHING.with_settings(record_speed_percent=1, replay_speed_percent=1, record_motor_start_s=0,
                                    replay_motor_start_s=0, replay_drift_percent=0, record_drift_percent=0)
    played = deck.play(sound)
    assert np.isfinite(played.samples).all()
    assert played.seconds == pytest.approx(600 + 2 / 343, abs=0.05)
    assert played.part(590, 600).rms_dbfs == pytest.approx(played.part(10, 20).rms_dbfs, abs=3)


@pytest.mark.parametrize("rate", [8000, 22050, 48000, 96000])
def test_any_usual_sample_rate_goes_through(rate):
    played = EVERYTHING.play(wave(1, rate=rate))
    assert played.rate == rate
    assert np.isfinite(played.samples).all() and played.rms > 0.01


def test_a_rate_too_low_for_any_recorder_is_refused():
    with pytest.raises(SettingError, match="must be 1000 Hz or more, got 50 Hz: 44100 is usual"):
        Deck().play(wave(1, rate=50))


def test_the_samples_given_are_never_changed():
    sound = wave(0.5, channels=2)
    before = sound.samples.copy()
    EVERYTHING.play(sound)
    assert np.array_equal(sound.samples, before)


def test_an_older_recording_may_be_given_and_must_have_the_same_rate():
    silence, under = Sound(np.zeros(RATE), RATE), wave(2, channels=2)
    deck = Deck(old_recording_dbfs=-40)
    played = deck.play(silence, under=under)
    old = under.samples[:RATE, 0]
    assert np.corrcoef(played.samples, old)[0, 1] > 0.999
    assert played.rms_dbfs == pytest.approx(-40, abs=0.01)
    with pytest.raises(SettingError, match="44100 Hz, got 8000 Hz"):
        deck.play(silence, under=wave(1, rate=8000))


def test_more_than_two_sides_pass_straight_but_not_through_a_lead_that_joins_two():
    sound = wave(0.2, channels=4)
    assert Deck(hiss_dbfs=-40).play(sound).channels == 4
    with pytest.raises(SettingError, match="a lead joins 1 or 2 sides, got 4"):
        Deck(source_wiring="mono").play(sound)


@pytest.mark.parametrize("coding", ["vorbis", "opus", "mp3"])
@pytest.mark.parametrize("channels", [1, 2])
def test_a_codec_keeps_length_time_and_most_of_the_wave(coding, channels):
    if coding == "mp3" and "MP3" not in soundfile.available_formats():
        pytest.skip("this libsndfile writes no MP3")
    t = np.arange(2 * RATE) / RATE
    tone = 0.4 * np.sin(2 * np.pi * (600 * t + 200 * t * t))
    sound = Sound(tone if channels == 1 else np.stack([tone, -tone], axis=1), RATE)
    played = Deck(codec=coding).play(sound)
    assert (played.frames, played.rate, played.channels) == (sound.frames, RATE, channels)
    first, heard = sound.samples.reshape(len(t), -1)[:, 0], played.samples.reshape(len(t), -1)[:, 0]
    assert np.corrcoef(first[4000:-4000], heard[4000:-4000])[0, 1] > 0.99
    assert not np.array_equal(first, heard)


def test_a_codec_at_a_low_rate_takes_the_highs_away():
    rng = np.random.Generator(np.random.PCG64(0))
    sound = Sound(0.1 * rng.standard_normal(2 * RATE), RATE)
    played = Deck(codec="opus", codec_rate_hz=8000).play(sound)
    power = np.abs(np.fft.rfft(played.samples)) ** 2
    hz = np.fft.rfftfreq(played.frames, 1 / RATE)
    assert power[hz > 4500].sum() < 1e-3 * power[hz < 3500].sum()


def test_a_codec_that_is_missing_is_said_in_one_line(monkeypatch):
    def refuses(*_, **__):
        raise soundfile.LibsndfileError(1, "")

    monkeypatch.setattr(soundfile, "SoundFile", refuses)
    with pytest.raises(SoundError, match=r"the codec 'opus' is needed, .*choose another codec") as caught:
        Deck(codec="opus").play(wave(0.1))
    assert "\n" not in str(caught.value)


def test_mp3_refuses_more_sides_than_it_can_carry():
    with pytest.raises(SettingError, match="codec 'mp3' carries 1 or 2 sides, got 3"):
        Deck(codec="mp3").play(wave(0.1, channels=3))


def test_capacity_falls_from_the_studio_to_the_worn_portable_and_has_no_end_without_noise():
    bits = [capacity(decks[name]) for name in ("studio", "home", "portable", "worn")]
    assert bits == sorted(bits, reverse=True)
    assert bits[-1] > 10_000
    assert capacity(Deck()) == math.inf
    deck = Deck(hiss_dbfs=-50)
    assert capacity(deck, level_dbfs=-3) > capacity(deck, level_dbfs=-9)
    assert capacity(deck.with_settings(replay_gain_db=20)) == pytest.approx(capacity(deck))
    assert capacity(deck.with_settings(source_level_db=6), -9) == pytest.approx(capacity(deck, -3))
    assert capacity(Deck(room_noise_dbfs=-50)) == pytest.approx(capacity(deck))
    with pytest.raises(SettingError, match="band_hz must rise from 0 Hz up, got 300 to 300 Hz"):
        capacity(deck, band_hz=(300, 300))


def test_the_response_is_that_of_the_published_losses_added():
    deck = Deck(record_spacing_um=1, replay_spacing_um=1, replay_gap_um=2, coating_um=5,
                replay_azimuth_arcmin=15)
    assert deck.response(2400) == pytest.approx(-(2.750 + 2.750 + 0.180 + 5.99 + 1.614), abs=0.01)
    assert Deck().response([20, 20000]) == pytest.approx([0, 0])
    for wrong in (0, -1, math.nan, [100, 0]):
        with pytest.raises(SettingError, match="frequencies_hz must be above 0 Hz"):
            deck.response(wrong)


def test_importing_the_recorder_brings_in_neither_scipy_nor_matplotlib_nor_soundfile():
    import subprocess

    code = ("import sys, kit.deck, kit.meters, kit.pictures; "
            "print([name for name in ('scipy', 'matplotlib', 'soundfile') if name in sys.modules])")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def any_deck(rng):
    """A deck with a third of its settings anywhere in their ranges, often at an end; no codec, for time's sake."""
    settings = {}
    for setting in Deck.fields:
        if rng.random() > 0.35 or setting.name.startswith("codec"):
            continue
        if setting.kind == "number":
            ends = rng.random() < 0.3
            between = rng.uniform(setting.low, setting.high)
            settings[setting.name] = float(rng.choice([setting.low, setting.high]) if ends else between)
        else:
            settings[setting.name] = str(rng.choice(setting.choices)) if setting.choices else True
    return Deck(**settings)


@pytest.mark.parametrize("seed", range(8))
def test_any_deck_gives_numbers_for_any_sound(seed):
    rng = np.random.Generator(np.random.PCG64(seed))
    for _ in range(20):
        frames, channels = int(rng.choice([0, 1, 2, 100, 5000])), int(rng.choice([1, 2]))
        samples = rng.uniform(-1, 1, frames if channels == 1 else (frames, channels))
        sound = Sound(samples, int(rng.choice([1000, 8000, 22050, 44100, 96000])))
        machine = any_deck(rng)
        assert machine.play(sound).not_numbers == 0, machine.changed()
        assert capacity(machine) > 0
