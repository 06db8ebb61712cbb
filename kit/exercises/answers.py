"""A learner's answers as a small file: data and nothing else, saved whole at each step, doubted when read.

The file is JSON: class code, code name, the kit's version, and for each item what was answered, with a digest of the
data it was asked about. Nothing in it is ever run.
"""

import contextlib
import hashlib
import importlib.metadata
import json
import os
from pathlib import Path

from ..errors import KitError
from ..names import free_name, safe_name
from .plain import NOT_PLAIN, plain

__all__ = ["AnswerError", "AnswerFile", "answer_name", "blank_answers", "kit_version", "read_answers",
           "write_answers"]

WHAT = "answers of one learner"
LAYOUT = 1
MOST_BYTES = 1_000_000  # a whole course takes a twentieth of it
MOST_ITEMS = 500
LONGEST = 4_000  # characters of a text
# What is kept of an item, and of which kind it must be.
FIELDS = {
    "digest": str,  # of the data it was asked about
    "votes": list,  # letters chosen, in order; the last one counts, unless `answer` holds the right one
    "seen": bool,  # of a prediction: the result was shown
    "saw": str,  # what the learner saw, in their words
    "answer": object,  # the latest, or the latest that was right: plain data; of a choice only a right letter
    "passed": bool,
    "tries": int,
    "mistake": str,  # the kind of trouble of the latest try, its hint, and what tells this try from the next
    "rung": int,
    "attempt": str,
}
TOP = {"what": str, "layout": int, "kit": str, "class_code": str, "code_name": str, "items": dict}


class AnswerError(KitError):
    """An answer file cannot be read or written; the message is one line."""


def kit_version():
    """str: the kit's version, as it goes into answer files."""
    try:
        return importlib.metadata.version("kit")
    except importlib.metadata.PackageNotFoundError:
        return "unknown"


def blank_answers(class_code, code_name):
    """Answers of someone who has not answered anything.

    Returns
    -------
    dict
    """
    return {"what": WHAT, "layout": LAYOUT, "kit": kit_version(), "class_code": class_code,
            "code_name": code_name, "items": {}}


def answer_name(class_code, code_name):
    """Name of a learner's file: the code name, made safe, and six digits that tell it from any like it.

    Parameters
    ----------
    class_code, code_name : str

    Returns
    -------
    str

    Examples
    --------
    >>> answer_name("", "../gull 7"), answer_name("6b", "../gull 7")
    ('_gull 7-dd2a27.json', '_gull 7-d27499.json')
    """
    words = json.dumps([class_code, code_name], ensure_ascii=False)
    mark = hashlib.sha256(words.encode("utf-8")).hexdigest()[:6]
    return f"{safe_name(code_name)[:60].strip('. ')}-{mark}.json"


def read_answers(path):
    """Read an answer file, whoever wrote it.

    Parameters
    ----------
    path : str or path-like

    Returns
    -------
    dict
        Of the known fields only, each of its kind.

    Raises
    ------
    AnswerError
        One line: it is not there, or not such a file, or broken.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise AnswerError(f"{path}: {error.strerror or error}: check the name") from None
    if len(raw) > MOST_BYTES:
        raise AnswerError(f"{path}: an answer file has at most {MOST_BYTES} bytes, this has more: it is none")
    try:
        answers = json.loads(raw.decode("utf-8"), parse_constant=_no_number)
        json.dumps(answers, ensure_ascii=False).encode("utf-8")  # half a character can be read, but not written
    except (ValueError, RecursionError):
        raise AnswerError(f"{path}: an answer file must be whole JSON, this is broken: ask for it anew") from None
    wrong = _what_is_wrong(answers)
    if wrong:
        raise AnswerError(f"{path}: {wrong}")
    return answers


def _no_number(name):
    raise ValueError(f"{name} is no number")


def _what_is_wrong(answers):
    """Why answers are not to be trusted, with what to do; "" if they look fine."""
    if not isinstance(answers, dict) or answers.get("what") != WHAT:
        return "this must be an answer file, it is something else: look for another"
    if answers.get("layout") != LAYOUT:
        return f"layout must be {LAYOUT}, got {answers.get('layout')!r:.20}: it needs another version of the kit"
    if not _fits(answers, TOP) or set(answers) != set(TOP) or len(answers["items"]) > MOST_ITEMS:
        return "its fields are not those of an answer file: ask for it anew"
    odd = [key for key, record in answers["items"].items() if len(key) > 20 or not _is_record(record)]
    return f"item {odd[0]!r:.30} is not as the kit writes it: ask for the file anew" if odd else ""


def _fits(given, fields):
    """Whether each field is known and of its kind, and its texts short."""
    return all(
        name in fields
        and (fields[name] is object or type(value) is fields[name])
        and not (isinstance(value, str) and len(value) > LONGEST)
        for name, value in given.items()
    )


def _is_record(record):
    if not isinstance(record, dict) or not _fits(record, FIELDS):
        return False
    votes = record.get("votes", [])
    whole = all(isinstance(vote, str) and len(vote) == 1 for vote in votes)
    return whole and ("answer" not in record or plain(record["answer"]) is not NOT_PLAIN)


def write_answers(path, answers):
    """Write an answer file: whole or not at all, also if the power goes.

    Parameters
    ----------
    path : str or path-like
        A file of that name is replaced.
    answers : dict

    Raises
    ------
    AnswerError
        One line: the place cannot be written to.
    """
    path = Path(path)
    new = path.with_name(f"{path.name}.{os.getpid()}.new")
    text = _in_lines(answers)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with new.open("w", encoding="utf-8", errors="replace") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        new.replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            new.unlink()
        raise AnswerError(f"{path}: {error.strerror or error}: your answers are not saved, choose another "
                          "folder") from None


def _in_lines(answers):
    """JSON with a line for each item, so that a person can look through it."""
    def words(value):
        return json.dumps(value, ensure_ascii=False, allow_nan=False)

    head = [f"{words(name)}: {words(answers[name])}" for name in TOP if name != "items"]
    items = [f"  {words(key)}: {words(record)}" for key, record in answers["items"].items()]
    body = ",\n".join(items)
    return "{\n" + ",\n".join([*head, '"items": {\n' + body + "\n}"]) + "\n}\n"


class AnswerFile:
    """The answers of one learner, in memory and on disk.

    Parameters
    ----------
    folder : path-like
    class_code, code_name : str

    Attributes
    ----------
    path : pathlib.Path
    complaint : str
        What is wrong with the file or the folder, one line; "" if nothing.

    Notes
    -----
    Each change begins with what is on disk, so two notebooks may be open at once. A file that is broken is set
    aside under another name, never lost and never written over.
    """

    def __init__(self, folder, class_code, code_name):
        self.path = Path(folder).resolve() / answer_name(class_code, code_name)
        self.complaint = ""
        self._held = blank_answers(class_code, code_name)
        self._unsaved = {}
        self._load()

    @property
    def answers(self):
        """dict: as in the file."""
        return self._held

    def record(self, key):
        """What is kept of an item.

        Returns
        -------
        dict
            Empty if nothing was answered.
        """
        return dict(self._held["items"].get(key, {}))

    def change(self, key, **fields):
        """Keep more of an item, and save.

        Parameters
        ----------
        key : str
        **fields
            By the names in `FIELDS`.
        """
        self._unsaved.setdefault(key, {}).update(fields)
        self._load()
        for each, kept in self._unsaved.items():
            self._held["items"].setdefault(each, {}).update(kept)
        self._held["kit"] = kit_version()
        try:
            write_answers(self.path, self._held)
            self._unsaved, self.complaint = {}, ""
        except AnswerError as error:
            self.complaint = str(error)

    def _load(self):
        """Take what is on disk, if it is there and whole."""
        if not self.path.exists():
            return
        try:
            found = read_answers(self.path)
            if any(found[name] != self._held[name] for name in ("class_code", "code_name")):
                raise AnswerError(f"{self.path}: it is somebody else's")
            self._held = found
        except AnswerError as error:
            self._set_aside(error)

    def _set_aside(self, error):
        taken = {entry.name.casefold() for entry in self.path.parent.iterdir()}
        aside = self.path.with_name(free_name(f"{self.path.stem} broken.json", taken))
        try:
            self.path.rename(aside)
            self.complaint = f"{error}; it is kept as {aside.name}"
        except OSError:
            self.complaint = str(error)
