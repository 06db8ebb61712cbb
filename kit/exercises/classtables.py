"""Marks of a class as tables for a spreadsheet, as plain data, and in words.

What learners wrote stands in a table as text and nothing else: a spreadsheet takes cells that begin with certain
signs for formulas and computes them, so such a cell gets an apostrophe in front.
"""

import csv
import io
import json
import re
from dataclasses import asdict

from .classcounts import idea_in_words, misconceptions, questions
from .marking import MISMATCH, RIGHT, UNANSWERED, WRONG
from .owning import clean

__all__ = ["ANSWER_HEAD", "QUESTION_HEAD", "TABLE", "and_more", "answers_table", "as_data", "in_words",
           "questions_table", "safe_cell", "shown_answer"]

ANSWER_HEAD = ("class", "code name", "lesson", "item", "verdict", "given", "misconception", "first choice", "note",
               "saw")  # fmt: skip
QUESTION_HEAD = ("lesson", "item", "kind", "question", "asked", "right", "right at first", "unanswered",
                 "other data", "wrong", "wrong answer", "chosen by", "misconception", "code names")  # fmt: skip
FORMULA = "=+-@|%＝＋－＠"  # the wide ones are taken for the others by some
LONGEST = 80  # characters of an answer in a table
MOST_IDEAS, MOST_QUESTIONS = 12, 6  # that are told in words; the tables have them all
TOLD = 40
TABLE = "the table of questions (-o marks.csv writes it)"


def and_more(whole, told, table=TABLE):
    """Say how many of a list are not told, and where they are.

    Parameters
    ----------
    whole, told : int
        How many there are, and how many of them are told.
    table : str
        What has them all.

    Returns
    -------
    list of str
        A line; none if all are told.

    Examples
    --------
    >>> and_more(34, 8, "marks-questions.csv"), and_more(8, 8)
    (['and 26 more, in marks-questions.csv'], [])
    """
    return [f"and {whole - told} more, in {table}"] if whole > told else []


def safe_cell(value):
    """What may stand in a cell of a table that a spreadsheet opens.

    Parameters
    ----------
    value : str or number

    Returns
    -------
    str or number
        Of text, one line without control characters, with an apostrophe before what a spreadsheet would compute,
        also where it takes a semicolon for the end of a cell.

    Examples
    --------
    >>> safe_cell("=1+1"), safe_cell("-3.5"), safe_cell("a; =1+1"), safe_cell(-2)
    ("'=1+1", '-3.5', "a; '=1+1", -2)
    """
    if not isinstance(value, str):
        return value
    text = " ".join(clean(value).split())
    if re.fullmatch(r"[+-]?\d+(\.\d+)?(e[+-]?\d+)?", text):
        return text
    return re.sub(rf"(^|;)(\s*)(?=[{re.escape(FORMULA)}])", r"\1\2'", text)


def shown_answer(given):
    """An answer as short text.

    Parameters
    ----------
    given : plain data or None

    Returns
    -------
    str

    Examples
    --------
    >>> shown_answer([0, 1, 1]), shown_answer(0.4), shown_answer("b"), shown_answer(None)
    ('0 1 1', '0.4', 'b', '')
    """
    if given is None:
        return ""
    if isinstance(given, list) and given and all(type(bit) is int and bit in (0, 1) for bit in given):
        text = " ".join(map(str, given))  # together, a spreadsheet would take them for a number
    else:
        text = given if isinstance(given, str) else json.dumps(given, ensure_ascii=False)
    return text if len(text) <= LONGEST else f"{text[: LONGEST - 1]}…"


def lesson_number(key):
    """The lesson of an item, as text; "" where the key does not begin with one."""
    return re.match(r"\d{0,3}", key).group()


def answers_table(marks):
    """A table with a row for each learner and item.

    Parameters
    ----------
    marks : ClassMarks

    Returns
    -------
    str
        CSV with the head `ANSWER_HEAD`.
    """
    rows = (
        (learner.class_code, learner.code_name, lesson_number(result.key), result.key, result.verdict,
         shown_answer(result.given), result.misconception, result.first, result.note, result.saw)
        for learner in marks.learners for result in learner.results
    )  # fmt: skip
    return _csv(ANSWER_HEAD, rows)


def questions_table(marks):
    """A table with a row for each question and wrong answer; one row for a question that nobody got wrong.

    Parameters
    ----------
    marks : ClassMarks

    Returns
    -------
    str
        CSV with the head `QUESTION_HEAD`.
    """
    rows = []
    for count in questions(marks):
        about = (lesson_number(count.key), count.key, count.kind, count.question, count.asked, count.right,
                 count.right_at_first if count.kind == "choice" else "", count.unanswered, count.mismatch,
                 count.wrong_count)  # fmt: skip
        answers = [(f"{each.letter}) {each.text}" if each.letter else "", len(each.learners), each.misconception,
                    ", ".join(each.learners)) for each in count.wrong]  # fmt: skip
        rows += [(*about, *answer) for answer in answers or [("", 0, "", "")]]
    return _csv(QUESTION_HEAD, rows)


def _csv(head, rows):
    target = io.StringIO(newline="")
    writer = csv.writer(target)
    writer.writerow(head)
    writer.writerows([safe_cell(value) for value in row] for row in rows)
    return target.getvalue()


def as_data(marks):
    """Marks as plain data, for JSON.

    Parameters
    ----------
    marks : ClassMarks

    Returns
    -------
    dict
    """
    return {
        "all_usable": marks.all_usable,
        "lessons": list(marks.lessons),
        "learners": [_learner_data(learner) for learner in marks.learners],
        "questions": [asdict(count) for count in questions(marks)],
        "refused": [asdict(remark) for remark in marks.refused],
        "remarks": [asdict(remark) for remark in marks.remarks],
    }


def _learner_data(learner):
    return {
        "class": learner.class_code,
        "code_name": learner.code_name,
        "file": learner.file,
        "items": [
            {"item": result.key, "verdict": result.verdict, "given": shown_answer(result.given),
             "misconception": result.misconception, "first_choice": result.first, "note": result.note,
             "saw": result.saw}
            for result in learner.results
        ],
    }  # fmt: skip


def in_words(marks, table=TABLE):
    """Marks in words: files that were not used, a line for each learner, and the commonest wrong ideas.

    Parameters
    ----------
    marks : ClassMarks
    table : str
        What the table of questions is called, which has all that is not told.

    Returns
    -------
    str
        A remark or a learner's name never makes more than one line.
    """
    lines = [f"{marks.title}; files not counted: {len(marks.refused) or 'none'}."]
    lines += [f"not counted: {_one_line(each.file)}: {_one_line(each.what)}" for each in marks.refused]
    lines += [f"note: {_one_line(each.file)}: {_one_line(each.what)}" for each in marks.remarks]
    return "\n".join([*lines, *_learners_in_words(marks), *_questions_in_words(questions(marks), table)])


def _one_line(text):
    return " ".join(text.split())[:400]


def _learners_in_words(marks):
    if not marks.learners:
        return []
    names = [each.name for each in marks.learners]
    width = min(TOLD, max(map(len, ["learner", *names])))
    lines = ["", f"{'learner':{width}}  right  wrong  open  other data"]
    for name, each in zip(names, marks.learners, strict=True):
        right, wrong, still_open, other = map(each.count, (RIGHT, WRONG, UNANSWERED, MISMATCH))
        lines.append(f"{name[:width]:{width}}  {right:5d}  {wrong:5d}  {still_open:4d}  {other or '-':>10}")
    return lines


def _questions_in_words(counts, table):
    ideas = misconceptions(counts)
    lines = ["", "Wrong ideas, commonest first:"] if ideas else []
    told = [*(idea_in_words(*each) for each in ideas[:MOST_IDEAS]), *and_more(len(ideas), MOST_IDEAS, table)]
    lines += [f"  {line}" for line in told]
    wrong = sorted((each for each in counts if each.wrong_count), key=lambda each: -each.wrong_count)
    lines += ["", "Questions with the most wrong answers:"] if wrong else []
    for count in wrong[:MOST_QUESTIONS]:
        answers = "; ".join(each.in_words for each in count.wrong if each.learners)
        lines.append(f"  {count.key} ({count.question}): {count.right} right, {count.wrong_count} wrong ({answers})")
    return [*lines, *(f"  {line}" for line in and_more(len(wrong), MOST_QUESTIONS, table))]
