"""``pack``: everything for a classroom without network."""

from .talking import number, progress, say, say_json

__all__ = ["add_to", "run"]

EXAMPLES = """
examples:
  python -m kit pack stick
  python -m kit pack stick --for-learners
  python -m kit pack another-stick --wheels stick/wheels

FOLDER then has wheels of the kit and of all it needs, the lessons, media, a README that says which Python and which
system they are for, and install.sh and install.bat: these need no network and no administrator.
exit status: 0 packed, and found to need nothing else; 2 it could not be, or the call is wrong (one line says why)
"""


def add_to(subparsers):
    """Add the parser of ``pack``."""
    parser = subparsers.add_parser(
        "pack",
        help="everything for a classroom without network",
        epilog=EXAMPLES,
        description="Put wheels, lessons and media into a folder, to be installed from there without network.",
    )
    parser.set_defaults(run=run)
    parser.add_argument("folder", metavar="FOLDER", help="where to pack, such as a stick; nothing in it is replaced")
    parser.add_argument("--wheels", metavar="FOLDER", help="take wheels from this folder; the network is not used")
    parser.add_argument("--for-learners", action="store_true",
                        help="leave the solutions, the teacher's pages and the demonstration out")  # fmt: skip
    parser.add_argument("--json", action="store_true", help="report as JSON")


def run(args):
    """Pack, and say what was packed; the exit status."""
    from ..packing import PARTS, pack

    with progress("packing") as told:
        about = pack(args.folder, wheels=args.wheels, for_learners=args.for_learners, progress=told)
    if args.json:
        say_json({"folder": str(about.folder), "parts": list(PARTS), "version": about.version,
                  "wheels": list(about.wheels), "wheels_mb": number(about.wheels_mb, 1), "python": about.python,
                  "system": about.system, "machine": about.machine})  # fmt: skip
    else:
        say(f"{about.folder}: {len(about.wheels)} wheels, {about.wheels_mb:.0f} MB, for {about.python_in_words} on "
            f"{about.platform_in_words}; lessons{' without solutions' if about.for_learners else ''} and media\n"
            "To install from there, without network: sh install.sh; on Windows install.bat; README.md says more")
    return 0
