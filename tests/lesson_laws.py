"""What must hold for every seed of every lesson: tests try a seeded tenth, the benchmark `lessons` all of them."""

import importlib

from lessonpages import LESSONS as FOLDER
from lessonpages import number_of

from kit.exercises.checking import FunctionTask
from kit.exercises.draws import seed_of
from kit.exercises.items import Entry, own_data, rungs_of
from kit.exercises.lessons import LESSONS

__all__ = ["CODES", "ENTRIES", "FUNCTIONS", "PATHS", "SEEDS", "TASKS", "claims_of", "entry_is_known", "independent",
           "mistake_is_named", "right_answer_passes", "seen", "with_mistakes"]

SEEDS = 200  # personal data sets on which a usual mistake must be known for what it is
CODES = 100  # code names for which a demonstration must show what it claims
TASKS = [(number, letter, item) for number, lesson in LESSONS.items() for letter, item in lesson.items.items()]
FUNCTIONS = [each for each in TASKS if isinstance(each[2], FunctionTask)]
ENTRIES = [each for each in TASKS if isinstance(each[2], Entry)]
PATHS = sorted(path for path in FOLDER.glob("[0-9]*.ipynb") if number_of(path))  # 0 is the way in, no lesson


def claims_of(number):
    """The test file of a lesson, where what only that lesson claims is asserted."""
    return importlib.import_module(f"test_lesson{number:02d}")


def independent(number, task):
    """A right answer to a lesson's function, written another way than the reference."""
    return claims_of(number).INDEPENDENT[task.name]


def with_mistakes(tasks):
    """Each task with each of its mistakes."""
    return [(*task, mistake) for task in tasks for mistake in task[2].mistakes]


def _drawn(number, letter, task, k):
    seed = seed_of("6b", f"code {k}", number, letter)
    return seed, own_data(task, seed)


def right_answer_passes(number, letter, task, k):
    """Whether an independent answer passes on the k-th data set, and is told on how many messages."""
    seed, own = _drawn(number, letter, task, k)
    found = task.check(independent(number, task), own, seed)
    return found.passed and found.rungs == ("Passed on your message and 3 others.",)


def mistake_is_named(number, letter, task, mistake, k):
    """Whether a usual mistake gets its own hints; marking goes by the learner's own data alone."""
    seed, own = _drawn(number, letter, task, k)
    found = task.check(mistake.function, own, seed)
    hinted = (found.mistake, found.rungs) == (mistake.name, rungs_of(mistake, task))
    return hinted and (k % 10 or task.judged(own, seed, found.answer) == (False, mistake.means))


def entry_is_known(number, letter, entry, mistake, k):
    """Whether a usual wrong entry is known for what it is, and the right one is right."""
    _, data = _drawn(number, letter, entry, k)
    given = entry.accepts(mistake.function(data))
    known = entry.mistake_in(data, given) is mistake and entry.judged(data, b"", given) == (False, mistake.means)
    return known and entry.judged(data, b"", entry.accepts(entry.right(data))) == (True, "")


def seen(number, key, codes):
    """Of how many code names the right answer to a prediction was to be seen."""
    return sum(bool(claims_of(number).DEMONSTRATIONS[key](f"code {k}")) for k in codes)
