"""Lesson 6, say what is coming: the function that takes a header apart, and the ways to get it wrong."""

import struct

from .checking import FunctionTask
from .items import Mistake

__all__ = ["PARSE_HEADER", "fields_of"]

STEMS = ("gulls", "seals", "tides", "winds", "rain", "boats", "harbour", "log", "fog", "geese")
ENDINGS = ("txt", "csv", "pgm", "bin")
BLOCK_SIZES = (64, 128, 256, 512, 1024)
LENGTH, ADDRESS, NAME = slice(5, 9), slice(12, 16), slice(16, 48)


def fields_of(header):
    """Length, start address and name out of the 48 bytes of a header.

    Parameters
    ----------
    header : list of int
        48 numbers from 0 to 255.

    Returns
    -------
    list
        Of two int and a str.
        The numbers are big-endian; the name is without the zeros that fill it up.

    Examples
    --------
    >>> fields_of([1, 0, 0, 0, 0, 0, 0, 1, 44, 4, 0, 1, 0, 0, 64, 0, *b"log.txt", *bytes(25)])
    [300, 16384, 'log.txt']
    """
    return [_number(header[LENGTH]), _number(header[ADDRESS]), _text(header[NAME]).rstrip("\0")]


def _drawn_header(draws):
    """A header with a file name of the station's, as a list of 48 numbers."""
    crc32 = int.from_bytes(draws.bytes(4), "big")
    length, block_bytes = draws.between(700, 90_000), draws.one_of(BLOCK_SIZES)
    content, address = draws.below(4), draws.between(0x010101, 0xEFEFEF)
    name = f"{draws.one_of(STEMS)}-{draws.between(1, 99)}.{draws.one_of(ENDINGS)}"
    return list(struct.pack(">BIIHBI32s", 1, crc32, length, block_bytes, content, address, name.encode()))


def _number(part, order="big"):
    return int.from_bytes(bytes(part), order)


def _text(part):
    return bytes(part).decode("utf-8", errors="replace")


def _moved(by):
    """A wrong function that looks so many bytes further on for everything."""
    def parse(header):
        moved = [slice(part.start + by, part.stop + by) for part in (LENGTH, ADDRESS, NAME)]
        return [_number(header[moved[0]]), _number(header[moved[1]]), _text(header[moved[2]]).strip("\0")]

    return parse


def _with_numbers(number):
    """A wrong function that makes numbers of four bytes in another way."""
    return lambda header: [number(header[LENGTH]), number(header[ADDRESS]), fields_of(header)[2]]


def _with_name(name):
    """A wrong function that makes the name in another way."""
    return lambda header: [*fields_of(header)[:2], name(header[NAME])]


MISTAKES = (
    Mistake(
        "stub",
        lambda header: [0, 0, ""],
        "has not begun",
        "It returns zeros and an empty name so far.",
        "Begin with the length: which four bytes of b hold it?",
        "b[1:5] are the four bytes from number 1 on: they hold the CRC-32.",
    ),
    Mistake(
        "little",
        _with_numbers(lambda part: _number(part, "little")),
        "takes the smaller part of a number to come first",
        "The name is right, the numbers are made from the wrong end.",
        "Which of the four bytes counts most, the first or the last?",
        "The bytes 0, 0, 1, 44 are 256 + 44 = 300: the last one counts ones.",
    ),
    Mistake(
        "too early",
        _moved(-1),
        "counts bytes from 1, and takes off one too many",
        "Everything is taken from one byte too early.",
        "The first byte of b has number 0: which numbers do the four bytes have?",
        "A field at offset 9 with two bytes is b[9:11], not b[8:10].",
    ),
    Mistake(
        "too late",
        _moved(1),
        "counts the first byte as number 1",
        "Everything is taken from one byte too late.",
        "The first byte of b has number 0: which numbers do the four bytes have?",
        "A field at offset 9 with two bytes is b[9:11], not b[10:12].",
    ),
    Mistake(
        "padded",
        _with_name(_text),
        "keeps the zeros that only fill the field",
        "The numbers are right; the name still has its zeros behind it.",
        "The field has 32 bytes, the name fewer: what fills the rest?",
        "'fog' in a field of 5 bytes is 'fog\\0\\0': rstrip('\\0') takes zeros off the end.",
    ),
    Mistake(
        "three bytes",
        lambda header: [_number(header[5:8]), _number(header[12:15]), fields_of(header)[2]],
        "takes the end of a slice to belong to it",
        "You take three bytes for each number, and lose the last one.",
        "Does b[3:5] include byte number 5?",
        "b[9:11] are bytes 9 and 10; the number behind the colon is left out.",
    ),
    Mistake(
        "one byte",
        _with_numbers(lambda part: part[-1]),
        "takes one byte for a whole number",
        "You take one byte for each number.",
        "How large can one byte be, and how large is the length?",
        "The bytes 0, 0, 1, 44 are 300, not 44.",
    ),
    Mistake(
        "sum",
        _with_numbers(sum),
        "adds the bytes up as if all counted the same",
        "You add up the four bytes.",
        "Each place counts 256 times as much as the one behind it.",
        "The bytes 0, 0, 1, 44 are 256 + 44 = 300, not 45.",
    ),
    Mistake(
        "digits",
        _with_numbers(lambda part: int("".join(map(str, part)))),
        "writes bytes one behind the other like decimal digits",
        "You write the bytes one behind the other like digits.",
        "Each place counts 256 times as much as the one behind it, not 10 times.",
        "The bytes 0, 0, 1, 44 are 256 + 44 = 300, not 144.",
    ),
    Mistake(
        "order",
        lambda header: [fields_of(header)[k] for k in (1, 0, 2)],
        "gives the results in another order than was agreed",
        "Length and start address have changed places.",
        "In which order are the three wanted?",
        "For a file of 300 bytes to be put at 16384: 300, 16384, name.",
    ),
    Mistake(
        "numbers",
        _with_name(lambda part: [byte for byte in part if byte]),
        "stops at the numbers of the letters",
        "The name is a list of numbers.",
        "What turns bytes into a text?",
        "bytes([102, 111, 103]).decode() is 'fog'.",
    ),
    Mistake(
        "shown bytes",
        _with_name(lambda part: str(bytes(part).rstrip(b"\0"))),
        "takes how bytes are shown for the text they hold",
        "The name begins with a b and quotes of its own.",
        "str() shows bytes; what reads them as letters?",
        "str(b'fog') is \"b'fog'\"; b'fog'.decode() is 'fog'.",
    ),
)


def _accepted(result):
    fits = isinstance(result, list) and list(map(type, result)) == [int, int, str]
    return result if fits else None


PARSE_HEADER = FunctionTask(
    name="parse_header",
    right=fields_of,
    mistakes=MISTAKES,
    what="length, address and name",
    accepts=_accepted,
    draw=lambda draws: (_drawn_header(draws),),
    edge=([1, 9, 9, 9, 9, 0, 0, 2, 8, 1, 0, 2, 0, 0, 64, 0, *b"picture-of-the-western-light.pgm"],),
    edge_words="a name of 32 bytes",
    about=lambda header: f"a header that begins {header[1]}, {header[2]}",
    look="Print b[5:9], b[12:16] and b[16:48]: are these the bytes you use?",
    worked="The bytes 0, 0, 1, 44 are 300; 'fog\\0\\0' is the name 'fog', filled up with zeros.",
)
