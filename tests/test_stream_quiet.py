"""Streams with quiet round them, as on every real tape: a recorder's hiss hides no leader and is no character."""

import random
import warnings

import numpy as np
import pytest

import kit
from kit import Sound
from kit.found import UNCHECKED


def random_bytes(seed, size=40):
    return random.Random(seed).randbytes(size)


def stream(data, rate=44100, speed=1, lead_in_s=3.0):
    """The sound of a stream alone; that the format has no names is known."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)
        return kit.encode(data, name="log.bin", format="kansas", rate=rate, speed=speed, lead_in_s=lead_in_s)


def between(sound, before, behind):
    """A sound with samples before it and behind it."""
    return np.concatenate((before, sound.samples, behind)).astype(float)


def quiet(seconds, rate=44100):
    return np.zeros(round(seconds * rate))


def hissing(wave, level_dbfs, seed, rate=44100):
    """A wave with hiss all along it, the rms of which is given."""
    hiss = np.random.default_rng(seed).normal(0, 10 ** (level_dbfs / 20), len(wave))
    return Sound(np.clip(wave + hiss, -1, 1).astype(np.float32), rate)


def read(sound, format="kansas", quick=True):
    """Of each file found: its bytes, its verdict, and which bytes are in doubt."""
    files = kit.decode(sound, format=format, quick=quick).files
    return [(file.data, file.verdict, [k for a, b in file.doubtful for k in range(a, b)]) for file in files]


def whole(data):
    return [(data, UNCHECKED, [])]


# -- recorders ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("deck", ["home", "studio", "laptop", "portable", "worn"])
@pytest.mark.parametrize(("rate", "speed"), [(22050, 1), (44100, 0.5), (44100, 2), (48000, 1), (22050, 2)])
def test_a_recorder_that_hisses_before_and_behind_a_stream_gives_it_back_to_the_byte(deck, rate, speed):
    for seed, silence_s in ((1, 0.4), (2, 0.8)):
        data = random_bytes(seed)
        still = quiet(silence_s, rate)
        tape = Sound(between(stream(data, rate, speed), still, still).astype(np.float32), rate)
        assert read(kit.decks[deck].play(tape, seed=seed)) == whole(data)


def test_it_is_found_unasked_and_with_every_effort_too():
    data = random_bytes(3)
    tape = Sound(between(stream(data), quiet(0.6), quiet(0.6)).astype(np.float32), 44100)
    played = kit.decks["home"].play(tape, seed=3)
    for format, quick in (("auto", True), ("kansas", False), ("auto", False)):
        assert read(played, format, quick) == whole(data)


def test_a_healthy_recording_of_a_stream_is_called_healthy():
    data = random_bytes(4, 100)
    tape = Sound(between(stream(data, lead_in_s=6.0), quiet(0.6), quiet(0.6)).astype(np.float32), 44100)
    diagnosis = kit.diagnose(kit.decks["studio"].play(tape, seed=4))
    assert diagnosis.reads and [finding.key for finding in diagnosis.findings] == []


# -- what lies under the tape ---------------------------------------------------------------------------


@pytest.mark.parametrize("rate", [22050, 44100, 48000])
@pytest.mark.parametrize("speed", [0.5, 1, 2])
def test_hiss_at_minus_40_dbfs_is_borne_with_a_wave_upside_down(rate, speed):
    data = random_bytes(rate + int(2 * speed))
    wave = between(stream(data, rate, speed), quiet(0.7, rate), quiet(1.5, rate))
    for sign in (1, -1):
        assert read(hissing(sign * wave, -40, seed=5, rate=rate)) == whole(data)


def test_hum_and_its_overtones_are_borne():
    data = random_bytes(6)
    wave = between(stream(data), quiet(1.0), quiet(1.0))
    time_s = np.arange(len(wave)) / 44100
    hum = 0.05 * np.sin(2 * np.pi * 50 * time_s) + 0.02 * np.sin(2 * np.pi * 250 * time_s + 1)
    assert read(hissing(wave + hum, -50, seed=6)) == whole(data)


def test_both_sides_of_a_stereo_recording_give_one_file():
    data = random_bytes(7)
    tape = Sound(np.stack([between(stream(data), quiet(0.5), quiet(0.5))] * 2, axis=1).astype(np.float32), 44100)
    assert read(kit.decks["home"].play(tape, seed=7)) == whole(data)


@pytest.mark.parametrize("speed", [1, 2])
def test_a_stream_that_fades_by_30_db_is_read_to_its_end(speed):
    data = random_bytes(8, 120)
    tones = stream(data, speed=speed)
    faded = Sound(tones.samples * 10 ** (-30 * np.linspace(0, 1, len(tones.samples)) / 20), 44100)
    assert read(hissing(between(faded, quiet(0.4), quiet(0.8)), -70, seed=8)) == whole(data)


def test_a_recorder_that_sets_the_level_by_itself_may_bring_up_the_hiss():
    data = random_bytes(9)
    wave = hissing(between(stream(data), quiet(1.0), quiet(1.5)), -57, seed=9).samples.astype(float)
    gain, width = 20.0, 441
    for start in range(0, len(wave), width):
        piece = wave[start : start + width]
        loudest = np.abs(piece).max() * gain
        piece *= gain
        gain = max(0.5 * gain, 0.5 * gain / loudest) if loudest > 0.6 else min(20.0, 1.02 * gain)
    assert np.sqrt(np.mean(wave[:20000] ** 2)) > 0.02  # hiss at -34 dBFS before the leader
    assert read(Sound(np.clip(wave, -1, 1).astype(np.float32), 44100)) == whole(data)


def test_a_thump_before_the_leader_and_one_in_it_do_not_drown_a_weak_stream():
    data, thump = random_bytes(10), 0.8 * np.hanning(882)
    wave = between(Sound(0.05 * stream(data).samples, 44100), quiet(0.6), quiet(0.6))
    for at in (9000, 80_000):
        wave[at : at + len(thump)] += thump
    assert read(hissing(wave, -66, seed=10)) == whole(data)


# -- what lies before the leader ------------------------------------------------------------------------


def earlier(what):
    """Two seconds of something else that was on the tape."""
    generator, time_s = np.random.default_rng(11), np.arange(88200) / 44100
    if what == "talk":
        voice = np.convolve(generator.normal(0, 0.2, 88200), np.hanning(60) / 20, "same")
        return voice * (np.sin(19 * time_s) > 0)
    if what == "a tape of another format":
        return kit.encode(b"older log " * 4, name="old.txt", rate=44100).samples
    return {"a tone": 0.4, "a faint tone": 0.004}[what] * np.sin(2 * np.pi * 1000 * time_s)


@pytest.mark.parametrize("what", ["talk", "a tone", "a faint tone", "a tape of another format"])
@pytest.mark.parametrize("piece", [1500, 1 << 18])
def test_what_was_on_the_tape_before_does_not_hide_a_leader(what, piece):
    data = random_bytes(11)
    sound = hissing(between(stream(data), np.append(earlier(what), quiet(0.4)), quiet(0.4)), -60, seed=11)
    listener = kit.Listener("kansas", 44100, quick=True)
    for start in range(0, len(sound.samples), piece):
        listener.feed(sound.samples[start : start + piece])
    listener.finish()
    assert [(block.content, block.verdict) for block in listener.blocks] == [(data, UNCHECKED)]


@pytest.mark.parametrize("hiss_dbfs", [-55, -35, -20])
def test_a_leader_begins_where_its_tone_does_whatever_hisses_before_it(hiss_dbfs):
    sound = hissing(between(stream(random_bytes(12)), quiet(1.23), quiet(0.5)), hiss_dbfs, seed=12)
    (block,) = kit.decode(sound, format="kansas", quick=True).blocks
    assert block.leader_s == pytest.approx(1.23, abs=0.01) and block.start_s == pytest.approx(4.23, abs=0.01)


# -- piece by piece -------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [333, 1500, 44100])
def test_piece_by_piece_comes_out_what_comes_out_in_one_go(size):
    """With a dropout of 40 ms: what is guessed of bytes in doubt may differ, but not which these are."""
    data = random_bytes(13, 60)
    wave = hissing(between(stream(data, speed=2), quiet(0.7), quiet(1.6)), -50, seed=13).samples.copy()
    wave[round(4.2 * 44100) : round(4.24 * 44100)] *= 0.001
    found = []
    for piece in (size, len(wave)):
        listener = kit.Listener("kansas", 44100, quick=True)
        for start in range(0, len(wave), piece):
            listener.feed(wave[start : start + piece])
        listener.finish()
        (block,) = listener.blocks
        sure = [byte for byte, doubt in zip(block.content, block.doubtful, strict=True) if not doubt]
        found.append((sure, block.doubtful.tolist(), block.verdict, round(block.leader_s, 4)))
    assert found[0] == found[1] and len(found[0][1]) == 60 and any(found[0][1])


def test_a_stream_is_told_of_a_moment_after_its_end_while_the_tape_hisses_on():
    data = random_bytes(14)
    sound = hissing(between(stream(data), quiet(0.5), quiet(5.0)), -50, seed=14)
    listener = kit.Listener("kansas", 44100, quick=True)
    for start in range(0, len(sound.samples) - 3 * 44100, 2000):
        listener.feed(sound.samples[start : start + 2000])
    assert [block.content for block in listener.blocks] == [data]


# -- dropouts are no quiet ------------------------------------------------------------------------------


@pytest.mark.parametrize("first", [0, 1, 19, 37, 38])
def test_two_characters_in_a_dropout_stay_two_characters_in_doubt(first):
    """At the beginning and at the end of a stream as well, where nothing else tells of them."""
    data, cell = random_bytes(15), 11 / 300 * 44100
    wave = between(stream(data), quiet(0.5), quiet(0.8))
    start = 3.5 * 44100 + first * cell
    wave[round(start) : round(start + 2 * cell)] = 0
    ((found, verdict, doubtful),) = read(hissing(wave, -60, seed=15))
    assert len(found) == 40 and verdict != UNCHECKED
    assert {first, first + 1} <= set(doubtful) <= {first - 1, first, first + 1, first + 2}
    assert all(found[k] == data[k] for k in range(40) if k not in doubtful)


def test_a_dropout_of_20_db_is_still_read():
    data = random_bytes(16)
    wave = between(stream(data), quiet(0.5), quiet(0.5))
    wave[round(3.9 * 44100) : round(4.0 * 44100)] *= 0.1
    assert read(hissing(wave, -60, seed=16)) == whole(data)


# -- never invented -------------------------------------------------------------------------------------


@pytest.mark.parametrize("format", ["kansas", "auto"])
def test_hiss_that_comes_and_goes_talk_and_clicks_hold_no_stream(format):
    generator = np.random.default_rng(17)
    steps = np.repeat(generator.choice([0.0003, 0.003, 0.03, 0.3], 40), 11025)
    clicks = 0.001 * generator.normal(0, 1, len(steps))
    clicks[generator.integers(0, len(steps), 60)] = 0.9
    for wave in (steps * generator.normal(0, 0.5, len(steps)), np.tile(earlier("talk"), 5), clicks):
        assert read(Sound(np.clip(wave, -1, 1).astype(np.float32), 44100), format) == []


@pytest.mark.parametrize("format", [name for name, one in kit.FORMATS.items() if not one.stream])
def test_a_tape_of_another_format_with_quiet_round_it_holds_no_stream(format):
    tape = kit.encode(bytes(600) + random_bytes(18, 200), name="x.bin", format=format, rate=22050)
    still = quiet(0.6, 22050)
    sound = hissing(between(tape, still, still), -50, seed=18, rate=22050)
    assert not [block for block in kit.decode(sound, quick=True).blocks if block.stream]
