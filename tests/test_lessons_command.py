"""`python -m kit lessons`: opens the first page in JupyterLab, or writes learners' copies; one line if it cannot."""

import importlib.util
import json
import subprocess
import sys
from pathlib import Path

import pytest
from commandline_words import one_line

from kit.commands import openinglessons
from kit.exercises.builds import INSTEAD

pytest_plugins = ["commandline_fixtures"]

LESSONS = Path(__file__).parents[1] / "lessons"


class Server:
    """Stands in for `subprocess.Popen`: keeps what it was called with, and ends as it is told to."""

    def __init__(self):
        self.called, self.ends = [], [0]

    def __call__(self, command, **settings):
        self.called.append((command, settings))
        return self

    def __enter__(self):
        return self

    def __exit__(self, *trouble):
        return False

    def wait(self):
        end = self.ends.pop(0)
        if isinstance(end, BaseException):
            raise end
        return end


@pytest.fixture
def server(monkeypatch):
    """In place of a real one; it ends with 0 if nothing else is said."""
    made = Server()
    monkeypatch.setattr(subprocess, "Popen", made)
    return made


def test_it_opens_the_first_page_of_the_kit_s_own_lessons(server, call, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert call("lessons") == (0, "", "")
    assert server.called == [([sys.executable, "-m", "jupyterlab", str(LESSONS / "00-start-here.ipynb")], {})]
    assert (LESSONS / "00-start-here.ipynb").is_file()


ASKED = """
import sys
from jupyterlab.labapp import LabApp
server = LabApp.initialize_server([sys.argv[1], "--no-browser", "--port=0"])
print(server.root_dir)
"""


def test_jupyterlab_takes_the_page_s_folder_for_its_own(tmp_path, monkeypatch):
    """So that answers land beside the lessons, and links lead to them; it is asked, and no server is started."""
    for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        monkeypatch.setenv(name, str(tmp_path / name.lower()))
    done = subprocess.run([sys.executable, "-c", ASKED, str(LESSONS / "00-start-here.ipynb")], cwd=tmp_path,
                          capture_output=True, stdin=subprocess.DEVNULL, text=True, check=False, timeout=120)
    assert done.stdout.splitlines()[-1:] == [str(LESSONS)], done.stderr


def test_another_folder_may_be_named_and_the_present_one_is_looked_in(server, call, tmp_path, monkeypatch):
    other = tmp_path / "a course" / "lessons"
    other.mkdir(parents=True)
    (other / "00-start-here.ipynb").write_text("{}")
    assert call("lessons", "--folder", other)[0] == 0
    assert server.called[-1][0][-1] == str(other / "00-start-here.ipynb")
    monkeypatch.setattr(openinglessons, "BESIDE_THE_KIT", tmp_path / "none")
    monkeypatch.chdir(other.parent)
    server.ends.append(0)
    assert call("lessons")[0] == 0
    assert Path(server.called[-1][0][-1]) == Path("lessons/00-start-here.ipynb")


def test_without_jupyterlab_it_says_so_in_one_line(server, call, monkeypatch):
    found = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None if name == "jupyterlab" else found(name))
    status, out, err = call("lessons")
    assert status == 2 and out == "" and one_line(err) and "JupyterLab must be installed" in err
    assert not server.called


def test_without_lessons_it_says_so_in_one_line(server, call, tmp_path, monkeypatch):
    monkeypatch.setattr(openinglessons, "BESIDE_THE_KIT", tmp_path / "none")
    monkeypatch.chdir(tmp_path)
    for words in ((), ("--folder", tmp_path)):
        status, out, err = call("lessons", *words)
        assert status == 2 and out == "" and one_line(err) and "name it with --folder" in err
    assert not server.called


def test_how_the_server_ends_is_told_and_being_interrupted_is_left_to_it(server, call):
    server.ends = [3]
    assert call("lessons")[0] == 1
    server.ends = [KeyboardInterrupt(), 0]
    assert call("lessons")[0] == 0


def test_learners_copies_are_written_and_nothing_is_opened(server, call, tmp_path):
    status, out, err = call("lessons", "--learners", tmp_path / "for learners")
    assert status == 0 and err == "" and not server.called
    written = {path.name: path for path in (tmp_path / "for learners").iterdir()}
    pages = {path.name for pattern in ("*.ipynb", "*.md") for path in LESSONS.glob(pattern)}
    assert set(written) == pages - {"demo.ipynb"} != pages
    assert {"00-start-here.ipynb", "workbench.ipynb", "glossary.md"} <= set(written)
    assert sorted(out.splitlines()) == sorted(map(str, written.values()))
    cells = json.loads(written["01-save-words-as-sound.ipynb"].read_text("utf-8"))["cells"]
    assert [cell["source"] for cell in cells if "solution" in cell["metadata"].get("tags", [])] == [[INSTEAD]]


def test_copies_are_never_written_over_the_lessons(call, tmp_path):
    before = {path: path.read_bytes() for path in LESSONS.glob("*.ipynb")}
    status, out, err = call("lessons", "--learners", LESSONS)
    assert status == 2 and out == "" and one_line(err)
    assert before == {path: path.read_bytes() for path in LESSONS.glob("*.ipynb")}
