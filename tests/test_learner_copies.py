"""What learners have in notebooks: copies without solutions, refusals of one line, calls that can be stopped."""

import json
import re
from pathlib import Path

import pytest

import kit
from kit.errors import KitError, SettingError
from kit.exercises.answers import AnswerError
from kit.exercises.builds import DEMONSTRATION, INSTEAD, learner_copy, write_learner_copies


def test_a_refusal_shows_as_one_line_in_a_notebook():
    line = "x must be 1, got 2: take 1"
    assert SettingError(line)._render_traceback_() == [f"SettingError: {line}"]
    assert issubclass(AnswerError, KitError)


def test_learners_copies_differ_from_the_lessons_in_solutions_only(tmp_path):
    lessons = Path(__file__).parents[1] / "lessons"
    paths = write_learner_copies(lessons, tmp_path / "copies")
    pages = {path.name for path in lessons.iterdir() if path.is_file()}
    assert {path.name for path in paths} == pages - {DEMONSTRATION} != pages
    for source in sorted(set(lessons.glob("*.ipynb")) - {lessons / DEMONSTRATION}):
        whole = json.loads(source.read_text("utf-8"))
        made = json.loads((tmp_path / "copies" / source.name).read_text("utf-8"))
        assert made == learner_copy(whole)
        differing = [one for one, other in zip(whole["cells"], made["cells"], strict=True) if one != other]
        is_lesson = re.match(r"(?!00)\d\d-", source.name) is not None  # the others have nothing to solve
        assert bool(differing) == is_lesson
        assert all("solution" in cell["metadata"]["tags"] for cell in differing)
        assert all(cell["source"] == [INSTEAD] for cell in made["cells"]
                   if "solution" in cell["metadata"].get("tags", []))
        assert {**whole, "cells": 0} == {**made, "cells": 0}


def test_no_line_of_a_solution_is_left_in_a_learner_s_copy(tmp_path):
    """By the text of the file, not by its cells: what a solution alone says is nowhere."""
    lessons = Path(__file__).parents[1] / "lessons"
    write_learner_copies(lessons, tmp_path)
    for source in sorted(set(lessons.glob("*.ipynb")) - {lessons / DEMONSTRATION}):
        cells = json.loads(source.read_text("utf-8"))["cells"]
        made = (tmp_path / source.name).read_text("utf-8")
        for cell in cells:
            if "solution" in cell["metadata"].get("tags", []):
                assert "solved_" in "".join(cell["source"]) and "solved_" not in made


def test_pages_of_text_are_copied_as_they_are_and_what_is_somebody_s_own_is_not(tmp_path):
    lessons = tmp_path / "lessons"
    (lessons / "answers").mkdir(parents=True)
    (lessons / "answers" / "gull.json").write_text("{}")
    (lessons / "page.ipynb").write_text('{"cells": [], "metadata": {}}')
    (lessons / "words.md").write_bytes("M\xf6we\r\n".encode())
    (lessons / "tape.wav").write_bytes(b"RIFF")
    paths = write_learner_copies(lessons, tmp_path / "copies")
    assert {path.name for path in paths} == {path.name for path in (tmp_path / "copies").iterdir()} == {
        "page.ipynb", "words.md"}
    assert (tmp_path / "copies" / "words.md").read_bytes() == "M\xf6we\r\n".encode()


def test_where_copies_cannot_be_made_it_says_so_and_writes_nothing(tmp_path):
    lessons, empty = tmp_path / "lessons", tmp_path / "empty"
    lessons.mkdir(), empty.mkdir()
    (lessons / "a.ipynb").write_text('{"cells": [], "metadata": {}}')
    with pytest.raises(SettingError, match="name another"):
        write_learner_copies(lessons, lessons)
    for source in (empty, tmp_path / "none"):
        with pytest.raises(SettingError, match="name another"):
            write_learner_copies(source, tmp_path / "copies")
    for broken in ("[]", "{", '{"cells": [3]}', "\ud800"):
        (lessons / "b.ipynb").write_bytes(broken.encode("utf-8", "surrogatepass"))
        with pytest.raises(SettingError, match=r"b\.ipynb must be a notebook"):
            write_learner_copies(lessons, tmp_path / "copies")
    assert not (tmp_path / "copies").exists()


SLEEPY = """
import time
from kit.exercises import learner
me = learner("gull 7")
me.check("4m", lambda edges_s, short_s, long_s: time.sleep(600))
"""


def test_a_call_that_python_cannot_stop_says_how_to_interrupt_it_and_is_interrupted(tmp_path, monkeypatch):
    from jupyter_client.manager import start_new_kernel

    monkeypatch.setenv("PYTHONPATH", str(Path(kit.__file__).parents[1]))
    monkeypatch.setenv("IPYTHONDIR", str(tmp_path))
    manager, client = start_new_kernel(cwd=str(tmp_path))
    try:
        asked = client.execute(SLEEPY)
        shown = []
        while not (shown and shown[-1].get("execution_state") == "idle"):
            message = client.get_iopub_msg(timeout=60)
            if message["parent_header"].get("msg_id") != asked:
                continue  # the answer to the interruption itself, for one
            content = message["content"]
            shown.append(content)
            if "Interrupt Kernel" in content.get("data", {}).get("text/plain", ""):
                manager.interrupt_kernel()
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    said = [content["data"]["text/plain"] for content in shown if "data" in content]
    assert len(said) == 2 and "your answers are kept" in said[0]
    assert said[1].startswith("It was stopped from outside: ")
    assert not any("traceback" in content for content in shown)
