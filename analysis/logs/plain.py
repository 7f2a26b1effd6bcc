"""Weighings by the hundred thousand: what is plainly written is read by column, the rest row by row as any other log.

Both ways give the same; only the time differs.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.logs.cells import BadCell, is_blank_mark, measure
from analysis.logs.layout import cell_texts, left_alone, side_column
from analysis.logs.ledger import Place, Row
from analysis.logs.sheets import Held, HeldRows, RawTable
from analysis.logs.values import Convention

Array = NDArray[Any]
_CROPS = ("", "empty", "part", "full")


@dataclass(frozen=True)
class Plain:
    """Plain weighings of one table.

    Attributes
    ----------
    table : where they were written
    chick, weighed_at, timed, weight, crop : a value each; weights in grams
    at, column : where each was written: the row among the table's rows, and the column of a grid (0 in a list)
    """

    table: RawTable
    chick: Held
    weighed_at: Array
    timed: Array
    weight: Array
    crop: Array
    at: Array
    column: Array

    def __len__(self) -> int:
        return len(self.weight)

    def take(self, rows: Any) -> "Plain":
        """Return some of them, by mask or place."""
        arrays = {name: getattr(self, name)[rows] for name in ("weighed_at", "timed", "weight", "crop", "at", "column")}
        return replace(self, chick=self.chick.take(rows), **arrays)

    def numbers(self) -> Array:
        """Return the row of each, as the spreadsheet counts."""
        assert isinstance(self.table.rows, HeldRows)
        return self.table.rows.numbers[self.at]

    def notes(self) -> Array:
        """Return the note beside each, as written; a grid has none for a single weighing."""
        assert isinstance(self.table.rows, HeldRows)
        if self.table.grid or "notes" not in self.table.headings:
            return np.full(len(self), "", dtype=object)
        return self.table.rows.columns[self.table.headings.index("notes")].take(self.at).map(str, object, "")

    def row(self, at: int) -> Row:
        """Return one of them as a row of the log."""
        number, cells = self.table.rows[int(self.at[at])]
        chick = str(self.chick.texts[self.chick.codes[at]])
        place = self.table.place(number, cells)
        if self.table.grid:
            column = int(self.column[at])
            written = " | ".join(cell_texts(self.table, cells, column, side_column(self.table)))
            place = Place(
                self.table.log, self.table.file, self.table.sheet, number, written, self.table.heading(column), column
            )
        moment = pd.Timestamp(self.weighed_at[at])
        values = {"chick": chick, "weighed_at": moment, "weighed_at_timed": bool(self.timed[at])}
        crop = str(self.crop[at])
        return Row(place, values | {"weight": float(self.weight[at])} | ({"crop": crop} if crop else {}))


def take_plain(table: RawTable, convention: Convention, unit: float) -> tuple[Plain | None, RawTable]:
    """Part a table of weights into its plain weighings and the rows that want a closer look.

    Parameters
    ----------
    table
        A log of weights, its rows held by column.
    convention
        How the file writes dates and numbers.
    unit
        Grams in the unit of the weights.

    Returns
    -------
    plain, rest
        None and the table itself where it is not held by column or not of a plain form.
    """
    rows = table.rows
    if not isinstance(rows, HeldRows) or table.log != "weights" or table.units:
        return None, table
    if table.grid in ("chicks", "dates"):
        return _plain_grid(table, rows, convention, unit)
    wanted = {"chick", "weighed_at", "weight"}
    if table.grid or not wanted <= set(table.headings) or len(set(table.headings)) < len(table.headings):
        return None, table
    columns = dict(zip(table.headings, rows.columns, strict=False))
    moment, timed, good = _moments(columns["weighed_at"], convention)
    weight, good_weight = _weights(columns["weight"], convention, unit)
    good &= good_weight & columns["chick"].map(_is_name, bool, False)
    crop = np.full(len(rows), "", dtype=object)
    if "crop" in columns:
        crop = columns["crop"].map(str.casefold, object, "")
        good &= columns["crop"].map(lambda text: text.casefold() in _CROPS, bool, True)
    for beyond in rows.columns[len(table.headings) :]:
        good &= beyond.map(lambda text: not text, bool, True)
    if "" in columns:
        good &= columns[""].map(lambda text: not text, bool, True)
    at = np.flatnonzero(good)
    where = {"at": at, "column": np.zeros(len(at), dtype=np.int64)}
    plain = Plain(table, columns["chick"].take(at), moment[at], timed[at], weight[at], crop[at], **where)
    return plain, replace(table, rows=rows.take(~good))


def _plain_grid(table: RawTable, rows: HeldRows, convention: Convention, unit: float) -> tuple[Plain | None, RawTable]:
    """Part a grid cell by cell; the cells that want a closer look are left in it, alone."""
    side, aside = side_column(table), set(left_alone(table))
    used = [at for at in range(len(rows.columns)) if at != side and at not in aside]
    by_row = table.grid == "chicks"
    side_good, moments = _side(rows.columns[side], by_row, convention)
    rest, parts = [], []
    known: dict[str, tuple[float, bool]] = {}
    for at, column in enumerate(rows.columns):
        if at not in used:
            rest.append(column)
            continue
        weight, good = _weights(column, convention, unit, known)
        head = _head(table.heading(at), by_row, convention)
        good &= side_good & (head is not None)
        rest.append(Held(np.where(good, -1, column.codes), column.texts))
        parts.append((at, np.flatnonzero(good), weight, head))
    where = np.concatenate([found for _, found, _, _ in parts]) if parts else np.array([], dtype=np.int64)
    column_of = np.repeat([at for at, *_ in parts], [len(found) for _, found, _, _ in parts]).astype(np.int64)
    weights = np.concatenate([weight[found] for _, found, weight, _ in parts]) if parts else np.array([])
    if by_row:
        heads = np.array([table.heading(at) for at, *_ in parts], dtype=object)
        chick = Held(np.repeat(np.arange(len(parts)), [len(f) for _, f, _, _ in parts]).astype(np.int32), heads)
        moment, timed = (array[where] for array in moments)
    else:
        chick = rows.columns[side].take(where)
        heads_at = [head or (pd.NaT, False) for *_, head in parts]
        counts = [len(found) for _, found, _, _ in parts]
        moment = np.repeat(np.array([h[0].to_datetime64() for h in heads_at], dtype="datetime64[us]"), counts)
        timed = np.repeat(np.array([h[1] for h in heads_at], dtype=bool), counts)
    crop = np.full(len(where), "", dtype=object)
    left = HeldRows(rows.numbers, rest)
    written = np.zeros(len(rows), dtype=bool)
    for at in used:
        written |= rest[at].map(bool, bool, False)
    return Plain(table, chick, moment, timed, weights, crop, where, column_of), replace(table, rows=left.take(written))


def _side(column: Held, are_days: bool, convention: Convention) -> tuple[Array, tuple[Array, Array]]:
    if are_days:
        moment, timed, good = _moments(column, convention)
        return good, (moment, timed)
    return column.map(_is_name, bool, False), (np.array([]), np.array([]))


def _head(heading: str, is_chick: bool, convention: Convention) -> Any:
    if is_chick:
        return heading if _is_name(heading) else None
    try:
        return convention.moment(heading)
    except BadCell:
        return None


def _is_name(text: str) -> bool:
    return bool(text) and text[0] not in "#=" and not is_blank_mark(text)


def _moments(column: Held, convention: Convention) -> tuple[Array, Array, Array]:
    read = [_try(convention.moment, text) for text in column.texts]
    moments = [pd.NaT if found is None else found[0] for found in read] + [pd.NaT]
    timed = np.array([found is not None and found[1] for found in read] + [False], dtype=bool)
    good = np.array([found is not None for found in read] + [False], dtype=bool)
    days = pd.DatetimeIndex(moments).as_unit("us").to_numpy()
    return days[column.codes], timed[column.codes], good[column.codes]


def _weights(
    column: Held, convention: Convention, unit: float, known: dict[str, tuple[float, bool]] | None = None
) -> tuple[Array, Array]:
    known = {} if known is None else known
    for text in column.texts:
        if text not in known:
            found = _try(lambda t: measure(t, convention.decimal), text)
            plain = found is not None and not found[1] and not found[2]
            known[text] = (found[0] * unit, True) if found is not None and plain else (np.nan, False)
    values = np.array([known[text][0] for text in column.texts] + [np.nan])
    good = np.array([known[text][1] for text in column.texts] + [False], dtype=bool)
    return values[column.codes], good[column.codes]


def _try(read: Callable[[str], Any], text: str) -> Any:
    try:
        return read(text)
    except BadCell:
        return None
