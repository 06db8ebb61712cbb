"""Formats to compare ways of writing a bit: whole files in each cell code, by name and unasked."""

import random

import numpy as np
import pytest

import kit
from kit import chosen
from kit.known import COMPARED, find_format
from kit.sound import Sound

LOG = random.Random(4).randbytes(300)


@pytest.fixture(params=list(COMPARED))
def name(request):
    return request.param


def reads(sound, name):
    reading = kit.decode(sound, format=name)
    return [(file.name, file.data, file.complete) for file in reading.files] == [("log.bin", LOG, True)]


def test_a_file_comes_back_also_upside_down_and_at_another_rate(name):
    tape = kit.encode(LOG, name="log.bin", format=name, lead_in_s=1.0)
    assert reads(tape, name)
    assert reads(Sound(-tape.samples, tape.rate), name)
    assert reads(kit.encode(LOG, name="log.bin", format=name, lead_in_s=1.0, rate=48000), name)


@pytest.mark.parametrize("speed", [0.97, 1.03])
def test_a_tape_that_runs_a_little_off_is_read(name, speed):
    tape = kit.encode(LOG, name="log.bin", format=name, lead_in_s=1.0, speed=speed)
    assert reads(tape, name)


def test_it_has_a_name_of_its_own(name):
    assert find_format(name) is COMPARED[name] and name not in kit.FORMATS
    with pytest.raises(kit.SettingError, match="a format must have a name of its own"):
        kit.register(kit.Format(name))


def test_it_is_recognised_unasked_also_upside_down_off_speed_and_through_hiss(name):
    tape = kit.encode(LOG, name="log.bin", format=name, lead_in_s=1.0, speed=1.03)
    hiss = np.random.default_rng(5).normal(0, 0.02, tape.frames).astype(np.float32)
    sound = Sound(hiss - tape.samples, tape.rate)
    assert reads(sound, "auto")
    assert {block.format.name for block in kit.decode(sound).blocks} == {name}


@pytest.mark.parametrize("name", ["tones", "biphase"])
def test_what_a_scratch_leaves_of_it_unasked_is_what_it_leaves_by_name(name):
    """All effort is spent on it, and none on the usual formats; of two codes, as it takes seconds."""
    tape = kit.encode(LOG, name="log.bin", format=name, lead_in_s=1.0)
    start_s, stop_s = kit.decode(tape, format=name).blocks[1].span_s
    worn = tape.scratch((start_s + stop_s) / 2, 0.02, 3)
    unasked, by_name = (kit.decode(worn, format=asked).files for asked in ("auto", name))
    assert [(file.data, file.doubtful) for file in unasked] == [(file.data, file.doubtful) for file in by_name]
    assert not unasked[0].complete and unasked[0].doubtful


def test_a_recording_whose_sides_carry_two_codes_gives_both_files(name):
    """One of the two is of the usual kind: to know the other does not shut it out."""
    one, other = (kit.encode(LOG[::way], name="log.bin", format=each, lead_in_s=1.0)
                  for way, each in ((1, name), (-1, "house")))
    both = np.zeros((max(one.frames, other.frames), 2), np.float32)
    both[: one.frames, 0], both[: other.frames, 1] = one.samples, other.samples
    found = kit.decode(Sound(both, one.rate)).files
    assert sorted(file.data for file in found) == sorted([LOG, LOG[::-1]]) and all(file.complete for file in found)


def test_where_the_first_recording_of_a_tape_is_silent_the_second_tells_the_code(name):
    tape = kit.encode(LOG, name="log.bin", format=name, lead_in_s=1.0)
    found = kit.decode([Sound(np.zeros(44100, np.float32), 44100), tape]).files
    assert [file.data for file in found] == [LOG]


def test_a_learner_s_format_in_a_costly_code_is_recognised_once_it_is_registered(monkeypatch):
    monkeypatch.setattr(chosen, "FORMATS", {**kit.FORMATS})
    frame = kit.FORMATS["framed"].frame
    own = kit.Format("gannet", code=COMPARED["biphase"].code, frame=frame, check="crc-16/ibm-sdlc")
    tape = kit.encode(LOG, name="log.bin", format=own, lead_in_s=1.0)
    assert own not in chosen.formats_to_hear("auto", [tape])[0]
    chosen.FORMATS[own.name] = own
    assert reads(tape, "auto")


@pytest.mark.parametrize("format", ["house", "framed", "steady"])
def test_no_usual_tape_is_taken_for_one_of_them_however_it_is_cut(format):
    """No block reads, so that all of it is looked through for each code."""
    tape = kit.encode(LOG, name="log.bin", format=format, lead_in_s=1.0)
    samples = tape.samples.copy()
    for first in range(0, tape.frames, tape.rate // 8):
        samples[first : first + 150] = 0
    _, doubted = chosen.formats_to_hear("auto", [Sound(samples, tape.rate)])
    assert doubted is None
