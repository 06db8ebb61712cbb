"""Items a learner answers: choices, and bits, numbers or words worked out from data of their own.

Each kind of item offers the same few things, with which answers are asked for, checked and marked:
`draw(draws)` gives a learner's own data, `tells_apart(data)` whether a mistake shows in it, `judged(data, answer)`
what an answer is worth, and `asked(data)` what the data's digest is taken over.
"""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import combinations

from ..errors import SettingError
from .draws import Draws
from .plain import alike, plain

__all__ = ["LETTERS", "NOT_BEGUN", "WANTED", "Choice", "Entry", "Mistake", "Option", "own_data", "rungs_of"]

LETTERS = "abcd"
NOT_BEGUN = "has not begun"  # what the mistake of a function left as it was given means: none was made yet
MOST_DRAWS = 1000  # data in which two mistakes look the same is drawn again; one draw in a few does


@dataclass(frozen=True)
class Option:
    """One of four answers.

    Parameters
    ----------
    text : str
    reply : str
        What is so, to someone who chose it.
    misconception : str
        The wrong idea it stands for; "" for the right one.
    """

    text: str
    reply: str
    misconception: str = ""


@dataclass(frozen=True)
class Choice:
    """A question with four answers: one right, three that stand for misconceptions.

    Parameters
    ----------
    question : str
    options : tuple of Option
        Four.
    explanation : str
        Why it is so, told after the reply. Of a prediction, once the learner has said what they saw.
    """

    question: str
    options: tuple
    explanation: str = ""

    kind = "choice"

    def __post_init__(self):
        wrong = {option.misconception for option in self.options if option.misconception}
        if len(self.options) != len(LETTERS) or len(wrong) != len(LETTERS) - 1:
            raise SettingError(
                "a choice must have four options, one right and three with a misconception each, got "
                f"{len(self.options)} with {len(wrong)}: write what is missing"
            )

    @property
    def key(self):
        """Letter of the right option."""
        return next(letter for letter, option in self.lettered if not option.misconception)

    @property
    def lettered(self):
        """Pairs of letter and option."""
        return list(zip(LETTERS, self.options, strict=True))

    def option(self, letter):
        """The option of a letter."""
        return self.options[LETTERS.index(letter)]

    def asked(self, data):
        """What is asked, as plain data."""
        return [self.question, [option.text for option in self.options]]

    def draw(self, draws):
        """Nothing is drawn: all are asked the same."""

    def tells_apart(self, data):
        """Always: the options are written so."""
        return True

    def accepts(self, answer):
        """The letter, from a letter with blanks or as a capital; None if it is none."""
        letter = answer.strip().lower() if isinstance(answer, str) else ""
        return letter if len(letter) == 1 and letter in LETTERS else None

    def judged(self, data, seed, answer):
        """Whether an answer is right, and the misconception behind it if it is not."""
        misconception = self.option(answer).misconception
        return not misconception, misconception


@dataclass(frozen=True)
class Mistake:
    """A known way to go wrong.

    Parameters
    ----------
    name : str
        Two words at most.
    function : callable
        Gives what the learner would get.
    means : str
        What someone who does so believes or overlooks, for the teacher.
    shows : str
        First hint: what the result shows. One line of at most 15 words, like the others not the answer.
    look : str
        Second hint: where to look.
    worked : str
        Third hint: a worked line on other data; that of the item if it is "".
    like : str
        Name of a mistake of the same function that mostly gives the same results: a probe tells the two apart.
    """

    name: str
    function: Callable
    means: str
    shows: str
    look: str
    worked: str = ""
    like: str = ""


def rungs_of(mistake, item):
    """The three hints of a mistake, in order.

    Parameters
    ----------
    mistake : Mistake
    item : Entry or FunctionTask
        Its `worked` line is the third hint of mistakes that have none of their own.

    Returns
    -------
    tuple of str
    """
    return mistake.shows, mistake.look, mistake.worked or item.worked


@dataclass(frozen=True)
class Entry:
    """Bits, a number or words to type in, worked out from data of one's own.

    Parameters
    ----------
    kind : {"bits", "number", "words"}
    question : callable
        Data → what is asked.
    draw : callable
        `Draws` → plain data.
    right : callable
        Data → the answer.
    mistakes : tuple of Mistake
    look, worked : str
        Second and third hint for a wrong answer that is no known mistake.
    reply : str
        Said when it is right.
    tolerance : float
        Of a number, as a part of the right one.
    """

    kind: str
    question: Callable
    draw: Callable
    right: Callable
    mistakes: tuple
    look: str
    worked: str
    reply: str
    tolerance: float = 0.005

    def asked(self, data):
        """What is asked, as plain data."""
        return [self.kind, self.question(data), plain(data)]

    def tells_apart(self, data):
        """Whether the right answer and those of all mistakes differ on some data."""
        answers = [self.right(data), *(mistake.function(data) for mistake in self.mistakes)]
        return not any(self._same(one, other) for one, other in combinations(answers, 2))

    def accepts(self, answer):
        """The answer in plain form; None if it is of another kind."""
        return ACCEPTED[self.kind](plain(answer))

    def judged(self, data, seed, answer):
        """Whether an answer is right, and the name of the mistake if it is a known one."""
        if self._same(answer, self.right(data)):
            return True, ""
        made = (mistake for mistake in self.mistakes if self._same(answer, mistake.function(data)))
        return False, next((mistake.means for mistake in made), "")

    def mistake_in(self, data, answer):
        """The known mistake that gives an answer, or None."""
        made = (mistake for mistake in self.mistakes if self._same(answer, mistake.function(data)))
        return next(made, None)

    def _same(self, one, other):
        if self.kind == "number":
            return abs(one - other) <= self.tolerance * abs(other)
        return alike(plain(one), plain(other))


def _bits(answer):
    """A list of 0 and 1, also from text like "0110 1"."""
    if isinstance(answer, str):
        answer = ["01".find(each) for each in answer if not each.isspace()]
    fits = isinstance(answer, list) and answer and all(type(bit) in (int, float) and bit in (0, 1) for bit in answer)
    return [int(bit) for bit in answer] if fits else None


def _number(answer):
    if isinstance(answer, str):
        try:
            answer = plain(float(answer.replace(",", ".")))
        except ValueError:
            return None
    return answer if type(answer) in (int, float) else None


def _text(answer):
    return answer.strip() or None if isinstance(answer, str) else None


ACCEPTED = {"bits": _bits, "number": _number, "words": _text}
WANTED = {"bits": "bits, such as 0110", "number": "a number", "words": "words"}


def own_data(item, seed):
    """A learner's own data for an item: drawn until the right answer and all the usual mistakes differ.

    Parameters
    ----------
    item : Choice, Entry or FunctionTask
    seed : bytes

    Returns
    -------
    object
        Plain data.

    Raises
    ------
    SettingError
        The item's mistakes never differ.
    """
    for number in range(MOST_DRAWS):
        data = item.draw(Draws(seed, number))
        if item.tells_apart(data):
            return data
    raise SettingError(f"mistakes must differ on some data, got none in {MOST_DRAWS} draws: write the item anew")

