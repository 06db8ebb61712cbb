"""``worksheet``: printed strips to read with a ruler, one for each learner, with a key."""

from pathlib import Path

from ..errors import SettingError
from .arguments import whole
from .talking import progress, say, say_json
from .targets import check_target, refuse_existing, write_files

__all__ = ["add_to", "run"]

PDF = (".pdf",)
MOST_BYTES = 100_000  # of a list of names: far more than the longest there may be
EXAMPLES = """
examples:
  python -m kit worksheet -o sheets.pdf --class-code 6b --names names.txt
  python -m kit worksheet -o sheets.pdf "gull 7" "tern 2" --paper letter --large
  python -m kit worksheet -o sheets.pdf --count 30

The same names and class code give the same files. Names are code names, never real ones: sheets
are handed round, and left on tables.
Print at full size (100 %), not fitted to the page, or a ruler shows other lengths.

exit status: 0 done; 2 the call is wrong (one line says what)
"""


def add_to(subparsers):
    """Add the parser of ``worksheet``."""
    parser = subparsers.add_parser(
        "worksheet",
        help="printed strips to read with a ruler, with a key",
        epilog=EXAMPLES,
        description="Write worksheets, one for each learner, and their key: a prediction, a strip of a tape to read "
        "with a ruler, a calculation, and a question at the end.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("learners", nargs="*", metavar="NAME", help="a code name, never a real name; up to 200")
    parser.add_argument("--names", metavar="LIST", help="a text file (UTF-8) of code names, one on each line")
    parser.add_argument("--count", type=whole("sheets"), metavar="N", help="so many sheets without names")
    parser.add_argument("-o", "--output", required=True, metavar="FILE", help="the PDF file to write")
    parser.add_argument("--key", metavar="KEY", help="the key's PDF file (FILE-key.pdf)")
    parser.add_argument("--class-code", default="", metavar="CODE", help="another code gives other sheets")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="paper to print on (a4)")
    parser.add_argument("--large", action="store_true", help="large print: 18 points, strips of twice the length")
    parser.add_argument(
        "--lesson",
        type=whole("a lesson"),
        action="append",
        metavar="N",
        help="take prediction and last question from this lesson; may be given again (1)",
    )
    parser.add_argument("--force", action="store_true", help="replace the files if they are there already")
    parser.add_argument("--json", action="store_true", help="say what was done as JSON")


def run(args):
    """Write the sheets and the key, and say what was made; the exit status."""
    from ..worksheets import LESSONS_ASKED, worksheets

    target, key = _targets(args)
    names = [*args.learners, *([] if args.names is None else _listed(Path(args.names)))]
    made = worksheets(
        names,
        args.class_code,
        count=args.count,
        paper=args.paper,
        large=args.large,
        lessons=args.lesson or LESSONS_ASKED,
    )
    with progress("drawing") as told:
        sheets = made.pdf(told)
    write_files({target: sheets, key: made.key_pdf()}, args.force)
    summary = _summary(made, target, key)
    say_json(summary) if args.json else say(_in_words(summary))
    return 0


def _targets(args):
    """The files to write: the sheets, and the key."""
    target = Path(args.output)
    check_target(target, "FILE", PDF)
    key = target.with_stem(f"{target.stem}-key") if args.key is None else Path(args.key)
    check_target(key, "KEY", PDF)
    if key.resolve() == target.resolve():
        raise SettingError(f"KEY must be another file than FILE, got {str(key)!r} for both: take another name")
    refuse_existing([[target]], args.force, "FILE")
    refuse_existing([[key]], args.force, "KEY")
    return target, key


def _listed(path):
    """Code names in a file, without empty lines."""
    if not path.is_file():
        raise SettingError(f"LIST must be a text file of code names, got {str(path)!r}: check the name")
    with path.open("rb") as file:
        data = file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise SettingError(f"LIST must have at most {MOST_BYTES} bytes, got {str(path)!r}: is it a list of names?")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise SettingError(f"LIST must be text in UTF-8, got {str(path)!r}: save it as such") from None
    return [line for line in text.replace("\r", "\n").split("\n") if line.strip()]


def _summary(made, target, key):
    from ..worksheets import NAMES_ONLY, PAPERS

    return {
        "path": str(target),
        "key": str(key),
        "sheets": len(made.sheets),
        "pages": made.page_count,
        "paper": PAPERS[made.paper].name,
        "large": made.large,
        "class_code": made.class_code,
        "names": NAMES_ONLY,
    }


def _in_words(made):
    learners, pages = made["sheets"], made["pages"]
    sheets = f"for {learners} learner{'s' * (learners > 1)}, {pages} page{'s' * (pages > 1)} of {made['paper']}"
    return "\n".join([
        f"{made['path']}: {sheets}{' in large print' * made['large']}",
        f"{made['key']}: the key; keep it from the class",
        "print at full size (100 %), not fitted to the page",
        made["names"],
    ])
