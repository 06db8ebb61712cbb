"""Hand in: a copy of a learner's answers in the folder where they are gathered."""

from pathlib import Path

from .answers import AnswerError, answer_name, write_answers
from .lessons import LESSONS, keys_of
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
    begun = [number for number in sorted(LESSONS) if any(key in answers["items"] for key in keys_of(number))]
    missing = [key for number in begun for key in keys_of(number) if key not in answers["items"]]
    lines.append(f"Not answered: {', '.join(missing)}." if missing else "Every question is answered.")
    return Told("\n".join(lines))
