"""What the kit writes by the 1976 audio-cassette standard, measured by code that shares nothing with it.

The source of every check named "1976" stands in `cassette_1976.py`.
"""

import json
import warnings

import numpy as np
import pytest
from cassette_1976 import BIT_S, LOG, RATES, SPACE_HZ, bits_of, drawn, reads, tones_of, written
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, hilbert, sosfiltfilt

import kit
from kit.__main__ import main

# -- what the kit writes, measured by code that shares nothing with it ----------------------------------


def cycles_by_phase(sound):
    """How many cycles the wave has turned through by each sample: the angle of its analytic signal."""
    low = sosfiltfilt(butter(4, 3000, fs=sound.rate, output="sos"), sound.samples.astype(float))
    return np.unwrap(np.angle(hilbert(low))) / (2 * np.pi)


@pytest.mark.parametrize("rate", [22050, 44100, 48000])
def test_a_one_has_eight_cycles_and_a_zero_four_least_significant_bit_first(rate):
    """1976. The leader is measured to be 5 s at least, the frame start, data, two stop bits and then marks."""
    sound = written(LOG, rate=rate)
    turned = cycles_by_phase(sound)
    lead = np.flatnonzero(np.diff(turned) * rate < 1800)
    lead = lead[(lead > 0.1 * rate) & (lead < sound.frames - 0.05 * rate)]
    began = lead[0] / rate
    assert began == pytest.approx(5.0, abs=1e-3)
    borders = began + np.arange(11 * len(LOG) + 1) * BIT_S
    cycles = np.diff(np.interp(borders, (np.arange(sound.frames) + 0.5) / rate, turned))
    bits = [bit for byte in LOG for bit in bits_of(byte)]
    assert np.abs(cycles - np.where(bits, 8, 4)).max() < 0.5
    tail = np.diff(turned[int((borders[-1] + 0.01) * rate) : sound.frames - rate // 100]) * rate
    assert np.median(tail) == pytest.approx(2400, rel=0.01) and len(tail) > 0.05 * rate


def test_the_leader_lasts_5_s_at_least_before_each_block():
    """1976. Counted as crossings of zero, all 1/4800 s apart."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        sound = kit.encode([kit.TapeFile("a", LOG), kit.TapeFile("b", LOG)], format="kansas")
    x = sound.samples.astype(float)
    up = np.flatnonzero(np.signbit(x[1:]) != np.signbit(x[:-1])) / sound.rate
    marks = np.abs(np.diff(up) * 4800 - 1) < 0.2
    edges = np.flatnonzero(np.diff(np.concatenate(([0], marks, [0]))))
    runs = [stop - start for start, stop in zip(edges[::2], edges[1::2], strict=True)]
    assert sorted(runs)[-2:][0] / 4800 >= 5.0 - 1 / 2400 and sum(run > 4 * 4800 for run in runs) == 2


def test_the_letter_a_is_120_half_cycles():
    """1976: 0x41 is 0, 1,0,0,0,0,0,1,0, 1,1; computed: four ones of 16 half-cycles and seven zeros of 8."""
    bits = [0, 1, 0, 0, 0, 0, 0, 1, 0, 1, 1]
    assert bits == bits_of(0x41)
    sound = written(b"A", rate=48000)
    x = sound.samples[5 * 48000 : 5 * 48000 + 11 * 160]
    crossings = np.count_nonzero(np.signbit(x[1:]) != np.signbit(x[:-1]))
    assert crossings + 1 == sum(16 if bit else 8 for bit in bits) == 120


def test_a_side_of_30_minutes_holds_49090_characters():
    """Computed: 11 bits at 300 bits a second are 36.667 ms. Leader and tail take some of them."""
    kansas = kit.FORMATS["kansas"]
    character_s = kansas.code.encode(kansas.frame.to_bits(b"M")).sum() / kansas.unit_hz
    assert character_s == pytest.approx(0.036667, abs=1e-6)
    assert int(30 * 60 / character_s) == 49090
    most = int((30 * 60 - 5.1) / character_s)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        assert len(kit.encode_sides(bytes(most), name="x", format="kansas", side_minutes=30, rate=8000)) == 1
        with pytest.raises(kit.SettingError, match="take longer sides or smaller files"):
            kit.encode_sides(bytes(most + 2), name="x", format="kansas", side_minutes=30, rate=8000)


# -- there and back -------------------------------------------------------------------------------------


@settings(max_examples=10, deadline=None)
@given(data=st.binary(min_size=1, max_size=60), rate=st.sampled_from(RATES), speed=st.sampled_from([0.5, 1.0]))
def test_what_is_written_is_read(data, rate, speed):
    assert reads(written(data, rate=rate, speed=speed), data)


def test_many_files_come_back_in_order_from_many_sides():
    files = [kit.TapeFile(f"{k}.txt", LOG[k : k + 20]) for k in range(4)]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        sides = kit.encode_sides(files, format="kansas", side_minutes=0.25)
    assert len(sides) > 1 and all(side.seconds <= 15.1 for side in sides)
    assert [file.data for file in kit.decode(sides).files] == [file.data for file in files]


def test_what_a_stream_leaves_out_is_said_and_what_it_cannot_carry_refused():
    with pytest.warns(UserWarning, match="names, start addresses and what files hold are not on the tape"):
        kit.encode(LOG, name="log.txt", format="kansas")
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        kit.encode(LOG, name="log.txt", format="kansas", lead_in_s=1)
    assert any("leaders must last 5 s at least in kansas, got 1 s" in str(one.message) for one in caught)
    for more, said in (
        ({"copies": 2}, "copies must be 1 in a stream, got 2"),
        ({"block_bytes": 64}, "block_bytes must be left out in 'kansas', got 64"),
    ):
        with pytest.raises(kit.SettingError, match=said):
            kit.encode(LOG, name="log.txt", format="kansas", **more)
    with pytest.warns(UserWarning), pytest.raises(kit.SettingError, match="must hold a byte at least"):
        kit.encode(b"", name="log.txt", format="kansas")


@pytest.mark.parametrize("counter", [kit.Counter(), kit.Counter(speed=1.02)])
def test_the_counter_reads_it_with_a_clock_that_starts_with_each_character(counter):
    assert kit.decode(drawn(tones_of(LOG)), format="kansas", counter=counter).files[0].data == LOG


def test_the_counter_loses_its_place_where_the_tape_is_too_far_off_speed():
    """Computed: half a bit in 10 is 5 %."""
    reading = kit.decode(drawn(tones_of(LOG), speed=1.1), format="kansas", counter=kit.Counter())
    assert not [file for file in reading.files if file.data == LOG]
    assert reads(drawn(tones_of(LOG), speed=1.1), LOG)


def test_the_command_line_goes_there_and_back(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "log.txt").write_bytes(LOG)
    assert main(["encode", "log.txt", "-o", "tape.wav", "--format", "kansas"]) == 0
    assert "kansas carries bytes alone" in capsys.readouterr().err
    assert main(["decode", "tape.wav", "-o", "out"]) == 0
    assert "unchecked: unnamed-1.bin: its format has no check" in capsys.readouterr().out
    assert (tmp_path / "out/unnamed-1.bin").read_bytes() == LOG
    assert main(["decode", "tape.wav", "--list", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["verdict"], told["complete"], told["files"][0]["verdict"]) == ("unchecked", False, "unchecked")
    assert "led in by 5.0 s of marks" in told["files"][0]["note"]


def test_a_framing_fault_makes_the_exit_status_1(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    tones = tones_of(LOG)
    tones[1 + 12 * 5 + 10] = (SPACE_HZ, BIT_S)
    drawn(tones).write("bad.wav")
    assert main(["decode", "bad.wav", "--list"]) == 1
    assert "DAMAGED: unnamed-1.bin" in capsys.readouterr().out
