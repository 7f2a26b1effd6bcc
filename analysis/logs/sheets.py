"""What a file holds before anything is understood: sheets of rows of cells as they were written."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, overload

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Words
from analysis.logs.ledger import Place

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


Rows = Sequence[tuple[int, Cells]]


class Exact(str):
    """A number or date that the spreadsheet itself knows, as text: never thousands, never another date order.

    Examples
    --------
    >>> Exact("1.234") == "1.234"
    True
    """

    __slots__ = ()


class Unworked(str):
    """A formula of a workbook that holds no value, as it was written; it is no text of the keeper's.

    Examples
    --------
    >>> Unworked("=B2*10") == "=B2*10"
    True
    """

    __slots__ = ()


@dataclass(frozen=True)
class Sheet:
    """One sheet of a workbook, or one text file.

    `rows` are (row number as the spreadsheet counts, cells without outer blanks); blank rows are left out.
    `how` says how the file was read, for the keeper. `name` is blank for a text file. `marred` are the numbers of
    the rows in which control characters stood; they were dropped.
    `refused` is the rule by which nothing of the sheet was read, or blank.
    """

    file: str
    name: str
    rows: Rows
    how: Words
    marred: frozenset[int] = field(default=frozenset(), repr=False)
    refused: str = field(default="", repr=False)


@dataclass(frozen=True)
class RawTable:
    """A block of rows under one line of headings.

    Attributes
    ----------
    log : the log it belongs to
    file, sheet : where it stands; `sheet` is blank for a text file
    headings : plain names of columns where the log knows them, else as written; empty where no row names any
    rows : (row number as the spreadsheet counts, cells as many as were written); blank rows are left out
    written : the headings as the keeper wrote them
    units : by column, the unit its heading names
    grid : "" for a list; else what the headings are: "chicks", "dates" or "ages"
    held_back : rows as in `rows` that are not used, as control characters stood in them
    """

    log: str
    file: str
    sheet: str
    headings: Cells
    rows: Rows
    written: Cells = ()
    units: dict[str, str] = field(default_factory=dict)
    grid: str = ""
    held_back: Rows = ()

    def place(self, number: int, cells: Cells, column: str = "") -> Place:
        """Return where a row, or a cell of a grid, was written, with its raw cells."""
        return Place(self.log, self.file, self.sheet, number, " | ".join(cells), column)

    def heading(self, at: int) -> str:
        """Return the heading of a column, blank beyond the last one."""
        return self.headings[at] if at < len(self.headings) else ""
