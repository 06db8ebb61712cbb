"""Learners' copies of lessons: the same pages, with the solutions left out and nothing else changed.

The demonstration is the teacher's: it shows what the lessons let learners predict first, so it is not copied.

``python -m kit lessons --learners FOLDER`` writes them.
"""

import copy
import json
from pathlib import Path

from ..errors import SettingError

__all__ = ["DEMONSTRATION", "learner_copy", "write_learner_copies"]

SOLUTION = "solution"  # the tag of a cell that holds one
DEMONSTRATION = "demo.ipynb"
INSTEAD = "# Your teacher has the solution."
PAGES = ("*.ipynb", "*.md")  # what lessons are made of; answers and tapes that lie beside them are somebody's own


def learner_copy(notebook):
    """A notebook without its solutions.

    Parameters
    ----------
    notebook : dict
        As JSON gives it.

    Returns
    -------
    dict
        The source of cells tagged "solution" is a line that says who has it; all else is the same.
    """
    made = copy.deepcopy(notebook)
    for cell in made["cells"]:
        if SOLUTION in cell["metadata"].get("tags", []):
            cell["source"] = [INSTEAD]
    return made


def write_learner_copies(lessons, folder):
    """Write learners' copies of all pages of a folder, but the demonstration, into another.

    Parameters
    ----------
    lessons, folder : path-like
        Notebooks, and pages of text as they are; files of the same name in `folder` are replaced.

    Returns
    -------
    list of pathlib.Path

    Raises
    ------
    SettingError
        There are no lessons, the two folders are the same, `folder` is a file, or a notebook is broken; nothing is
        written then.
    """
    lessons, folder = Path(lessons), Path(folder)
    found = sorted(path for pattern in PAGES for path in lessons.glob(pattern))
    sources = [path for path in found if path.name != DEMONSTRATION]
    notebooks = [path for path in sources if path.suffix == ".ipynb"]
    if not notebooks or lessons.resolve() == folder.resolve():
        raise SettingError(
            f"lessons must be a folder with notebooks and not the one to write to, got {str(lessons)!r} with "
            f"{len(notebooks)}: name another"
        )
    if folder.exists() and not folder.is_dir():
        raise SettingError(f"FOLDER must be a folder, got the file {str(folder)!r}: take another name")
    made = {path.name: _copied(path) for path in sources}
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in made.items():
        (folder / name).write_bytes(data)
    return [folder / name for name in made]


def _copied(source):
    """What a copy of a page holds, as bytes."""
    data = source.read_bytes()
    if source.suffix != ".ipynb":
        return data
    try:
        made = learner_copy(json.loads(data.decode("utf-8")))
    except (ValueError, KeyError, TypeError, AttributeError):
        raise SettingError(
            f"{source.name} must be a notebook, got something else: take it away, or mend it"
        ) from None
    return (json.dumps(made, ensure_ascii=False, indent=1) + "\n").encode("utf-8")
