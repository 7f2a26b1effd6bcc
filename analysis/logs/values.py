"""The cells of one table, each different text of a column read once; and a million weighings without a row made."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.logs.cells import (
    BadCell,
    is_blank_mark,
    is_not_weighed,
    measure,
    read_choice,
    read_count,
    read_plain,
    read_temperature,
    refuse_broken,
    without_about,
    yes_or_no,
)
from analysis.logs.dates import read_hour
from analysis.logs.headings import choice_meant, folded
from analysis.logs.layout import cell_texts, left_alone, side_column
from analysis.logs.ledger import Place, Row
from analysis.logs.settings import DATES, Convention, Settings
from analysis.logs.sheets import Exact, RawTable, TextColumn
from analysis.logs.tables import LOGS, Column
from analysis.logs.weight_cells import weight_cell

Array = NDArray[Any]
Left = Mapping[int, NDArray[np.bool_]]
_CHICK, _WHEN, _WEIGHT, *_BESIDE = LOGS["weights"].columns
_ARRAYS = ("weighed_at", "timed", "weight", "crop", "notes", "at", "column")
_EMPTY = ("empty",)
_MOST_DAYS = 36_500  # a hundred years


class Read(NamedTuple):
    """What a cell says: values by column, or the code of the rule that it breaks, or (`blank`) that nothing is known.

    `notes` are the codes of what is questionable, each with its facts; `facts` those of the rule that it breaks.
    """

    values: Mapping[str, Any] = MappingProxyType({})
    refused: str = ""
    blank: bool = False
    notes: tuple[tuple[str, Mapping[str, Any]], ...] = ()
    facts: Mapping[str, Any] = MappingProxyType({})

    @property
    def is_plain(self) -> bool:
        """Tell a cell that can be used and says nothing else."""
        return not (self.refused or self.blank or self.notes)


_NOTHING = Read()


class Reader:
    """Reads the cells of one table, each different text of a column once; `blanks` counts marks for "not known".

    The headings of the table may name units; where they do not, those of the settings hold.
    """

    def __init__(self, table: RawTable, settings: Settings, convention: Convention):
        own = (table.log == "egg_weights" and settings["egg_weight_unit"]) or settings["weight_unit"]
        self.blanks = 0
        self._units = table.units
        self._weight_unit, self._temperature_unit = own, settings["temperature_unit"]
        self._convention = convention
        candled = table.written[table.headings.index("candled")] if "candled" in table.headings else ""
        self._asks_fertile = folded(candled).startswith(("fert", "befrucht", "bevrucht", "fecond"))  # by yes or no
        self._known: dict[tuple[str, str, type, str], Read] = {}

    def cell(self, text: str, column: Column) -> Read:
        """Read a cell in which something is written."""
        key = column.name, column.kind, text.__class__, text
        if (read := self._known.get(key)) is None:
            read = self._known[key] = self._read(text, column)
        return read

    def words(self) -> Iterator[tuple[str, str, str]]:
        """Walk through the choices that were read: the column, a word as written, and the choice that it means."""
        for (name, kind, _, text), read in self._known.items():
            if kind == "choice" and name in read.values:
                yield name, text, read.values[name]

    def _read(self, text: str, column: Column) -> Read:
        is_blank = is_not_weighed if column.kind == "weight" else is_blank_mark
        if column.kind != "text" and is_blank(text):
            return Read(blank=True)
        if column.kind == "hour" and (yes_or_no(text) or choice_meant(text, _EMPTY)):
            return Read(blank=True)  # it was, and nobody says when
        try:
            if column.kind == "weight":
                return self._weight(text, column)
            if column.kind == "percent":
                return self._percent(text, column)
            if column.kind in DATES:
                return self._moment(text, column)
            return Read(self._values(text, column))
        except BadCell as bad:
            no_hour = column.kind == "hour" and str(bad) == "unreadable-date"
            return Read(refused="unreadable-hour" if no_hour else str(bad), facts=bad.facts)

    def _values(self, text: str, column: Column) -> dict[str, Any]:
        name, decimal = column.name, self._convention.decimal
        if column.kind == "temperature":
            return {name: read_temperature(text, self._units.get(name) or self._temperature_unit, decimal)}
        if column.kind == "count":
            return {name: read_count(text, decimal)}
        if column.kind in ("number", "days"):
            value = read_plain(text, decimal)
            if column.kind == "days" and not 0 <= value <= _MOST_DAYS:
                raise BadCell("days-out")
            return {name: value}
        refuse_broken(text, text_too=False)
        if name == "candled" and self._asks_fertile and yes_or_no(text) is not None:
            return {name: "fertile" if yes_or_no(text) else "clear"}
        return {name: read_choice(text, column) if column.kind == "choice" else text}

    def _moment(self, text: str, column: Column) -> Read:
        plain, about = without_about(text, day=True)
        code = "about-hatch" if column.name == "hatched_at" else "about"
        return Read(self._when(plain, column), notes=((code, {}),) if about else ())

    def _when(self, text: str, column: Column) -> dict[str, Any]:
        if column.kind == "hour" and (hour := read_hour(text)) is not None:
            return {column.name: hour}
        if column.kind == "hour" and yes_or_no(text):  # it was, and nobody knows when
            return {}
        moment, timed = self._convention.moment(text)
        if column.kind == "hour" and not timed:
            raise BadCell("unreadable-hour")
        return (
            {column.name: moment.normalize()}
            if column.kind == "date"
            else {column.name: moment, f"{column.name}_timed": timed}
        )

    def _weight(self, text: str, column: Column) -> Read:
        unit, settled = self._units.get(column.name) or self._weight_unit, self._convention
        cell = weight_cell(text, unit, settled.decimal, settled.usual_weights)
        notes = {"other-unit": cell.other_unit or unit != self._weight_unit, "about": cell.about}
        beside = {column.name: cell.grams} | {name: words for name, words in cell.beside.items() if words}
        return Read(beside, notes=(*((code, {}) for code, is_so in notes.items() if is_so), *cell.said))

    def _percent(self, text: str, column: Column) -> Read:
        value, unit, _ = measure(text, self._convention.decimal)
        if unit not in ("", "%"):
            raise BadCell("unreadable-number")
        is_share = isinstance(text, Exact) and 0 < value <= 1  # a cell that shows 55 % holds 0.55
        value *= 100 if is_share else 1
        if not 0 <= value <= 100:
            raise BadCell("percent-out")
        return Read({column.name: value}, notes=(("share", {"percent": value}),) if is_share else ())


@dataclass(frozen=True)
class Weighings:
    """The weighings of one table, in the order they stand in: a value each, weights in grams, blank where not written.

    `at` is the row among those of the table, `column` the column of a grid (0 in a list), `side` the one that names its
    rows.
    """

    table: RawTable
    chick: TextColumn
    weighed_at: Array
    timed: Array
    weight: Array
    crop: Array
    notes: Array
    at: Array
    column: Array
    side: int = 0

    def __len__(self) -> int:
        return len(self.weight)

    def take(self, rows: Any) -> "Weighings":
        """Return some of them, by mask or place."""
        arrays = {name: getattr(self, name)[rows] for name in _ARRAYS}
        return replace(self, chick=self.chick.take(rows), **arrays)

    def numbers(self) -> Array:
        """Return the row of each, as the spreadsheet counts."""
        return self.table.rows.numbers[self.at]

    def names(self) -> Array:
        """Return the chick of each, as written."""
        return self.chick.texts[self.chick.codes]

    def place(self, at: int) -> Place:
        """Return where one of them was written."""
        row, column, rows = int(self.at[at]), int(self.column[at]), self.table.rows
        if not self.table.grid:
            return self.table.place(*rows[row])
        cells = {of: str(rows.columns[of].texts[rows.columns[of].codes[row]]) for of in (self.side, column)}
        written = cell_texts(self.table, cells[self.side], cells[column], column)
        return self.table.place(int(rows.numbers[row]), written, self.table.heading(column), column)

    def row(self, at: int) -> Row:
        """Return one of them as a row of the log."""
        values = {"chick": str(self.chick.texts[self.chick.codes[at]]), "weighed_at": pd.Timestamp(self.weighed_at[at])}
        values |= {"weighed_at_timed": bool(self.timed[at]), "weight": float(self.weight[at])}
        values |= {name: text for name in ("crop", "notes") if (text := str(getattr(self, name)[at]))}
        return Row(self.place(at), values)

    def and_rows(self, rows: list[tuple[int, Row]]) -> "Weighings":
        """Return them and some that were typed by row, each with the place of its row, in the order of the table."""
        if not rows:
            return self
        codes = len(self.chick.texts) + np.arange(len(rows), dtype=np.int32)
        names = np.array([row["chick"] for _, row in rows], dtype=object)
        chick = TextColumn(np.append(self.chick.codes, codes), np.append(self.chick.texts, names))
        more = {
            "weighed_at": np.array([row["weighed_at"].to_datetime64() for _, row in rows], dtype="datetime64[us]"),
            "timed": [row["weighed_at_timed"] for _, row in rows],
            "weight": [row["weight"] for _, row in rows],
            "crop": [row["crop"] or "" for _, row in rows],
            "notes": [row["notes"] or "" for _, row in rows],
            "at": [at for at, _ in rows],
            "column": [row.place.at for _, row in rows],
        }
        mine: dict[str, Any] = {name: getattr(self, name) for name in more}
        mine = {name: np.append(array, np.array(more[name], array.dtype)) for name, array in mine.items()}
        every = replace(self, chick=chick, **mine)
        return every.take(np.lexsort((every.column, every.at)))


def plain_weighings(table: RawTable, reader: Reader) -> tuple[Weighings | None, Left | None]:
    """Take the weighings of a table of which nothing is to be said, and tell what is left to be typed by row.

    `left` is by column of the table in which rows something is left; of a list all is in column 0. None and None where
    the table holds no weighings, or no dates of them.
    """
    if table.log != "weights" or table.grid in ("ages", "chicks-by-age") or "day" in table.headings:
        return None, None
    return _of_grid(table, reader) if table.grid else _of_list(table, reader)


def _of_list(table: RawTable, reader: Reader) -> tuple[Weighings, Left]:
    rows = table.rows
    # read backwards, so that of two columns with one heading the first one stands
    columns = dict(reversed([*zip(table.headings, rows.columns, strict=False)]))
    plain, moment, timed = _moments(columns["weighed_at"], reader)
    good, weight = _weights(columns["weight"], reader)
    plain &= good & _texts(columns["chick"], _CHICK, reader)[0]
    beside: dict[str, Any] = {}
    for column in _BESIDE:
        blank = TextColumn(np.full(len(rows), -1, dtype=np.int32), np.array([], dtype=object))
        good, beside[column.name] = _texts(columns.get(column.name, blank), column, reader)
        plain &= good | (beside[column.name] == "")
    for number, cells in enumerate(rows.columns):
        if not table.heading(number):
            plain &= cells.map(lambda text: not text, bool, True)
    at = np.flatnonzero(plain)
    texts = {name: written[at] for name, written in beside.items()}
    found = Weighings(
        table, columns["chick"].take(at), moment[at], timed[at], weight[at], **texts, at=at, column=np.zeros_like(at)
    )
    return found, {0: ~plain}


def _of_grid(table: RawTable, reader: Reader) -> tuple[Weighings, Left]:
    side, by_row = side_column(table), table.grid == "chicks"
    aside = {side, *left_alone(table)}
    used = [at for at in range(len(table.rows.columns)) if at not in aside]
    heads = TextColumn(np.arange(len(used), dtype=np.int32), np.array([*map(table.heading, used)], dtype=object))
    chick, when = (heads, table.rows.columns[side]) if by_row else (table.rows.columns[side], heads)
    (good_when, moment, timed), (good_chick, _) = _moments(when, reader), _texts(chick, _CHICK, reader)
    good_row, good_head = (good_when, good_chick) if by_row else (good_chick, good_when)
    weight = np.full((len(table.rows), len(used)), np.nan)
    plain = np.zeros(weight.shape, dtype=bool)
    for number, column in enumerate(used):
        good, weight[:, number] = _weights(table.rows.columns[column], reader)
        plain[:, number] = good & good_row & good_head[number]
    at, nth = np.nonzero(plain)
    of_chick, of_when = (nth, at) if by_row else (at, nth)
    blank = np.full(len(at), "", dtype=object)
    columns = np.array(used, dtype=np.int64)[nth]
    found = Weighings(
        table, chick.take(of_chick), moment[of_when], timed[of_when], weight[at, nth], blank, blank, at, columns, side
    )
    written = [table.rows.columns[column].map(bool, bool, False) for column in used]
    return found, {column: written[number] & ~plain[:, number] for number, column in enumerate(used)}


def _reads(cells: TextColumn, column: Column, reader: Reader) -> tuple[list[Read], Array]:
    """Read each different text of a column; also tell for each row whether its cell is plain, and not blank."""
    reads = [reader.cell(text, column) if text else _NOTHING for text in cells.texts] + [_NOTHING]
    return reads, np.array([bool(read.values) and read.is_plain for read in reads])[cells.codes]


def _moments(cells: TextColumn, reader: Reader) -> tuple[Array, Array, Array]:
    reads, good = _reads(cells, _WHEN, reader)
    moments = pd.DatetimeIndex([read.values.get("weighed_at", pd.NaT) for read in reads]).as_unit("us").to_numpy()
    timed = np.array([read.values.get("weighed_at_timed", False) for read in reads], dtype=bool)
    return good, moments[cells.codes], timed[cells.codes]


def _weights(cells: TextColumn, reader: Reader) -> tuple[Array, Array]:
    reads, good = _reads(cells, _WEIGHT, reader)
    return good, np.array([read.values.get("weight", np.nan) for read in reads])[cells.codes]


def _texts(cells: TextColumn, column: Column, reader: Reader) -> tuple[Array, Array]:
    """Return the value of each cell; where it cannot be read, as it was written."""
    reads, good = _reads(cells, column, reader)
    texts = [read.values.get(column.name, text) for read, text in zip(reads, [*cells.texts, ""], strict=True)]
    return good, np.array(texts, dtype=object)[cells.codes]
