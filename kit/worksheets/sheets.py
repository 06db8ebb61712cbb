"""What is on a learner's sheet: letters, a calculation and a question of their own, out of SHA-256 alone."""

from dataclasses import dataclass
from itertools import count

from ..exercises.draws import Draws, seed_of
from ..exercises.items import Choice, own_data
from ..exercises.lessons import lesson_of
from ..known import FORMATS
from .sums import SUMS

__all__ = ["Question", "Sheet", "bits_of", "drawn_sheet", "exits_of", "half_cycles", "prediction_of"]

CODE = FORMATS["house"].code
FRAME = FORMATS["house"].frame
LETTERS = "BCDFGHJKLMNPQRSTVWXZ"  # no vowels, so that no word comes out
LETTERS_A_STRIP = 3
EXIT_LETTER = "e"  # every lesson's last question
SHEET = 0  # stands where a lesson's number stands in a seed


@dataclass(frozen=True)
class Question:
    """A choice, and the lesson it is from.

    Attributes
    ----------
    lesson : int
    choice : Choice
    """

    lesson: int
    choice: Choice


@dataclass(frozen=True)
class Sheet:
    """A learner's sheet.

    Attributes
    ----------
    number : int
        From 1.
    shown : str
        The code name, as it is printed; "" if there is none.
    letters : str
        Three, all different.
    sum_letter : str
        Which calculation, one of `SUMS`.
    sum_data : list
        Their numbers for it.
    exit_number : int
        Which of the set's exit questions, from 0.
    """

    number: int
    shown: str
    letters: str
    sum_letter: str
    sum_data: list
    exit_number: int


def bits_of(letter):
    """Eight bits of a letter, most significant first, as the house format frames it.

    Examples
    --------
    >>> bits_of("A")
    [0, 1, 0, 0, 0, 0, 0, 1]
    """
    return FRAME.to_bits(letter.encode("ascii")).tolist()


def half_cycles(letter, unit_mm):
    """Half-cycles of a letter's strip, in mm; a unit is a short cycle.

    Examples
    --------
    >>> half_cycles("A", 6)[:6]
    [3.0, 3.0, 6.0, 6.0, 3.0, 3.0]
    """
    return (CODE.encode(bits_of(letter)) * unit_mm).tolist()


def prediction_of(lessons, class_code):
    """The prediction of a class: one for all, so that they can vote on it, talk, and see it together.

    Returns
    -------
    Question
    """
    asked = [Question(number, choice) for number in lessons for choice in _predictions(lesson_of(number))]
    return Draws(seed_of(class_code, "", SHEET, "prediction")).one_of(asked)


def _predictions(lesson):
    """Its choices but the last; of a lesson that has none, what later lessons ask about it."""
    items = lesson.items.items()
    found = [item for letter, item in items if isinstance(item, Choice) and letter != EXIT_LETTER]
    return found or list(lesson.recall)


def exits_of(lessons, prediction):
    """The exit questions of a set: those that end its lessons, and what later lessons ask about them.

    Returns
    -------
    list of Question
    """
    found = []
    for lesson in map(lesson_of, lessons):
        last = [lesson.items[EXIT_LETTER]] if isinstance(lesson.items.get(EXIT_LETTER), Choice) else []
        found += [Question(lesson.number, choice) for choice in (*last, *lesson.recall)]
    return [each for each in found if each != prediction]


def drawn_sheet(number, who, class_code, exits, taken):
    """A sheet for somebody.

    Parameters
    ----------
    number : int
    who : Named
    class_code : str
    exits : list of Question
    taken : set of str
        Letters of others, which are not drawn again; those of this sheet are added.

    Returns
    -------
    Sheet
    """
    drawn = Draws(seed_of(class_code, who.seed_name, SHEET, "sheet"))
    sum_letter, exit_number = drawn.one_of(sorted(SUMS)), drawn.below(len(exits))
    sum_data = own_data(SUMS[sum_letter], seed_of(class_code, who.seed_name, SHEET, "calculation"))
    letters = _own_letters(seed_of(class_code, who.seed_name, SHEET, "letters"), taken)
    return Sheet(number, who.shown, letters, sum_letter, sum_data, exit_number)


def _own_letters(seed, taken):
    for number in count():
        letters = "".join(Draws(seed, number).some_of(LETTERS, LETTERS_A_STRIP))
        if letters not in taken:
            taken.add(letters)
            return letters
