"""``lessons``: open the lessons in JupyterLab, or write learners' copies of them."""

import importlib.util
import subprocess
import sys
from pathlib import Path

from ..errors import SettingError
from ..exercises.builds import write_learner_copies
from .talking import say

__all__ = ["add_to", "run"]

FIRST = "00-start-here.ipynb"
BESIDE_THE_KIT = Path(__file__).parents[2] / "lessons"
ALL_WELL, AMISS = 0, 1
EXAMPLES = """
examples:
  python -m kit lessons
  python -m kit lessons --learners for-learners

The first opens the page to start with; Ctrl-C in the terminal ends it. The second opens nothing: it writes copies
of all pages in which the solutions are left out, and nothing else is changed; demo.ipynb, which shows what learners
are to predict, is not copied.

exit status: 0 done; 1 JupyterLab ended with an error; 2 the call is wrong, or there are no lessons or no JupyterLab
"""


def add_to(subparsers):
    """Add the parser of ``lessons``."""
    parser = subparsers.add_parser(
        "lessons",
        help="open the lessons in JupyterLab, or write learners' copies of them",
        epilog=EXAMPLES,
        description="Open the lessons in JupyterLab, at the page to start with.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("--folder", help="where the lessons are (the kit's own, or ./lessons)")
    parser.add_argument(
        "--learners", metavar="FOLDER",
        help="write copies without the solutions into FOLDER, and open nothing; files of the same name are replaced",
    )


def run(args):
    """Open the lessons, or write copies; the exit status."""
    lessons = _lessons(args.folder)
    if args.learners is not None:
        paths = write_learner_copies(lessons, args.learners)
        say("\n".join(map(str, paths)))
        return ALL_WELL
    return _opened(lessons)


def _lessons(named):
    """The folder of the lessons."""
    usual = next(filter(_holds_lessons, (BESIDE_THE_KIT, Path("lessons"))), None)
    folder = usual if named is None else Path(named)
    if folder is None or not _holds_lessons(folder):
        raise SettingError(f"there must be a folder with lessons, got {str(folder or 'lessons')!r} without {FIRST}: "
                           "name it with --folder")
    return folder


def _holds_lessons(folder):
    return (folder / FIRST).is_file()


def _opened(lessons):
    if importlib.util.find_spec("jupyterlab") is None:
        raise SettingError("JupyterLab must be installed to open the lessons, got none: run "
                           "python -m pip install jupyterlab, or open the notebooks with what you have")
    # The page's folder is then the one JupyterLab shows.
    command = [sys.executable, "-m", "jupyterlab", str(lessons / FIRST)]
    with subprocess.Popen(command) as server:
        while True:
            try:
                return AMISS if server.wait() else ALL_WELL
            except KeyboardInterrupt:
                continue  # it went to JupyterLab as well, which asks whether it is meant so
