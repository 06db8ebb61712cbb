"""Gather the answer files of a class from a folder: every file is doubted, none stops the rest."""

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from ..errors import SettingError
from .answers import AnswerError, answer_name, read_answers
from .owning import is_name

__all__ = ["Gathered", "Remark", "Sheet", "gathered"]

ENDING = ".json"
DEEPEST = 2  # folders within the folder: some ways of collecting files make one for each learner
MOST_FILES = 2000


@dataclass(frozen=True)
class Remark:
    """What there is to say about a file.

    Attributes
    ----------
    file : str
        Its name within the folder.
    what : str
        One line.
    """

    file: str
    what: str


@dataclass(frozen=True)
class Sheet:
    """One file that can be read.

    Attributes
    ----------
    file : str
        Its name within the folder.
    answers : dict
        As `read_answers` gives it.
    changed_ns : int
        When it was last written, as the disk says.
    """

    file: str
    answers: dict
    changed_ns: int

    @property
    def who(self):
        """tuple of str: class code and code name."""
        return self.answers["class_code"], self.answers["code_name"]

    @property
    def named_for_its_learner(self):
        """bool: whether the six digits that the kit puts into the name of this learner's file are in this one's.

        The rest of a name is often changed where files are collected.
        """
        digits = answer_name(*self.who).removesuffix(ENDING).rsplit("-", 1)[1]
        return f"-{digits}" in Path(self.file).name


@dataclass(frozen=True)
class Gathered:
    """What a folder holds.

    Attributes
    ----------
    sheets : tuple of Sheet
    refused : tuple of Remark
        Files that should be answers and cannot be used.
    others : tuple of str
        Names of files that do not claim to be answers; they were not opened.
    """

    sheets: tuple
    refused: tuple
    others: tuple


def gathered(folder):
    """Read all answer files of a folder, and of the folders in it.

    Parameters
    ----------
    folder : path-like
        Hidden files are passed over; links are never followed.

    Returns
    -------
    Gathered

    Raises
    ------
    SettingError
        It is no folder, may not be read, or has no answer file in it or too many files.
    """
    folder = Path(folder)
    try:
        entries = _entries(folder, "", DEEPEST)
    except OSError as error:
        raise SettingError(f"FOLDER must be a folder one may read, got {str(folder)[:200]!r} "
                           f"({error.strerror or error}): name another") from None
    claimed = [entry for entry in entries if entry.lower().endswith(ENDING)]
    if len(entries) > MOST_FILES:
        raise SettingError(f"FOLDER must hold {MOST_FILES} files at most, got more in {str(folder)[:200]!r}: name "
                           "the folder into which answers were handed in")  # fmt: skip
    if not claimed:
        held = f"{len(entries)} files of other kinds" if entries else "nothing"
        raise SettingError(f"FOLDER must hold answer files ({ENDING}), got {held} in {str(folder)[:200]!r}: name the "
                           "folder into which answers were handed in")  # fmt: skip
    read = [_read(folder, file) for file in claimed]
    return Gathered(
        tuple(each for each in read if isinstance(each, Sheet)),
        tuple(each for each in read if isinstance(each, Remark)),
        tuple(entry for entry in entries if entry not in set(claimed)),
    )


def _entries(folder, above, depth):
    """Names of all that is no folder, sorted; a folder that is too deep or may not be read counts as a file."""
    names = []
    with os.scandir(folder) as found:
        for entry in sorted(found, key=lambda entry: entry.name):
            name = f"{above}{entry.name}"
            if entry.name.startswith("."):
                continue
            if not entry.is_dir(follow_symlinks=False) or not depth:
                names.append(name)
            else:
                names += _entries_if_allowed(entry.path, name, depth)
            if len(names) > MOST_FILES:
                break
    return names


def _entries_if_allowed(folder, name, depth):
    try:
        return _entries(folder, f"{name}/", depth - 1)
    except OSError:
        return [name]


def _read(folder, file):
    """A sheet, or a remark that says why there is none."""
    path = folder / file
    try:
        found = path.lstat()
        if stat.S_ISLNK(found.st_mode):
            return Remark(file, "a link is not followed: put the file itself here")
        if not stat.S_ISREG(found.st_mode):
            return Remark(file, "it is no ordinary file: ask for the answer file")
        answers = read_answers(path)
    except AnswerError as error:
        return Remark(file, str(error).removeprefix(f"{path}: "))
    except OSError as error:
        return Remark(file, f"{error.strerror or error}: check whether you may read it")
    class_code, code_name = answers["class_code"], answers["code_name"]
    if not is_name(code_name) or not (class_code == "" or is_name(class_code)):
        return Remark(file, "its code name or class code is not as the kit writes them: ask for the file anew")
    return Sheet(file, answers, found.st_mtime_ns)
