"""The benches' gallery and frame, without a browser: what opens, what is shown where widgets cannot run."""

import html
import re
import subprocess
import sys
import threading

import nbconvert
import nbformat
import numpy as np
import pytest
from bench_cases import HOSTILE, TRY, Tape, draw, find, fresh_gallery
from nbclient import NotebookClient

import kit
from kit.bench import gallery
from kit.bench.fields import fields_of
from kit.bench.model import Experiment, Model, Result
from kit.errors import SettingError
from kit.shown import Shown, blank_figure


@pytest.fixture
def model():
    return Model(TRY)


@pytest.fixture(autouse=True)
def nothing_left_over(monkeypatch):
    fresh_gallery(monkeypatch)


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
