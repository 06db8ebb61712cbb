"""One server, one browser and one notebook with every bench in it, for all tests in a browser."""

import jupyterpage
import pytest

import kit

# Long work, as an experiment of its own: a step each tenth of a second, at most a minute.
LONG = """
import time
from dataclasses import dataclass
from kit.bench.fields import State, number
from kit.bench.frame import Bench
from kit.bench.model import Experiment, Model, Result
from kit.bench.scene import Scene

@dataclass(frozen=True)
class Steps(State):
    steps: int = number(0, 0, 600, 10, "", "Steps")

def find(state):
    for step in range(state.steps):
        yield step / state.steps
        time.sleep(0.1)
    return Result(f"{state.steps} steps.", (("steps", str(state.steps)),))

Bench(Model(Experiment("long", "Long work", "How long?", Steps, find, lambda state, result: Scene((), result.text))))
"""


@pytest.fixture(scope="session")
def playwright():
    """What drives browsers; skips, and says why, where there is none."""
    lacking = jupyterpage.missing()
    if lacking:
        pytest.skip(lacking)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def lab(playwright, tmp_path_factory):
    """A JupyterLab: the folder of its notebooks, and its address."""
    folder = tmp_path_factory.mktemp("notebooks")
    with jupyterpage.lab_server(folder) as server:
        yield folder, server


@pytest.fixture(scope="session")
def benches(playwright, lab):
    """A page on which every bench of the gallery is shown."""
    folder, server = lab
    cells = [f"kit.bench.open({name!r})" for name in kit.bench.names()]
    jupyterpage.write_notebook(folder / "benches.ipynb", "import kit", *cells, LONG)
    with jupyterpage.chromium_page(playwright=playwright) as page:
        jupyterpage.open_and_run(page, server, "benches.ipynb")
        for name in (*kit.bench.names(), "long"):
            page.locator(f"section[data-bench={name}]").wait_for()
        yield page
