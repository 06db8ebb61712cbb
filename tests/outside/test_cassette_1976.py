"""The 1976 audio-cassette standard: audio made from its text alone is read, and never found where it is not.

The source of every check named "1976" stands in `cassette_1976.py`, where that audio is made. The text says nothing
of sine or square, of level, and of how far the speed may be off: what is tried of these is the kit's own claim.
"""

import numpy as np
import pytest
from cassette_1976 import BIT_S, LOG, MARK_HZ, RATES, SPACE_HZ, drawn, heard, reads, tones_of, written
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, lfilter, sosfiltfilt

import kit
from kit import Sound
from kit.found import DAMAGED, UNCHECKED

# -- audio made by hand is read to the byte -------------------------------------------------------------


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


# -- faults show ----------------------------------------------------------------------------------------


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


# -- recognised, and never invented ---------------------------------------------------------------------


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
