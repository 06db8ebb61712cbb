"""The bench of cells: bits against Python's own, lengths by hand, and the claims of the lesson it belongs to."""

import numpy as np
import pytest

from kit.bench.cells import CELLS, CellsState, draw, find, sound
from kit.bench.model import Model
from kit.bench.scene import Level, Stretch, Words

SPEEDS = {"half": 0.5, "ordinary": 1, "double": 2, "quadruple": 4}


def figure(result, name):
    return dict(result.figures)[name]


def test_bits_stand_as_python_writes_them_most_significant_first():
    result = find(CellsState(words="Aé"))
    assert "".join(map(str, result.written)) == "".join(f"{byte:08b}" for byte in "Aé".encode())
    assert np.array_equal(result.read, result.written) and not result.wrong.any()


@pytest.mark.parametrize("speed", SPEEDS)
def test_a_zero_is_a_cycle_of_2400_hz_and_a_one_of_1200_hz_times_the_speed(speed):
    result = find(CellsState(speed=speed, rate_hz=48000))
    lengths_ms = np.diff(result.written_ms)
    hertz = np.where(result.written, 1200, 2400) * SPEEDS[speed]
    assert lengths_ms == pytest.approx(1000 / hertz)


def test_each_cell_has_three_edges_where_it_was_written():
    """Counted from the samples' signs, which shares nothing with the reader."""
    result = find(CellsState(rate_hz=48000))
    crossings_ms = np.flatnonzero(np.diff(np.sign(result.samples) >= 0)) / 48
    for start, stop in zip(result.written_ms[:-1], result.written_ms[1:], strict=True):
        near = result.edges_ms[(result.edges_ms > start - 0.01) & (result.edges_ms < stop + 0.01)]
        assert near == pytest.approx([start, (start + stop) / 2, stop], abs=1e-3)
        assert np.abs(crossings_ms[:, None] - near).min(axis=0).max() < 1 / 40


@pytest.mark.parametrize("volume", range(1, 101, 9))
def test_the_volume_changes_no_bit(volume):
    """What lesson 4 lets people predict, first half."""
    result = find(CellsState(volume_percent=volume))
    assert figure(result, "bits wrong") == "0 of 56" and "every bit is right" in result.text
    assert np.abs(result.samples).max() == pytest.approx(volume / 100, abs=1e-4)


def test_twice_the_sample_rate_is_as_many_bits_per_second_and_twice_the_file():
    """What lesson 4 lets people predict, second half: but for the 44 bytes a file begins with."""
    once, twice = find(CellsState(rate_hz=22050)), find(CellsState(rate_hz=44100))
    assert figure(once, "bits per second") == figure(twice, "bits per second")
    sizes = [int(figure(one, "file size").split()[0]) - 44 for one in (once, twice)]
    assert sizes[1] == pytest.approx(2 * sizes[0], abs=4)


def test_the_file_is_as_large_as_it_says(tmp_path):
    state = CellsState()
    result = find(state)
    path = sound(state, result).write(tmp_path / "wind.wav")
    assert figure(result, "file size") == f"{path.stat().st_size} bytes"


def test_too_few_samples_lose_edges_and_it_says_why():
    result = find(CellsState(speed="double", rate_hz=8000))
    assert result.wrong.any() and "edges fall between the samples" in result.text
    assert figure(result, "samples in the shortest half-cycle") == "0.8"
    scene = draw(CellsState(speed="double", rate_hz=8000), result)
    assert any(isinstance(item, Stretch) for item in scene.panes[2].items)


def test_no_text_is_said_to_be_none():
    result = find(CellsState(words=""))
    assert "type a text" in result.text and figure(result, "bits wrong") == "0 of 0"
    assert draw(CellsState(words=""), result).panes[0].title == "Nothing written"


def test_a_byte_past_the_end_is_the_last_one():
    state = CellsState(words="Wind", byte=24)
    assert draw(state, find(state)).panes[0].title == "Byte 4 of 4: “d” = 100 = 01100100"


@pytest.mark.parametrize("byte", [1, 3, 7])
def test_solid_lines_mark_where_the_byte_begins_and_ends_and_its_eight_bits_stand_between_them(byte):
    state = CellsState(words="Wind W5", byte=byte)
    scene = draw(state, find(state))
    for pane in scene.panes:
        first, last = [item.at for item in pane.items if isinstance(item, Level) and item.upright]
        assert pane.x_span[0] < first < last < pane.x_span[1]
    (words,) = [item for item in scene.panes[0].items if isinstance(item, Words)]
    between = "".join(bit for bit, x in zip(words.texts, words.x, strict=True) if first < x < last)
    assert between == f"{b'Wind W5'[byte - 1]:08b}"
    assert f"from {first:.2f} to {last:.2f} ms: solid lines mark where it begins and ends" in scene.text


def test_a_byte_that_is_longer_than_the_picture_is_said_to_end_beyond_it():
    state = CellsState(words="Wind W5", byte=2, speed="half")
    scene = draw(state, find(state))
    assert sum(isinstance(item, Level) for item in scene.panes[0].items) == 1
    assert "it ends beyond the picture" in scene.text


def test_without_a_byte_there_is_no_line_that_would_end_one():
    state = CellsState(words="")
    scene = draw(state, find(state))
    assert not any(isinstance(item, Level) for pane in scene.panes for item in pane.items)
    assert "solid" not in scene.text


def test_letters_that_cannot_be_shown_are_dots():
    assert "reads “·W·”" in find(CellsState(words="\x07W\u202e")).text


def test_what_changed_names_the_text_and_the_figures():
    model = Model(CELLS)
    model.change(speed="double")
    assert "speed from ordinary to double" in model.outcome.changed
    assert "bits per second from 1619 to 3239" in model.outcome.changed
