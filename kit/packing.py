"""Pack a stick for a classroom without network: wheels, lessons, media, and scripts that install from it.

What the kit needs at run time stands in one place, kit/pyproject.toml, and is taken from there.
"""

import importlib.util
import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections import deque
from dataclasses import dataclass
from pathlib import Path

from .delivering import check_folder
from .errors import KitError, SettingError
from .exercises.builds import DEMONSTRATION, write_learner_copies
from .packedwords import install_bat, install_sh, readme

__all__ = ["Packed", "needs", "pack"]

KIT = Path(__file__).parent
PARTS = ("wheels", "lessons", "media", "README.md", "install.sh", "install.bat")
PACKED = ("kit", "lessons", "media")
# What people and programs leave behind is not packed.
LEFT_BEHIND = shutil.ignore_patterns("*.egg-info", "build", "__pycache__", ".*", "answers", "hand-in", "tapes")
# The folder of the lessons with the teacher's pages, the key among them, and the demonstration with its pictures.
FOR_TEACHERS = shutil.ignore_patterns("teaching", DEMONSTRATION, "demo-*")
SYSTEMS = {"linux": "Linux", "darwin": "macOS", "win32": "Windows"}
PATIENCE_S, RETRIES = "30", "2"
LAST_LINES = 40


@dataclass(frozen=True)
class Packed:
    """What was packed.

    Attributes
    ----------
    folder : pathlib.Path
    version : str
        Of the kit.
    wheels : tuple of str
        Names of the files.
    wheels_mb : float
        Their size, in megabytes (10**6 bytes).
    for_learners : bool
        Whether the lessons are without solutions.
    python, system, machine : str
        What the wheels are for, such as "3.11", "linux", "x86_64".
    """

    folder: Path
    version: str
    wheels: tuple
    wheels_mb: float
    for_learners: bool
    python: str
    system: str
    machine: str

    @property
    def python_in_words(self):
        """str: such as "Python 3.11"."""
        return f"Python {self.python}"

    @property
    def platform_in_words(self):
        """str: such as "Linux x86_64"."""
        return f"{SYSTEMS.get(self.system, self.system)} {self.machine}"

    @property
    def tags_in_words(self):
        """str: the systems that the names of the wheels claim, such as "any, manylinux_2_28_x86_64"."""
        return ", ".join(sorted({tag for name in self.wheels for tag in name[:-4].rsplit("-", 1)[1].split(".")}))


def needs():
    """What the kit needs at run time.

    Returns
    -------
    list of str
        Requirements, as kit/pyproject.toml has them.
    """
    return tomllib.loads((KIT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]


def pack(folder, only=None, wheels=None, for_learners=False, progress=None):
    """Pack wheels, lessons and media, and how to install them.

    Parameters
    ----------
    folder : path-like
        Made if missing. Nothing in it is replaced, and nothing is left in it if packing fails.
    only : list of str, optional
        Requirements to take in place of all that the kit needs: a smaller stick, on which not everything runs.
    wheels : path-like, optional
        A folder that has the wheels, such as that of another stick; they are fetched with pip otherwise.
    for_learners : bool
        Leave the solutions, the teacher's pages and the demonstration out.
    progress : callable, optional
        Told the part that is done, 0 to 1.

    Returns
    -------
    Packed

    Raises
    ------
    SettingError
        The folder cannot be written to, or has something of that name, or this is not the whole project.
    KitError
        The wheels cannot be had.
    """
    folder, told = Path(folder), progress or (lambda part: None)
    _check(folder, wheels)
    made = not folder.exists()
    folder.mkdir(parents=True, exist_ok=True)
    unfinished = Path(tempfile.mkdtemp(prefix="unfinished-", dir=folder))
    try:
        _make_wheels(unfinished / "wheels", only, wheels, told)
        _copy_lessons(unfinished, for_learners)
        about = _about(folder, unfinished / "wheels", for_learners)
        _write(unfinished, about)
        _refuse_taken(folder)
        for part in PARTS:
            (unfinished / part).rename(folder / part)
        return about
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)
        if made and not any(folder.iterdir()):
            folder.rmdir()


def _check(folder, wheels):
    """Refuse before the work what could not be done after it."""
    project = KIT.parent
    if not all(path.exists() for path in (KIT / "pyproject.toml", project / "lessons", project / "media")):
        raise SettingError("the kit must lie beside its lessons and media to be packed, got it alone in "
                           f"{str(KIT)!r}: call this in the folder of the project, with its own Python")  # fmt: skip
    if wheels is not None and not Path(wheels).is_dir():
        raise SettingError(f"the folder of wheels must be there, got {str(wheels)!r}: name another")
    if any((project / part).resolve() in (folder.resolve(), *folder.resolve().parents) for part in PACKED):
        raise SettingError(f"FOLDER must not lie in what is packed, got {str(folder)!r}: take one outside it")
    check_folder(folder)
    _refuse_taken(folder)


def _refuse_taken(folder):
    taken = {name.casefold() for name in os.listdir(folder)} if folder.is_dir() else set()
    for part in PARTS:
        if part.casefold() in taken:
            raise SettingError(f"FOLDER must not have {part!r} in it, but {str(folder)!r} has: nothing is replaced; "
                               "take an empty folder")  # fmt: skip


# -- wheels -----------------------------------------------------------------------------------------------


def _make_wheels(target, only, wheels, told):
    """Put the kit's own wheel and all that it needs into a folder, and try whether that is enough."""
    with tempfile.TemporaryDirectory() as place:
        source = Path(place, "kit")
        shutil.copytree(KIT, source, ignore=LEFT_BEHIND)  # building leaves things behind
        if only is not None:
            _ask_for(source / "pyproject.toml", only)
        here = [] if wheels is None else ["--no-index", "--find-links", str(Path(wheels).resolve())]
        # Where what builds a wheel is at hand, it need not be fetched.
        here += ["--no-build-isolation"] if importlib.util.find_spec("setuptools") else []
        _pip(["wheel", "--wheel-dir", str(target), "--prefer-binary", "--retries", RETRIES, "--timeout", PATIENCE_S,
              *here, str(source)], told)  # fmt: skip
    alone = ["--isolated", "install", "--dry-run", "--ignore-installed", "--no-index", "--find-links", str(target)]
    _pip([*alone, "kit"], lambda part: None, PIP_CONFIG_FILE=os.devnull)
    told(0.95)


def _ask_for(path, only):
    """Let a copy of the kit ask for other packages than it does."""
    asked = ", ".join(f'"{each}"' for each in only)
    text = path.read_text("utf-8")
    changed = re.sub(r"^dependencies = \[.*?^\]", f"dependencies = [{asked}]", text, flags=re.DOTALL | re.MULTILINE)
    path.write_text(changed, encoding="utf-8")


def _pip(arguments, told, **variables):
    """Run pip, with some variables of the environment, and say in one line what went wrong if anything did."""
    command = [sys.executable, "-m", "pip", *arguments, "--disable-pip-version-check", "--no-input",
               "--progress-bar", "off"]  # fmt: skip
    last = deque(maxlen=LAST_LINES)
    settings = {"env": os.environ | variables, "text": True, "encoding": "utf-8", "errors": "replace",
                "stdin": subprocess.DEVNULL, "stdout": subprocess.PIPE, "stderr": subprocess.STDOUT}  # fmt: skip
    with subprocess.Popen(command, **settings) as running:
        for count, line in enumerate(running.stdout):
            last.append(line.strip())
            told(0.9 * (1 - 0.99**count))  # how many lines there will be is not known
    if running.returncode:
        said = [line for line in last if line.startswith("ERROR:")] or list(last) or ["nothing"]
        raise KitError(f"the packages must be within reach, but pip says {said[-1][:200]!r}: connect to a network, "
                       "or name a folder that has all wheels with --wheels")  # fmt: skip


# -- all the rest -----------------------------------------------------------------------------------------


def _copy_lessons(target, for_learners):
    def left(folder, names):
        return LEFT_BEHIND(folder, names) | (FOR_TEACHERS(folder, names) if for_learners else set())

    for part in ("lessons", "media"):
        shutil.copytree(KIT.parent / part, target / part, ignore=left)
    if for_learners:
        write_learner_copies(KIT.parent / "lessons", target / "lessons")


def _about(folder, wheels, for_learners):
    names = tuple(sorted(path.name for path in wheels.iterdir()))
    size = sum((wheels / name).stat().st_size for name in names) / 1e6
    (own,) = [name for name in names if name.startswith("kit-")]
    python = ".".join(map(str, sys.version_info[:2]))
    return Packed(folder, own.split("-")[1], names, size, for_learners, python, sys.platform, platform.machine())


def _write(target, about):
    for name, text in (("README.md", readme(about)), ("install.sh", install_sh(about)),
                       ("install.bat", install_bat(about))):  # fmt: skip
        (target / name).write_bytes(text.encode("utf-8"))
    (target / "install.sh").chmod(0o755)
