"""Recordings with known faults that the doctor once explained wrongly: what it says first of them now.

They were drawn as those of the stored set were, with seeds of their own, and it was tuned on them.
"""

import random

import numpy as np
import pytest

import kit
from kit.doctor.drowned import find_drowned
from tests.benchmarks.bench_doctor import named
from tests.doctor_cases import Recording

RATE = 44100
TAUGHT = {
    "a tape under stronger noise is no recording without a tape": ("hiss", Recording(
        2018, "laptop", "framed", 44100, 1.37, (0.9, 0.3),
        {"played too quietly": 0.208, "noise of a room": 0.401, "sides opposed": 0.325})),
    "multiples of a loud hum are no leaders": ("hum", Recording(
        2419, "laptop", "sturdy", 44100, 1.39, (0.0, 0.0), {"hum": 0.428, "dirty head": 0.101})),
    "a loss that bends is none of the lows": ("highs_lost", Recording(
        2323, "studio", "house", 48000, 1.497, (0.9, 0.3), {"wide gap": 0.495})),
    "another check is found though the mark's place is uncertain by half a cycle": ("check_fails", Recording(
        2012, "home", "house", 44100, 1.263, (0.0, 0.0), {"other check": 0.481})),
    "an end in the leader behind a block is a cut": ("end_cut", Recording(
        2147, "home", "steady", 48000, 1.396, (0.0, 0.0), {"end cut": 0.063})),
    "the remains of a block at the very start are a cut": ("start_cut", Recording(
        2582, "home", "house", 48000, 1.074, (0.0, 0.0), {"start cut": 0.4565})),
    "a strange code is found though the sound is bad, too": ("unknown_code", Recording(
        2365, "studio", "steady", 48000, 1.697, (0.0, 0.0), {"noise suppression": 0.385, "unknown code": 0.351})),
    "a codec is found though a head lost highs before it": ("voice_coding", Recording(
        2417, "home", "steady", 44100, 1.577, (0.0, 0.0), {"wide gap": 0.929, "voice codec": 0.491})),
    "data a little weaker than leader and harmonics allow is told": ("highs_lost", Recording(
        2409, "laptop", "house", 48000, 1.25, (0.9, 0.3), {"noise reduction in playing": 0.817})),
    "a swing too slow for any one leader is told from all of them": ("wow", Recording(
        2161, "laptop", "house", 22050, 1.502, (0.0, 0.0), {"wow": 0.892})),
    "an older recording that hisses while it speaks is no hiss": ("older_recording", Recording(
        2130, "home", "house", 22050, 1.497, (0.0, 0.0), {"older recording": 0.7151, "too quiet on tape": 0.1038})),
    "lengths that echo scattered are no two lengths": ("room_echo", Recording(
        3029, "studio", "house", 44100, 1.407, (0.0, 0.0), {"held level": 0.564, "room echo": 0.487})),
    "sides that cancel come before a wrong format: no loader of one input hears either": ("sides_opposed", Recording(
        2091, "home", "house", 44100, 1.07, (0.5, 0.6), {"another format": 0.173, "sides opposed": 0.554})),
}


@pytest.mark.parametrize("name", TAUGHT)
def test_what_was_said_wrongly_is_said_rightly(name):
    key, recording = TAUGHT[name]
    assert named(recording)[0] == key


def noise(seconds, seed=1):
    return 0.1 * np.random.default_rng(seed).standard_normal(round(seconds * RATE)).astype(np.float32)


def with_tone(wave, hz, rms, start_s, stop_s):
    at = np.arange(round(start_s * RATE), round(stop_s * RATE))
    wave = wave.copy()
    wave[at] += (np.sqrt(2) * rms * np.sin(2 * np.pi * hz * at / RATE)).astype(np.float32)
    return wave


@pytest.mark.parametrize("seed", range(4))
def test_noise_alone_drowns_nothing(seed):
    assert find_drowned(noise(20, seed), RATE, 130, 8000) is None


@pytest.mark.parametrize("hz", [300, 437, 2400])
def test_a_tone_20_db_under_noise_is_found_with_its_pitch_level_and_place(hz):
    found = find_drowned(with_tone(noise(10), hz, 0.01, 7.0, 8.5), RATE, 130, 8000)
    assert abs(found.hz - hz) < 3
    assert abs(20 * np.log10(found.rms / 0.01)) < 2.5
    assert found.start_s > 6.6 and found.stop_s < 8.9
    assert abs(found.noise.dbfs + 20) < 0.5 and abs(found.noise.signal_over_db + 20) < 2.5


def test_a_tone_that_sounds_all_along_is_no_leader():
    assert find_drowned(with_tone(noise(8), 150, 0.05, 0.0, 8.0), RATE, 130, 8000) is None


def test_a_recording_of_noise_alone_is_said_to_hold_no_tape():
    diagnosis = kit.diagnose(kit.Sound(noise(6), RATE))
    assert diagnosis.findings[0].key == "nothing_there"


def test_a_codec_of_music_is_named_where_nothing_else_explains_the_failure():
    """Of some tapes that it went through at 24 kHz, each that does not read is laid to it."""
    deck, failed = kit.decks["home"].with_settings(codec="opus", codec_rate_hz=24000.0), []
    for seed in range(4):
        tape = kit.encode(random.Random(seed).randbytes(300), name="log.bin", speed=2.0, lead_in_s=1.2)
        diagnosis = kit.diagnose(deck.play(tape, seed=seed))
        failed += [] if diagnosis.evidence.reads else [diagnosis.findings[0]]
    assert failed and {finding.key for finding in failed} == {"voice_coding"}
