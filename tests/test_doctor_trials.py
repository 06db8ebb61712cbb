"""What a trial of the doctor brought to light: each of these recordings was once explained wrongly."""

import base64
import random
from dataclasses import replace

import numpy as np
import pytest

import kit
from kit.doctor.findings import Finding, Measured, without_contradictions
from kit.doctor.pace import Pace
from kit.doctor.rules_wave import highs
from tests.benchmarks.bench_doctor import healthy_recording

TEXT = base64.encodebytes(random.Random(5).randbytes(400))  # about 540 bytes
HOME = kit.decks["home"]


@pytest.fixture(scope="module")
def tape():
    return kit.encode(TEXT, name="log.txt")


def found(sound):
    return {finding.key: finding for finding in kit.diagnose(sound).findings}


# -- words ----------------------------------------------------------------------------------------------


def test_the_cure_of_a_wrong_speed_says_that_decode_follows_it_by_itself(tape):
    played = kit.Deck(replay_speed_percent=15).play(tape)
    assert kit.decode(played, quick=True).files[0].data == TEXT
    first, *_ = found(played)["speed_off"].remedies
    assert "decode follows it by itself" in first.text and "recorder" in first.text and first.cautions


def test_no_cause_is_named_twice(tape):
    """Data that is far weaker than its leader is laid to noise reduction first, and only once."""
    seen = kit.diagnose(HOME.play(tape)).evidence
    weaker = [replace(course, data_db=-9.0) for course in seen.courses]
    (finding,) = highs(replace(seen, courses=weaker))
    assert finding.candidates[0] == "noise reduction on in playing"
    assert len(set(finding.candidates)) == len(finding.candidates)


# -- dropouts -------------------------------------------------------------------------------------------


def holed(tape, *spans_s):
    """The tape from a good recorder, with stretches of nothing but faint noise."""
    samples, noise = HOME.play(tape, seed=1).samples.copy(), np.random.default_rng(1)
    for start, stop in spans_s:
        hole = samples[round(start * tape.rate) : round(stop * tape.rate)]
        hole[:] = 1e-3 * noise.standard_normal(hole.shape)
    return kit.Sound(samples, tape.rate)


def test_long_holes_are_dropouts_and_nothing_else_is_blamed(tape):
    """In leader, across a leader's end, and in data; each 0.2 s."""
    holes = [(2.2, 2.4), (5.03, 5.23), (6.3, 6.5), (7.5, 7.7)]
    diagnosis = kit.diagnose(holed(tape, *holes))
    assert [finding.key for finding in diagnosis.findings if finding.harm_db >= 2] == ["dropouts"]
    found_s = [(dip.start_s, dip.stop_s) for dip in diagnosis.evidence.dips]
    for start, stop in (holes[0], *holes[2:]):
        assert any(abs(a - start) < 0.03 and abs(b - stop) < 0.03 for a, b in found_s)


@pytest.mark.parametrize("per_minute", [40, 60])
def test_heavy_long_dropouts_come_first(tape, per_minute):
    deck = HOME.with_settings(dropouts_per_minute=per_minute, dropout_depth_db=60, dropout_length_s=0.2)
    findings = kit.diagnose(deck.play(tape)).findings
    assert findings[0].key == "dropouts"
    assert not {"older_recording", "highs_lost", "unexplained"} & {finding.key for finding in findings}


def test_a_gap_between_two_recordings_is_no_dropout(tape):
    gap = np.zeros(round(0.4 * tape.rate), np.float32)
    played = HOME.play(kit.Sound(np.concatenate([tape.samples, gap, tape.samples]), tape.rate), seed=1)
    diagnosis = kit.diagnose(played)
    assert diagnosis.healthy and not diagnosis.evidence.dips and len(diagnosis.evidence.silences) == 1


@pytest.mark.parametrize("deck", [
    HOME.with_settings(replay_spacing_um=10), kit.Deck(replay_azimuth_arcmin=40), kit.Deck(replay_azimuth_arcmin=60)])
def test_weak_runs_of_short_cycles_are_lost_highs_and_no_dropouts(tape, deck):
    diagnosis = kit.diagnose(deck.play(tape))
    assert diagnosis.findings[0].key == "highs_lost"
    assert "dropouts" not in {finding.key for finding in diagnosis.findings}
    assert diagnosis.picture().text.startswith("highs lost")


def test_a_level_control_that_settles_is_no_dropout(tape):
    deck = HOME.with_settings(record_level_control_dbfs=-12, record_level_boost_db=30)
    assert "dropouts" not in found(deck.play(tape))


def test_the_picture_shows_the_top_finding_and_no_other(tape):
    """Of two findings the lesser one alone has a place."""
    diagnosis = kit.diagnose(HOME.with_settings(hiss_dbfs=-10, replay_speed_percent=10).play(tape, seed=1))
    first, *_ = diagnosis.findings
    assert first.key == "hiss" and "speed_off" in {finding.key for finding in diagnosis.findings}
    blamed = [block for block in diagnosis.blocks if block.cause == "hiss"]
    assert diagnosis.picture().text.startswith(f"A lost block: {blamed[0].text}" if blamed else "hiss")


# -- what is in the sound -------------------------------------------------------------------------------


@pytest.mark.parametrize("settings", [
    {"replay_spacing_um": 4}, {"replay_spacing_um": 6}, {"replay_azimuth_arcmin": 20}], ids=str)
def test_a_smooth_loss_without_hiss_is_the_heads_and_not_a_codecs(tape, settings):
    said = found(kit.Deck(**settings).play(tape))
    assert next(iter(said)) == "highs_lost" and "voice_coding" not in said


def test_a_codec_is_still_known_by_its_edge():
    fast = kit.encode(TEXT, name="log.txt", speed=2)
    assert next(iter(found(kit.Deck(codec="mp3", codec_rate_hz=8000.0).play(fast)))) == "voice_coding"


def test_data_that_repeats_has_no_echo_and_hides_no_other_sound():
    zeros = kit.encode(bytes(600), name="zeros.bin")
    assert "room_echo" not in found(kit.decks["portable"].play(zeros))
    said = found(HOME.with_settings(replay_spacing_um=6).play(zeros))
    assert next(iter(said)) == "highs_lost" and "older_recording" not in said


# -- speed ----------------------------------------------------------------------------------------------


def test_a_speed_between_two_presets_is_one_finding_that_names_both(tape):
    (finding,) = kit.diagnose(kit.Deck(replay_speed_percent=45).play(tape)).findings
    assert finding.key == "speed_off"
    assert [fact.value for fact in finding.evidence] == pytest.approx([-27.5, 45.0], abs=0.05)
    assert finding.candidates[:2] == ("45.0 % fast (against ordinary speed)",
                                      "27.5 % slow (against 2 times ordinary speed)")
    assert all(way in finding.sentence for way in finding.candidates[:2])


@pytest.mark.parametrize("swing", [{"wow": (12, 1.0)}, {"wow": (6, 0.7)}, {"flutter": (4, 12.0)}],
                         ids=lambda swing: next(iter(swing)))
def test_a_swing_of_speed_feigns_no_steady_error_on_a_short_tape(swing):
    ((key, (percent, hz)),) = swing.items()
    deck = kit.Deck(**{f"replay_{key}_percent": percent, f"replay_{key}_hz": hz})
    short = kit.encode(TEXT[:100], name="log.txt")
    for seed in range(3):
        assert "speed_off" not in found(deck.play(short, seed=seed))


def test_a_steady_error_is_still_seen_through_a_swing(tape):
    deck = kit.Deck(replay_speed_percent=8, replay_wow_percent=6, replay_wow_hz=0.7)
    assert found(deck.play(tape))["speed_off"].evidence[0].value == pytest.approx(8, abs=1.9)


def test_a_swing_leaves_open_what_its_last_turn_may_have_added():
    """Compared with sines of all phases, averaged over the same stretch."""
    pace, hz = Pace(1e-3, (2.3,)), 0.7
    times_s, turns = np.linspace(0, 2.3, 20_000), np.linspace(0, 1, 200)
    means = [np.mean(np.sin(2 * np.pi * (hz * times_s + turn))) for turn in turns]
    assert 0.5 * pace.left_open(100, hz) < max(means) <= pace.left_open(100, hz) + 1e-3


# -- what the report says -------------------------------------------------------------------------------


def told(*pairs):
    return without_contradictions([Finding(key, harm, (Measured("x", 1.0, "dB"),)) for key, harm in pairs])


def test_cures_do_not_contradict_those_of_a_more_harmful_finding():
    worse, lesser = told(("too_quiet", 30), ("lopsided", 5))
    assert worse.remedies == worse.cause.remedies and "turn the playback volume up" in worse.remedies[0].text
    assert not any("turn the level down" in remedy.text for remedy in lesser.remedies)


def test_what_is_too_loud_is_never_turned_up_whatever_is_worse():
    """Demonstrations show it: louder does not help against hiss, and cuts the tops off."""
    worse, lesser = told(("hiss", 30), ("too_loud", 5))
    assert worse.remedies and not any("turn the playback volume up" in remedy.text for remedy in worse.remedies)
    assert lesser.remedies == lesser.cause.remedies


def test_the_headline_says_that_decode_reads_it_all_the_same(tape):
    diagnosis = kit.diagnose(HOME.with_settings(hiss_dbfs=-8).play(tape))
    assert not diagnosis.reads and kit.decode(diagnosis.sound, format="house").files[0].data == TEXT
    assert diagnosis.report().splitlines()[0].endswith("All the same, decode reads it, as it tries more.")
    assert "at the first try, no block was found" in str(diagnosis)


def test_nothing_good_is_said_of_what_decode_does_not_read(tape):
    diagnosis = kit.diagnose(HOME.play(tape).part(0, 5.1))
    assert not diagnosis.reads and "All the same" not in diagnosis.report()


def test_a_block_that_does_not_read_is_never_said_to_have_nothing_in_doubt(tape):
    diagnosis = kit.diagnose(HOME.with_settings(input_clip_dbfs=-20, hiss_dbfs=-30).play(tape))
    (block,) = diagnosis.blocks
    assert "its beginning lost and only its last 17 bytes heard" in block.text
    assert "2 blocks read as they are, 1 does not" in str(diagnosis)


def test_a_few_bytes_of_noise_behind_the_last_block_are_no_block(tape):
    seen = kit.diagnose(HOME.play(tape)).evidence
    last = seen.good[-1]
    stray = replace(last, verdict="damaged", headless=True, content=b"abc", start_s=last.span_s[1] + 0.01)
    with_stray = replace(seen, reading=replace(seen.reading, blocks=[*seen.reading.blocks, stray]))
    assert len(with_stray.good) == 3 and with_stray.bad == []


def test_marks_among_the_characters_of_a_stream_are_no_leaders():
    """A healthy stream in which an older recording was seen once."""
    assert {finding.key for finding in kit.diagnose(healthy_recording(206)).findings} <= {"dropouts"}


# -- what lies under a tape lies under its leaders as well ----------------------------------------------


@pytest.mark.parametrize(("settings", "seed", "first"), [
    ({"dropouts_per_minute": 60, "dropout_depth_db": 40, "dropout_length_s": 0.1}, 0, "dropouts"),
    ({"dropouts_per_minute": 30, "dropout_depth_db": 60, "dropout_length_s": 0.05}, 1, "dropouts"),
    ({"replay_gain_db": -60}, 0, "too_quiet"),
    ({"noise_suppression_db": 30}, 0, "noise_suppression"),
])
def test_a_silence_in_name_only_and_a_moment_of_failure_are_no_other_sound(settings, seed, first):
    tape = kit.encode(TEXT[:256], name="log.txt")
    top, *others = kit.diagnose(kit.Deck(**settings).play(tape, seed=seed)).findings
    assert top.key == first
    assert "older_recording" not in {finding.key for finding in others}


def test_a_rate_written_wrong_is_named_in_the_first_line(tape):
    wrong = kit.diagnose(kit.Sound(tape.samples, 48000)).report().splitlines()[0]
    assert "8.8 % fast" in wrong and "44.1 kHz labelled 48" in wrong
