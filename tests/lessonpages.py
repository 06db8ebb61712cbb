"""Notebooks of the lessons as tests read, change and run them."""

import re
import time
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

__all__ = ["LESSONS", "MOST_SECONDS", "copy_of", "html_of", "number_of", "numbers_in", "outputs_of", "page_of",
           "predicted", "prose", "run", "run_twice", "solved", "sources", "stored", "stored_clean",
           "text_of", "twice"]

LESSONS = Path(__file__).parents[1] / "lessons"
MOST_SECONDS = 60
# Put before the first cell: no name is looked up and nothing is fetched while the lesson runs.
OFFLINE = """
import socket
def _refuse(*_, **__):
    raise OSError("a lesson must run without a network")
socket.getaddrinfo = socket.create_connection = _refuse
"""
# Not numbers of a lesson: its minutes, the numbers of lessons and items, names and years of what is cited.
NO_CLAIM = r"\(\d+ minutes\)|[Ll]essons? \d+(?:(?:, \d+)* and \d+)?|RFC \d+|\((?:\w+ )?\d{4}\)|ISO/?\w* \d+|UTF-8"


def number_of(path):
    """The number a lesson's file name begins with."""
    return int(path.stem[:2])


def page_of(number):
    """The notebook's path of a lesson."""
    (path,) = LESSONS.glob(f"{number:02d}-*.ipynb")
    return path


def stored(path):
    """The notebook as it is kept."""
    return nbformat.read(path, as_version=4)


def stored_clean(path):
    """Whether a notebook is valid, and kept without results and settings; what is not so is refused."""
    notebook = stored(path)
    nbformat.validate(notebook)
    results = [cell.id for cell in notebook.cells if cell.get("outputs") or cell.get("execution_count") is not None]
    unlike = len({cell.id for cell in notebook.cells}) == len(notebook.cells)
    return not results and unlike and set(notebook.metadata) <= {"kernelspec", "language_info"}


def twice(notebook):
    """The notebook with every cell doubled."""
    notebook.cells = [again for cell in notebook.cells for again in (cell, copy_of(cell))]
    return notebook


def sources(notebook, kind):
    """Sources of all cells of a kind."""
    return [cell.source for cell in notebook.cells if cell.cell_type == kind]


def prose(notebook):
    """Text as it is read: without code in it and without link targets."""
    text = "\n".join(sources(notebook, "markdown"))
    return re.sub(r"`[^`]*`|\]\([^)]*\)", " ", text)


def numbers_in(text):
    """Numbers a text claims."""
    return set(re.findall(r"\d[\d.,]*\d|\d", re.sub(NO_CLAIM, " ", text)))


def run(notebook, folder, monkeypatch):
    """Execute a notebook in a folder of its own, under nobody's settings; gives the seconds it took."""
    for name in ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        settings = folder / "settings" / name.lower()
        settings.mkdir(parents=True)
        monkeypatch.setenv(name, str(settings))
    notebook.cells.insert(0, nbformat.v4.new_code_cell(OFFLINE))
    page = folder / "page"
    page.mkdir()
    started = time.monotonic()
    NotebookClient(notebook, timeout=MOST_SECONDS, resources={"metadata": {"path": str(page)}}).execute()
    return time.monotonic() - started


def run_twice(path, folder):
    """Execute a stored notebook with every cell doubled, within the minute; gives it, and the folder it ran in."""
    notebook = twice(stored(path))
    with pytest.MonkeyPatch.context() as patch:
        assert run(notebook, folder, patch) < MOST_SECONDS
    return notebook, folder / "page"


def outputs_of(notebook):
    """All outputs, in order."""
    return [output for cell in notebook.cells for output in cell.get("outputs", [])]


def html_of(notebook):
    """What is shown as HTML."""
    return "".join(output.get("data", {}).get("text/html", "") for output in outputs_of(notebook))


def text_of(notebook):
    """What is shown as text."""
    outputs = outputs_of(notebook)
    return "\n".join(out.get("text", "") or out.get("data", {}).get("text/plain", "") for out in outputs)


def predicted(notebook, letter="a"):
    """The notebook with every prediction made, and what was seen said."""
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.source = re.sub(r'me\.predict\("(\w+)"\)', rf'me.predict("\1", "{letter}")', cell.source)
            cell.source = re.sub(r'me\.saw\("(\w+)"\)', r'me.saw("\1", "What I saw.")', cell.source)
    return notebook


def solved(notebook, name, function):
    """The notebook with a function defined another way just before it is checked."""
    for cell in notebook.cells:
        if "check" in cell.metadata.get("tags", []):
            cell.source = f"{function}\n{name} = solved_by_test\n{cell.source}"
    return notebook


def copy_of(cell):
    """The same cell once more."""
    again = nbformat.from_dict(dict(cell))
    again.id = f"{cell.id}-again"
    return again
