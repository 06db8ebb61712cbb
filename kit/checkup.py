"""Is everything working: versions, a tape written and read back, and whether the page's controls reach Python."""

import importlib.metadata
import re
import sys
import tempfile
from pathlib import Path

from .errors import KitError
from .exercises.shows import Asked, Told
from .sound import Sound
from .tape import decode, encode

__all__ = ["round_trip", "versions", "widgets"]

LEAST_PYTHON = (3, 11)
NEEDED = ("jupyterlab", "ipywidgets", "numpy", "matplotlib", "scipy", "soundfile", "tqdm", "anywidget", "pillow")
SETTING_UP = "run the command under “Open the lessons” in README.md once more"
LOG = "Wind west 5, gulls 3."


def versions():
    """Which versions of Python, the kit and what it needs are here, and what to do if one is missing or too old.

    Returns
    -------
    kit.exercises.shows.Told
        What is as it should be in one line, then one for each that is not, and one that sums up.
    """
    found = [_python_line(), *(_package_line(name, least) for name, least in (("kit", ()), *_wanted()))]
    wrong = [each for each in found if "!" in each]
    fine = ", ".join(each for each in found if each not in wrong)
    last = f"{len(wrong)} of these need your help: {SETTING_UP}." if wrong else "All of these are as they should be."
    return Told("\n".join(filter(None, [fine, *wrong, last])))


def _python_line():
    found = ".".join(map(str, sys.version_info[:3]))
    if sys.version_info[:2] < LEAST_PYTHON:
        return f"Python {found} ! It must be {_in_words(LEAST_PYTHON)} or newer."
    return f"Python {found}"


def _package_line(name, least):
    try:
        found = importlib.metadata.version(name)
    except importlib.metadata.PackageNotFoundError:
        return f"{name} ! It is not installed."
    if _numbers(found) < least:
        return f"{name} {found} ! It must be {_in_words(least)} or newer."
    return f"{name} {found}"


def _wanted():
    """What the kit needs, with the least versions that it asks for where it was installed."""
    try:
        told = importlib.metadata.requires("kit") or []
    except importlib.metadata.PackageNotFoundError:
        told = []
    pairs = [re.match(r"([\w.-]+)\s*>=\s*([\d.]+)\s*$", each) for each in told]
    least = {pair[1]: _numbers(pair[2]) for pair in pairs if pair}
    return [(name, least.get(name, ())) for name in NEEDED]


def _numbers(version):
    """The numbers a version begins with.

    Examples
    --------
    >>> _numbers("8.1.9rc1")
    (8, 1, 9)
    """
    return tuple(int(each) for each in re.match(r"[\d.]*", version)[0].strip(".").split(".") if each)


def _in_words(version):
    return ".".join(map(str, version))


def round_trip(text=LOG):
    """Write a tape, keep it as a file, read the file, and compare.

    Parameters
    ----------
    text : str

    Returns
    -------
    kit.exercises.shows.Told
        What happened; it ends in "the same" only if each byte came back and the check agrees.
    """
    data = text.encode("utf-8")
    try:
        sound, size, reading = _there_and_back(data)
    except (KitError, OSError, ImportError) as error:
        return Told(f"It stopped on the way: {error}. If a file could not be written, make room; else {SETTING_UP}.")
    files = reading.files
    same = len(files) == 1 and files[0].data == data and reading.verdict == "checked"
    lines = [f"{len(data)} bytes became {sound.seconds:.2f} s of sound, and a file of {size} bytes.",
             f"From the file came: {reading}"]
    return Told("\n".join([*lines, "Sent and received are the same." if same else
                           f"Sent and received differ: {SETTING_UP}, and report it if that does not help."]))


def _there_and_back(data):
    sound = encode(data, name="log.txt", lead_in_s=0.5)
    with tempfile.TemporaryDirectory() as folder:
        path = sound.write(Path(folder) / "log.wav")
        return sound, path.stat().st_size, decode(Sound.read(path))


def widgets(answer=None):
    """Whether a control in the page reaches Python.

    Parameters
    ----------
    answer : str, optional
        What was typed; to be asked for it, leave it out.

    Returns
    -------
    kit.exercises.shows.Asked or Told
        A field and a button; the reply below them comes from Python.
    """
    if answer is not None:
        heard = " ".join(str(answer).split())[:40]
        return Told(f"Python heard “{heard}”: the way is open.")
    question = ("Type a word into the field, and press the button. If the word comes back, controls are alive. If "
                "there is no field, each question of a lesson can be answered in a cell, too.")
    return Asked([{"question": question, "options": [], "typed": 'checkup.widgets("a word")', "button": "Send it",
                   "value": "", "status": "", "save": widgets}])
