"""What is a learner's own: a code name, words, data, and a file of answers."""

import unicodedata

from ..errors import SettingError
from ..tape import encode
from .answers import AnswerFile
from .lessons import asked_of, digest_of, words_for
from .shows import Asked, Told

__all__ = ["FOLDER", "Owner", "clean", "is_name"]

FOLDER = "answers"
GUEST = "guest"
LONGEST_NAME, LONGEST_TEXT = 40, 2000
KEEP_SAFE = "Use a code name, never your real name."
TYPED = {"choice": "letter", "bits": "your bits", "number": "your number", "words": "your words"}


class Owner:
    """Somebody with a code name, and what is theirs.

    Parameters
    ----------
    code_name, class_code : str
        As `kit.exercises.learner` takes them.
    folder : path-like

    Attributes
    ----------
    code_name, class_code : str
        With blanks and capitals made even: "Gull  7" and "gull 7" are the same learner.
    file : AnswerFile
        Where the answers are.
    """

    def __init__(self, code_name, class_code, folder):
        self.code_name = _even(code_name, "code_name")
        self.class_code = _even(class_code, "class_code") if class_code else ""
        self.file = AnswerFile(folder, self.class_code, self.code_name)

    def __repr__(self):
        path, count = self.file.path, len(self.file.answers["items"])
        place = f"{FOLDER}/{path.name}" if path.parent.name == FOLDER else path
        who = f"You are {self.code_name}"
        who += ", as anybody is at first: choose a code name of your own. " if self.code_name == GUEST else ". "
        lines = (who + KEEP_SAFE, f"Your answers, {count} so far, are kept in {place}.", self.file.complaint)
        return "\n".join(filter(None, lines))

    def _repr_html_(self):
        return Told(repr(self))._repr_html_()

    def seed(self, key):
        """A number of the learner's own, for anything that takes a seed.

        Parameters
        ----------
        key : str
            Such as "1a".

        Returns
        -------
        int
            Below 2**31.
        """
        return int.from_bytes(asked_of(key, self.class_code, self.code_name)[2][:4], "big") >> 1

    def message(self, lesson):
        """The learner's own words for a lesson.

        Parameters
        ----------
        lesson : int

        Returns
        -------
        str
        """
        return words_for(lesson, self.class_code, self.code_name)

    def tape(self, lesson):
        """The learner's own tape for a lesson: their words, encoded with a leader of one second.

        Parameters
        ----------
        lesson : int

        Returns
        -------
        Sound
        """
        return encode(self.message(lesson).encode("utf-8"), name="log.txt", lead_in_s=1.0)

    def data(self, key):
        """The learner's own data for an item.

        Parameters
        ----------
        key : str

        Returns
        -------
        object
            Of a function with one argument, that; of one with several, all of them.
        """
        item, data, _ = self._asked(key)
        return data[0] if item.kind == "function" and len(data) == 1 else data

    def _asked(self, key, *kinds):
        """Item, data and seed of a key; refuses items of other kinds than these, if any are given."""
        item, data, seed = asked_of(key, self.class_code, self.code_name)
        if kinds and item.kind not in kinds:
            verb = "check" if item.kind == "function" else "answer"
            raise SettingError(f"{key} must be {' or '.join(kinds)} for this, it is {item.kind}: take me.{verb}")
        return item, data, seed

    def _keep(self, key, **fields):
        item, data, _ = self._asked(key)
        self.file.change(key, digest=digest_of(item, data), **fields)

    def _told(self, text):
        """Something said, with what is wrong with the file, should anything be."""
        return Told("\n".join(filter(None, (text, self.file.complaint))))

    def _question(self, key, verb, button):
        """The question of an item, with a control that answers it."""
        item, data, _ = self._asked(key)
        record = self.file.record(key)
        choice = item.kind == "choice"
        return self._form(
            item.question if choice else item.question(data),
            f'me.{verb}("{key}", "{TYPED[item.kind]}")',
            button,
            lambda answer: getattr(self, verb)(key, answer),
            options=[(letter, option.text) for letter, option in item.lettered] if choice else [],
            value=_chosen(item, verb, record) if choice else _in_words(record.get("answer", "")),
        )

    def _form(self, question, typed, button, save, options=(), value=""):
        status = f"Answered so far: {value}" if value else ""
        return Asked([{"question": question, "options": options, "typed": typed, "button": button, "value": value,
                       "status": status, "save": save}])


def _chosen(item, verb, record):
    """The letter that stands: the latest, but of answers a right one that was given before."""
    stays = verb == "answer" and record.get("answer") == item.key
    return item.key if stays else (record.get("votes") or [""])[-1]


def _in_words(answer):
    return "".join(map(str, answer)) if isinstance(answer, list) else str(answer)


def _even(name, what):
    """A name with blanks and capitals made even.

    Raises
    ------
    SettingError
        It is no name.
    """
    text = " ".join(clean(name).split()).casefold() if isinstance(name, str) else ""
    if not 0 < len(text) <= LONGEST_NAME:
        raise SettingError(
            f"{what} must be text of 1 to {LONGEST_NAME} characters, got {str(name)[:20]!r}: choose one, "
            "never a real name"
        )
    return text


def is_name(text):
    """Whether text could be a code name or class code as a learner's file holds it: even, short, and showable.

    Parameters
    ----------
    text : str

    Returns
    -------
    bool

    Examples
    --------
    >>> is_name("gull 7"), is_name("Gull 7"), is_name("gull\\x07"), is_name("")
    (True, False, False, False)
    """
    even = " ".join(text.split()).casefold() == text
    return even and text.isprintable() and 0 < len(text) <= LONGEST_NAME


def clean(text):
    """Text without what cannot be shown or written.

    Parameters
    ----------
    text : object

    Returns
    -------
    str
        At most 2000 characters.
    """
    text = unicodedata.normalize("NFC", str(text)[:LONGEST_TEXT])
    return "".join(each for each in text if each in "\n " or unicodedata.category(each)[0] != "C").strip()
