"""Learners' copies of lessons: the same notebooks, with the solutions left out and nothing else changed.

From the folder of the project, ``python -m kit.exercises.builds lessons -o for-learners`` writes them.
"""

import argparse
import copy
import json
import sys
from pathlib import Path

from ..errors import SettingError

__all__ = ["learner_copy", "write_learner_copies"]

SOLUTION = "solution"  # the tag of a cell that holds one
INSTEAD = "# Your teacher has the solution."


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
    """Write learners' copies of all notebooks of a folder into another.

    Parameters
    ----------
    lessons, folder : path-like
        Files of the same name in `folder` are replaced.

    Returns
    -------
    list of pathlib.Path

    Raises
    ------
    SettingError
        There are no lessons, or the two folders are the same.
    """
    lessons, folder = Path(lessons), Path(folder)
    sources = sorted(lessons.glob("*.ipynb"))
    if not sources or lessons.resolve() == folder.resolve():
        raise SettingError(
            f"lessons must be a folder with notebooks and not the one to write to, got {str(lessons)!r} with "
            f"{len(sources)}: name another"
        )
    folder.mkdir(parents=True, exist_ok=True)
    return [_write_copy(source, folder / source.name) for source in sources]


def _write_copy(source, path):
    made = learner_copy(json.loads(source.read_text("utf-8")))
    path.write_text(json.dumps(made, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return path


def main(argv=None):
    """Write them, and say where.

    Parameters
    ----------
    argv : list of str, optional

    Returns
    -------
    int
        0, or 2 if the call is wrong.
    """
    parser = argparse.ArgumentParser(prog="python -m kit.exercises.builds", description=__doc__.splitlines()[0])
    parser.add_argument("lessons", help="folder of the notebooks")
    parser.add_argument("-o", "--output", required=True, help="folder for the learners' copies")
    args = parser.parse_args(argv)
    try:
        paths = write_learner_copies(args.lessons, args.output)
    except (SettingError, OSError, ValueError) as error:
        sys.stderr.write(f"{error}\n")
        return 2
    sys.stdout.writelines(f"{path}\n" for path in paths)
    return 0


if __name__ == "__main__":
    sys.exit(main())
