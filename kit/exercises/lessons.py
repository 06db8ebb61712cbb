"""The lessons' items: what each lesson asks, what a learner can do after it, and what later lessons ask about it."""

from collections.abc import Callable
from dataclasses import dataclass, field

from ..errors import SettingError
from .draws import Draws, seed_of
from .items import own_data
from .plain import digest
from .words import log_line

__all__ = ["LESSONS", "OPENING", "Lesson", "asked_of", "digest_of", "item_of", "keys_of", "lesson_of", "register",
           "words_for"]

LESSONS = {}
OPENING = 3  # questions about earlier lessons with which a lesson begins
BACK = (1, 2, 4)  # how many lessons back they look: spaced, since what is recalled later is kept longer


@dataclass(frozen=True)
class Lesson:
    """What a lesson asks.

    Parameters
    ----------
    number : int
    title : str
    items : dict
        Letter → `Choice`, `Entry` or `FunctionTask`.
    words : (str, callable), optional
        Letter of the item that holds a learner's own words for this lesson, and its data → words. Words are
        drawn apart from all items if it is left out.
    can : tuple of (str, str)
        What a learner can now do, as "read …", and the letter of the item that shows it.
    recall : tuple of Choice
        Questions later lessons open with; three at least of lesson 1, two of others.
    """

    number: int
    title: str
    items: dict = field(default_factory=dict)
    words: tuple[str, Callable] | None = None
    can: tuple = ()
    recall: tuple = ()


def register(lesson):
    """Add a lesson to those that are known.

    Parameters
    ----------
    lesson : Lesson
    """
    LESSONS[lesson.number] = lesson


def lesson_of(number):
    """A lesson by its number.

    Raises
    ------
    SettingError
        There is none.
    """
    if number not in LESSONS:
        known = ", ".join(map(str, sorted(LESSONS)))
        raise SettingError(f"a lesson must be one of {known}, got {str(number)[:20]!r}: choose one of these")
    return LESSONS[number]


def keys_of(number):
    """Keys of all items of a lesson, those of its opening first.

    Returns
    -------
    list of str
        The lesson's number and a letter, such as "4a"; "4r1" to "4r3" for its opening.
    """
    opening = [f"{number}r{k + 1}" for k in range(OPENING)] if number > 1 else []
    return [*opening, *(f"{number}{letter}" for letter in lesson_of(number).items)]


def asked_of(key, class_code, code_name):
    """The item of a key, and the data a learner is asked it about.

    Parameters
    ----------
    key : str
        Such as "4a".
    class_code, code_name : str

    Returns
    -------
    item : Choice, Entry or FunctionTask
    data : object
    seed : bytes

    Raises
    ------
    SettingError
        There is no such item.
    """
    item, seed = item_of(key, class_code, code_name)
    return item, own_data(item, seed), seed


def item_of(key, class_code, code_name):
    """The item of a key, and the seed from which a learner's data for it are drawn; draws none, so it is quick.

    Parameters
    ----------
    key : str
    class_code, code_name : str

    Returns
    -------
    item : Choice, Entry or FunctionTask
    seed : bytes

    Raises
    ------
    SettingError
        There is no such item.
    """
    digits = key[: len(key) - len(key.lstrip("0123456789"))] if isinstance(key, str) else ""
    number, letter = (int(digits[:3]), key[len(digits):]) if digits else (0, "")
    if number not in LESSONS or key not in keys_of(number):
        known = ", ".join(each for lesson in sorted(LESSONS) for each in keys_of(lesson) if LESSONS[lesson].items)
        raise SettingError(f"an item must be one of {known}, got {str(key)[:20]!r}: choose one of these")
    seed = seed_of(class_code, code_name, number, letter)
    if letter in LESSONS[number].items:
        return LESSONS[number].items[letter], seed
    return _opening(number, class_code, code_name)[int(letter[1:]) - 1], seed


def words_for(number, class_code, code_name):
    """A learner's own words for a lesson.

    Returns
    -------
    str
    """
    lesson = lesson_of(number)
    if lesson.words is None:
        return log_line(Draws(seed_of(class_code, code_name, number, "words")))
    letter, told = lesson.words
    return told(asked_of(f"{number}{letter}", class_code, code_name)[1])


def _opening(number, class_code, code_name):
    """The questions about earlier lessons that a learner meets at the beginning of a lesson: no two the same."""
    draws = Draws(seed_of(class_code, code_name, number, "opening"))
    chosen = []
    for earlier in (max(1, number - back) for back in BACK):
        left = [question for question in lesson_of(earlier).recall if question not in chosen]
        chosen.append(draws.one_of(left))
    return chosen


def digest_of(item, data):
    """What tells an item and its data from those of another version of the kit.

    Returns
    -------
    str
    """
    return digest(item.asked(data))
