"""Pictures of recorders: they draw what the text says, with units, and more than colour tells lines apart."""

import numpy as np
import pytest

from kit.deck import Deck, decks
from kit.meters import speed_trace
from kit.pictures import before_after_view, response_view, speed_view
from kit.sound import Sound

RATE = 44100


def tone(seconds, hz=3150.0, level=0.5):
    return Sound(level * np.sin(2 * np.pi * hz * np.arange(round(seconds * RATE)) / RATE), RATE)


def shown_pictures():
    played = Deck(replay_wow_percent=0.2, replay_speed_percent=1).play(tone(8))
    return {"response": response_view(decks), "speed": speed_view(speed_trace(played)),
            "wave": before_after_view(tone(1, RATE / 40), tone(1, RATE / 40, 0.25), 0.1, 0.11)}


@pytest.fixture(scope="module")
def pictures():
    return shown_pictures()


@pytest.mark.parametrize("name", ["response", "speed", "wave"])
def test_axes_are_labelled_with_units_and_lines_differ_in_more_than_colour(pictures, name):
    figure = pictures[name].figure
    labels = [label for axes in figure.axes for label in (axes.get_xlabel(), axes.get_ylabel()) if label]
    assert len(labels) >= 2
    assert all(any(unit in label for unit in ("Hz", "dB", "second", "%", "full scale")) for label in labels)
    lines = [line for axes in figure.axes for line in axes.get_lines() if line.get_label()[0] != "_"]
    styles = [(line.get_linestyle(), tuple(line._dash_pattern[1] or ())) for line in lines]
    assert len(set(styles)) == len(lines) >= 2


@pytest.mark.parametrize("name", ["response", "speed", "wave"])
def test_a_picture_can_be_written_and_has_words(pictures, name, tmp_path):
    shown = pictures[name]
    assert shown.write(tmp_path / "picture.png").stat().st_size > 5000
    assert 40 < len(shown.text) < 800 and shown.text.endswith(".")


def test_the_response_drawn_is_the_response_said(pictures):
    line = pictures["response"].figure.axes[0].get_lines()[list(decks).index("portable")]
    drawn = np.interp(9600, line.get_xdata(), line.get_ydata())
    assert drawn == pytest.approx(decks["portable"].response(9600), abs=0.05)
    low = decks["portable"].response(1200)
    assert f"portable {low:+.1f} dB at 1200 Hz, {drawn:+.1f} dB at 9600 Hz" in pictures["response"].text


def test_the_speed_drawn_swings_as_set_round_the_mean_said(pictures):
    line = pictures["speed"].figure.axes[0].get_lines()[0]
    assert np.mean(line.get_ydata()) == pytest.approx(1, abs=0.02)
    assert np.ptp(line.get_ydata()) == pytest.approx(0.4, abs=0.05)
    assert "+1.00 % off speed" in pictures["speed"].text


def test_both_waves_are_drawn_at_one_scale_and_their_peaks_are_said(pictures):
    above, below = pictures["wave"].figure.axes
    assert above.get_ylim() == below.get_ylim()
    assert "peaks at 0.500 of full scale before and at 0.250 after" in pictures["wave"].text
