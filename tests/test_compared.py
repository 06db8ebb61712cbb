"""Formats to compare ways of writing a bit: whole files in each cell code, read when asked for by name."""

import random

import pytest

import kit
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


def test_it_has_a_name_of_its_own_and_is_not_listened_for_unasked(name):
    assert find_format(name) is COMPARED[name] and name not in kit.FORMATS
    with pytest.raises(kit.SettingError, match="a format must have a name of its own"):
        kit.register(kit.Format(name))
