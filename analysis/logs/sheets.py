"""What a file holds before anything is understood: sheets of rows of cells as they were written, held by column."""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, zip_longest
from typing import Any, overload

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Words
from analysis.logs.ledger import Place

_BATCH = 500  # rows that are turned into columns at once; more would have Python search them for garbage
MOST_CELLS, WIDE = 5_000_000, 64  # cells of the rectangle that all rows span; columns that are held however many
_FEW_TEXTS = 1_000
STRAY = "\x00"
"""What stands in the place of every control character until its row is known; no blank at the end of a cell."""
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")  # all of C0 but tab and line ends; DEL; C1
_FEW, _MOST, _HALF = 3, 0.05, 0.5  # characters, share of them, share of lines (practice; tests/prove_hostile.py)
_LINE_END = re.compile(r"\r\n|\r|\n")
Cells = tuple[str, ...]
Row = tuple[int, Cells]


@dataclass(frozen=True)
class TextColumn:
    """One column: `texts` are its different cells, `codes` (a row each) say which; -1 is a cell that is not there."""

    codes: NDArray[np.int32]
    texts: NDArray[np.object_]

    def map(self, read: Callable[[str], Any], kind: Any, blank: Any) -> NDArray[Any]:
        """Apply a function to each different text, and give each row its own; `blank` where no cell is."""
        return np.array([*map(read, self.texts), blank], dtype=kind)[self.codes]

    def take(self, rows: Any) -> "TextColumn":
        """Return the column for some rows."""
        codes = self.codes[rows]
        if len(self.texts) <= max(len(codes), _FEW_TEXTS):
            return TextColumn(codes, self.texts)
        codes, different = pd.factorize(np.where(codes < 0, np.nan, codes))
        return TextColumn(codes.astype(np.int32), self.texts[different.astype(np.int32)])

    def cells(self) -> list[str | None]:
        """Return the cell of each row; None where none is."""
        cells: list[str | None] = np.array([*self.texts, None], dtype=object)[self.codes].tolist()
        return cells

    def filled(self) -> "TextColumn":
        """Return the column with a blank cell where none is."""
        codes = np.where(self.codes < 0, len(self.texts), self.codes).astype(np.int32)
        return TextColumn(codes, np.array([*self.texts, ""], dtype=object))


class TextRows(Sequence[Row]):
    """Rows held by column; each is (its number as the spreadsheet counts, cells as many as were written)."""

    def __init__(self, numbers: NDArray[np.int64], columns: Sequence[TextColumn]):
        self.numbers, self.columns = numbers, list(columns)

    def __len__(self) -> int:
        return len(self.numbers)

    @overload
    def __getitem__(self, at: int) -> Row: ...
    @overload
    def __getitem__(self, at: slice) -> "TextRows": ...
    def __getitem__(self, at: int | slice) -> "Row | TextRows":
        """Return one row, or some rows."""
        if isinstance(at, slice):
            return self.take(at)
        codes = [column.codes[at] for column in self.columns]
        cells = [None if code < 0 else column.texts[code] for code, column in zip(codes, self.columns, strict=True)]
        return int(self.numbers[at]), _as_written(cells)

    def __iter__(self) -> Iterator[Row]:
        rows = zip(*(column.cells() for column in self.columns), strict=True)
        for number, cells in zip(self.numbers.tolist(), rows, strict=True):
            yield number, cells if cells[-1] is not None else _as_written(cells)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sequence) and tuple(self) == tuple(other)

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return repr(tuple(self))

    def take(self, rows: Any) -> "TextRows":
        """Return some rows: a slice, a mask, or where they stand."""
        return TextRows(self.numbers[rows], [column.take(rows) for column in self.columns])

    def without_blank(self) -> "TextRows":
        """Return the rows in which anything is written."""
        written = np.zeros(len(self), dtype=bool)
        for column in self.columns:
            if written.all():
                break
            written |= column.map(bool, bool, False)
        return self if written.all() else self.take(written)


def _as_written(cells: Sequence[str | None]) -> Cells:
    last = max((at for at, cell in enumerate(cells, 1) if cell is not None), default=0)
    return tuple([cell or "" for cell in cells[:last]])


def by_column(rows: Iterable[Sequence[Any]], text: Callable[[Any], str] = str.strip, most_rows: int = 1) -> TextRows:
    """Hold rows by column, numbered from 1: each different cell of a column is turned into text once.

    Rows in which nothing is written are left out. Where a row is so long that all columns together would not fit into
    memory, its last cells are one.
    """
    columns: list[_Codes] = []
    done, rows, most = 0, iter(rows), max(MOST_CELLS // max(most_rows, 1), WIDE)
    while batch := list(islice(rows, _BATCH)):
        if max(map(len, batch)) > most:
            batch = [[*row[: most - 1], " | ".join(map(text, row[most - 1 :]))][: len(row)] for row in batch]
        for at, cells in enumerate(zip_longest(*batch)):
            if at == len(columns):
                columns.append(_Codes())
            columns[at].add(cells, done)
        done += len(batch)
    return TextRows(np.arange(1, done + 1), [column.held(text, done) for column in columns]).without_blank()


class _Codes(dict[Any, int]):
    """The different cells of a column met so far, and which of them each row holds."""

    def __init__(self) -> None:
        super().__init__({None: -1})
        self._parts: list[NDArray[np.int32]] = []
        self._done = 0

    def __missing__(self, cell: Any) -> int:
        code = self[cell] = len(self) - 1
        return code

    def add(self, cells: Sequence[Any], start: int) -> None:
        self._parts += [np.full(start - self._done, -1, dtype=np.int32)] if start > self._done else []
        self._parts.append(np.fromiter(map(self.__getitem__, cells), np.int32, len(cells)))
        self._done = start + len(cells)

    def held(self, text: Callable[[Any], str], rows: int) -> TextColumn:
        self.add([None] * (rows - self._done), self._done)
        texts = np.empty(len(self) - 1, dtype=object)
        texts[:] = [text(cell) for cell in list(self)[1:]]
        return TextColumn(np.concatenate(self._parts), texts)


def texts_in(rows: TextRows, at: int) -> list[str]:
    """Return each different text that is written in a column, in the order of the rows."""
    if at >= len(rows.columns):
        return []
    column = rows.columns[at]
    return [text for code in pd.unique(column.codes).tolist() if code >= 0 and (text := column.texts[code])]


def as_column(texts: Sequence[str | None]) -> TextColumn:
    """Hold the cells of a column, a row each; None where a row has none."""
    codes, different = pd.factorize(np.array(texts, dtype=object))
    return TextColumn(codes.astype(np.int32), different)


def with_column(rows: TextRows, width: int, column: TextColumn) -> TextRows:
    """Set a column to the right of those that have headings."""
    filled = [one.filled() for one in rows.columns[:width]]
    return TextRows(rows.numbers, [*filled, column, *rows.columns[width:]])


class Exact(str):
    """A number or date that the spreadsheet itself knows, as text: never thousands, never another date order."""

    __slots__ = ()


class Unworked(str):
    """A formula of a workbook that holds no value, as it was written; it is no text of the keeper's."""

    __slots__ = ()


@dataclass(frozen=True)
class Sheet:
    """One sheet of a workbook, or one text file.

    `rows` have cells without outer blanks; blank rows are left out. `how` says how the file was read, for the keeper.
    `name` is blank for a text file. `marred` are the numbers of the rows in which control characters stood; they were
    dropped. `refused` is the rule by which nothing of the sheet was read, or blank.
    """

    file: str
    name: str
    rows: TextRows
    how: Words
    marred: frozenset[int] = field(default=frozenset(), repr=False)
    refused: str = field(default="", repr=False)


@dataclass(frozen=True)
class RawTable:
    """A block of rows under one line of headings.

    `headings` are plain names of columns where the log knows them, else as `written` by the keeper; empty where no row
    names any. `units` is by column the unit its heading names. `grid` is blank for a list, else what the headings are:
    "chicks", "dates", "ages" or "chicks-by-age". `held_back` are rows that are not used, as control characters stood
    in them. `nth` is its place among the tables of the folder.
    """

    log: str
    file: str
    sheet: str
    headings: Cells
    rows: TextRows
    written: Cells = ()
    units: dict[str, str] = field(default_factory=dict)
    grid: str = ""
    held_back: TextRows = field(default_factory=lambda: by_column([]))
    nth: int = 0

    def place(self, number: int, cells: Iterable[str], column: str = "", at: int = 0) -> Place:
        """Return where a row, or a cell of a grid, was written, with its raw cells."""
        return Place(self.log, self.file, self.sheet, number, " | ".join(cells), column, at, self.nth)

    def heading(self, at: int) -> str:
        """Return the heading of a column, blank beyond the last one."""
        return self.headings[at] if at < len(self.headings) else ""


def with_stray(text: str) -> str:
    """Write every control character as `STRAY`: what a damaged file, a wrong key or an old program leaves behind."""
    return _CONTROL.sub(STRAY, text)


def is_binary(text: str) -> bool:
    """Tell whether a text with control characters is mostly no text: in many lines, and many of them.

    One or two never make it so, and neither does a stretch of them in one line, as a crash leaves it.
    """
    controls = sum(1 for _ in _CONTROL.finditer(text))
    if controls < _FEW or controls <= _MOST * len(text):
        return False
    lines = [line for line in _LINE_END.split(text) if line]
    return sum(bool(_CONTROL.search(line)) for line in lines) >= _HALF * len(lines)


def without_stray(rows: TextRows) -> tuple[TextRows, frozenset[int]]:
    """Drop `STRAY` from cells; also return the number of every row that held one."""
    marred = np.zeros(len(rows), dtype=bool)
    columns = []
    for column in rows.columns:
        if any(STRAY in text for text in column.texts):
            marred |= column.map(lambda text: STRAY in text, bool, False)
            texts = [text.replace(STRAY, "").strip() if STRAY in text else text for text in column.texts]
            column = TextColumn(column.codes, np.array(texts, dtype=object))
        columns.append(column)
    if not marred.any():
        return rows, frozenset()
    return TextRows(rows.numbers, columns).without_blank(), frozenset(rows.numbers[marred].tolist())
