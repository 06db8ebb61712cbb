"""What the commands say: lines that no name off a tape can tamper with, JSON, and progress on a terminal."""

import json
import math
import os
import sys
from contextlib import contextmanager, suppress

from ..errors import KitError

__all__ = [
    "complain",
    "duration",
    "number",
    "only_our_own_words",
    "printable",
    "progress",
    "say",
    "say_json",
    "write_to",
]


def printable(text):
    """A text without anything a terminal would obey: control characters and marks of direction are spelt out.

    Examples
    --------
    >>> print(printable("log\\x1b[2J\\u202etxt"))
    log\\x1b[2J\\u202etxt
    """
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in text)


def say(text):
    """Write lines on standard output; escapes all but the line ends.

    Raises
    ------
    KitError
        The output goes to a full disk. A reader that has left (a closed pipe) is no error.
    """
    write_to(sys.stdout, "\n".join(printable(line) for line in text.split("\n")) + "\n")


def say_json(value):
    """Write a value as JSON on standard output, in ASCII, so that nothing in it needs escaping."""
    write_to(sys.stdout, json.dumps(value, indent=2, allow_nan=False) + "\n")


def complain(text):
    """Write one line on standard error."""
    try:
        write_to(sys.stderr, f"kit: {printable(' '.join(text.split()))}\n")
    except KitError:
        return  # nowhere left to say it


def write_to(stream, text):
    """Write to a stream that may be missing, closed at the other end, or unable to spell some letters."""
    if stream is None:
        return
    encoding = getattr(stream, "encoding", None) or "utf-8"
    try:
        stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
        stream.flush()
    except OSError as error:
        _hush(stream)
        if not isinstance(error, BrokenPipeError):
            reason = str(error.strerror or error).lower()
            raise KitError(f"the output must have room, got {reason!r}: send it elsewhere") from None


def _hush(stream):
    """Let what is still in the stream's buffer go nowhere, or Python would complain about it at exit."""
    with suppress(OSError, ValueError), open(os.devnull, "wb") as nowhere:
        os.dup2(nowhere.fileno(), stream.fileno())


@contextmanager
def only_our_own_words():
    """While it lasts, what libraries in C write straight to standard error goes nowhere.

    A decoder's remarks on a damaged stream would hide the one line that says what to do. What
    Python writes to `sys.stderr`, progress too, still comes through.
    """
    try:
        ours = os.dup(2)
    except OSError:  # there is no standard error
        yield
        return
    before = sys.stderr
    spelling = {"encoding": getattr(before, "encoding", None) or "utf-8", "errors": "backslashreplace"}
    with open(os.devnull, "wb") as nowhere, open(ours, "w", **spelling) as said:
        try:
            if _is_descriptor(before, 2):
                before.flush()
                sys.stderr = said
            os.dup2(nowhere.fileno(), 2)
            yield
        finally:
            said.flush()
            os.dup2(ours, 2)
            sys.stderr = before


def _is_descriptor(stream, number):
    try:
        return stream is not None and stream.fileno() == number
    except (OSError, ValueError):
        return False


@contextmanager
def progress(what):
    """Progress on a terminal, and only there.

    Parameters
    ----------
    what : str
        What is being done.

    Yields
    ------
    callable or None
        To be called with the part done, 0 to 1; None where standard error is no terminal.
    """
    if sys.stderr is None or not sys.stderr.isatty():
        yield None
        return
    from tqdm import tqdm

    layout = "{desc} {percentage:3.0f} % |{bar}| {elapsed} gone, {remaining} to go"
    with tqdm(total=1.0, desc=what, leave=False, file=sys.stderr, bar_format=layout) as bar:
        yield lambda part: bar.update(part - bar.n)


def duration(seconds):
    """A length of time in words.

    Examples
    --------
    >>> duration(12.34), duration(75), duration(3725)
    ('12.3 s', '1 min 15 s', '1 h 2 min')
    """
    if seconds < 60:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes < 60 else f"{minutes // 60} h {minutes % 60} min"


def number(value, digits=6):
    """A number as JSON can carry it: rounded, None where there is none."""
    return None if value is None or not math.isfinite(value) else round(float(value), digits)
