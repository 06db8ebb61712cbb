"""The benches' foundation, without a browser: fields, models, scenes, the gallery and the still picture."""

import html
import re
import subprocess
import sys
import threading
from dataclasses import FrozenInstanceError, dataclass

import nbconvert
import nbformat
import numpy as np
import pytest
from nbclient import NotebookClient

import kit
from kit.bench import gallery
from kit.bench.fields import State, choice, fields_of, number, switch, text
from kit.bench.model import Experiment, Model, Result
from kit.bench.scene import Level, Line, Marks, Pane, Scene, Stretch, Tiles, Words
from kit.errors import SettingError
from kit.shown import Shown, blank_figure

HOSTILE = "<img src=x onerror=alert(1)> $\\frac{1}{2}$ & \"quotes\""


@dataclass(frozen=True)
class Tape(State):
    level_db: float = number(-6, -40, 0, 2, "dB", "Level")
    cutoff_hz: float = number(1000, 100, 10000, 20, "Hz", "Cut-off", log=True)
    rate_hz: int = choice(44100, (22050, 44100), "Rate", unit="Hz")
    inverted: bool = switch(False, "Upside down")
    words: str = text("Wind", 60, "Text")


def find(state):
    return Result(f"It says {state.words}.", (("letters", str(len(state.words))),))


def draw(state, result):
    items = (Line([0, 1, 2], [0.0, 0.5, state.level_db], "wave"), Marks([1], [0], "edges", symbol="x"),
             Level(0.2, state.words), Level(1.0, "here", upright=True), Stretch(0, 1, state.words),
             Words([0.5], (state.words,)), Tiles([0, 1], [0, 0], name=state.words, hatch="x", letter="A"),
             Tiles([0.5], [0.5], shades=[0.3]))
    return Scene((Pane((0, 2), (-1, 1), "time in ms", "level", items, title=state.words),), result.text)


TRY = Experiment("try", "Try", "What happens?", Tape, find, draw)


@pytest.fixture
def model():
    return Model(TRY)


@pytest.fixture(autouse=True)
def nothing_left_over(monkeypatch):
    monkeypatch.setattr(gallery, "_left_at", {})
    monkeypatch.setitem(gallery.EXPERIMENTS, "try", TRY)


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


def count_to_the_level(state):
    """Long work, a step for each dB."""
    for step in range(-40, int(state.level_db)):
        yield (step + 40) / 40
    return Result(f"It went to {state.level_db}.", (("level", str(state.level_db)),))


LONG = Experiment("long", "Long", "How long?", Tape, count_to_the_level, draw)


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


# -- gallery --------------------------------------------------------------------------------------------


def test_the_kit_brings_in_the_benches_only_when_asked_for():
    code = ("import sys, kit; assert 'kit.bench' not in sys.modules; assert 'bench' in dir(kit)\n"
            "kit.bench.names(); assert 'kit.bench' in sys.modules\n"
            "kit.bench.open_model('harmonics').change(sines=5)\n"
            "sys.exit(', '.join({'anywidget', 'ipywidgets', 'matplotlib'} & set(sys.modules)) or 0)")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_a_bench_opened_again_goes_on_where_it_was_left():
    gallery.open_model("try", words="Gulls").change(level_db=-20)
    assert gallery.open_model("try", words="Gulls").state == Tape(words="Gulls", level_db=-20)
    assert gallery.open_model("try").state == Tape()


def test_reset_clears_what_was_kept():
    model = gallery.open_model("try", words="Gulls")
    model.change(level_db=-20)
    gallery.open_model("try", words="Gulls").reset()
    assert gallery.open_model("try", words="Gulls").state == Tape(words="Gulls")


@pytest.mark.parametrize(("name", "settings"), [("tyr", {}), ("try", {"loud": 1}), ("try", {"level_db": 5})])
def test_the_gallery_refuses_what_it_does_not_know_in_one_line(name, settings):
    with pytest.raises(SettingError, match="got"):
        kit.bench.open(name, **settings)


@pytest.mark.parametrize("name", list(gallery.EXPERIMENTS))
def test_every_experiment_asks_answers_draws_and_can_be_moved_to_its_ends(name):
    """Each control at each end gives a text, figures and a picture whose numbers are all finite."""
    model = gallery.open_model(name)
    experiment = model.experiment
    assert experiment.name == name and experiment.question.endswith("?") and experiment.title
    for field in fields_of(model.state):
        for value in (field.values[0], field.values[-1]) if field.values else ("", "Ä" * (field.most // 2)):
            model.reset()
            model.change(**{field.name: value})
            scene = experiment.draw(model.state, model.result)
            assert len(model.result.text) > 40 and model.result.figures and len(scene.text) > 40
            if not isinstance(scene, Shown):
                assert np.isfinite(np.frombuffer(scene.packed()[1], "<f4")).all()


@pytest.mark.parametrize("name", list(gallery.EXPERIMENTS))
def test_every_experiment_is_a_pure_function_of_its_state(name):
    experiment = gallery.EXPERIMENTS[name]
    one, two = Model(experiment).result, Model(experiment).result
    assert one.text == two.text and one.figures == two.figures
    assert experiment.draw(experiment.state(), one).packed() == experiment.draw(experiment.state(), two).packed()


# -- frame ----------------------------------------------------------------------------------------------


def test_the_view_links_and_does_nothing_else():
    """A position from the page moves the model; a change of the model reaches the page, whole."""
    bench = kit.bench.open("try")
    frame, seq = bench.frame, bench.frame.seq
    frame.values = {**frame.values, "level_db": 0}
    assert bench.model.state.level_db == -40 and frame.seq > seq
    bench.model.change(words="Gulls")
    assert frame.values["words"] == "Gulls" and frame.text == "It says Gulls." == frame.alt
    assert frame.changed.startswith("You changed text")
    frame.values = {**frame.values, "words": "x" * 99}
    assert frame.text.startswith("Not taken: ") and frame.values["words"] == "Gulls"
    bench._told(frame, {"kind": "reset"}, [])
    assert frame.values["words"] == "Wind" and frame.changed == "" and frame.text == "It says Wind."


def test_of_long_work_asked_for_meanwhile_only_the_latest_is_done():
    """The first task holds until the third is asked for; the page hears of progress, and of the last result."""
    from kit.bench.frame import Bench

    going, may_go_on, asked = threading.Event(), threading.Event(), []

    def find(state):
        asked.append(state.level_db)
        if state.level_db == -20:
            going.set()
            yield 0.5
            may_go_on.wait(30)
        yield 0.9
        return Result(f"It went to {state.level_db}.", (("level", str(state.level_db)),))

    bench = Bench(Model(Experiment("long", "Long", "How long?", Tape, find, draw)))
    frame = bench.frame
    frame.values = {**frame.values, "level_db": 10}
    assert going.wait(30)
    frame.values = {**frame.values, "level_db": 11}
    frame.values = {**frame.values, "level_db": 12}
    may_go_on.set()
    bench._worker.wait(30)
    assert asked == [-6, -20, -16] and frame.text == "It went to -16." and frame.progress == 1


def test_messages_the_page_does_not_send_are_passed_over():
    bench = kit.bench.open("try")
    for message in (None, "reset", {}, {"kind": "delete"}, {"kind": ["reset"]}, {"kind": "pick"},
                    {"kind": "pick", "pane": "1", "x": "far"}, {"kind": "pick", "pane": 0, "x": 1, "y": None}):
        bench._told(bench.frame, message, [])
    assert bench.model.state == Tape()


def test_a_bench_has_a_still_picture_and_text_where_widgets_cannot_run():
    bundle = kit.bench.open("try", words="Gulls")._repr_mimebundle_()
    assert bundle["application/vnd.jupyter.widget-view+json"]["model_id"]
    page = bundle["text/html"]
    assert 'alt="It says Gulls."' in page and "What happens?" in page and "Text: “Gulls”" in page
    assert "It says Gulls." in bundle["text/plain"]


def test_a_page_made_of_a_notebook_has_picture_and_text_with_or_without_the_state_of_widgets(tmp_path):
    """With it nbconvert puts in a widget that only a network brings to life; the still picture stands beside it."""
    cells = [nbformat.v4.new_code_cell("import kit\nkit.bench.open('cells')")]
    notebook = nbformat.v4.new_notebook(cells=cells)
    NotebookClient(notebook, timeout=120, resources={"metadata": {"path": str(tmp_path)}}).execute()
    assert "widgets" in notebook.metadata
    for _ in range(2):
        page, _ = nbconvert.HTMLExporter().from_notebook_node(notebook)
        (alt,) = re.findall(r'<img alt="([^"]+)" src="data:image/png', page)
        assert "Byte 1 of 7" in alt and "every bit is right" in page
        notebook.metadata.pop("widgets", None)


def test_hostile_text_is_text_in_every_rich_output():
    bench = kit.bench.open("try", words=HOSTILE)
    page = bench._repr_mimebundle_()["text/html"]
    assert "<img src=x" not in page and html.escape(HOSTILE) in page
    assert page.count("<img") == 1
    assert HOSTILE in bench.frame.text  # the page puts it in as text: tests/browser says so of the real one


def test_the_script_of_the_page_never_makes_markup_of_what_it_is_given():
    from kit.bench.frame import SCRIPT

    for way in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(", "Function(", "http"):
        assert way not in SCRIPT, way
    assert "autoplay" not in SCRIPT


def test_a_real_figure_goes_to_the_page_as_an_image_with_its_text():
    figure, (axes,) = blank_figure()
    axes.plot([0, 1], [0, 1])
    experiment = Experiment("real", "Real", "Which?", Tape, find, lambda state, result: Shown(figure, "A line."))
    from kit.bench.frame import Bench

    bench = Bench(Model(experiment))
    assert bench.frame.png.startswith(b"\x89PNG") and bench.frame.alt == "A line." and not bench.frame.numbers


def test_listen_plays_quietly_only_when_asked_and_what_is_played_is_what_is_shown():
    bench = kit.bench.open("harmonics")
    assert bench.frame.wav == b""
    bench._told(bench.frame, {"kind": "listen"}, [])
    wave = np.frombuffer(bench.frame.wav[44:], "<i2") / 32767
    assert 0.05 < np.abs(wave).max() <= 0.1001 and "peak 0.10" in bench.frame.heard
    bench.model.change(sines=1)
    assert bench.frame.wav == b""
