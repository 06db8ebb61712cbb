"""What a class answered, question by question: how many were right, how many chose which wrong answer, and why."""

from dataclasses import dataclass

from .marking import MISMATCH, RIGHT, UNANSWERED, WRONG

__all__ = ["QuestionCount", "WrongAnswer", "idea_in_words", "item_in_words", "misconceptions", "questions"]

UNKNOWN = "of no known kind"
OWN = {"bits": "bits, from data of one's own", "number": "a number, from data of one's own",
       "words": "words, from data of one's own"}  # fmt: skip


@dataclass(frozen=True)
class WrongAnswer:
    """A wrong answer, and who gave it.

    Attributes
    ----------
    letter : str
        Of a choice; "" otherwise.
    text : str
        Of a choice, the option; "" otherwise, as each learner has data of their own.
    misconception : str
        The wrong idea behind it; "" if it is of no known kind.
    learners : tuple of str
        Their names, as `LearnerMarks.name`.
    """

    letter: str
    text: str
    misconception: str
    learners: tuple

    @property
    def in_words(self):
        """str: as "b, 3 times: volume and time depend on each other"."""
        return f"{self.letter or 'wrong'}, {len(self.learners)} ×: {self.misconception or UNKNOWN}"


@dataclass(frozen=True)
class QuestionCount:
    """What a class answered to one question.

    Attributes
    ----------
    key : str
    kind : str
    question : str
        The question where all are asked the same, a few words on it otherwise.
    right, right_at_first, unanswered, mismatch : int
        How many learners; `right_at_first` chose the right option before any other, of choices alone.
    wrong : tuple of WrongAnswer
        Of a choice, each wrong option, chosen or not; otherwise those that were given. Commonest first.
    """

    key: str
    kind: str
    question: str
    right: int
    right_at_first: int
    unanswered: int
    mismatch: int
    wrong: tuple

    @property
    def wrong_count(self):
        """int: how many answered wrongly."""
        return sum(len(each.learners) for each in self.wrong)

    @property
    def asked(self):
        """int: how many learners were asked."""
        return self.right + self.wrong_count + self.unanswered + self.mismatch


def questions(marks):
    """Count the answers to each question.

    Parameters
    ----------
    marks : ClassMarks

    Returns
    -------
    list of QuestionCount
        In the order of the lessons. An opening question of a lesson is drawn for each learner from a few, and
        each of these has a count of its own.
    """
    groups = {}
    for learner in marks.learners:
        for result in learner.results:
            if result.item is not None:
                groups.setdefault((result.key, item_in_words(result.item)), []).append((learner.name, result))
    order = {key: place for place, key in enumerate(marks.keys)}
    return [_counted(*about, groups[about]) for about in sorted(groups, key=lambda about: (order[about[0]], about))]


def item_in_words(item):
    """The question where all are asked the same, a few words on it otherwise.

    Parameters
    ----------
    item : Choice, Entry or FunctionTask

    Returns
    -------
    str
    """
    if item.kind == "choice":
        return item.question
    return f"the function {item.name}" if item.kind == "function" else OWN.get(item.kind, item.kind)


def _counted(key, question, given):
    item = given[0][1].item
    results = [result for _, result in given]
    count = {verdict: sum(result.verdict == verdict for result in results)
             for verdict in (RIGHT, UNANSWERED, MISMATCH)}  # fmt: skip
    choice = item.kind == "choice"
    first = sum(result.first == item.key and result.verdict != MISMATCH for result in results) if choice else 0
    wrong = [(name, result) for name, result in given if result.verdict == WRONG]
    answers = _wrong_options(item, wrong) if choice else _wrong_entries(wrong)
    answers.sort(key=lambda answer: (-len(answer.learners), answer.letter, answer.misconception))
    return QuestionCount(key, item.kind, question, count[RIGHT], first, count[UNANSWERED], count[MISMATCH],
                         tuple(answers))  # fmt: skip


def _wrong_options(item, wrong):
    def who(option):
        return tuple(name for name, result in wrong if result.misconception == option.misconception)

    return [WrongAnswer(letter, option.text, option.misconception, who(option))
            for letter, option in item.lettered if letter != item.key]  # fmt: skip


def _wrong_entries(wrong):
    by_idea = {}
    for name, result in wrong:
        by_idea.setdefault(result.misconception, []).append(name)
    return [WrongAnswer("", "", idea, tuple(names)) for idea, names in by_idea.items()]


def misconceptions(counts):
    """The wrong ideas that were met, commonest first.

    Parameters
    ----------
    counts : list of QuestionCount

    Returns
    -------
    list of (str, int, list of str)
        The idea, in how many learners it was met, and in which questions: their keys.
    """
    learners, keys = {}, {}
    for count in counts:
        for answer in count.wrong:
            if answer.learners and answer.misconception:
                learners.setdefault(answer.misconception, set()).update(answer.learners)
                keys.setdefault(answer.misconception, {})[count.key] = True
    order = sorted(learners, key=lambda idea: -len(learners[idea]))
    return [(idea, len(learners[idea]), list(keys[idea])) for idea in order]


def idea_in_words(idea, many, keys):
    """One line on a wrong idea, of what `misconceptions` gives.

    Returns
    -------
    str

    Examples
    --------
    >>> idea_in_words("a gap closes up by itself", 3, ["1a", "2r1"])
    '3 learners: a gap closes up by itself (1a, 2r1)'
    """
    return f"{many} learner{'s' if many > 1 else ''}: {idea} ({', '.join(keys)})"
