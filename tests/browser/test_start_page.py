"""The page to start with in a real JupyterLab: a word goes to Python and back, and links lead to the lessons."""

import re
import shutil
from pathlib import Path

import jupyterpage
import pytest

LESSONS = Path(__file__).parents[2] / "lessons"

pytestmark = pytest.mark.xdist_group("browser")


@pytest.fixture(scope="module")
def start(playwright, tmp_path_factory):
    """The page, opened beside the lessons, with all its cells run."""
    folder = tmp_path_factory.mktemp("start")
    for path in (*LESSONS.glob("*.ipynb"), LESSONS / "glossary.md"):
        shutil.copy(path, folder / path.name)
    with jupyterpage.lab_server(folder) as server, jupyterpage.chromium_page(playwright=playwright) as page:
        jupyterpage.open_and_run(page, server, "00-start-here.ipynb")
        page.locator("section.kitq").wait_for()
        page.locator("section[data-bench=harmonics]").wait_for()
        yield page


def test_a_word_that_is_sent_comes_back_from_python(start):
    question = start.locator("section.kitq")
    question.get_by_role("textbox", name=re.compile("Type a word")).fill("gulls")
    question.get_by_role("button", name="Send it").click()
    question.get_by_role("status").get_by_text("Python heard “gulls”: the way is open.").wait_for()


def test_all_is_found_to_work_and_nothing_plays_by_itself(start):
    start.get_by_text("All of these are as they should be.").wait_for()
    start.get_by_text("Sent and received are the same.").wait_for()
    sound = start.locator("audio")
    assert sound.count() == 1 and sound.evaluate("each => each.paused && !each.autoplay")


def test_a_link_of_the_map_opens_the_lesson_in_jupyterlab(start):
    start.locator("td a", has_text=re.compile("^1$")).click()
    start.get_by_role("heading", name="Save words as sound and get them back").wait_for()
