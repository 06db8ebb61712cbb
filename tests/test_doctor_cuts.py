"""Where a recording begins and ends: cuts are told by what is missing, and noise and closing headers are no cuts."""

import random

import numpy as np
import pytest

import kit

DATA = random.Random(8).randbytes(400)
HOME = kit.decks["home"]


@pytest.fixture(scope="module")
def blocks():
    """The tape as played by a good recorder, and its blocks in order."""
    played = HOME.play(kit.encode(DATA, name="log.bin", block_bytes=128, lead_in_s=1.2), seed=1)
    return played, sorted(kit.decode(played, quick=True).blocks, key=lambda block: block.span_s)


def found(sound):
    return {finding.key: finding for finding in kit.diagnose(sound).findings}


def test_a_tape_that_begins_in_the_leader_of_a_data_block_was_cut(blocks):
    """Nothing is heard of what came before: only that the first block is no header says so."""
    played, (header, first, *_) = blocks
    for block, severity in ((header, "slight"), (first, "severe")):  # another header closes the tape
        (finding,) = kit.diagnose(played.part(block.span_s[1] + 0.03, played.seconds)).findings
        assert finding.key == "start_cut" and "no header" in finding.evidence[0].what
        assert finding.severity == severity


def test_a_tape_that_ends_in_a_leader_was_cut(blocks):
    played, (_, first, second, *_) = blocks
    inside = 0.4 * second.leader_s + 0.6 * second.start_s
    top, *_ = kit.diagnose(played.part(0, inside)).findings
    assert first.whole and top.key == "end_cut"


def test_a_header_that_closes_the_tape_is_no_cut(blocks):
    """Its data blocks are torn, so that nothing but the header at its end is read."""
    played, (_, *data, last) = blocks
    assert last.header is not None and len(data) > 1
    samples = played.samples.copy()
    noise = np.random.default_rng(3)
    for block in blocks[1][:-1]:
        first, stop = (round(s * played.rate) for s in block.span_s)
        samples[first:stop] += 0.4 * noise.standard_normal(stop - first).astype(np.float32)
    torn = kit.Sound(samples, played.rate)
    assert sum(block.whole for block in kit.decode(torn, quick=True).blocks) == 1
    assert "end_cut" not in found(torn)


@pytest.mark.parametrize("dbfs", [-14, -10])
def test_noise_before_the_first_leader_is_no_data(blocks, dbfs):
    """The recording begins before the tape does, and all of it hisses."""
    played, _ = blocks
    silence = np.zeros(round(0.8 * played.rate), np.float32)
    samples = np.concatenate([silence, played.samples])
    noise = np.random.default_rng(4).standard_normal(samples.shape, dtype=np.float32)
    cut = found(kit.Sound(samples + noise * np.float32(10 ** (dbfs / 20)), played.rate))
    assert "start_cut" not in cut and "hiss" in cut


def test_hum_before_the_first_leader_is_no_data(blocks):
    played, _ = blocks
    silence = np.zeros(round(0.8 * played.rate), np.float32)
    samples = np.concatenate([silence, played.samples])
    time_s = np.arange(len(samples)) / played.rate
    humming = samples + 0.35 * np.sin(2 * np.pi * 50 * time_s).astype(np.float32)
    assert "start_cut" not in found(kit.Sound(humming, played.rate))


@pytest.mark.parametrize("stop_s", [0.6, 1.1])
def test_a_leader_alone_is_a_recording_that_ended_too_soon_and_nothing_else(blocks, stop_s):
    (finding,) = kit.diagnose(blocks[0].part(0, stop_s)).findings
    assert finding.key == "end_cut" and "nothing behind it" in finding.sentence


def test_one_steady_tone_that_is_no_leader_is_no_tape():
    time_s = np.arange(4 * 44100) / 44100
    (finding,) = kit.diagnose(kit.Sound((0.3 * np.sin(2 * np.pi * 440 * time_s)).astype(np.float32), 44100)).findings
    assert finding.key == "nothing_there" and "440 Hz" in str(finding.evidence[0])


def test_headers_round_data_that_does_not_read_are_no_cut():
    """Three generations of a worn recorder: only headers read, and a motor that starts is no data."""
    played = kit.encode(DATA[:256], name="log.txt")
    for generation in range(3):
        played = kit.decks["worn"].play(played, seed=generation)
    first, *_ = kit.diagnose(played).findings
    assert first.key == "highs_lost" and "end_cut" not in found(played)


def test_noise_behind_a_stream_is_no_fault_of_the_tape():
    """The 1976 standard has no length: hiss behind the last character must not read as more of them."""
    tape = kit.encode(DATA[:120], name="log.bin", format="kansas", lead_in_s=6.0)
    silence = np.zeros(round(0.8 * tape.rate), np.float32)
    played = HOME.play(kit.Sound(np.concatenate([silence, tape.samples, silence]), tape.rate), seed=3)
    diagnosis = kit.diagnose(played)
    assert diagnosis.reads and not diagnosis.severe
    (file,) = kit.decode(played).files
    assert (file.data, file.doubtful) == (DATA[:120], [])
