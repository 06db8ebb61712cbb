"""A table that grows on disk while trials run, so that nothing is lost when they are stopped."""

from pathlib import Path

from ..errors import SettingError
from .lines import head, line, parse, suffix_of
from .one import COLUMNS

__all__ = ["Keep", "read_table"]


def read_table(path):
    """Columns, rows and the size of the whole lines of a table's file.

    Raises
    ------
    SettingError
        The file cannot be read, or is no table.
    """
    path = Path(path)
    suffix = suffix_of(path)
    try:
        return parse(path.read_bytes(), suffix)
    except OSError as error:
        raise SettingError(f"a table must be a file that can be read, got {path.name!r}: {error.strerror}") from None
    except ValueError as error:
        reason = "it is not text" if isinstance(error, UnicodeDecodeError) else error
        raise SettingError(f"{path.name!r} must hold a table of trials, got something else ({reason}): "
                           "choose another name") from None


class Keep:
    """Rows kept in a file, line by line; use it in a ``with`` block.

    Parameters
    ----------
    path : str, path or None
        Ends in .csv or .jsonl; None keeps nothing. Nothing is written before the first row is added.

    Attributes
    ----------
    rows : dict of str to dict
        By key, those that were there already.

    Raises
    ------
    SettingError
        There is a file of that name which is not a table of trials; it is not touched.
    """

    def __init__(self, path):
        self.path = None if path is None else Path(path)
        self.rows, self._size, self._file = {}, 0, None
        if self.path is not None:
            self._suffix = suffix_of(self.path)
            self._head = (head(COLUMNS, self._suffix) + "\n").encode()
            if self.path.exists():
                self._load()

    def _load(self):
        if self.path.is_file() and self._head.startswith(self.path.read_bytes()):
            return  # empty, or ended in the middle of its first line
        columns, rows, self._size = read_table(self.path)
        if columns != list(COLUMNS):
            raise SettingError(f"{self.path.name!r} must hold a table of trials, got other columns: "
                               "choose another name")
        self.rows = {row["key"]: row for row in rows}

    def add(self, row):
        """Write a row at once."""
        if self.path is None:
            return
        if self._file is None:
            self._open()
        self._file.write((line(row, COLUMNS, self._suffix) + "\n").encode())
        self._file.flush()

    def _open(self):
        try:
            self._file = open(self.path, "ab")  # noqa: SIM115 - closed at the end of the with block
            self._file.truncate(self._size)
        except OSError as error:
            raise SettingError(f"keep must be a file that can be written, got {self.path.name!r}: "
                               f"{error.strerror}") from None
        if self._size == 0:
            self._file.write(self._head)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self._file is not None:
            self._file.close()
