"""Lessons walked from end to end in a real JupyterLab, as learners do: also wrongly, and with a kernel that dies."""

import json
import re
import shutil
import sys
from pathlib import Path

import jupyterpage
import pytest

from kit.exercises import LESSONS

sys.path.insert(0, str(Path(__file__).parents[1]))
from lessonpages import page_of, stored

RUN_ALL = """async () => { await window.jupyterapp.commands.execute("notebook:run-all-cells"); }"""
RUN_CELL = """async ([number, source]) => {
  const { commands, shell } = window.jupyterapp;
  const { content } = shell.currentWidget;
  if (source) content.widgets[number].model.sharedModel.setSource(source);
  content.activeCellIndex = number;
  await commands.execute("notebook:run-cell");
}"""
DIE = """() => {
  const { kernel } = window.jupyterapp.shell.currentWidget.sessionContext.session;
  kernel.requestExecute({ code: "import os, signal; os.kill(os.getpid(), signal.SIGKILL)" });
}"""
# A usual mistake by its name, how a learner would write it, and what is right.
TASKS = {
    2: ("equal sizes", """
def build_square(f, k, t):
    return 4 / pi * sum(sin(2 * pi * n * f * t) for n in range(1, 2 * k, 2))
""", """
def build_square(f, k, t):
    return 4 / pi * sum(sin(2 * pi * n * f * t) / n for n in range(1, 2 * k, 2))
"""),
    4: ("inverted", """
def read_bits(edges_s, short_s, long_s):
    return [0 if b - a > (short_s + long_s) / 2 else 1 for a, b in zip(edges_s[:-2:2], edges_s[2::2])]
""", """
def read_bits(edges_s, short_s, long_s):
    return [1 if b - a > (short_s + long_s) / 2 else 0 for a, b in zip(edges_s[:-2:2], edges_s[2::2])]
"""),
    7: ("no remainder", """
def checksum(data):
    return sum(data)
""", """
def checksum(data):
    return sum(data) % 256
"""),
}


@pytest.fixture(scope="module")
def walks(playwright, tmp_path_factory):
    """A JupyterLab with the lessons in it, and a page."""
    folder = tmp_path_factory.mktemp("walks")
    for number in TASKS:
        shutil.copy(page_of(number), folder / f"{number}.ipynb")
    with jupyterpage.lab_server(folder) as server, jupyterpage.chromium_page(playwright=playwright) as page:
        page.folder, page.server = folder, server
        yield page


class Walk:
    """A lesson on the page, and where its cells are."""

    def __init__(self, page, number):
        self.page, self.number = page, number
        self.cells = stored(page_of(number)).cells
        jupyterpage.open_notebook(page, page.server, f"{number}.ipynb")

    def run_all(self):
        self.page.evaluate(RUN_ALL)

    def at(self, text):
        """Number of the first code cell with a text in it."""
        return next(k for k, cell in enumerate(self.cells) if cell.cell_type == "code" and text in cell.source)

    def run(self, text, more=""):
        """Run the cell with a text in it, with more behind it than there was if so wished; gives what it shows."""
        number = self.at(text)
        self.page.evaluate(RUN_CELL, [number, self.cells[number].source + more if more else ""])
        return self.shown(text)

    def shown(self, text):
        """The output of the cell with a text in it."""
        return self.page.locator(".jp-Cell").nth(self.at(text)).locator(".jp-Cell-outputWrapper")

    def kept(self):
        (path,) = (self.page.folder / "answers").iterdir()
        return json.loads(path.read_text("utf-8"))["items"]


@pytest.mark.parametrize("number", list(TASKS))
def test_a_lesson_is_walked_from_a_prediction_to_the_end_and_goes_on_after_its_kernel_died(walks, number):
    walk, key = Walk(walks, number), f"{number}a"
    task = LESSONS[number].items["m"]
    mistake, wrong, right = TASKS[number]
    (hint,) = [each.shows for each in task.mistakes if each.name == mistake]
    reveal = f'me.reveal("{key}"'
    walk.run_all()
    walk.shown(reveal).get_by_text("Predict first.").first.wait_for()
    _predict(walk, key)
    walk.run(reveal)
    walk.shown(reveal).get_by_text("Predict first.").wait_for(state="detached")
    _move(walk.shown(reveal).locator("section[data-bench]"))
    _say(walk, key)
    walk.run(f'me.explain("{key}"')
    told = LESSONS[number].items["a"]
    walk.shown(f'me.explain("{key}"').get_by_text(told.option("c").reply).first.wait_for()
    exercise, check = f"def {task.name}(", f'me.check("{number}m"'
    walk.run(exercise, wrong)
    walk.run(check)
    walk.shown(check).get_by_text(hint).first.wait_for()
    walk.run(exercise, right)
    walk.run(check)
    walk.shown(check).get_by_text("Passed on your message and 3 others.").first.wait_for()
    before = walk.kept()
    walks.evaluate(DIE)
    died = walks.get_by_role("dialog").filter(has_text="appears to have died")
    died.get_by_role("button", name="Ok").click()
    died.wait_for(state="detached")
    walk.run_all()
    walk.shown(f'me.explain("{key}"').get_by_text(told.option("c").reply).first.wait_for()
    walk.shown("me.progress()").get_by_text("You can now").first.wait_for()
    assert {name: each.get("votes") for name, each in walk.kept().items()} == {
        name: each.get("votes") for name, each in before.items()}
    assert {key, f"{number}m"} <= set(before)
    assert not walks.complaints


def _predict(walk, key):
    """By keyboard: the third answer, saved."""
    question = walk.shown(f'me.predict("{key}"').locator("section.kitq")
    question.get_by_role("radio").first.focus()
    for press in ("ArrowDown", "ArrowDown", "Tab", "Enter"):
        walk.page.keyboard.press(press)
    question.get_by_role("status").get_by_text("Saved: c)").wait_for()
    assert walk.kept()[key]["votes"] == ["c"]


def _move(bench):
    """A step of its first slider: the bench says what changed."""
    bench.wait_for()
    before = bench.locator(".kitb-changed").inner_text()
    slider = bench.locator("input[type=range]").first
    slider.focus()
    at_least = slider.input_value() == slider.get_attribute("min")
    bench.page.keyboard.press("ArrowRight" if at_least else "ArrowLeft")
    bench.page.wait_for_function(
        "([frame, before]) => frame.querySelector('.kitb-changed').innerText !== before",
        arg=[bench.element_handle(), before])
    assert re.search(r"\d", bench.locator(".kitb-changed").inner_text())


def _say(walk, key):
    """What was seen, in a sentence."""
    walk.run(f'me.saw("{key}"')
    question = walk.shown(f'me.saw("{key}"').locator("section.kitq")
    question.get_by_role("textbox").fill("It came out otherwise.")
    question.get_by_role("button").click()
    question.get_by_role("status").get_by_text("Saved.").wait_for()
