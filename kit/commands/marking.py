"""``mark``: check the answer files of a class."""

import os
import warnings
from contextlib import suppress
from pathlib import Path

from ..errors import SettingError
from .talking import progress, say, say_json
from .targets import refuse_existing

__all__ = ["add_to", "run"]

ALL_WELL, SOMETHING_NOT_COUNTED = 0, 1
TABLE_TYPES, PICTURE_TYPES = (".csv",), (".png", ".pdf")
EXAMPLES = """
examples:
  python -m kit mark lessons/hand-in
  python -m kit mark lessons/hand-in -o marks.csv --picture class.pdf
  python -m kit mark lessons/hand-in --lessons 1,4 --json

marks.csv has a row for each learner and item; marks-questions.csv says how many chose which wrong answer, and
the wrong idea behind it. Each right answer is worked out anew; nothing in a file is believed or run.
exit status: 0 every file was used; 1 a file, or an answer in one, could not be (each is said in one line, the
rest is marked); 2 there are no answer files, or the call is wrong (one line says what)
"""


def add_to(subparsers):
    """Add the parser of ``mark``."""
    parser = subparsers.add_parser(
        "mark",
        help="check a class's answer files",
        epilog=EXAMPLES,
        description="Mark the files that learners handed in, and say which wrong ideas are common.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("folder", metavar="FOLDER", help="where the answers were handed in, one file per learner")
    parser.add_argument("-o", "--output", metavar="TABLE", help="also write the marks as a table, TABLE.csv, and "
                        "the questions as TABLE-questions.csv")  # fmt: skip
    parser.add_argument("--picture", metavar="FILE", help="also draw a page, who got what right: a .png or .pdf")
    parser.add_argument("--lessons", type=_numbers, metavar="N,N", help="only these lessons, as 1,4 (all begun ones)")
    parser.add_argument("--force", action="store_true", help="replace TABLE and FILE if they are there already")
    parser.add_argument("--json", action="store_true", help="report as JSON")


def _numbers(text):
    import argparse

    if not all(part.strip().isdecimal() and len(part) < 6 for part in text.split(",")):
        raise argparse.ArgumentTypeError(f"must be numbers of lessons with commas between them, got {text[:40]!r}")
    return [int(part) for part in text.split(",")]


def run(args):
    """Mark, write and report; the exit status."""
    table, picture = _target(args.output, "TABLE", TABLE_TYPES), _target(args.picture, "FILE", PICTURE_TYPES)
    by_question = table and table.with_name(f"{table.stem}-questions{table.suffix}")
    refuse_existing([[table, by_question, picture]], args.force, "TABLE and FILE")
    from ..exercises import classtables
    from ..exercises.classmarks import mark_class

    with progress("marking") as told:
        marks = mark_class(args.folder, args.lessons, told)
    if table is not None:
        _write(table, classtables.answers_table(marks))
        _write(by_question, classtables.questions_table(marks))
    if picture is not None:
        _draw(marks, picture, by_question)
    written = {"table": table, "questions_table": by_question, "picture": picture}
    if args.json:
        made = {name: path and str(path) for name, path in written.items()}
        say_json({"folder": args.folder, **made, **classtables.as_data(marks)})
    else:
        say(classtables.in_words(marks, by_question.name if by_question else classtables.TABLE))
        say("\n".join(["", *(f"{path} is written." for path in written.values() if path is not None)]))
    return ALL_WELL if marks.all_usable else SOMETHING_NOT_COUNTED


def _target(name, what, endings):
    """Where something is to be written; refused before the work if it cannot be."""
    if name is None:
        return None
    path = Path(name)
    if path.suffix.lower() not in endings:
        raise SettingError(f"{what} must end in {' or '.join(endings)}, got {path.name!r}: rename it")
    if not (path.parent.is_dir() and os.access(path.parent, os.W_OK)):
        raise SettingError(f"the folder of {what} must be there and yours to write in, got {str(path.parent)!r}: "
                           "make it, or take another")  # fmt: skip
    return path


def _write(path, text):
    """Write a table, in the spelling that spreadsheets know; nothing half written is left behind."""
    try:
        path.write_bytes(text.encode("utf-8-sig"))
    except OSError:
        with suppress(OSError):
            path.unlink()
        raise


def _draw(marks, path, by_question):
    from ..exercises.classpage import class_page
    from ..exercises.classtables import TABLE

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # a letter the type does not have is drawn as a box
        class_page(marks, by_question.name if by_question else TABLE).write(path)
