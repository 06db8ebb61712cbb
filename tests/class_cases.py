"""A class made up for tests: learners who answer every item there is, rightly or by a known mistake."""

import csv
import io
import json
import os
import random

from kit.exercises import LESSONS
from kit.exercises.answers import answer_name, blank_answers, write_answers
from kit.exercises.items import NOT_BEGUN
from kit.exercises.lessons import asked_of, digest_of, keys_of
from kit.exercises.marking import marked
from kit.exercises.plain import plain

EVERY_KEY = [key for number in sorted(LESSONS) for key in keys_of(number)]
KEYS = keys_of(4)
# Functions take long to mark, and are shown as any other item is.
SHORT_KEYS = [key for key in EVERY_KEY if asked_of(key, "", "gull 7")[0].kind != "function"]


def right_record(key, code_name, class_code=""):
    """The record of an item answered rightly."""
    return _record(key, code_name, class_code, None)


def wrong_record(key, code_name, class_code="", which=0):
    """The record of an item answered by one of its known mistakes, or its wrong options."""
    return _record(key, code_name, class_code, which)


def idea_behind(key, code_name, class_code="", which=0):
    """The belief behind `wrong_record`, read from the item itself."""
    item, _, _ = asked_of(key, class_code, code_name)
    if item.kind == "choice":
        return _wrong_options(item)[which][1].misconception
    return _mistakes(item)[which].means


def _record(key, code_name, class_code, which):
    item, data, seed = asked_of(key, class_code, code_name)
    record = {"digest": digest_of(item, data)}
    if item.kind == "choice":
        letter = item.key if which is None else _wrong_options(item)[which][0]
        return {**record, "votes": [letter]}
    function = item.right if which is None else _mistakes(item)[which].function
    if item.kind != "function":
        return {**record, "answer": function(data)}
    results = [plain(function(*each)) for each in (data, *item.fresh(seed))]
    return {**record, "answer": [*results, plain(item.right(*item.edge))]}


def _mistakes(item):
    """Those of something that was written: a function left as it was given is not one of them."""
    return [mistake for mistake in item.mistakes if mistake.means != NOT_BEGUN]


def _wrong_options(item):
    return [(letter, option) for letter, option in item.lettered if option.misconception]


def answers_of(code_name, class_code="", keys=EVERY_KEY, wrong=()):
    """Answers to items, all right but for those named, which are wrong in the first known way."""
    answers = blank_answers(class_code, code_name)
    for key in keys:
        made = wrong_record if key in wrong else right_record
        answers["items"][key] = made(key, code_name, class_code)
    return answers


def mixed_answers(code_name, class_code, seed, keys=EVERY_KEY):
    """Answers as a class gives them to some items: six of ten right, one of ten not given."""
    chance = random.Random(f"{code_name} {seed}")
    keys = [key for key in keys if chance.random() < 0.9]
    return answers_of(code_name, class_code, keys, {key for key in keys if chance.random() < 0.4})


def put(folder, answers, name=None, seconds=None):
    """Write answers into a folder as handing in does, under another name and date if told so; gives the path."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / (name or answer_name(answers["class_code"], answers["code_name"]))
    write_answers(path, json.loads(json.dumps(answers)))
    if seconds is not None:
        os.utime(path, (seconds, seconds))
    return path


def table(text):
    """The rows of a table that a class is marked in, by the names of its columns."""
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))


def verdicts(marks, name):
    """What each item of one of the class was found to be."""
    (learner,) = [each for each in marks.learners if each.name == name]
    return {result.key: result.verdict for result in learner.results}


def verdict_of(me, key):
    """What an item of a learner is found to be, while it is being answered."""
    return next(each for each in marked(me.file.answers) if each.key == key)
