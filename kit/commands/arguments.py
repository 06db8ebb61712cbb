"""The parser of the command line: complaints in one line, numbers with their units."""

import argparse

from ..filewriting import FILE_TYPES
from .talking import printable, write_to

__all__ = ["CommandParser", "Parser", "add_target", "add_target_settings", "address", "real", "whole"]


class Parser(argparse.ArgumentParser):
    """An argument parser that says what is wrong in one line and leaves with status 2."""

    def __init__(self, **settings):
        settings.setdefault("formatter_class", argparse.RawDescriptionHelpFormatter)
        super().__init__(allow_abbrev=False, **settings)

    def error(self, message):
        """Say what is wrong with the call, and leave."""
        self.exit(2, f"kit: {printable(' '.join(message.split()))}; see {self.prog} --help\n")

    def _print_message(self, message, file=None):
        if message:
            write_to(file, message)


class CommandParser(Parser):
    """The parser of one command: what it does not know it says itself, as its own help has what it knows."""

    def parse_known_args(self, args=None, namespace=None):
        """Parse, and leave if anything is left over."""
        parsed, unknown = super().parse_known_args(args, namespace)
        if unknown:
            like = [option for option in self._option_string_actions if option.startswith(unknown[0])]
            meant = f": is {' or '.join(like)} meant?" if unknown[0].startswith("--") and like else ""
            self.error(f"unrecognized arguments: {' '.join(unknown)}{meant}")
        return parsed, unknown


def whole(what):
    """A converter for a whole number; `what` says in a complaint what is wanted, with its unit."""
    return _converter(int, f"a whole number of {what}")


def real(what):
    """A converter for a number that may have a fraction."""
    return _converter(float, f"a number of {what}")


def address(text):
    """A start address, decimal or with 0x before it.

    Examples
    --------
    >>> address("0x4000"), address("512")
    (16384, 512)
    """
    base = 16 if text.lower().startswith("0x") else 10
    return _converter(lambda digits: int(digits, base), "an address, decimal or hexadecimal after 0x")(text)


def _converter(function, wanted):
    def convert(text):
        try:
            return function(text)
        except ValueError:
            raise argparse.ArgumentTypeError(f"must be {wanted}, got {text!r}") from None

    return convert


def add_target(parser):
    """The option that names the tape to write."""
    parser.add_argument(
        "-o",
        "--output",
        required=True,
        metavar="TAPE",
        help=f"the audio file to write; its ending chooses the type: {' '.join(FILE_TYPES)}",
    )


def add_target_settings(parser, bits):
    """Options of a tape that is written: how it is sampled, and what is written beside it.

    Parameters
    ----------
    parser : Parser
    bits : sequence of str
        Sample widths to choose from; 16 is usual.
    """
    parser.add_argument(
        "--rate", type=whole("Hz"), default=44100, metavar="HZ", help="samples per second, in Hz (44100)"
    )
    parser.add_argument("--bits", choices=bits, default="16", help="bits per sample (16)")
    parser.add_argument(
        "--listening-copy",
        action="store_true",
        help="also write a quiet copy for ears, quiet-TAPE: peak 0.1, faded in and out",
    )
    parser.add_argument("--force", action="store_true", help="replace TAPE if it is there already")
    parser.add_argument("--json", action="store_true", help="say what was done as JSON")
