"""``diagnose``: what is wrong with a recording, the evidence, what to do."""

import math
from pathlib import Path

from ..errors import SettingError
from ..known import FORMATS
from ..sound import Sound
from .talking import number, only_our_own_words, say, say_json
from .targets import refuse_existing

__all__ = ["add_to", "run"]

ALL_WELL, SOMETHING_WRONG = 0, 1

EXAMPLES = """
examples:
  python -m kit diagnose tape.wav
  python -m kit diagnose tape.wav --format house --picture trouble.png

The first two lines say what is wrong and what to change; the rest is the evidence, most harmful first.

exit status: 0 healthy; 1 something is wrong; 2 the recording or the call is wrong (one line says what)
"""


def add_to(subparsers):
    """Add the parser of ``diagnose``."""
    parser = subparsers.add_parser(
        "diagnose",
        help="why a recording does not load, and what to do",
        epilog=EXAMPLES,
        description="Say what is wrong with a recording, with what evidence, and what to do about it.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("tape", metavar="TAPE", help="the recording")
    parser.add_argument(
        "--format",
        default="auto",
        help=f"what the tape should be: auto (any), or one of: {', '.join(FORMATS)} (auto)",
    )
    parser.add_argument("--json", action="store_true", help="report as JSON")
    parser.add_argument("--picture", metavar="FILE", help="also draw the trouble, into a PNG file")
    parser.add_argument("--force", action="store_true", help="replace FILE if it is there already")


def run(args):
    """Diagnose and report; the exit status."""
    target = _target(args.picture, args.force)
    from ..doctor import diagnose

    with only_our_own_words():
        diagnosis = diagnose(Sound.read(args.tape), format=args.format)
        shown = diagnosis.picture() if target else None
    if shown is not None:
        shown.write(target)
    if args.json:
        say_json(_plain({"tape": args.tape, **diagnosis.as_dict(), "picture": shown and _drawn(target, shown)}))
    else:
        say(diagnosis.report())
        if shown is not None:
            say(f"\nDrawn in {target}: {shown.text}")
    return ALL_WELL if diagnosis.healthy else SOMETHING_WRONG


def _target(name, force):
    """Where the picture goes; refused before the work if it cannot."""
    if name is None:
        return None
    target = Path(name)
    if target.suffix.lower() != ".png":
        raise SettingError(f"--picture must end in .png, got {target.name!r}: rename it")
    if not target.parent.is_dir():
        raise SettingError(f"the folder of --picture must exist, got {str(target.parent)!r}: make it first")
    refuse_existing([[target]], force, "--picture")
    return target


def _drawn(target, shown):
    return {"path": str(target), "text": shown.text}


def _plain(value):
    """The same with numbers as JSON can carry them."""
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(each) for each in value]
    if isinstance(value, bool) or value is None or isinstance(value, (str, int)):
        return value
    return number(value) if math.isfinite(value) else None
