"""The 1976 audio-cassette standard: audio made from its text alone is read, and what the kit writes satisfies it.

Source of every check named "1976": M. & V. Peschke, "BYTE's Audio Cassette Standards Symposium", BYTE, February 1976,
pp. 72-73. A one is eight cycles of 2400 Hz, a zero four cycles of 1200 Hz, up to 300 bits a second. A character is a
start bit of zero, eight data bits with the least significant first, and two or more stop bits of one; marks may lie
between characters for any time; each block is led in by 5 s of marks at least. The text says nothing of sine or
square, of level, and of how far the speed may be off: what is tried of these is the kit's own claim.
"""

import json
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, hilbert, lfilter, sosfiltfilt

import kit
from kit import Sound
from kit.__main__ import main
from kit.found import DAMAGED, UNCHECKED

MARK_HZ, SPACE_HZ, BIT_S = 2400, 1200, 1 / 300  # 1976
RATES = (8000, 11025, 22050, 44100, 48000, 96000)
LOG = b"Day 12. Wind west 5, gulls 3, sea calm; the boat is late.\r\n"


# -- a writer made from the text alone ------------------------------------------------------------------


def bits_of(byte, stops=2):
    """1976: start bit, data bits, least significant first, stop bits."""
    return [0] + [(byte >> k) & 1 for k in range(8)] + [1] * stops


def tones_of(data, stops=2, pauses_s=(0.0,), lead_s=5.0, tail_s=0.2):
    """Pairs of a tone in Hz and how long it lasts, in seconds, at ordinary speed."""
    tones = [(MARK_HZ, lead_s)]
    for k, byte in enumerate(data):
        tones += [(MARK_HZ if bit else SPACE_HZ, BIT_S) for bit in bits_of(byte, stops)]
        tones.append((MARK_HZ, pauses_s[k % len(pauses_s)]))
    return [*tones, (MARK_HZ, tail_s)]


def drawn(tones, rate=44100, speed=1.0, shape="sine", level=0.5):
    """The tones as sound, the wave going on without a break; each sample is the wave just there."""
    hz, lasts = np.array(tones).T
    ends, turns = np.cumsum(lasts), np.cumsum(hz * lasts)
    seconds = np.arange(int(ends[-1] / speed * rate)) / rate * speed
    phase = np.interp(seconds, np.append(0, ends), np.append(0, turns))
    wave = np.sin(2 * np.pi * phase) if shape == "sine" else np.where(phase % 1 < 0.5, 1.0, -1.0)
    return Sound((level * wave).astype(np.float32), rate)


def heard(sound, format="kansas"):
    return kit.decode(sound, format=format)


def reads(sound, data, format="kansas"):
    reading = heard(sound, format)
    return [(file.data, file.verdict, file.doubtful) for file in reading.files] == [(data, UNCHECKED, [])]


# -- audio made by hand is read to the byte -----------------------------------------------------------------


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("shape", ["sine", "square"])
@pytest.mark.parametrize("speed", [0.96, 1.0, 1.04])
def test_sine_and_square_of_every_rate_are_read_with_the_tape_off_speed(rate, shape, speed):
    """1976: the clock comes from the waveform, whatever the speed; no tolerance is stated, 4 % is what is tried."""
    assert reads(drawn(tones_of(LOG, pauses_s=(0, 0.0123, 0)), rate, speed, shape), LOG)


@pytest.mark.parametrize("stops", [2, 3, 4, 5])
def test_two_stop_bits_or_more_are_read(stops):
    """1976: two or more."""
    assert reads(drawn(tones_of(bytes(range(256)), stops)), bytes(range(256)))


@settings(max_examples=15, deadline=None)
@given(
    data=st.binary(min_size=1, max_size=40),
    pauses_s=st.lists(st.floats(0, 2.2), min_size=1, max_size=5),
    rate=st.sampled_from(RATES),
    speed=st.floats(0.96, 1.04),
    shape=st.sampled_from(["sine", "square"]),
    level=st.floats(0.001, 1.0),
    stops=st.integers(2, 5),
)
def test_any_bytes_with_any_pauses_at_any_level_are_read(data, pauses_s, rate, speed, shape, level, stops):
    """1976: any time at the mark frequency may lie between characters; the kit takes 2.4 s for a leader."""
    assert reads(drawn(tones_of(data, stops, pauses_s), rate, speed, shape, level), data)


@pytest.mark.parametrize(
    "damage",
    [
        pytest.param(lambda x: -x, id="upside down"),
        pytest.param(lambda x: np.clip(40 * x, -1, 1), id="clipped"),
        pytest.param(lambda x: 0.6 * x + 0.5, id="a held level larger than the wave"),
        pytest.param(lambda x: np.round(x * 0.002 * 32768) / 32768, id="-60 dBFS in 16 bits"),
        pytest.param(lambda x: x + 0.5 * np.sin(2 * np.pi * 50 / 44100 * np.arange(len(x))), id="hum as strong"),
    ],
)
def test_polarity_level_held_levels_and_hum_do_not_matter(damage):
    assert reads(Sound(damage(drawn(tones_of(LOG)).samples.astype(float)), 44100), LOG)


@pytest.mark.parametrize("shape", ["sine", "square"])
def test_a_band_of_3_khz_is_enough(shape):
    """1976: a bandwidth of 3000 Hz is assumed."""
    sound = drawn(tones_of(LOG), 44100, 1.0, shape)
    low = sosfiltfilt(butter(6, 3000, fs=44100, output="sos"), sound.samples)
    assert reads(Sound(low, 44100), LOG)


@pytest.mark.parametrize(("shape", "snr_db"), [("sine", 3), ("square", 6)])
def test_hiss_is_borne(shape, snr_db):
    """The hiss is over the whole band at 44.1 kHz."""
    x = drawn(tones_of(LOG * 3), 44100, 1.0, shape).samples.astype(float)
    hiss = np.random.default_rng(76).normal(0, np.sqrt(np.mean(x**2)) * 10 ** (-snr_db / 20), len(x))
    assert reads(Sound(x + hiss, 44100), LOG * 3)


def test_a_stray_or_missing_edge_does_not_lose_a_byte():
    x = drawn(tones_of(LOG * 2), shape="square").samples.copy()
    generator = np.random.default_rng(7)
    for at in generator.integers(5 * 44100, len(x) - 100, 30):
        x[at : at + 3] *= -1
    assert reads(Sound(x, 44100), LOG * 2)


@pytest.mark.parametrize("lead_s", [0.7, 5.0, 30.0])
def test_the_leader_is_measured(lead_s):
    reading = heard(drawn(tones_of(LOG, lead_s=lead_s)))
    (block,) = reading.blocks
    assert block.start_s - block.leader_s == pytest.approx(lead_s, abs=0.06)
    assert f"led in by {lead_s:.1f} s of marks" in reading.report()


@pytest.mark.parametrize("pause_s", [0.0, 0.0317, 1.5])
def test_each_byte_has_its_place_on_the_tape(pause_s):
    """11 cells of 1/300 s; what comes after the second stop bit is no part of it."""
    reading = heard(drawn(tones_of(LOG, pauses_s=(pause_s,))))
    for k in range(len(LOG)):
        start = 5 + k * (11 * BIT_S + pause_s)
        assert tuple(reading.where(k)) == pytest.approx((start, start + 11 * BIT_S), abs=4e-4)
        place = reading.at(start + 5 * BIT_S)
        assert (place.file, place.byte, place.part) == (0, k, "data")
    assert reading.at(2.0).part == "leader"


def test_each_led_in_block_becomes_a_file():
    """1976: each block is led in by 5 s of marks at least."""
    tones = [*tones_of(b"first block"), *tones_of(b"second"), *tones_of(b"third, and last")]
    files = heard(drawn(tones)).files
    assert [(f.name, f.data) for f in files] == [
        ("unnamed-1.bin", b"first block"), ("unnamed-2.bin", b"second"), ("unnamed-3.bin", b"third, and last")
    ]


def test_silence_ends_a_block():
    first, second = drawn(tones_of(b"before the gap", tail_s=0.0)), drawn(tones_of(b"after it"))
    joined = np.concatenate((first.samples, np.zeros(44100, np.float32), second.samples))
    assert [file.data for file in heard(Sound(joined, 44100)).files] == [b"before the gap", b"after it"]


@pytest.mark.parametrize("size", [777, 44100])
def test_it_does_not_matter_in_which_pieces_the_sound_arrives(size):
    """And a stream is told of as soon as it is over, not at the end of the recording."""
    x = np.concatenate((drawn(tones_of(LOG)).samples, np.zeros(4 * 44100, np.float32)))
    for format in ("kansas", "auto"):
        listener = kit.Listener(format, 44100)
        for start in range(0, len(x), size):
            listener.feed(x[start : start + size])
        assert [block.content for block in listener.blocks] == [LOG] or format == "auto"
        listener.finish()
        assert [(block.content, block.verdict) for block in listener.blocks] == [(LOG, UNCHECKED)]


def test_two_sides_with_a_tape_each_give_two_files_and_two_sides_of_one_tape_one():
    one, other = (drawn(tones_of(data)).samples for data in (LOG, bytes(b ^ 0x2A for b in LOG)))
    both = np.stack((one, other), axis=1)
    assert [f.data for f in heard(Sound(both, 44100), "auto").files] == [LOG, bytes(b ^ 0x2A for b in LOG)]
    worn = one.copy()
    worn[6 * 44100 : 6 * 44100 + 4000] = 0
    assert reads(Sound(np.stack((worn, one), axis=1), 44100), LOG, "auto")


@pytest.mark.parametrize("format", ["auto", "kansas"])
def test_a_recording_played_backwards_is_never_called_whole(format):
    """It is not read."""
    x = drawn(tones_of(b"Wind west 5", lead_s=2.5), 16000).samples[::-1].copy()
    assert not [file for file in heard(Sound(x, 16000), format).files if file.verdict == UNCHECKED]


# -- faults show ----------------------------------------------------------------------------------------------


def test_a_stop_bit_that_is_no_mark_puts_its_byte_in_doubt_and_no_other():
    tones = tones_of(LOG, stops=3)
    place = 1 + 20 * 13 + 9  # leader, 20 characters of 12 bits and a pause, start and data bits of the next
    assert tones[place] == (MARK_HZ, BIT_S)
    tones[place] = (SPACE_HZ, BIT_S)
    (file,) = heard(drawn(tones)).files
    assert (file.data, file.verdict, file.doubtful) == (LOG, DAMAGED, [(20, 21)])


@pytest.mark.parametrize("at", [3, 30, 57])
def test_a_hole_of_a_whole_character_keeps_the_others_in_their_place(at):
    sound = drawn(tones_of(LOG))
    start = int((5 + 11 * at * BIT_S) * 44100)
    x = sound.samples.copy()
    x[start : start + int(11 * BIT_S * 44100)] = 0
    (file,) = heard(Sound(x, 44100)).files
    doubtful = {k for first, stop in file.doubtful for k in range(first, stop)}
    assert file.verdict == DAMAGED and at in doubtful and doubtful <= {at - 1, at, at + 1}
    assert [k for k in range(len(LOG)) if file.data[k] != LOG[k]] in ([at], [])
    assert len(file.data) == len(LOG)


def test_parity_is_a_setting_and_a_wrong_one_shows():
    """1976: optional parity; even and odd alike."""
    kansas = kit.FORMATS["kansas"]
    for parity in ("even", "odd"):
        own = kansas.changed(name=f"kansas-{parity}", frame=kit.frames.Frame("lsb", "0", "11", parity))
        wrong = kit.frames.Frame("lsb", "0", "11", "odd" if parity == "even" else "even")
        other = kansas.changed(name="other", frame=wrong)
        sound = written(LOG, format=own)
        assert reads(sound, LOG, own)
        assert not reads(sound, LOG, other)


# -- recognised, and never invented -------------------------------------------------------------------------


@pytest.mark.parametrize("data", [b"A", LOG, bytes(60), b"\xff" * 60, b"\x55" * 60])
def test_a_recording_is_recognised_by_itself(data):
    assert reads(drawn(tones_of(data)), data, "auto")


@pytest.mark.parametrize("format", [name for name in kit.FORMATS if name != "kansas"])
@pytest.mark.parametrize("message", [bytes(2000), b"\xff" * 1500, bytes(900) + b"\xff" * 5 + b"\xf0" + bytes(900)])
def test_tapes_of_other_formats_hold_no_stream_damaged_or_not(format, message):
    """A row of zeros of the house format is a tone of 2400 Hz."""
    generator = np.random.default_rng(len(message))
    for speed, scratches in ((1, 0), (1, 5), (0.5, 3)):
        x = kit.encode(message, name="x.bin", format=format, speed=speed, lead_in_s=1, rate=22050).samples.copy()
        for at in generator.integers(0, len(x), scratches):
            x[at : at + int(22050 * generator.choice([0.003, 0.05, 0.5]))] *= 0.03
        assert not [block for block in kit.decode(Sound(x, 22050)).blocks if block.stream]


def test_music_hum_hiss_and_silence_hold_no_stream():
    generator, rate = np.random.default_rng(4), 22050
    seconds = np.arange(20 * rate) / rate
    notes = np.repeat(generator.choice([300, 600, 880, 1200, 2400], 40), rate // 2)
    long_notes = np.repeat([2400, 1200, 2400, 600], 5 * rate)
    voice = lfilter([1], [1, -1.9, 0.98], generator.normal(0, 0.02, len(seconds))) * (np.sin(6 * np.pi * seconds) > 0)
    waves = (
        np.sin(2 * np.pi * np.cumsum(long_notes) / rate),
        generator.normal(0, 0.3, len(seconds)),
        np.zeros(len(seconds)),
        np.sin(2 * np.pi * np.cumsum(notes) / rate),
        np.sin(2 * np.pi * 50 * seconds),
        voice / np.abs(voice).max(),
    )
    for k, wave in enumerate(waves):
        for format in ("auto", "kansas") if k < 3 else ("kansas",):  # all formats take their time over the others
            assert not heard(Sound((0.5 * wave).astype(np.float32), rate), format).files


# -- what the kit writes, measured by code that shares nothing with it --------------------------------------


def cycles_by_phase(sound):
    """How many cycles the wave has turned through by each sample: the angle of its analytic signal."""
    low = sosfiltfilt(butter(4, 3000, fs=sound.rate, output="sos"), sound.samples.astype(float))
    return np.unwrap(np.angle(hilbert(low))) / (2 * np.pi)


def written(data, format="kansas", **more):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return kit.encode(data, name="log.txt", format=format, **more)


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


# -- there and back -------------------------------------------------------------------------------------------


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
