"""The table of many trials: tidy rows, columns as arrays, shares with their intervals, and files."""

from html import escape
from pathlib import Path
from statistics import NormalDist

import numpy as np

from ..errors import SettingError
from .keeping import read_table
from .lines import head, line, suffix_of
from .one import COLUMNS
from .trial import Trial

__all__ = ["Table", "interval", "read"]

WIDEST = 40  # characters of a cell when a table is shown


class Table:
    """Rows with the same columns.

    Parameters
    ----------
    rows : iterable of dict
    columns : iterable of str, optional
        Names in order; else those of the first row.

    Attributes
    ----------
    rows : list of dict
    columns : tuple of str

    Examples
    --------
    >>> table = Table([{"deck": "worn", "complete": True}, {"deck": "worn", "complete": False}])
    >>> table["complete"]
    array([ True, False])
    >>> table.shares("deck").rows[0]["share"]
    0.5
    """

    def __init__(self, rows, columns=None):
        self.rows = list(rows)
        self.columns = tuple(self.rows[0] if columns is None and self.rows else columns or ())

    def __len__(self):
        return len(self.rows)

    def __iter__(self):
        return iter(self.rows)

    def __getitem__(self, name):
        """A column as an array, shape (rows,)."""
        self._check(name)
        return np.array([row[name] for row in self.rows], dtype=COLUMNS.get(name))

    def arrays(self):
        """All columns: a dict of name to array, each of shape (rows,)."""
        return {name: self[name] for name in self.columns}

    def where(self, test=None, **values):
        """The rows that pass.

        Parameters
        ----------
        test : callable, optional
            Takes a row, gives True to keep it.
        **values
            Columns that must hold these values.

        Returns
        -------
        Table
        """
        self._check(*values)
        kept = [row for row in self.rows if all(row[name] == value for name, value in values.items())]
        return Table([row for row in kept if test is None or test(row)], self.columns)

    def with_deck(self, *names):
        """The table with further columns: settings of the deck by name, such as ``"hiss_dbfs"``."""
        decks = [Trial.from_json(row["trial"]).deck for row in self.rows]
        known = [setting.name for setting in Trial.__dataclass_fields__["deck"].default_factory.fields]
        for name in names:
            if name not in known:
                raise SettingError(f"names must be settings of a deck, got {name!r}: see kit.Deck.fields")
        rows = [row | {name: getattr(deck, name) for name in names}
                for row, deck in zip(self.rows, decks, strict=True)]
        return Table(rows, (*self.columns, *names))

    def groups(self, *by):
        """The rows that are alike in some columns.

        Parameters
        ----------
        *by : str

        Yields
        ------
        values : tuple
            What the columns hold.
        table : Table
            The rows that have it there, in order.
        """
        self._check(*by)
        groups = {}
        for row in self.rows:
            groups.setdefault(tuple(row[name] for name in by), []).append(row)
        for values, rows in groups.items():
            yield values, Table(rows, self.columns)

    def shares(self, *by, of="complete", confidence=0.95):
        """How often something is so, for each combination of some columns.

        Parameters
        ----------
        *by : str
            Columns; none: over all rows.
        of : str
            A column of True and False.
        confidence : float
            Of the interval; see `interval`.

        Returns
        -------
        Table
            The columns `by`, then ``count`` and ``trials``, ``share``, ``low`` and ``high``. A trial that ended
            in an error counts as one that is not so.
        """
        self._check(of)
        rows = []
        for values, group in self.groups(*by):
            count, trials = sum(bool(row[of]) for row in group), len(group)
            low, high = interval(count, trials, confidence)
            figures = {"count": count, "trials": trials, "share": count / trials, "low": low, "high": high}
            rows.append(dict(zip(by, values, strict=True)) | figures)
        return Table(rows, (*by, "count", "trials", "share", "low", "high"))

    def write(self, path):
        """Write the table to a file whose name ends in .csv or .jsonl, in place of what was there."""
        path = Path(path)
        suffix = suffix_of(path)
        lines = [head(self.columns, suffix), *(line(row, self.columns, suffix) for row in self.rows)]
        path.write_bytes("".join(one + "\n" for one in lines).encode())

    def __str__(self):
        lines = self._cells()
        widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
        return "\n".join("  ".join(f"{cell:{width}}" for cell, width in zip(cells, widths, strict=True)).rstrip()
                         for cells in lines)

    def _repr_html_(self):
        """The table in a notebook: texts are escaped, as they may be anything."""
        head, *body = [[escape(cell) for cell in cells] for cells in self._cells()]
        rows = ["".join(f'<th scope="col">{cell}</th>' for cell in head)]
        rows += ["".join(f"<td>{cell}</td>" for cell in cells) for cells in body]
        return "<table>" + "".join(f"<tr>{row}</tr>" for row in rows) + "</table>"

    def _cells(self):
        return [list(self.columns), *([_shown(row[name]) for name in self.columns] for row in self.rows)]

    def __repr__(self):
        return f"<Table of {len(self)} rows: {', '.join(self.columns)}>"

    def _check(self, *names):
        for name in names:
            if name not in self.columns:
                raise SettingError(f"a column must be one of {', '.join(self.columns)}, got {name!r}")


def _shown(value):
    if isinstance(value, float):
        return f"{value:.4g}"
    text = "".join(one if one.isprintable() else "?" for one in str(value))
    return text if len(text) <= WIDEST else text[: WIDEST - 1] + "…"


def read(path):
    """Read a table from a file, also one that `run` keeps and that was cut off in the middle of a line.

    Parameters
    ----------
    path : str or path
        Ends in .csv or .jsonl.

    Returns
    -------
    Table

    Raises
    ------
    SettingError
        There is no table in it.
    """
    columns, rows, _ = read_table(path)
    return Table(rows, columns)


def interval(count, trials, confidence=0.95):
    """Where a share lies that was seen so often: Wilson's score interval, which holds near 0 and 1 too.

    Source: E. B. Wilson, "Probable Inference, the Law of Succession, and Statistical Inference", Journal of
    the American Statistical Association 22(158), 1927.

    Parameters
    ----------
    count, trials : int
        It was so in `count` of `trials`.
    confidence : float
        Above 0 and below 1.

    Returns
    -------
    low, high : float
        0 and 1 if there were no trials.

    Raises
    ------
    SettingError
        A number lies outside its range.

    Examples
    --------
    >>> [round(end, 3) for end in interval(10, 10)]
    [0.722, 1.0]
    """
    if not 0 <= count <= trials:
        raise SettingError(f"count must lie in 0 to the number of trials ({trials}), got {count!r}")
    if not 0 < confidence < 1:
        raise SettingError(f"confidence must lie between 0 and 1, got {confidence!r}: 0.95 is usual")
    if not trials:
        return 0.0, 1.0
    z2 = NormalDist().inv_cdf((1 + confidence) / 2) ** 2
    middle = (count + z2 / 2) / (trials + z2)
    half = (z2 * (count * (trials - count) / trials + z2 / 4)) ** 0.5 / (trials + z2)
    return (max(0.0, middle - half) if count else 0.0), (min(1.0, middle + half) if count < trials else 1.0)
