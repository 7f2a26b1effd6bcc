"""Rows held by column, each different text once: a million rows cost what their few thousand different cells do."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any, overload

import numpy as np
import pandas as pd
from numpy.typing import NDArray

_WIDE = 2_000  # columns; each costs about a millisecond, however few rows there are
Cells = tuple[str, ...]
Row = tuple[int, Cells]


@dataclass(frozen=True)
class Held:
    """One column: `texts` are its different cells, `codes` (a row each) say which; -1 is a cell that is not there."""

    codes: NDArray[np.int32]
    texts: NDArray[np.object_]

    def map(self, read: Callable[[str], Any], kind: Any, blank: Any) -> NDArray[Any]:
        """Apply a function to each different text, and give each row its own; `blank` where no cell is."""
        known = np.array([*(read(text) for text in self.texts), blank], dtype=kind)
        return known[self.codes]

    def take(self, rows: Any) -> "Held":
        """Return the column for some rows."""
        return Held(self.codes[rows], self.texts)


class HeldRows(Sequence[Row]):
    """Rows as `Sheet.rows` has them, held by column.

    Parameters
    ----------
    numbers
        The number of each row, as the spreadsheet counts.
    columns
        The columns, all as long as `numbers`.

    Examples
    --------
    >>> rows = hold_columns(np.arange(1, 4), [["K1", "K1", "K2"], ["3", "4", "3"]])
    >>> rows[1], len(rows[1:]), [cells for _, cells in rows]
    ((2, ('K1', '4')), 2, [('K1', '3'), ('K1', '4'), ('K2', '3')])
    """

    def __init__(self, numbers: NDArray[np.int64], columns: Sequence[Held]):
        self.numbers, self.columns = numbers, list(columns)

    def __len__(self) -> int:
        return len(self.numbers)

    @overload
    def __getitem__(self, at: int) -> Row: ...
    @overload
    def __getitem__(self, at: slice) -> "HeldRows": ...
    def __getitem__(self, at: int | slice) -> "Row | HeldRows":
        """Return one row, or some rows."""
        if isinstance(at, slice):
            return self.take(at)
        cells = tuple("" if column.codes[at] < 0 else column.texts[column.codes[at]] for column in self.columns)
        return int(self.numbers[at]), cells

    def __iter__(self) -> Iterator[Row]:
        for at in range(len(self)):
            yield self[at]

    def take(self, rows: Any) -> "HeldRows":
        """Return some rows: a slice, a mask, or where they stand."""
        return HeldRows(self.numbers[rows], [column.take(rows) for column in self.columns])


def hold_columns(numbers: NDArray[np.int64], columns: Sequence[Sequence[str]]) -> HeldRows:
    """Hold columns of text; rows in which nothing is written are left out."""
    held = []
    for column in columns:
        codes, texts = pd.factorize(np.array(column, dtype=object))
        held.append(Held(codes.astype(np.int32), texts))
    return without_blank_rows(HeldRows(np.asarray(numbers), held))


def without_blank_rows(rows: HeldRows) -> HeldRows:
    """Leave out the rows in which nothing is written."""
    written = np.zeros(len(rows), dtype=bool)
    for column in rows.columns:
        if written.all():
            break
        written |= column.map(bool, bool, False)
    return rows if written.all() else rows.take(written)


def hold_text(text: str, delimiter: str) -> HeldRows | None:
    """Read a long text file whose rows all have the same number of cells, or fewer; None where it is not so plain.

    Any other file is read row by row; both ways give the same rows.
    """
    from io import StringIO

    text = text.replace("\r\n", "\n").replace("\r", "\n") if "\r" in text else text
    between = text.count(delimiter, 0, text.find("\n") + 1 or None)
    if between > _WIDE:
        return None
    try:
        frame = pd.read_csv(
            # pandas makes numbers of a column in which every cell is one: a blank row above keeps 007 apart from 7
            StringIO(delimiter * between + "\n" + text),
            sep=delimiter,
            header=None,
            names=range(between + 1),
            index_col=False,
            dtype="category",
            na_filter=False,
            skip_blank_lines=False,
            engine="c",
            on_bad_lines="error",
        )
    except (pd.errors.ParserError, ValueError):
        return None
    columns = [Held(_codes(frame[at]), _stripped(frame[at])) for at in frame]
    return without_blank_rows(HeldRows(np.arange(len(frame)), columns))


def _codes(column: pd.Series) -> NDArray[np.int32]:
    codes: NDArray[np.int32] = column.cat.codes.to_numpy().astype(np.int32)
    return codes


def _stripped(column: pd.Series) -> NDArray[np.object_]:
    return np.array([text.strip() for text in column.cat.categories], dtype=object)


def texts_in(rows: Sequence[Row], at: int) -> list[str]:
    """Return what is written in a column: each different text, where the rows are held by column, else each cell.

    Examples
    --------
    >>> texts_in(((1, ("K1", "3")), (2, ("K1",))), 0)
    ['K1', 'K1']
    """
    if not isinstance(rows, HeldRows):
        return [cells[at] for _, cells in rows if at < len(cells) and cells[at]]
    if at >= len(rows.columns):
        return []
    column = rows.columns[at]
    present = np.bincount(column.codes[column.codes >= 0], minlength=len(column.texts)) > 0
    return [text for text in column.texts[present] if text]
