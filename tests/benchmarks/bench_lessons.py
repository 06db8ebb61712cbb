"""What the lessons promise for every learner, on all seeds."""

import sys
from pathlib import Path

from .rows import at_least

__all__ = ["BENCHMARKS"]

NEEDED_PERCENT = 95


def lessons():
    """Every demonstration on 100 code names; every usual mistake and every right answer on 200 data sets."""
    sys.path.insert(0, str(Path(__file__).parents[1]))
    import lesson_laws as laws
    from test_lessons import PREDICTIONS

    for path, key in PREDICTIONS:
        shown = 100 * laws.seen(laws.number_of(path), key, range(laws.CODES)) / laws.CODES
        yield at_least(f"{key} shows what it claims", shown, "%", NEEDED_PERCENT)
    for name, holds, tasks in (
        ("right answers pass", laws.right_answer_passes, laws.FUNCTIONS),
        ("mistakes named in functions", laws.mistake_is_named, laws.with_mistakes(laws.FUNCTIONS)),
        ("mistakes named in entries", laws.entry_is_known, laws.with_mistakes(laws.ENTRIES)),
    ):
        held = [bool(holds(*each, k)) for each in tasks for k in range(laws.SEEDS)]
        percent = 100 * sum(held) / len(held)
        yield at_least(f"{name}, of {len(held)}", percent, "%", 100)


BENCHMARKS = {"lessons": lessons}
