"""A class of thirty is marked in all lessons that are there: how long that takes, and whether the marks are right."""

import sys
import tempfile
from pathlib import Path

from .rows import Row, at_least, at_most, run_apart

__all__ = ["BENCHMARKS"]

LEARNERS = 30
GOAL_S = 10


def mark():
    """Thirty learners in every lesson that is registered, marked, with tables and a page, in a process of its own."""
    sys.path.insert(0, str(Path(__file__).parents[1]))
    from class_cases import EVERY_KEY, answers_of, put

    from kit.exercises import LESSONS
    from kit.exercises.classmarks import mark_class
    from kit.exercises.marking import RIGHT, WRONG

    with tempfile.TemporaryDirectory() as place:
        folder, wrong = Path(place, "hand-in"), {}
        for k in range(LEARNERS):
            name = f"gull {k}"
            wrong[name] = set(EVERY_KEY[k % 3 :: 3])
            put(folder, answers_of(name, "6b", wrong=wrong[name]))
        marks = mark_class(folder)
        fair = sum(result.verdict == (WRONG if result.key in wrong[learner.code_name] else RIGHT)
                   for learner in marks.learners for result in learner.results)  # fmt: skip
        report = run_apart("command", "mark", folder, "-o", Path(place, "marks.csv"),
                           "--picture", Path(place, "class.pdf"))  # fmt: skip
    answers = LEARNERS * len(EVERY_KEY)
    yield at_least(f"answers marked as they were made, of {answers}", fair, "", answers)
    yield Row("lessons with items of their own", sum(bool(lesson.items) for lesson in LESSONS.values()), "")
    yield at_most("the exit status", report["status"], "", 0)
    yield at_most("to mark a class, with tables and a page", report["seconds"], "s", GOAL_S, clock=True)
    yield at_most("the same, time of processor", report["processor_s"], "s", GOAL_S, clock=True)
    yield Row("most memory", report["peak_mb"], "MB", clock=True)


BENCHMARKS = {"mark": mark}
