"""Pictures and sounds in `media/` have their rows, and the one command makes them, each time the same to the byte."""

import importlib.util
import subprocess
import sys
from pathlib import Path

import matplotlib
import matplotlib.image
import numpy as np
import pytest

import kit

MEDIA = Path(__file__).parents[1] / "media"
ROWS = {line.split("`")[1]: line for line in (MEDIA / "README.md").read_text("utf-8").splitlines()
        if line.startswith("| `")}  # fmt: skip
QUICK = ("quiet-log.flac", "noise.png", "decks.png", "four-lengths.png")  # made in less than a second each


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """The folder that the command of the table has filled, in a process of its own."""
    folder = tmp_path_factory.mktemp("media")
    done = subprocess.run([sys.executable, str(MEDIA / "make.py"), str(folder)], cwd=folder, check=False,
                          capture_output=True, stdin=subprocess.DEVNULL, text=True)  # fmt: skip
    assert done.returncode == 0, done.stderr
    return folder


def size_of(path):
    """Width and height of a PNG, which stand at bytes 16 to 24 (PNG specification, §11.2.2)."""
    width, height = np.frombuffer(path.read_bytes()[16:24], ">u4")
    return f"{width} × {height}"


def test_every_media_file_has_its_row_and_is_made_by_the_one_command(made):
    files = {path.name for path in MEDIA.iterdir() if path.suffix not in (".py", ".md", "")}
    assert set(ROWS) == files == {path.name for path in made.iterdir()}
    for name, row in ROWS.items():
        if name.endswith(".png"):
            assert f"{size_of(made / name)} pixels" in row and f"{size_of(MEDIA / name)} pixels" in row
        else:
            new, old = kit.Sound.read(made / name), kit.Sound.read(MEDIA / name)
            assert np.array_equal(new.samples, old.samples)
            assert f"{old.rate} Hz" in row and f"{old.seconds:.2f} s" in row


def test_each_picture_that_is_stored_shows_what_is_drawn_now(made):
    """Dot by dot, where the version of the library that drew it is there; a table it shows may have changed."""
    version = f"Matplotlib version{matplotlib.__version__}".encode()
    for path in MEDIA.glob("*.png"):
        if version in path.read_bytes():
            stored, now = (matplotlib.image.imread(each) for each in (path, made / path.name))
            assert np.array_equal(stored, now), f"{path.name} is old: run python media/make.py"


def test_what_is_made_again_in_another_process_is_the_same_to_the_byte(made, tmp_path):
    spec = importlib.util.spec_from_file_location("media_make", MEDIA / "make.py")
    make = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(make)
    for name in QUICK:
        assert make.MADE[name]().write(tmp_path / name).read_bytes() == (made / name).read_bytes(), name
