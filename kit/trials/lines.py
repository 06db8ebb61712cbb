"""Rows as lines of a file: one line is one row, whatever the texts in it hold, so a torn line is only the last.

In CSV, what a text may not hold (control characters, line ends, backslashes) is written as a backslash and its
number, and a text that a spreadsheet would take for a formula gets an apostrophe in front; reading undoes both.
"""

import csv
import io
import json
import re

import numpy as np

from ..errors import SettingError
from .one import COLUMNS

__all__ = ["SUFFIXES", "head", "line", "parse", "suffix_of"]

SUFFIXES = (".csv", ".jsonl")
UNFIT = re.compile(r"[\\\x00-\x1f\x7f-\x9f\u2028\u2029\ufeff\ud800-\udfff]")
WRITTEN = re.compile(r"\\(?:\\|u([0-9a-f]{4}))")
FORMULA = ("=", "+", "-", "@", "'")


def suffix_of(path):
    """The suffix of a path, if a table can be written there."""
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise SettingError(f"the name of a table must end in .csv or .jsonl, got {path.name!r}")
    return suffix


def head(columns, suffix):
    """The first line of a file, without its end."""
    if suffix == ".csv":
        return _csv_line(columns)
    return json.dumps({"columns": list(columns)})


def line(row, columns, suffix):
    """The line of a row, without its end."""
    if suffix == ".csv":
        return _csv_line([_own(row[name]) for name in columns])
    return json.dumps([_own(row[name]) for name in columns])


def _own(value):
    """A number of NumPy's as one of Python's."""
    return value.item() if isinstance(value, np.generic) else value


def _csv_line(values):
    out = io.StringIO()
    csv.writer(out, lineterminator="").writerow([_to_cell(value) for value in values])
    return out.getvalue()


def _to_cell(value):
    if not isinstance(value, str):
        return repr(value)
    text = UNFIT.sub(lambda found: "\\\\" if found[0] == "\\" else f"\\u{ord(found[0]):04x}", value)
    return "'" + text if text.startswith(FORMULA) else text


def _to_text(cell):
    text = cell.removeprefix("'")
    return WRITTEN.sub(lambda found: chr(int(found[1], 16)) if found[1] else "\\", text)


def parse(raw, suffix):
    """What a file holds.

    Parameters
    ----------
    raw : bytes
    suffix : str

    Returns
    -------
    columns : list of str
    rows : list of dict
    size : int
        Bytes up to the end of the last whole line; what lies behind it is a line half written.

    Raises
    ------
    ValueError
        It is no table; the message says in which line.
    """
    size = raw.rfind(b"\n") + 1
    lines = [one.decode("utf-8").rstrip("\r") for one in raw[:size].split(b"\n")[:-1]]
    columns, rows = [], []
    for number, text in enumerate(lines, 1):
        try:
            if number == 1:
                columns = _columns(text, suffix)
            else:
                rows.append(dict(zip(columns, _values(text, suffix), strict=True)))
        except (ValueError, TypeError, KeyError, csv.Error) as error:
            raise ValueError(f"line {number}: {error}") from None
    return columns, _typed(columns, rows) if suffix == ".csv" else rows, size


def _columns(text, suffix):
    columns = _cells(text) if suffix == ".csv" else json.loads(text)["columns"]
    names = [_to_text(name) for name in columns] if suffix == ".csv" else columns
    if not names or not all(isinstance(name, str) for name in names) or len(set(names)) < len(names):
        raise ValueError("the names of the columns must be there, each once")
    return names


def _values(text, suffix):
    if suffix == ".csv":
        return _cells(text)
    values = json.loads(text)
    if not isinstance(values, list) or not all(isinstance(value, (str, int, float)) for value in values):
        raise ValueError("a row must be a list of numbers and texts")
    return values


def _cells(text):
    return next(csv.reader([text], strict=True), [])


def _typed(columns, rows):
    """Cells of text as what their columns hold; a column that is not ours holds numbers if all can be."""
    for name in columns:
        cells = [row[name] for row in rows]
        kind = COLUMNS.get(name) or _kind(cells)
        for number, (row, cell) in enumerate(zip(rows, cells, strict=True), 2):
            try:
                row[name] = _to_text(cell) if kind is str else READ[kind](cell)
            except (ValueError, KeyError):
                raise ValueError(f"line {number}: {name} must hold {kind.__name__}, got {cell!r}") from None
    return rows


READ = {bool: {"True": True, "False": False}.__getitem__, int: int, float: float}


def _kind(cells):
    for kind in (bool, int, float):
        try:
            for cell in cells:
                READ[kind](cell)
        except (ValueError, KeyError):
            continue
        return kind if cells else str
    return str
