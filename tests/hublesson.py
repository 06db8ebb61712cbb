"""A lesson as simulated learners run it on a hub, every answer right, and how a class's answers are collected."""

import contextlib
import re
import subprocess
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from hublearner import Learner
from lessonpages import page_of

from kit.exercises import LESSONS
from kit.exercises.draws import seed_of
from kit.exercises.items import Choice, Entry, own_data

__all__ = ["HUB_PAGE", "PASSED", "PLACES", "Visit", "answered", "class_at_once", "collect", "collecting_line",
           "said_when_collecting"]

HUB_PAGE = Path(__file__).parents[1] / "lessons" / "teaching" / "hub.md"
PASSED = "You can now write a function that reads bits from edges."
PLACES = 4, page_of(4).name
SOLVED = """def read_bits(edges_s, short_s, long_s):
    cycles = [edges_s[k + 2] - edges_s[k] for k in range(0, len(edges_s) - 2, 2)]
    return [int(abs(cycle - long_s) < abs(cycle - short_s)) for cycle in cycles]
"""


def answered(notebook, name, number=4):
    """Code of a lesson's cells, in order, as a learner runs it who answers everything rightly.

    Parameters
    ----------
    notebook : dict
        As the hub gives it.
    name : str
        The learner's code name.
    number : int
        Of the lesson; the function to write is the one of lesson 4.

    Returns
    -------
    list of str
    """
    rights = {letter: _right(item, name, number, letter) for letter, item in LESSONS[number].items.items()}
    cells = []
    for cell in notebook["cells"]:
        code = cell["source"].replace('learner("guest")', f"learner({name!r})")
        code = re.sub(rf'me\.(predict|answer)\("{number}(\w)"\)',
                      lambda found: f'me.{found[1]}("{number}{found[2]}", {rights[found[2]]!r})', code)
        code = re.sub(r'me\.saw\("(\w+)"\)', r'me.saw("\1", "What I saw.")', code)
        if "exercise" in cell["metadata"].get("tags", []):
            code = SOLVED + code.partition("return bits\n")[2]
        if cell["cell_type"] == "code":
            cells.append(code)
    return cells


def _right(item, name, number, letter):
    if isinstance(item, Choice):
        return next(each for each in "abcd" if not item.option(each).misconception)
    if isinstance(item, Entry):
        return item.right(own_data(item, seed_of("", name, number, letter)))
    return None


@dataclass
class Visit:
    """What a learner had to wait for, in seconds."""

    name: str
    server_s: float = 0.0
    kernel_s: float = 0.0
    cells_s: list = field(default_factory=list)
    cells_processor_s: list = field(default_factory=list)
    said: str = ""
    learner: Learner | None = None

    @property
    def lesson_s(self):
        """All cells, one after the other."""
        return sum(self.cells_s)


def class_at_once(hub, count):
    """Let learners sign in at the same moment and run the lesson, each cell at the same moment, too.

    Parameters
    ----------
    hub : Hub
    count : int

    Returns
    -------
    list of Visit
    """
    start = threading.Barrier(count)
    visits = [Visit(f"gull-{k}") for k in range(1, count + 1)]
    with ThreadPoolExecutor(count) as pool:
        attending = [pool.submit(_attend, hub, visit, start) for visit in visits]
    errors = [each.exception() for each in attending if each.exception()]
    for error in sorted(errors, key=lambda each: isinstance(each, threading.BrokenBarrierError)):
        raise error  # the one who failed, not those who waited for that one
    return visits


def _attend(hub, visit, start):
    visit.learner = Learner(hub, visit.name)
    try:
        start.wait()
        with _clock(visit, "server_s"):
            visit.learner.sign_in()
            visit.learner.wait_for_server()
        start.wait()
        with _clock(visit, "kernel_s"):
            notebook = visit.learner.notebook(PLACES[1])
            visit.learner.open_kernel(PLACES[1])
        for code in answered(notebook, visit.name):
            start.wait()
            _run_cell(visit, code)
    except BaseException:
        start.abort()  # or the others would wait for this one
        raise


def _run_cell(visit, code):
    before_s, began = visit.learner.processor_s(), time.monotonic()
    visit.said += visit.learner.run(code)
    visit.cells_s.append(time.monotonic() - began)
    visit.cells_processor_s.append(visit.learner.processor_s() - before_s)


@contextlib.contextmanager
def _clock(visit, name):
    began = time.monotonic()
    yield
    setattr(visit, name, time.monotonic() - began)


def collecting_line():
    """The command of the page that collects what was handed in."""
    (line,) = re.findall(r"^.*\bhanded-in/.*$", HUB_PAGE.read_text("utf-8"), re.MULTILINE)
    return line


def collect(folder):
    """Run it in the folder of the hub; gives the folder to mark."""
    said_when_collecting(folder)
    return folder / "handed-in"


def said_when_collecting(folder):
    """Run it in the folder of the hub; gives what it said, in order, and its errors."""
    done = subprocess.run(["sh", "-c", collecting_line()], cwd=folder, check=False, capture_output=True, text=True)
    return done.stdout, done.stderr
