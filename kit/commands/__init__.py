"""The commands of ``python -m kit``, thin over the library, one module each.

A module in `COMMANDS` has ``add_to(subparsers)``, which adds its parser and sets ``run`` on it, and
``run(args)``, which does the work and gives the exit status: 0 all well, 1 something is damaged or missing.
What is wrong with the call or the input it raises as a `KitError`. Anything slow to import is imported
inside ``run``, so that the other commands stay quick.
"""

from . import (
    deckslisting,
    decoding,
    degrading,
    diagnosing,
    encoding,
    listing,
    marking,
    measuring,
    openinglessons,
    packing,
    testtaping,
    worksheeting,
)

__all__ = ["COMMANDS"]

# Further commands go here: the order is the order in --help.
COMMANDS = [
    encoding,
    decoding,
    degrading,
    diagnosing,
    testtaping,
    measuring,
    listing,
    deckslisting,
    openinglessons,
    worksheeting,
    marking,
    packing,
]
