"""The parser of the command line: complaints in one line, numbers with their units."""

import argparse

from .talking import printable, write_to

__all__ = ["Parser", "address", "real", "whole"]


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
