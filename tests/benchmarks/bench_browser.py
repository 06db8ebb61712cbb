"""What people feel who touch a bench: from key to picture, from cell to bench, in a real Chromium."""

import inspect
import tempfile
import time
from pathlib import Path

import numpy as np

import kit
from kit.bench.fields import fields_of
from tests.browser import jupyterpage

from .rows import Row, at_most

__all__ = ["BENCHMARKS"]

STEPS = 40
MOST_MEDIAN_MS, MOST_P95_MS, MOST_FIRST_S, MOST_BLOCKED_MS = 100, 200, 2.0, 300
# In the page: from the key to the second frame after the new picture was drawn.
STEP_MS = """([name, field]) => new Promise((done, fail) => {
  const frame = document.querySelector(`section[data-bench=${name}]`);
  const input = frame.querySelector(`[data-field=${field}] input`);
  const late = setTimeout(() => fail(new Error(`${name}: nothing came of it`)), 20000);
  input.addEventListener("keydown", () => {
    const began = performance.now();
    const watch = new MutationObserver(() => {
      watch.disconnect();
      clearTimeout(late);
      requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - began)));
    });
    watch.observe(frame, { attributes: true, attributeFilter: ["data-seq"] });
  }, { once: true, capture: true });
  input.focus();
  window.armed = true;
})"""
# From the run of a cell to the first frame with its bench.
FIRST_MS = """async (number) => {
 const kernel = window.jupyterapp.shell.currentWidget.sessionContext.session.kernel;
 while (kernel.status !== "idle") await new Promise((done) => setTimeout(done, 20));
 return new Promise((done) => {
  const notebook = window.jupyterapp.shell.currentWidget.content;
  const began = performance.now();
  const look = () => {
    if (notebook.widgets[number].node.querySelector("section.kitb canvas[aria-label]")) {
      requestAnimationFrame(() => requestAnimationFrame(() => done(performance.now() - began)));
    } else requestAnimationFrame(look);
  };
  notebook.activeCellIndex = number;
  window.jupyterapp.commands.execute("notebook:run-cell");
  look();
 });
}"""


def bench():
    """From key to new picture, from cell to bench, in JupyterLab in Chromium; and how long each step blocks."""
    lacking = jupyterpage.missing()
    if lacking:
        raise SystemExit(lacking)
    names = kit.bench.names()
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        cells = [f"kit.bench.open({name!r})" for name in names]
        jupyterpage.write_notebook(folder / "benches.ipynb", "import kit", *cells)
        with jupyterpage.lab_server(folder) as server, jupyterpage.chromium_page() as page:
            jupyterpage.open_notebook(page, server, "benches.ipynb")
            page.evaluate(FIRST_CELL)
            for number, name in enumerate(names, 1):
                first = page.evaluate(FIRST_MS, number) / 1000
                yield at_most(f"{name}: first shown", first, "s", MOST_FIRST_S, clock=True)
            for name in names:
                yield from _steps(page, name)
    yield from map(_blocked, names)


FIRST_CELL = """async () => {
  window.jupyterapp.shell.currentWidget.content.activeCellIndex = 0;
  await window.jupyterapp.commands.execute("notebook:run-cell");
}"""


def _steps(page, name):
    """Every slider of a bench, there and back; not of one whose work is long, and shown as it goes on."""
    if inspect.isgeneratorfunction(kit.bench.open_model(name).experiment.find):
        return
    page.locator(f"section[data-bench={name}]").scroll_into_view_if_needed()
    for field in fields_of(kit.bench.open_model(name).state):
        if field.kind != "number":
            continue
        took = []
        for k in range(STEPS):
            step = page.evaluate_handle(f"(what) => {{ window.step = ({STEP_MS})(what); }}", [name, field.name])
            step.dispose()
            page.keyboard.press(("ArrowLeft", "ArrowRight")[(k + _flip(field)) % 2])
            took.append(page.evaluate("() => window.step"))
        median, late = np.percentile(took[2:], [50, 95])
        yield at_most(f"{name}, {field.label}: key to picture, median", median, "ms", MOST_MEDIAN_MS, clock=True)
        yield at_most(f"{name}, {field.label}: key to picture, 95 %", late, "ms", MOST_P95_MS, clock=True)


def _flip(field):
    """1 if the first step must be upward."""
    return int(field.position(field.default) == 0)


def _blocked(name):
    """The longest that any step of any control keeps Python busy without a word of how far it is.

    The first use of a library is left out. It is processor time: what else the machine does has no part in it.
    """
    model = kit.bench.open_model(name)
    longest = 0.0
    told = []
    model.observe(lambda change: told.append(time.process_time()), "progress")
    for field in fields_of(model.state):
        for value in (*field.values, *field.values[::-1]):
            told[:] = [time.process_time()]
            model.change(**{field.name: value})
            model.experiment.draw(model.state, model.result).packed()
            longest = max(longest, *np.diff([*told, time.process_time()]))
        model.reset()
    if not longest:
        return Row(f"{name}: no step was made", 0.0, "ms", "> 0", False)
    return at_most(f"{name}: longest step in Python", 1000 * longest, "ms", MOST_BLOCKED_MS, clock=True)


BENCHMARKS = {"bench": bench}
