"""What a report says: figures or reasons, one machine or two, cautions, and names that are only text."""

import html.parser
import json
import re
from functools import cache

import numpy as np
import pytest
from testtape_cases import the_tape

import kit
from kit.deck import Deck
from kit.shown import Shown
from kit.sound import Sound
from kit.testtape.advice import Advice
from kit.testtape.figures import Figure, spelt_out
from kit.testtape.words import rows

ASKEW = Deck(hiss_dbfs=-50, replay_speed_percent=2.5, replay_azimuth_arcmin=14, track_mm=0.6)


@cache
def elsewhere():
    """A tape made on a machine that is right, played on one that is fast and whose head is askew."""
    return kit.measure(Deck().play(the_tape(), on=ASKEW), recorded_elsewhere=True)


@cache
def one_machine():
    """Both passes on a machine with the same errors in either."""
    both = ASKEW.with_settings(record_speed_percent=2.5, record_azimuth_arcmin=14)
    return kit.measure(both.play(the_tape()))


@cache
def beginning():
    """A recording that ends after 47 s, within the quietest stairs."""
    return kit.measure(Deck(hiss_dbfs=-50).play(the_tape()).part(0, 47))


@cache
def amiss():
    """All sorts of things wrong at once: quiet, noisy, dull, uneven, one side gone; the end cut off."""
    deck = Deck(hiss_dbfs=-68, source_level_db=-35, replay_spacing_um=4, replay_wow_percent=1,
                source_wiring="left-dead", replay_speed_percent=-2)  # fmt: skip
    return kit.measure(deck.play(the_tape()).part(0, 110))


# -- which passes ----------------------------------------------------------------------------------------


def test_on_one_machine_steady_errors_cancel_and_it_says_that_they_cannot_be_known():
    report = one_machine()
    assert report.speeds.difference.value == pytest.approx(0, abs=0.01)
    for figure in (report.absolute_speed, report.azimuth):
        assert not figure.known
        assert "cannot be known from this recording" in figure.words()
    assert "taken to be on one machine" in str(report) and "of both add up" in str(report)


def test_recorded_elsewhere_tells_speed_and_azimuth_of_this_machine():
    report = elsewhere()
    assert report.absolute_speed.value == pytest.approx(2.5, abs=0.05)
    assert report.azimuth.value == pytest.approx(14, abs=1)
    assert "as right as the machine that recorded the tape" in str(report)
    assert "one machine" not in report.absolute_speed.words()


def test_speeds_that_differ_on_one_machine_are_pointed_out():
    report = kit.measure(Deck().play(the_tape(), on=Deck(replay_speed_percent=1)))
    (advice,) = [a for a in report.advice if "differ" in a.finding]
    assert "--recorded-elsewhere" in advice.action and advice.caution


# -- figures or reasons ----------------------------------------------------------------------------------


def test_of_a_cut_recording_it_reports_what_was_there():
    report = beginning()
    assert not report.complete
    assert report.parts == {"tones": "cut", "quiet part": "whole", "level stairs": "cut", "wiring tones": "missing",
                            "frequency steps": "missing", "speed ladder": "missing"}  # fmt: skip
    assert report.speeds.wow_and_flutter.known and report.noise.level[0].value == pytest.approx(-50, abs=1)
    assert report.wiring.name == "unknown"
    for figure in (report.fastest, report.advised, report.levels.loads_from):
        assert "not in the recording" in figure.words()
    assert any("record all of it" in advice.action for advice in report.advice)
    assert "not all of the tape is in it" in str(report)


def every_figure(value):
    """All figures in a report's JSON."""
    if isinstance(value, dict):
        if {"value", "unit", "unknown"} <= set(value):
            yield value
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from every_figure(item)


@pytest.mark.parametrize("report", [elsewhere, one_machine, beginning, amiss])
def test_each_figure_has_either_a_value_or_a_reason_and_lies_in_its_interval(report):
    figures = list(every_figure(report().as_json()))
    assert len(figures) > 40
    for figure in figures:
        assert (figure["value"] is None) == bool(figure["unknown"])
        assert figure["unit"]
        if figure["low"] is not None:
            assert figure["low"] <= figure["value"] <= figure["high"]


@pytest.mark.parametrize("report", [elsewhere, one_machine, beginning, amiss])
def test_json_is_whole_and_strict(report):
    text = json.dumps(report().as_json(), allow_nan=False)
    assert json.loads(text) == report().as_json()


# -- cautions --------------------------------------------------------------------------------------------

HANDS = re.compile(r"\b(lead|plug|plugs|level|volume|record|cassette|batteries|head|heads|input|louder|wind)\b")


@pytest.mark.parametrize("report", [elsewhere, one_machine, beginning, amiss])
def test_each_advice_that_touches_hardware_carries_its_caution(report):
    """Volume down, headphones off; never join a loudspeaker output to an input."""
    assert report().advice
    for advice in report().advice:
        if HANDS.search(advice.action) and "it does no harm" not in advice.action:
            assert "volume down" in advice.caution and "headphones off" in advice.caution, advice
        if re.search(r"\b(lead|plugs?|input)\b", advice.action):
            assert "never join a loudspeaker or power amplifier output to an input" in advice.caution
        if "clean" in advice.action or "setting a head" in advice.action:
            assert "plug or batteries out" in advice.caution and "qualified" in advice.caution


def test_what_is_amiss_is_named_with_what_to_do():
    said = " ".join(map(str, amiss().advice))
    for words in ("not all of the tape is there", "the left side does not arrive", "which is quiet",
                  "above the noise", "treble is lost", "wow and flutter are high", "differ by -2"):  # fmt: skip
        assert words in said, words


def test_a_side_that_is_not_heard_has_no_signal_to_noise():
    left, right = amiss().signal_to_noise
    assert not left.known and "not heard on this side" in left.words()
    spacing_db = 54.575 * 4 / (47_625 / 600)  # of the leader's 600 Hz (Wallace, 1951)
    assert right.value == pytest.approx(-7 - 35 - spacing_db + 68, abs=1)


def test_treble_that_noise_hides_is_not_called_lost():
    report = kit.measure(Deck(hiss_dbfs=-20).play(the_tape()))
    (reach,) = {response.passes_to().note for response in report.response.values()}
    assert "too near to the noise" in reach
    assert not any("treble" in advice.finding for advice in report.advice)


def test_full_scale_brings_the_figures_of_line_and_microphone():
    """Line level 0.316 V, a microphone 50 to 60 dB below (common practice)."""
    report = kit.measure(Deck(replay_gain_db=9, output_clip_dbfs=0).play(the_tape()))
    (advice,) = [a for a in report.advice if "full scale" in a.finding]
    assert "0.32 V" in advice.action and "50 to 60 dB less" in advice.action and "never join" in advice.caution


def test_a_report_ends_with_the_caution_for_the_ears():
    for text in (str(one_machine()), one_machine()._repr_html_()):
        assert "volume down and headphones off before you play it again" in text


def test_an_advice_without_hardware_needs_no_caution():
    assert str(Advice("a", "b")) == "a: b" and str(Advice("a", "b", "c")) == "a: b (c)"


# -- names are text --------------------------------------------------------------------------------------

HOSTILE = "<script>alert(1)</script>&amp; \"quoted\" $\\frac{1}{0$ \x1b[2J\u202etxt.wav"


class Tags(html.parser.HTMLParser):
    """Collects what a browser would take for tags, and the text between them."""

    def __init__(self):
        super().__init__()
        self.tags, self.text = set(), ""

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        assert not any(name.startswith("on") for name, _ in attrs)

    def handle_data(self, data):
        self.text += data


def hostile_report():
    import dataclasses

    return dataclasses.replace(one_machine(), recording=spelt_out(HOSTILE))


def test_a_hostile_name_appears_as_text_in_a_notebook():
    tags = Tags()
    tags.feed(hostile_report()._repr_html_())
    assert tags.tags <= {"table", "caption", "thead", "tbody", "tr", "th", "td", "ul", "li", "p"}
    assert spelt_out(HOSTILE) in tags.text
    assert "\x1b" not in tags.text and "\u202e" not in tags.text


def test_a_hostile_name_is_drawn_as_text(tmp_path):
    """Dollar signs would be taken for mathematics, and fail."""
    shown = hostile_report().picture()
    assert isinstance(shown, Shown)
    path = shown.write(tmp_path / "page.png")
    assert path.read_bytes().startswith(b"\x89PNG")
    assert any(spelt_out("<script>") in text.get_text() for text in shown.figure.texts)


def test_a_name_off_a_disk_is_spelt_out_when_measured(tmp_path):
    place = tmp_path / "a<b>\u202e$x$.flac"
    the_tape().part(0, 60).write(place)
    report = kit.measure(str(place))
    assert "\\u202e$x$.flac" in report.recording and "\u202e" not in str(report)
    assert "&lt;b&gt;" in report._repr_html_()


# -- on a page -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("report", [elsewhere, beginning, amiss])
def test_a_page_has_its_text_beside_it_and_fits(report, tmp_path):
    """All words lie on the page, above the pictures."""
    shown = report().picture()
    assert shown.text == str(report())
    shown.write(tmp_path / "page.pdf")
    assert (tmp_path / "page.pdf").read_bytes().startswith(b"%PDF")
    page = shown.figure.get_window_extent()
    drawn = shown.figure.canvas.get_renderer() if hasattr(shown.figure.canvas, "get_renderer") else None
    for text in shown.figure.texts:
        box = text.get_window_extent(drawn)
        assert page.x0 <= box.x0 and box.x1 <= page.x1 and box.y1 <= page.y1
        assert box.y0 > max(axes.get_window_extent(drawn).y1 for axes in shown.figure.axes)


def test_two_pages_of_one_report_are_the_same_file(tmp_path):
    first, second = (one_machine().picture().pdf() for _ in range(2))
    assert first == second


# -- small things ----------------------------------------------------------------------------------------


def test_every_figure_of_the_table_has_words():
    for what, figure, note in rows(elsewhere()):
        assert what and figure and isinstance(note, str)
        assert "nan" not in figure.lower() and "inf" not in figure.lower() and "None" not in figure + note


def test_nothing_goes_below_zero_by_rounding():
    assert Figure(-1e-9, "%", -1e-9, 1e-9).words(2, sign=True) == "+0.00 % (+0.00 to +0.00)"


def test_progress_is_told_and_ends_with_all():
    told = []
    kit.measure(the_tape(), progress=told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) >= 5


def test_two_measurements_of_one_recording_are_equal():
    recording = Sound(the_tape().samples + 1e-3 * np.float32(np.sin(np.arange(the_tape().frames)))[:, None], 44100)
    assert kit.measure(recording).as_json() == kit.measure(recording).as_json()
