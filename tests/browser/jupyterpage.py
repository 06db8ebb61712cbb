"""A real JupyterLab and a real Chromium, for tests and measurements of what people touch."""

import contextlib
import importlib.util
import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import nbformat

__all__ = ["AXE", "BROWSER_FLAGS", "chromium_page", "lab_server", "missing", "open_and_run", "open_notebook",
           "voila_server", "write_notebook"]

TOP = Path(__file__).parents[2]
AXE = TOP / ".ci" / "node_modules" / "axe-core" / "axe.min.js"
INSTALL = "apt-get install chromium, then .venv/bin/python -m pip install playwright"
BROWSER_FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
                 "--disable-background-networking", "--disable-component-update"]
SLOW_MS = 60_000  # a machine may be slow; what is waited for mostly comes within a tenth of it
READY = """
async () => {
  while (!window.jupyterapp) await new Promise((done) => setTimeout(done, 50));
  const app = window.jupyterapp;
  await app.restored;
  let shown = app.shell.currentWidget;
  while (!(shown?.sessionContext && shown.content?.widgets)) {
    await new Promise((done) => setTimeout(done, 50));
    shown = app.shell.currentWidget;
  }
  await shown.context.ready;
  await shown.sessionContext.ready;
  await shown.sessionContext.session.kernel.info;
}
"""


def missing(*packages):
    """str: what a test in a browser lacks here, and how to install it; "" if nothing.

    Parameters
    ----------
    *packages : str
        Needed besides.
    """
    lacking = [package for package in packages if importlib.util.find_spec(package) is None]
    if lacking:
        names = " ".join(lacking)
        return f"{' and '.join(lacking)} not installed: .venv/bin/python -m pip install {names}"
    if importlib.util.find_spec("playwright") is None:
        return f"playwright for Python is not installed: {INSTALL}"
    return "" if shutil.which("chromium") else f"chromium is not installed: {INSTALL}"


def write_notebook(path, *cells):
    """A notebook of code cells."""
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in cells])
    # Without it JupyterLab asks for one.
    notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
    nbformat.write(notebook, path)
    return path


@contextlib.contextmanager
def lab_server(folder, app="lab"):
    """A JupyterLab of its own, under nobody's settings; gives its address, of which the token is t.

    Parameters
    ----------
    folder : pathlib.Path
        Where its notebooks lie; its settings go below.
    app : {"lab", "notebook"}
        The latter is Notebook 7.
    """
    port, kind = _free_port(), {"lab": "LabApp", "notebook": "JupyterNotebookApp"}[app]
    command = ["jupyterlab" if app == "lab" else app, "--no-browser", "--ServerApp.ip=127.0.0.1",
               f"--ServerApp.port={port}", "--ServerApp.port_retries=0", "--IdentityProvider.token=t",
               f"--ServerApp.root_dir={folder}", "--ServerApp.allow_root=True",
               f"--{kind}.expose_app_in_browser=True"]
    with _running(folder, command, f"http://127.0.0.1:{port}/api/status?token=t"):
        yield f"http://127.0.0.1:{port}"


@contextlib.contextmanager
def voila_server(notebook):
    """A Voilà of its own that shows one notebook to whoever asks; gives its address."""
    port = _free_port()
    command = ["voila", str(notebook), "--no-browser", "--Voila.ip=127.0.0.1", f"--Voila.port={port}",
               "--Voila.port_retries=0"]
    with _running(notebook.parent, command, f"http://127.0.0.1:{port}/api/status"):
        yield f"http://127.0.0.1:{port}"


def _free_port():
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


@contextlib.contextmanager
def _running(folder, command, address):
    """A server of its own, under nobody's settings, while the address answers; it is ended at the end."""
    settings = folder / "settings"
    names = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR")
    places = {name: str(settings / name.lower()) for name in names}
    _quiet_settings(Path(places["JUPYTER_CONFIG_DIR"]))
    environment = {**os.environ, **places, "JUPYTER_PREFER_ENV_PATH": "1"}
    environment["PYTHONPATH"] = os.pathsep.join(filter(None, (str(TOP), os.environ.get("PYTHONPATH"))))
    with (folder / "server.log").open("wb") as log:
        server = subprocess.Popen([sys.executable, "-m", *command], cwd=folder, env=environment,
                                  stdin=subprocess.DEVNULL, stdout=log, stderr=log)
    try:
        _wait_for(address, server, folder / "server.log")
        yield
    finally:
        server.terminate()
        try:
            server.wait(20)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


def _quiet_settings(config):
    """No question about news, and every cell in the page from the start."""
    (config / "labconfig").mkdir(parents=True)
    off = {"disabledExtensions": {"@jupyterlab/apputils-extension:announcements": True}}
    (config / "labconfig" / "page_config.json").write_text(json.dumps(off))
    notebook = config / "lab" / "user-settings" / "@jupyterlab" / "notebook-extension"
    notebook.mkdir(parents=True)
    (notebook / "tracker.jupyterlab-settings").write_text(json.dumps({"windowingMode": "none"}))


def _wait_for(address, server, log):
    deadline = time.monotonic() + SLOW_MS / 1000
    while time.monotonic() < deadline and server.poll() is None:
        try:
            urllib.request.urlopen(address, timeout=5).close()
            return
        except urllib.error.HTTPError:
            return  # it answers, if only to refuse: Voilà tells its state to nobody
        except (urllib.error.URLError, OSError):
            time.sleep(0.1)
    raise RuntimeError(f"the server did not start: {log.read_text(errors='replace')[-600:]}")


@contextlib.contextmanager
def chromium_page(width=1400, height=1000, flags=(), playwright=None, **visitor):
    """A page of a Chromium without a window; its errors gather in `page.complaints`.

    Parameters
    ----------
    width, height : int
    flags : sequence of str
        More for the command line.
    playwright : Playwright, optional
        One that runs already: there can only be one.
    **visitor
        What else is told of who looks, as `has_touch`.
    """
    from playwright.sync_api import sync_playwright

    with contextlib.ExitStack() as stack:
        playwright = playwright or stack.enter_context(sync_playwright())
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"),
                                             args=[*BROWSER_FLAGS, *flags])
        page = browser.new_page(viewport={"width": width, "height": height}, **visitor)
        page.set_default_timeout(SLOW_MS)
        page.complaints = []
        page.on("pageerror", lambda error: page.complaints.append(str(error)))
        page.on("console", lambda line: page.complaints.append(line.text) if line.type == "error" else None)
        yield page
        browser.close()


def open_notebook(page, server, notebook, app="lab"):
    """Open a notebook of the server's folder; its kernel is ready when this returns."""
    page.goto(f"{server}/{'lab/tree' if app == 'lab' else 'notebooks'}/{notebook}?token=t&reset")
    page.evaluate(READY)


def open_and_run(page, server, notebook, app="lab"):
    """Open a notebook of the server's folder and start to run all of it."""
    open_notebook(page, server, notebook, app)
    page.evaluate("""() => { window.jupyterapp.commands.execute("notebook:run-all-cells"); }""")
