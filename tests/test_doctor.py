"""The doctor names what is wrong with a recording, with evidence, and tells people what to do."""

import random

import numpy as np
import pytest

import kit
from kit.doctor import CAUSES, CAUTIONS
from kit.doctor.findings import closure_db

DATA = random.Random(11).randbytes(200)
HOME = kit.decks["home"]


@pytest.fixture(scope="module")
def tape():
    return kit.encode(DATA, name="log.bin", lead_in_s=1.5)


def found(sound, **how):
    return {finding.key: finding for finding in kit.diagnose(sound, **how).findings}


def top(sound, **how):
    findings = kit.diagnose(sound, **how).findings
    return findings[0].key if findings else None


def stereo(left, right, rate=44100):
    return kit.Sound(np.stack([left, right], axis=1), rate)


# -- healthy --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("deck", ["studio", "home", "laptop"])
def test_a_tape_from_a_good_recorder_is_healthy(tape, deck):
    diagnosis = kit.diagnose(kit.decks[deck].play(tape, seed=2))
    assert diagnosis.healthy and diagnosis.reads and not diagnosis.severe
    assert diagnosis.report().splitlines()[0] == "Nothing is wrong with this recording."


def test_a_tape_as_written_has_nothing_at_all_to_say(tape):
    assert kit.diagnose(tape).findings == ()


# -- one fault each -------------------------------------------------------------------------------------

FAULTS = {
    "hiss": {"hiss_dbfs": -12},
    "hum": {"hum_dbfs": -12, "hum_hz": 60},
    "highs_lost": {"replay_spacing_um": 6},
    "lows_lost": {"replay_coupling_hz": 900},
    "too_quiet": {"replay_gain_db": -45},
    "wow": {"record_wow_percent": 15, "replay_wow_percent": 15},
    "flutter": {"record_flutter_percent": 15, "replay_flutter_percent": 15},
    "older_recording": {"old_recording_dbfs": -14},
    "dropouts": {"dropouts_per_minute": 60, "dropout_depth_db": 30, "dropout_length_s": 0.05},
    "room_echo": {"room_reverberation_s": 0.5, "room_reverberation_db": -4},
    "noise_suppression": {"noise_suppression_db": 20},
    "speed_off": {"replay_speed_percent": 25},
    "sides_opposed": {"output_wiring": "opposed"},
    "side_dead": {"output_wiring": "right-dead"},
}


@pytest.mark.parametrize("key", FAULTS)
def test_a_single_fault_is_named_first(tape, key):
    assert top(HOME.with_settings(**FAULTS[key]).play(tape, seed=4)) == key


def test_silence_and_an_empty_recording_hold_nothing():
    for seconds in (0, 3):
        assert top(kit.Sound(np.zeros(seconds * 8000, np.float32), 8000)) == "nothing_there"


def test_noise_alone_holds_no_tape():
    noise = np.random.default_rng(3).standard_normal(3 * 44100) * 0.1
    assert top(kit.Sound(noise, 44100)) == "nothing_there"


def test_a_held_level_is_measured(tape):
    finding = found(kit.Sound(tape.samples + 0.3, tape.rate))["held_level"]
    assert finding.evidence[0].value == pytest.approx(30, abs=0.5)
    assert finding.evidence[1].value == pytest.approx(60, abs=1)


def test_hum_is_measured_in_hz_and_dbfs(tape):
    times_s = np.arange(tape.frames) / tape.rate
    finding = found(kit.Sound(tape.samples + 0.1 * np.sin(2 * np.pi * 50 * times_s), tape.rate))["hum"]
    assert "50 Hz" in finding.sentence
    assert finding.evidence[0].value == pytest.approx(20 * np.log10(0.1 / np.sqrt(2)), abs=0.5)


def test_hiss_is_measured_in_dbfs(tape):
    noise = np.random.default_rng(5).standard_normal(tape.frames) * 0.1
    finding = found(kit.Sound(tape.samples + noise, tape.rate))["hiss"]
    # Noise of rms 0.1 up to 22.05 kHz has 0.43 dB less of it in 20 kHz.
    assert finding.evidence[1].value == pytest.approx(-20 - 10 * np.log10(22.05 / 20), abs=0.7)


@pytest.mark.parametrize("percent", [-20, -6, 7, 20])
def test_speed_is_given_against_the_nearest_preset(tape, percent):
    fast = kit.encode(DATA, name="log.bin", lead_in_s=1.5, speed="double")
    for sound in (tape, fast):
        played = kit.Deck(replay_speed_percent=percent).play(sound)
        assert found(played)["speed_off"].evidence[0].value == pytest.approx(percent, abs=0.2)


def test_a_wrong_sample_rate_is_a_candidate_for_a_wrong_speed(tape):
    finding = found(kit.Sound(HOME.play(tape).samples, 48000))["speed_off"]
    assert finding.candidates == ("tape speed", "44.1 kHz labelled 48")
    assert finding.evidence[0].value == pytest.approx(100 * (48 / 44.1 - 1), abs=0.3)


def test_a_speed_that_no_pair_of_rates_has_is_the_tapes_own(tape):
    assert found(kit.Deck(replay_speed_percent=14).play(tape))["speed_off"].candidates == ()


def test_azimuth_is_claimed_only_where_there_are_two_sides(tape):
    tilted = HOME.with_settings(replay_azimuth_arcmin=40)
    assert "sides_skewed" not in found(tilted.play(tape))
    finding = found(tilted.play(stereo(tape.samples, tape.samples)))["sides_skewed"]
    # 40 − 3 arcmin over 0.9 mm at 47.6 mm/s: 0.9 · tan(37′) / 47.625 s.
    expected_us = 1e6 * 0.9 * np.tan(np.radians(37 / 60)) / (47.625 * 1.005)
    assert abs(finding.evidence[0].value) == pytest.approx(expected_us, rel=0.05)


def test_wow_and_flutter_are_measured_in_percent(tape):
    for key, rate_hz in (("wow", 2.0), ("flutter", 15.0)):
        played = kit.Deck(**{f"replay_{key}_percent": 4.0, f"replay_{key}_hz": rate_hz}).play(tape, seed=1)
        finding = found(played)[key]
        assert finding.evidence[0].value == pytest.approx(4.0, rel=0.15)
        assert finding.evidence[1].value == pytest.approx(rate_hz, abs=0.8)


def test_lows_lost_are_measured_by_their_corner(tape):
    finding = found(kit.Deck(replay_coupling_hz=700).play(tape))["lows_lost"]
    assert finding.evidence[0].value == pytest.approx(700, rel=0.1)


def test_highs_lost_are_measured_as_the_published_formula_has_them(tape):
    """Spacing loss 54.575·d/λ (Wallace, Bell System Technical Journal 1951) at 47.625 mm/s."""
    finding = found(kit.Deck(replay_spacing_um=6).play(tape))["highs_lost"]
    loss = 54.575 * 6 / 47625 * (2400 - 600)
    assert finding.evidence[0].value == pytest.approx(loss, rel=0.1)


def test_a_dropout_is_found_where_it_is(tape):
    first, last = 2.6, 2.64
    diagnosis = kit.diagnose(tape.scratch(first, last - first))
    finding = diagnosis.findings[0]
    assert finding.key == "dropouts"
    assert finding.evidence[1].start_s == pytest.approx(first, abs=0.006)
    assert finding.evidence[1].stop_s == pytest.approx(last, abs=0.006)
    (block,) = diagnosis.blocks
    assert block.cause == "dropouts" and block.look_s[0] <= first <= block.look_s[1]
    assert block.samples[0] <= round(first * tape.rate) <= block.samples[1]


def test_a_tape_cut_at_its_start_or_end_is_said_to_be(tape):
    played = HOME.play(tape)
    assert top(played.part(2.3, 99)) == "start_cut"
    assert top(played.part(0, 2.5)) == "end_cut"


# -- contents -------------------------------------------------------------------------------------------


def test_another_format_than_asked_is_named(tape):
    finding = found(HOME.play(tape), format="steady")["other_format"]
    assert "house" in finding.sentence and "steady" in finding.sentence
    assert "other_format" not in found(HOME.play(tape), format="house")


def test_an_unknown_code_is_measured_and_a_format_proposed_that_reads_it():
    strange = kit.Format.of_half_cycles("strange", zero_s=0.6e-3, one_s=1.0e-3, sync_s=1.5e-3, leader_s=0.4e-3)
    sound = HOME.play(kit.encode(DATA, name="log.bin", format=strange, lead_in_s=1.5))
    diagnosis = kit.diagnose(sound)
    assert diagnosis.findings[0].key == "unknown_code"
    lengths = [fact.value for fact in diagnosis.findings[0].evidence[:4]]
    assert lengths == pytest.approx([0.8, 3.0, 1.2, 2.0], rel=0.02)
    assert kit.decode(sound, format=diagnosis.proposed).files[0].data == DATA


def test_healthy_sound_whose_check_fails_is_told_from_damage():
    other = kit.FORMATS["house"].changed(name="changed", check="crc-16/arc")
    sound = HOME.play(kit.encode(DATA, name="log.bin", format=other, lead_in_s=1.5))
    assert top(sound) == "check_fails"


# -- words ----------------------------------------------------------------------------------------------


def test_the_first_two_lines_say_what_is_wrong_and_what_to_change(tape):
    wrong, change, *_ = str(kit.diagnose(HOME.with_settings(hiss_dbfs=-10).play(tape))).split("\n")
    assert wrong.startswith("Hiss (noise) is so strong")
    assert change.startswith("Do this first: stop the tape and listen")
    assert CAUTIONS["level"] in change


TOUCHES = {"level": "volume gain treble level tone", "lead": "lead plug", "head": "head roller capstan",
           "motor": "batteries belt", "record": "again on a blank"}


@pytest.mark.parametrize("key", CAUSES)
def test_each_cure_that_touches_equipment_carries_its_caution(key):
    """Words for equipment in a cure ask for a caution; each caution is one of the kit's own."""
    for remedy in CAUSES[key].remedies:
        assert set(remedy.touches) <= set(CAUTIONS)
        hands = any(word in remedy.text for word in (
            "volume", "gain down", "lead", "plug", "head", "batter", "roller", "capstan", "loudspeaker", "recorder",
            "microphone close", "input", "output", "wind back", "record it", "record again", "record the data"))
        assert remedy.cautions or not hands, remedy.text
        assert len(remedy.cautions) == len(remedy.touches)


def test_every_cause_has_a_name_a_meaning_and_a_cure():
    for key, cause in CAUSES.items():
        assert cause.key == key and cause.name and cause.meaning.endswith(".") and cause.remedies


def test_cautions_of_the_kit_are_all_there():
    together = " ".join(CAUTIONS.values())
    for phrase in ("start with the volume down, headphones off the ears", "do not open mains equipment",
                   "never join a loudspeaker or power amplifier output to an input", "owner's permission",
                   "qualified person's eye"):
        assert phrase in together


def test_findings_come_in_order_of_harm_and_each_has_evidence(tape):
    deck = HOME.with_settings(hiss_dbfs=-22, hum_dbfs=-24, replay_spacing_um=5)
    findings = kit.diagnose(deck.play(tape, seed=1)).findings
    harms = [finding.harm_db for finding in findings]
    assert len(findings) >= 2 and harms == sorted(harms, reverse=True)
    assert all(finding.evidence for finding in findings)


def test_harm_is_margin_taken_in_db():
    assert closure_db(0) == 0 and closure_db(2) == 40
    assert closure_db(0.5) == pytest.approx(6.0206, abs=1e-3)
