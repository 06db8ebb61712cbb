"""Mark a class: the answer files of a folder, each learner counted once, copies found, questions counted.

Every right answer is worked out anew from the seed; nothing that stands in a file is run or believed.
"""

import json
import re
from collections import Counter
from dataclasses import dataclass, replace

from .answers import kit_version
from .gathering import Remark, gathered
from .lessons import LESSONS, keys_of, lesson_of
from .marking import MISMATCH, UNANSWERED, marked, strangers

__all__ = ["ClassMarks", "LearnerMarks", "mark_class"]

SENTENCE = 20  # characters: of what a learner says they saw, as much as two do not write alike by chance
SENTENCES = 2


@dataclass(frozen=True)
class LearnerMarks:
    """Marks of one learner.

    Attributes
    ----------
    class_code, code_name : str
    file : str
        Where the answers were, within the folder.
    results : tuple of ItemResult
    """

    class_code: str
    code_name: str
    file: str
    results: tuple

    @property
    def name(self):
        """str: class code, if there is one, and code name."""
        return f"{self.class_code} {self.code_name}".strip()

    @property
    def order(self):
        """tuple: what learners are sorted by: numbers in names by their size."""
        return tuple((not each.isdecimal(), int(each) if each.isdecimal() else 0, each)
                     for name in (self.class_code, self.code_name) for each in re.split(r"(\d+)", name))  # fmt: skip

    def count(self, verdict):
        """How many items have a verdict.

        Returns
        -------
        int
        """
        return sum(result.verdict == verdict for result in self.results)


@dataclass(frozen=True)
class ClassMarks:
    """Marks of a class.

    Attributes
    ----------
    lessons : tuple of int
        Those that were marked.
    learners : tuple of LearnerMarks
        By class code and code name.
    refused : tuple of Remark
        Files that could not be used, or not be believed.
    remarks : tuple of Remark
        What else a teacher should know; everything was counted all the same.
    """

    lessons: tuple
    learners: tuple
    refused: tuple
    remarks: tuple

    @property
    def all_usable(self):
        """bool: whether every file was used and every answer in it could be marked."""
        return not self.refused and not any(each.count(MISMATCH) for each in self.learners)

    @property
    def title(self):
        """str: how many learners, and which lessons; or that there is none."""
        if not self.learners:
            return "No file could be marked"
        runs = []
        for number in self.lessons:
            if runs and runs[-1][-1] == number - 1:
                runs[-1].append(number)
            else:
                runs.append([number])
        lessons = ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs)
        who = f"{len(self.learners)} learner{'' if len(self.learners) == 1 else 's'}"
        return f"{who}, lesson{'s' if len(self.lessons) > 1 else ''} {lessons}"

    @property
    def keys(self):
        """list of str: keys of the items, in the order of the lessons; those this kit does not know come last."""
        known = [key for number in self.lessons for key in keys_of(number)]
        odd = {result.key for each in self.learners for result in each.results} - set(known)
        return known + sorted(odd)


def mark_class(folder, lessons=None, progress=None):
    """Mark all answer files of a folder.

    Parameters
    ----------
    folder : path-like
    lessons : iterable of int, optional
        Only these; otherwise all that any of the learners has begun.
    progress : callable, optional
        Told the part that is done, 0 to 1.

    Returns
    -------
    ClassMarks

    Raises
    ------
    SettingError
        The folder has no answer files, or there is no such lesson.
    """
    chosen = None if lessons is None else [lesson_of(number).number for number in sorted(set(lessons))]
    found = gathered(folder)
    sheets, refused, remarks = _one_each(found.sheets)
    numbers = _begun(sheets) if chosen is None else chosen
    learners, failed = _marked_all(sheets, numbers, chosen is None, progress)
    learners, copies = _without_copies(sheets, learners)
    remarks += _alike(sheets)
    if found.others:
        more = f", like {len(found.others) - 1} more" if len(found.others) > 1 else ""
        remarks.append(Remark(found.others[0], f"no answer file by its name{more}: not looked at"))
    return ClassMarks(tuple(numbers), tuple(sorted(learners.values(), key=lambda each: each.order)),
                      (*found.refused, *refused, *failed, *copies), tuple(remarks))


def _one_each(sheets):
    """For each learner the sheet that counts, and what is said about the others."""
    by_learner = {}
    for sheet in sheets:
        by_learner.setdefault(sheet.who, []).append(sheet)
    counted, refused, remarks = {}, [], []
    for who, same in by_learner.items():
        *others, best = sorted(same, key=_worth)
        counted[who] = best
        for other in others:
            (remarks if other.named_for_its_learner else refused).append(Remark(other.file, _why_not(other, best)))
        if not best.named_for_its_learner:
            remarks.append(Remark(best.file, f"holds the answers of {who[1]!r}, whose file has another name"))
    return counted, refused, remarks


def _worth(sheet):
    """Of two sheets of a learner, the later one counts, unless only the other one is named as it should be."""
    return sheet.named_for_its_learner, sheet.changed_ns, len(sheet.answers["items"]), sheet.file


def _why_not(sheet, best):
    who = f"{sheet.who[1]!r} again"
    if not sheet.named_for_its_learner:
        return f"{who}, under a name that is not theirs: a copy? {best.file} counts"
    if sheet.answers["items"] == best.answers["items"]:
        return f"{who}, with the same answers: {best.file} counts"
    counts = len(sheet.answers["items"]), len(best.answers["items"])
    return f"{who}, {counts[0]} answers, not newer: {best.file} counts, with {counts[1]} answers"


def _begun(sheets):
    """Numbers of the lessons of which anybody has answered anything; of all that have items, if there are none."""
    answered = {key for sheet in sheets.values() for key in sheet.answers["items"]}
    begun = [number for number in sorted(LESSONS) if answered & set(keys_of(number))]
    return begun or [number for number in sorted(LESSONS) if LESSONS[number].items]


def _marked_all(sheets, numbers, with_strangers, progress):
    known = {key for number in LESSONS for key in keys_of(number)}
    learners, failed = {}, []
    for done, (who, sheet) in enumerate(sheets.items()):
        try:
            results = marked(sheet.answers, numbers)
            results += strangers(sheet.answers, known) if with_strangers else []
            learners[who] = LearnerMarks(*who, sheet.file, tuple(results))
        except Exception as error:  # whatever was put into a file, it must not keep the others from being marked
            failed.append(Remark(sheet.file, f"it cannot be marked ({type(error).__name__}): look at it yourself"))
        if progress is not None:
            progress((done + 1) / len(sheets))
    return learners, failed


# -- copies -----------------------------------------------------------------------------------------------


def _without_copies(sheets, learners):
    """The same marks, but where the answers are to another learner's data: nothing of these counts."""
    owners = {}
    for who, each in learners.items():
        for result in each.results:
            if result.digest and result.kind != "choice":
                owners.setdefault((result.key, result.digest), set()).add(who)
    kept, copies = {}, []
    for who, each in learners.items():
        owner = _owner_of(sheets[who], each, owners)
        kept[who] = each if owner is None else _disbelieved(each, owner)
        if owner is not None:
            copies.append(Remark(each.file, f"what {who[1]!r} answered was asked of {owner[1]!r} "
                                            f"({learners[owner].file}): a copy? Nothing of it counts"))  # fmt: skip
    return kept, copies


def _owner_of(sheet, marks, owners):
    """Whose data the answers of a sheet are about, where they are not about its own; None if that is not known."""
    if sheet.answers["kit"] != kit_version():
        return None  # another version may well have asked this learner what this one asks another
    votes, others = Counter(), 0
    for result in marks.results:
        said = sheet.answers["items"].get(result.key, {}).get("digest")
        if result.digest and result.kind != "choice" and said != result.digest:
            others += 1
            votes.update(owners.get((result.key, said), ()))
    best = min(votes, key=lambda who: (-votes[who], who), default=None)
    # Two learners may be asked the same by chance where little is drawn: one item alone tells nothing of many.
    return best if best and 2 * votes[best] > others and (votes[best] > 1 or others == 1) else None


def _disbelieved(marks, owner):
    note = f"in a file that answers what {owner[1]!r} was asked"
    results = (result if result.verdict == UNANSWERED else
               replace(result, verdict=MISMATCH, misconception="", note=note) for result in marks.results)
    return replace(marks, results=tuple(results))


def _alike(sheets):
    """Remarks on sheets whose sentences are all the same."""
    first, remarks = {}, []
    for who in sorted(sheets):
        sheet = sheets[who]
        said = {key: record.get("saw", "") for key, record in sorted(sheet.answers["items"].items())}
        long = {key: words for key, words in said.items() if len(words) >= SENTENCE}
        if len(long) < SENTENCES:
            continue
        other = first.setdefault(json.dumps(long), sheet)
        if other is not sheet:
            remarks.append(Remark(sheet.file, f"{who[1]!r} saw the same, word for word, as {other.who[1]!r} "
                                              f"({other.file}): ask both"))  # fmt: skip
    return remarks

