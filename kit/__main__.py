"""The command line: ``python -m kit COMMAND …``."""

import sys

from .commands import COMMANDS
from .commands.arguments import CommandParser, Parser
from .commands.talking import complain
from .errors import KitError

__all__ = ["main"]

ALL_WELL, WRONG, INTERRUPTED = 0, 2, 130
EXAMPLES = """
examples:
  python -m kit encode log.txt -o tape.wav
  python -m kit decode tape.wav -o recovered/

Each command has its own --help. Start with the volume down, headphones off the ears for the first play.
"""


def parser():
    """The whole parser, with a parser for each command."""
    whole = Parser(
        prog="python -m kit", epilog=EXAMPLES, description="Data as sound on cassette tape, and back."
    )
    commands = whole.add_subparsers(metavar="COMMAND", parser_class=CommandParser)
    for command in COMMANDS:
        command.add_to(commands)
    whole.set_defaults(run=None, known=", ".join(commands.choices))
    return whole


def main(argv=None):
    """Run a command.

    Parameters
    ----------
    argv : list of str, optional
        As typed after ``python -m kit``; those of the process if not given.

    Returns
    -------
    int
        0 all recovered and checked; 1 something is damaged or missing; 2 the input or the call is wrong (one
        line on standard error says what); 130 interrupted.

    Raises
    ------
    SystemExit
        With the same numbers, after ``--help`` and where the call itself makes no sense.
    """
    whole = parser()
    args = whole.parse_args(argv)
    if args.run is None:
        whole.error(f"a command must be named, one of {args.known}, got none")
    try:
        return args.run(args)
    except KitError as error:
        complain(str(error))
    except MemoryError:
        complain("this takes more memory than there is: take shorter or fewer files")
    except OSError as error:
        name = f"{error.filename!r}: " if error.filename else ""
        complain(f"{name}{error.strerror or error}: check the name, and whether you may read and write there")
    except KeyboardInterrupt:
        complain("interrupted; what was written is whole")
        return INTERRUPTED
    return WRONG


def guarded_main():
    """`main`, with one line in place of a traceback for what should never happen; ``-X dev`` shows it all."""
    try:
        return main()
    except Exception as error:
        if sys.flags.dev_mode:
            raise
        complain(
            f"a fault in the kit ({type(error).__name__}: {error}): please report it with what you "
            "typed; python -X dev -m kit ... shows where"
        )
        return WRONG


if __name__ == "__main__":
    sys.exit(guarded_main())
