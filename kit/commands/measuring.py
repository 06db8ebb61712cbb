"""``measure``: report on the recorder that played the test tape."""

import os
import warnings
from pathlib import Path

from ..errors import SettingError
from .talking import only_our_own_words, progress, say, say_json
from .targets import refuse_existing

__all__ = ["add_to", "run"]

ALL_THERE, SOMETHING_MISSING = 0, 1
PICTURE_TYPES = (".png", ".pdf")
EXAMPLES = """
examples:
  python -m kit measure recording.wav
  python -m kit measure recording.flac --recorded-elsewhere
  python -m kit measure recording.wav --json --picture recorder.pdf

The recording is one of the tape that testtape writes, recorded and played back.
exit status: 0 measured, all of the tape was there; 1 part of it is missing (what was there is reported);
2 it is no recording of the test tape, or the call is wrong (one line says what)
Before you touch a lead or a level: volume down and headphones off; never join a loudspeaker or power
amplifier output to an input.
"""


def add_to(subparsers):
    """Add the parser of ``measure``."""
    parser = subparsers.add_parser(
        "measure",
        help="report on the recorder that played the test tape",
        epilog=EXAMPLES,
        description="Speed, wow and flutter, noise, levels, response and wiring of a recorder, and the fastest "
        "loader it carries, from its recording of the test tape.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("recording", metavar="RECORDING", help="the test tape, as it was played back")
    parser.add_argument(
        "--recorded-elsewhere",
        action="store_true",
        help="the tape was recorded on another machine, whose speed and head are right: tells those of this one",
    )
    parser.add_argument("--picture", metavar="FILE", help="also write one page with pictures: FILE.png or FILE.pdf")
    parser.add_argument("--force", action="store_true", help="replace FILE if it is there already")
    parser.add_argument("--json", action="store_true", help="report as JSON")


def run(args):
    """Measure, and report; the exit status."""
    from ..testtape import measure

    picture = None if args.picture is None else Path(args.picture)
    if picture is not None:
        _check_picture(picture, args.force)
    with only_our_own_words(), progress("measuring") as told:
        report = measure(args.recording, recorded_elsewhere=args.recorded_elsewhere, progress=told)
        if picture is not None:
            _draw(report, picture)
    say_json(report.as_json()) if args.json else say(str(report))
    return ALL_THERE if report.complete else SOMETHING_MISSING


def _check_picture(path, force):
    if path.suffix.lower() not in PICTURE_TYPES:
        raise SettingError(f"FILE must end in one of {' '.join(PICTURE_TYPES)}, got {path.name!r}: rename it")
    if not (path.parent.is_dir() and os.access(path.parent, os.W_OK)):
        raise SettingError(f"the folder of FILE must be there and yours to write in, got {str(path.parent)!r}: "
                           "make it, or take another")  # fmt: skip
    refuse_existing([[path]], force, "FILE")


def _draw(report, path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # a letter the type does not have is drawn as a box
        report.picture().write(path)
