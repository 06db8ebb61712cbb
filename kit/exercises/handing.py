"""Hand in: a copy of a learner's answers in the folder where they are gathered."""

from pathlib import Path

from .answers import AnswerError, answer_name, write_answers
from .marking import MISMATCH, UNANSWERED, WRONG, begun_lessons, marked
from .shows import Told

__all__ = ["handed_in"]


def handed_in(answers, folder):
    """Write a copy of answers into a folder.

    Parameters
    ----------
    answers : dict
    folder : path-like
        A file of this learner that is there already is replaced: the latest counts.

    Returns
    -------
    Told
        Where it is, what is not answered yet, and that nothing but the code name is in it.
    """
    path = Path(folder) / answer_name(answers["class_code"], answers["code_name"])
    try:
        write_answers(path, answers)
    except AnswerError as error:
        return Told(str(error))
    lines = [f"{path}: one file, with your code name and your answers. Give this one to your teacher."]
    return Told("\n".join([*lines, *_still_open(answers)]))


def _still_open(answers):
    """What is missing in answers, item by item; that nothing is, if so."""
    begun = begun_lessons(answers)
    if not begun:
        return ["Nothing is answered yet: answer, then hand in again."]
    results = [result for number in begun for result in marked(answers, [number])]
    records = answers["items"]
    open_ = {
        "Not answered": [each.key for each in results if each.verdict == UNANSWERED],
        "Not said yet what you saw": [key for key, record in records.items() if _unseen(record)],
        "Answered, but as another version asked it": [each.key for each in results if each.verdict == MISMATCH],
        "Answered, but not right yet": [each.key for each in results if _to_mend(each, records.get(each.key, {}))],
    }
    lessons = f"lesson{'s' * (len(begun) > 1)} {', '.join(map(str, begun))}"
    lines = [f"{what}: {', '.join(keys)}." for what, keys in open_.items() if keys]
    return lines or [f"Every question of {lessons} is answered."]


def _unseen(record):
    """Whether it is of a prediction, and what was seen is not said: of others `seen` is not kept."""
    return bool(record.get("votes")) and "seen" in record and not record.get("saw")


def _to_mend(result, record):
    """Whether an answer is wrong; a wrong prediction is no fault, and stays."""
    return result.verdict == WRONG and "seen" not in record
