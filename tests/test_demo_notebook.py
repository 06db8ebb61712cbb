"""The notebook of the demonstration: one cell is one scene, and every cell runs, also twice."""

import re

import pytest
from lessonpages import (
    LESSONS,
    html_of,
    outputs_of,
    prose,
    run_twice,
    sources,
    stored,
    stored_clean,
    text_of,
)
from PIL import Image

from kit import demo

NOTEBOOK = LESSONS / "demo.ipynb"
NAMES = list(demo.SCENES)


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """Run once with every cell doubled, away from the folder of the fallbacks, with no network."""
    return run_twice(NOTEBOOK, tmp_path_factory.mktemp("demo"))


def test_the_notebook_is_valid_and_stored_without_results():
    assert stored_clean(NOTEBOOK)


def test_one_cell_is_one_scene_and_scenes_follow_one_another_with_nothing_between():
    cells = stored(NOTEBOOK).cells
    scenes = [k for k, cell in enumerate(cells) if re.fullmatch(r"demo\.\w+\(\)", cell.source)]
    assert [cells[k].source for k in scenes] == [f"demo.{name}()" for name in NAMES]
    assert scenes == list(range(scenes[0], scenes[0] + len(NAMES)))
    assert cells[scenes[0] - 1].source == "from kit import demo\n\ndemo.reset()"
    assert sources(stored(NOTEBOOK), "code")[0] == "from kit import demo\n\ndemo.preflight()"


def test_it_tells_what_to_do_when_something_goes_wrong_and_what_to_take_care_of():
    notebook = stored(NOTEBOOK)
    text = prose(notebook)
    heads = re.findall(r"^(#+) (.*)$", text, re.MULTILINE)
    assert [len(mark) for mark, _ in heads] == [1, 2, 2, 2]
    for words in ("kernel dies", "does not come back", "no sound comes", "volume down", "flickers", "simulated"):
        assert words in text
    assert "me.predict" not in "".join(sources(notebook, "code"))  # nothing is locked here


def test_every_cell_runs_twice_and_shows_the_same_both_times(ran):
    notebook, folder = ran
    cells = [cell for cell in notebook.cells[1:] if cell.cell_type == "code"]
    pairs = list(zip(cells[::2], cells[1::2], strict=True))
    assert len(pairs) == 2 + len(NAMES)
    for first, again in pairs:
        assert first.source == again.source and first.outputs
        if "preflight" not in first.source:  # which tells times
            assert [each["data"] for each in first.outputs] == [each["data"] for each in again.outputs]
    assert list(folder.iterdir()) == []


def test_the_notebook_shows_what_the_scenes_show_and_finds_its_fallbacks(ran):
    """What a picture says of itself is what its scene says, as test_demo.py has it."""
    notebook, _ = ran
    for name in NAMES:
        with Image.open(demo.fallback(name).picture) as picture:
            assert text_of(notebook).count(picture.info["Description"]) == 2
    assert text_of(notebook).count("fallback ready") == 2 * len(NAMES)
    assert html_of(notebook).count("<audio") == 2 * (1 + len(NAMES)) and "autoplay" not in html_of(notebook)
    assert all(output.output_type == "execute_result" for output in outputs_of(notebook))
