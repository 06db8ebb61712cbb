"""The benches' foundation, without a browser: fields, models and scenes."""

from dataclasses import FrozenInstanceError

import numpy as np
import pytest
from bench_cases import LONG, TRY, Tape, draw, fresh_gallery

from kit.bench import gallery
from kit.bench.fields import fields_of
from kit.bench.model import Model
from kit.bench.scene import Line, Marks, Stretch, Tiles
from kit.errors import SettingError


@pytest.fixture
def model():
    return Model(TRY)


@pytest.fixture(autouse=True)
def nothing_left_over(monkeypatch):
    fresh_gallery(monkeypatch)


# -- fields ---------------------------------------------------------------------------------------------


def test_every_position_of_every_field_leads_to_a_value_and_back():
    for field in fields_of(Tape):
        for position, value in enumerate(field.values):
            assert field.position(field.at(position)) == position and field.at(position) == value
        assert len(field.words) == len(field.values)


def test_steps_are_even_or_by_equal_parts_and_hold_both_ends():
    level, cutoff = fields_of(Tape)[:2]
    assert level.values == tuple(range(-40, 1, 2)) and level.words[0] == "−40 dB"
    assert cutoff.values[0] == 100 and cutoff.values[-1] == 10000 and len(cutoff.values) == 21
    ratios = np.divide(cutoff.values[1:], cutoff.values[:-1])
    assert ratios.min() > 1.2 and ratios.max() < 1.32  # 100 ** (1 / 20) = 1.259, rounded to two digits


def test_a_number_between_two_steps_is_taken_to_the_nearest():
    assert Tape(level_db=-7.2).level_db == -8 and Tape(level_db=-6.9).level_db == -6


@pytest.mark.parametrize("wrong", [
    {"level_db": 1}, {"level_db": "loud"}, {"level_db": float("nan")}, {"level_db": True}, {"rate_hz": 8000},
    {"inverted": 1}, {"words": "x" * 61}, {"words": b"Wind"},
    {"words": "Wind\ud800"}])
def test_a_state_refuses_what_is_out_of_range_in_one_line(wrong):
    with pytest.raises(SettingError) as refusal:
        Tape(**wrong)
    message = str(refusal.value)
    assert next(iter(wrong)) in message and "got" in message and "\n" not in message and len(message) < 160


def test_a_state_cannot_be_changed_behind_the_models_back(model):
    with pytest.raises(FrozenInstanceError):
        model.state.level_db = 0


# -- model ----------------------------------------------------------------------------------------------


def test_a_change_brings_a_new_result_and_says_what_changed(model):
    model.change(words="Wind west", level_db=-8)
    assert model.result.text == "It says Wind west."
    assert model.outcome.changed == ("You changed level from −6 dB to −8 dB and text from “Wind” to “Wind west”. "
                                     "Then: letters from 4 to 9.")


def test_a_change_that_moves_no_figure_says_so(model):
    model.change(level_db=-8)
    assert model.outcome.changed == "You changed level from −6 dB to −8 dB. Then: no figure moved."


def test_the_steps_of_one_movement_count_as_one_change(model):
    for level in (-8, -10, -12):
        model.change(gesture=7, level_db=level)
    assert "from −6 dB to −12 dB" in model.outcome.changed
    model.change(gesture=7, words="Gulls")
    assert model.outcome.changed.startswith("You changed text from")
    model.change(gesture=8, level_db=-14)
    assert "from −12 dB to −14 dB" in model.outcome.changed


def test_reset_goes_back_to_the_start_and_forgets_the_last_change(model):
    before = model.outcome
    model.change(words="Gulls")
    model.reset()
    assert model.state == before.state and model.result.text == before.result.text
    assert model.outcome.changed == "" and model.refused == ""


def test_what_a_page_sends_wrongly_is_refused_in_one_line_and_changes_nothing(model):
    before = model.outcome
    for wrong in ({"level_db": 999}, {"level_db": "3"}, {"words": 5}, {"words": "x" * 61}, {"words": "\udfff"},
                  {"rate_hz": None}, 5):
        model.refused = ""
        model.move(wrong)
        assert model.refused.startswith("Not taken: ") and "\n" not in model.refused
        assert model.outcome is before
    model.move({"nobody": 3})
    assert model.refused == "" and model.outcome is before


def test_an_unknown_setting_is_refused_by_name(model):
    with pytest.raises(SettingError, match="got 'loudness'"):
        model.change(loudness=3)


def test_someone_who_observes_the_model_is_told_of_each_new_outcome(model):
    seen = []
    model.observe(lambda change: seen.append(change["new"].state.words), "outcome")
    model.change(words="Gulls")
    model.change(words="Gulls")
    model.reset()
    assert seen == ["Gulls", "Wind"]


def test_long_work_tells_how_far_it_is_and_ends_in_a_result():
    model = Model(LONG)
    parts = []
    model.observe(lambda change: parts.append(change["new"]), "progress")
    model.change(level_db=-30)
    assert model.result.text == "It went to -30."
    assert parts == [step / 40 for step in range(10)] + [1.0]


def test_long_work_that_is_stopped_leaves_the_last_whole_result():
    model = Model(LONG)
    model.observe(lambda change: model.stop() if 0.3 < change["new"] < 0.9 else None, "progress")
    before = model.outcome
    model.move({"level_db": 18})
    assert model.outcome is before and model.refused.startswith("Stopped") and model.progress == 1
    model.move({"level_db": 3})
    assert model.state.level_db == -34 and model.refused == ""


# -- scene ----------------------------------------------------------------------------------------------


def test_a_packed_scene_holds_every_number_once_and_says_where(model):
    plan, numbers = draw(model.state, model.result).packed()
    row = np.frombuffer(numbers, "<f4")
    (pane,) = plan["panes"]
    line, marks = pane["items"][:2]
    assert row[line["x"][0]:][:line["x"][1]].tolist() == [0, 1, 2]
    assert row[line["y"][0]:][:line["y"][1]].tolist() == [0, 0.5, -6]
    assert row[marks["x"][0]:][:marks["x"][1]].tolist() == [1]
    axes = ("x", "y", "shades")
    packed = [item[axis][1] for item in pane["items"] for axis in axes if isinstance(item.get(axis), list)]
    assert sum(packed) == len(row)


def test_nothing_in_a_picture_is_told_by_colour_alone():
    """Lines of one pane differ in dash or look, marks in symbol, tiles in hatching or letter; stretches too."""
    for name in ("harmonics", *[one for one in gallery.names() if one != "try"]):
        model = gallery.open_model(name)
        scene = model.experiment.draw(model.state, model.result)
        for pane in getattr(scene, "panes", ()):
            lines = [(item.dash, item.look) for item in pane.items if isinstance(item, Line)]
            symbols = [item.symbol for item in pane.items if isinstance(item, Marks)]
            assert len(set(lines)) == len(lines) and len(set(symbols)) == len(symbols), name
            tinted = [item for item in pane.items if isinstance(item, Tiles) and not len(item.shades)]
            looks = {(item.hatch, item.letter): item.colour for item in tinted}
            assert all(item.colour == looks[item.hatch, item.letter] for item in tinted), name
            assert all(item.hatch or item.label for item in pane.items if isinstance(item, Stretch)), name
