"""Mark answers: work out each right answer anew from the seed, and compare. No learner's code is run."""

from dataclasses import dataclass, field

from .answers import kit_version
from .items import NOT_BEGUN, own_data
from .lessons import LESSONS, digest_of, item_of, keys_of

__all__ = ["MISMATCH", "RIGHT", "UNANSWERED", "WRONG", "ItemResult", "abilities", "begun_lessons", "marked",
           "strangers"]

RIGHT, WRONG, UNANSWERED, MISMATCH = "right", "wrong", "unanswered", "mismatch"


@dataclass(frozen=True)
class ItemResult:
    """What an answer is worth.

    Attributes
    ----------
    key : str
        Such as "4a".
    kind : str
        "choice", "bits", "number", "words" or "function".
    verdict : str
        "right", "wrong", "unanswered", or "mismatch" where the question was another one than this kit's. A function
        that was checked as it was given, with nothing written into it, is unanswered.
    given : object
        The answer: the letter that counts, which is the last one chosen unless a right answer came before it, or
        the bits, number, words or result given; None if there is none.
    misconception : str
        The wrong idea behind a wrong answer; "" if it is right or of no known kind.
    first : str
        Of a choice, the letter chosen first: before the class talked, or before the reply was read.
    saw : str
        Of a prediction, what the learner says they saw: for a person to read.
    note : str
        What else there is to say, one line.
    item : Choice, Entry, FunctionTask or None
        What was asked; None if this kit does not know it.
    digest : str
        Of what this kit asks this learner; "" if it was not needed.
    """

    key: str
    kind: str
    verdict: str
    given: object = None
    misconception: str = ""
    first: str = ""
    saw: str = ""
    note: str = ""
    item: object = field(default=None, repr=False, compare=False)
    digest: str = field(default="", repr=False)


def marked(answers, lessons=None):
    """Mark the answers of one learner.

    Parameters
    ----------
    answers : dict
        As `kit.exercises.answers.read_answers` gives it.
    lessons : iterable of int, optional
        Only these; all that have items otherwise.

    Returns
    -------
    list of ItemResult
        One for each item of these lessons, then one for each answer to an item this kit does not know.
    """
    chosen = sorted(number for number in LESSONS if LESSONS[number].items) if lessons is None else lessons
    keys = [key for number in chosen for key in keys_of(number)]
    results = [_marked_item(key, answers) for key in keys]
    if lessons is not None:
        return results
    return results + strangers(answers, keys)


def strangers(answers, keys):
    """Answers to items this kit does not know.

    Parameters
    ----------
    answers : dict
    keys : collection of str
        Those that are known.

    Returns
    -------
    list of ItemResult
    """
    note = f"no item of this kit, {_versions(answers)}"
    return [ItemResult(key, "", MISMATCH, note=note) for key in answers["items"] if key not in keys]


def _versions(answers):
    return f"answered with version {answers['kit'][:20]}, marked with {kit_version()}"


def _marked_item(key, answers):
    item, seed = item_of(key, answers["class_code"], answers["code_name"])
    record = answers["items"].get(key, {})
    votes = record.get("votes", []) if item.kind == "choice" else []
    given = _chosen(item, votes, record) if item.kind == "choice" else record.get("answer")
    if given is None:
        return ItemResult(key, item.kind, UNANSWERED, item=item)
    data = own_data(item, seed)
    about = {"first": votes[0] if votes else "", "saw": record.get("saw", ""), "item": item,
             "digest": digest_of(item, data)}
    if record.get("digest") != about["digest"]:
        return ItemResult(key, item.kind, MISMATCH, given, note=f"other data, {_versions(answers)}", **about)
    plain_given = (given if isinstance(given, list) else None) if item.kind == "function" else item.accepts(given)
    if plain_given is None:
        return ItemResult(key, item.kind, MISMATCH, given, note="no answer of this kind", **about)
    right, misconception = item.judged(data, seed, plain_given)
    if misconception == NOT_BEGUN:
        return ItemResult(key, item.kind, UNANSWERED, note="checked as it was given", **about)
    return ItemResult(key, item.kind, RIGHT if right else WRONG, given, misconception, **about)


def _chosen(item, votes, record):
    """The letter that counts: the right one if it was ever the answer to a question, else the last one chosen."""
    if not votes:
        return None
    return item.key if record.get("answer") == item.key else votes[-1]


def begun_lessons(answers):
    """Lessons of which something was answered, or a function checked.

    Parameters
    ----------
    answers : dict

    Returns
    -------
    list of int
    """
    return [number for number in sorted(LESSONS) if any(key in answers["items"] for key in keys_of(number))]


def abilities(answers):
    """What a learner can do, as their answers show.

    Parameters
    ----------
    answers : dict

    Returns
    -------
    done, open_ : list of str
        Sentences without their beginning, as "read bits …": what is shown, and of the lessons begun what is not.
    """
    done, open_ = [], []
    for number in begun_lessons(answers):
        results = {each.key: each for each in marked(answers, [number])}
        for words, letter in LESSONS[number].can:
            (done if results[f"{number}{letter}"].verdict == RIGHT else open_).append(words)
    return done, open_
