"""The workbench: a notebook with no code to write, which runs offline, every cell twice, with or without a tape."""

import itertools
import re
import time

import pytest
from lessonpages import (
    LESSONS,
    MOST_SECONDS,
    html_of,
    prose,
    run_twice,
    sources,
    stored,
    stored_clean,
    text_of,
)

import kit

WORKBENCH = LESSONS / "workbench.ipynb"
PARTS = ["Record, or open", "See it", "Hear it", "Read it", "Find out what is wrong", "Keep it"]


@pytest.fixture(scope="module")
def ran(tmp_path_factory):
    """Run once with every cell doubled, and nothing recorded; the notebook and the folder it ran in."""
    return run_twice(WORKBENCH, tmp_path_factory.mktemp("workbench"))


def test_the_workbench_is_valid_and_stored_without_results():
    assert stored_clean(WORKBENCH)


def test_its_title_says_what_one_does_and_its_parts_come_in_order():
    text = prose(stored(WORKBENCH))
    heads = re.findall(r"^(#+) (.*)$", text, re.MULTILINE)
    assert heads[0] == ("#", "Record or open a tape, see it, read it, find out what is wrong")
    levels = [len(mark) for mark, _ in heads]
    assert levels.count(1) == 1 and all(after - before <= 1 for before, after in itertools.pairwise(levels))
    places = [next(k for k, (_, head) in enumerate(heads) if head.startswith(part)) for part in PARTS]
    assert places == sorted(places)


def test_there_is_no_code_to_write_each_cell_is_one_call():
    """But for the first, which fetches the kit and shows the ear."""
    first, *others = sources(stored(WORKBENCH), "code")
    assert re.fullmatch(r"import kit\n(from kit\.\w+ import .*\n)+\near = kit\.live\.listen\(\)\near", first)
    for source in others:
        assert re.fullmatch(r"\w+\(ear\..*\)|ear\.\w+(\(\))?", source), source


def test_it_says_what_to_take_care_of():
    text = prose(stored(WORKBENCH))
    for words in ("volume down", "headphones off", "Never join a loudspeaker", "agree", "children",
                  "code name", "hub"):
        assert words in text


def test_run_without_a_tape_it_shows_a_practice_tape_from_end_to_end(ran):
    notebook, folder = ran
    text = text_of(notebook)
    assert "Taken: 3.5 s of practice tape" in text
    assert "log.txt: 114 bytes, damaged" in text and "in doubt, at 2.1" in text
    assert "Monday 0600. Wind wes" in text
    # The scratch lies in it: not every byte is shown as it was written.
    assert kit.live.practice.LOG not in text
    assert list(folder.iterdir()) == []  # nothing is kept unless one asks


def test_each_cell_ends_in_something_seen_or_heard_and_pictures_have_their_text(ran):
    notebook, _ = ran
    shows = [cell.get("outputs", []) for cell in notebook.cells[1:] if cell.cell_type == "code"]
    assert shows and all(shows)
    images = re.findall(r"<img[^>]*>", html_of(notebook))
    assert len(images) >= 6 and all(re.search(r'alt="[^"]{40,}"', image) for image in images)
    assert html_of(notebook).count("<audio") == 2 and "autoplay" not in html_of(notebook)


def test_every_call_works_on_a_tape_that_was_opened():
    """The notebook's own cells, on a good recording in the ear."""
    tape, scope = kit.encode(b"Wind south 2." * 20, name="log.txt", lead_in_s=1.0), {}
    first, *others = sources(stored(WORKBENCH), "code")
    exec(first, scope)
    scope["ear"].open(tape)
    began = time.monotonic()
    shown = [eval(source, scope) for source in others]
    assert any("log.txt, 260 bytes, whole" in repr(each) for each in shown)
    assert all(repr(each) for each in shown) and time.monotonic() - began < MOST_SECONDS
