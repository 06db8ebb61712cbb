"""Pictures of a tape say what the tape holds: the text beside each is checked, and so is what is drawn."""

import re

import numpy as np
import pytest

import kit
from kit.errors import SettingError
from kit.shown import Shown, blank_figure
from kit.views import byte_view, lengths_view, tape_view, wave_view

WORDS = b"Wind west 5, gulls 3."


@pytest.fixture(scope="module")
def tape():
    return kit.encode(WORDS, name="log.txt", lead_in_s=0.5)


@pytest.fixture(scope="module")
def reading(tape):
    return kit.decode(tape)


@pytest.fixture(scope="module")
def worn(tape, reading):
    return tape.scratch(sum(reading.blocks[1].span_s) / 2, 0.03)


def drawn_lines(shown):
    return [line for axes in shown.figure.axes for line in axes.lines]


def test_a_wave_is_drawn_sample_for_sample_in_milliseconds(tape):
    shown = wave_view(tape, 0.1, 0.11)
    times_ms, levels = drawn_lines(shown)[0].get_data()
    assert np.array_equal(levels, tape.samples[4410:4851])
    assert times_ms[0] == pytest.approx(100, abs=0.03) and times_ms[-1] == pytest.approx(110, abs=0.03)
    assert "each half-cycle 0.83 ms long, which makes 600 Hz" in shown.text


def test_a_stereo_wave_tells_its_sides_apart_by_more_than_colour(tape):
    both = kit.Sound(np.stack([tape.samples, -tape.samples], 1), tape.rate)
    lines = drawn_lines(wave_view(both, 0.1, 0.11))[:2]
    assert [line.get_label() for line in lines] == ["left", "right"]
    assert lines[0].get_linestyle() != lines[1].get_linestyle()


@pytest.mark.parametrize("span", [(0.2, 0.1), (0.1, 0.1), (0.0, 2.5), (0.1, 0.10001)])
def test_a_stretch_that_cannot_be_drawn_is_refused_in_one_line(tape, span):
    with pytest.raises(SettingError) as caught:
        wave_view(tape, *span)
    assert "\n" not in str(caught.value) and "got" in str(caught.value)


@pytest.mark.parametrize("byte", [0, 4, len(WORDS) - 1])
def test_a_byte_is_shown_with_its_letter_number_and_bits(tape, reading, byte):
    shown = byte_view(tape, reading, byte)
    bits = f"{WORDS[byte]:08b}"
    assert f"{chr(WORDS[byte])!r} = {WORDS[byte]} = {bits}" in shown.text
    assert f"Bits in order of time: {' '.join(bits)}." in shown.text
    labels = [text.get_text() for text in shown.figure.axes[0].texts]
    assert "".join(labels) == bits
    start_s, stop_s = reading.where(byte)
    assert f"{start_s:.4f} to {stop_s:.4f} s" in shown.text


def test_cycles_of_a_one_are_said_to_last_twice_as_long_as_those_of_a_zero(tape, reading):
    text = byte_view(tape, reading, 0).text
    bits = re.search(r"time: ([01 ]+)\.", text).group(1).split()
    lengths_ms = [float(length) for length in re.search(r"last ([\d. ]+) ms", text).group(1).split()]
    for bit, length_ms in zip(bits, lengths_ms, strict=True):
        assert length_ms == pytest.approx(1000 / 1200 if bit == "1" else 1000 / 2400, abs=0.02)


def test_start_parity_and_stop_bits_are_shown_where_a_format_has_them():
    sound = kit.encode(WORDS, format="framed", lead_in_s=0.5)
    text = byte_view(sound, kit.decode(sound), 0).text
    bits = re.search(r"time: ([01 ]+)\.", text).group(1).replace(" ", "")
    value = f"{WORDS[0]:08b}"[::-1]
    assert bits == f"0{value}{value.count('1') % 2}1"


def test_a_tape_recorded_backwards_is_shown_in_order_of_time(tape):
    backwards = kit.Sound(tape.samples[::-1], tape.rate)
    text = byte_view(backwards, kit.decode(backwards), 0).text
    bits = re.search(r"time: ([01 ]+)\.", text).group(1).replace(" ", "")
    assert bits == f"{WORDS[0]:08b}"[::-1]


def test_a_byte_that_is_not_there_is_refused_in_one_line(tape, reading):
    with pytest.raises(SettingError, match="byte must lie in 0 to 20"):
        byte_view(tape, reading, len(WORDS))


def test_the_whole_tape_is_shown_with_its_parts_in_order(tape, reading):
    shown = tape_view(tape, reading)
    names = re.findall(r"^(leader|header|data)", shown.text, re.MULTILINE)
    assert names == ["leader", "header", "leader", "data", "leader", "header"]
    assert "in doubt" not in shown.text
    labels = [text.get_text() for text in shown.figure.axes[0].texts]
    assert labels == names


def test_the_outline_of_a_tape_holds_its_highest_and_lowest_levels(worn):
    axes = tape_view(worn, kit.decode(worn)).figure.axes[1]
    high, low = (line.get_ydata() for line in axes.lines[:2])
    assert len(high) <= 900
    assert high.max() == worn.samples.max() and low.min() == worn.samples.min()
    assert np.all(high >= low)


def test_what_is_in_doubt_is_hatched_and_said_with_its_times(worn, reading):
    found = kit.decode(worn)
    shown = tape_view(worn, found)
    said = re.findall(r"in doubt: (\d+) bytes at ([\d.]+) to ([\d.]+) s", shown.text)
    scratch_s = sum(reading.blocks[1].span_s) / 2
    assert sum(int(count) for count, _, _ in said) == np.count_nonzero(found.blocks[1].doubtful) > 0
    assert float(said[0][1]) <= scratch_s + 0.005 and float(said[-1][2]) >= scratch_s + 0.025
    assert "data (damaged)" in shown.text
    bars = shown.figure.axes[0].collections
    assert bars and all(bar.get_hatch() for bar in bars)
    assert "in doubt" in [text.get_text() for text in shown.figure.axes[0].texts]


def test_a_tape_in_a_file_gives_the_same_picture_as_one_in_memory(tape, reading, tmp_path):
    kept = kit.Sound.read(tape.write(tmp_path / "log.wav", bits="float"))
    pair = (drawn_lines(tape_view(sound, reading)) for sound in (tape, kept))
    for one, other in zip(*pair, strict=True):
        assert np.array_equal(one.get_xydata(), other.get_xydata())


def test_a_recording_without_any_block_is_shown_and_says_so():
    noise = kit.Sound(0.1 * np.random.default_rng(5).standard_normal(20000), 44100)
    assert "No block was found." in tape_view(noise, kit.decode(noise)).text
    empty = kit.Sound(np.zeros(0), 44100)
    assert "No block was found." in tape_view(empty, kit.decode(empty)).text


def test_lengths_of_half_cycles_are_four_three_two_one(tape, reading):
    stop_s = reading.blocks[1].span_s[1]
    text = lengths_view(tape, 0.4, stop_s).text
    lengths_ms = [float(length) for length in re.findall(r"of about ([\d.]+) ms", text)]
    assert lengths_ms == pytest.approx([units * 500 / 2400 for units in (4, 3, 2, 1)], abs=0.01)
    counts = [int(count) for count in re.findall(r"^(\d+) of", text, re.MULTILINE)]
    assert counts[1] == 2 * 2 * 3  # two sync marks of three cycles


def test_lengths_in_noise_and_in_silence_are_shown_too():
    rng = np.random.default_rng(7)
    assert " ms" in lengths_view(kit.Sound(0.1 * rng.standard_normal(5000), 44100), 0, 0.1).text
    assert "0 of them" in lengths_view(kit.Sound(np.zeros(5000), 44100), 0, 0.1).text


@pytest.mark.parametrize("view", ["wave", "byte", "tape", "lengths"])
def test_every_picture_has_labelled_axes_with_units_and_its_text_as_alt(view, tape, reading):
    shown = {
        "wave": lambda: wave_view(tape, 0.1, 0.11),
        "byte": lambda: byte_view(tape, reading, 0),
        "tape": lambda: tape_view(tape, reading),
        "lengths": lambda: lengths_view(tape, 0.4, 0.8),
    }[view]()
    visible = [axes for axes in shown.figure.axes if axes.xaxis.label.get_text()]
    assert visible
    assert all(re.search("second|ms", axes.get_xlabel()) and axes.get_ylabel() for axes in visible)
    alt = re.search(r'alt="([^"]+)"', shown._repr_html_()).group(1)
    assert len(alt) > 40 and "\n" not in alt
    assert repr(shown) == shown.text


def test_text_is_escaped_before_it_becomes_part_of_a_page():
    figure, _ = blank_figure()
    shown = Shown(figure, '"><script>alert(1)</script>')
    assert "<script>" not in shown._repr_html_()


def test_a_picture_is_written_as_png(tmp_path):
    figure, _ = blank_figure()
    assert Shown(figure, "nothing").write(tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")
