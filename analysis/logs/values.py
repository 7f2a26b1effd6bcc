"""The cells of one table, read as its columns, its headings and its file's habits say."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Any, NamedTuple

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.cells import (
    BadCell,
    decimal_sign,
    is_blank_mark,
    measure,
    read_choice,
    read_count,
    read_plain,
    read_temperature,
    read_weight,
    refuse_broken,
    yes_or_no,
)
from analysis.logs.dates import date_order, read_moment
from analysis.logs.headings import folded
from analysis.logs.layout import side_column
from analysis.logs.settings import Settings
from analysis.logs.sheets import Exact, RawTable, texts_in
from analysis.logs.tables import LOGS, Column

DATES = ("date", "moment")
NUMBERS = ("weight", "number", "count", "days", "temperature", "percent")
_ORDERS = {
    "day-month": found("logs.day-month"),
    "month-day": found("logs.month-day"),
    "year-month": found("logs.year-month"),
}
_SIGNS = {",": found("logs.decimal-comma"), ".": found("logs.decimal-point")}


@dataclass(frozen=True)
class Convention:
    """How a file writes dates and numbers; blank where nothing tells.

    Attributes
    ----------
    order : "day-month", "month-day", "year-month" or blank
    decimal : "," or "." or blank
    first, last : the days between which a date without a year lies
    """

    order: str = ""
    decimal: str = ""
    first: date | None = None
    last: date | None = None

    def moment(self, text: str) -> tuple[pd.Timestamp, bool]:
        """Read a date as this file writes them; one without a year lies between the first and the last day."""
        try:
            return read_moment(text, self.order)
        except BadCell as bad:
            if str(bad) != "date-without-year" or self.first is None or self.last is None:
                raise
        inside = [
            moment
            for year in range(self.first.year, self.last.year + 1)
            if (moment := self._in_year(text, year)) and self.first <= moment[0].date() <= self.last
        ]
        if len(inside) != 1:
            raise BadCell("date-without-year")
        return inside[0]

    def _in_year(self, text: str, year: int) -> tuple[pd.Timestamp, bool] | None:
        try:
            return read_moment(text, self.order, year)
        except BadCell:  # 29 February
            return None


def conventions(tables: Iterable[RawTable], settings: Settings) -> dict[str, tuple[Convention, list[Finding]]]:
    """Settle for each file how it writes dates and numbers.

    Returns
    -------
    dict
        By file: the convention, and what was assumed (empty where nothing had to be).
    """
    dates: dict[str, list[str]] = defaultdict(list)
    numbers: dict[str, list[str]] = defaultdict(list)
    for table in tables:
        for kind, text in _cells(table):
            (dates if kind in DATES else numbers)[table.file].append(text)
    return {file: _settle(dates[file], numbers[file], settings) for file in {*dates, *numbers}}


def _settle(dates: list[str], numbers: list[str], settings: Settings) -> tuple[Convention, list[Finding]]:
    said = []
    told, because = date_order(dates)
    order = settings["date_order"] or told
    if order and any("/" in text or re.match(r"\d\d?-\d", text) for text in dates):
        by_settings = found("logs.dates-by-settings", order=_ORDERS[order])
        by_date = found("logs.dates-by-a-date", order=_ORDERS[order], because=because)
        said.append(by_settings if settings["date_order"] else by_date)
    if any(re.fullmatch(r"\d{5}(\.\d+)?", text) for text in dates):
        said.append(found("logs.day-numbers"))
    sign = decimal_sign(numbers)
    if sign:
        said.append(_SIGNS[sign])
    first, last = bounds(settings) or (None, None)
    return Convention(order, sign, first, last), said


def _cells(table: RawTable) -> Iterable[tuple[str, str]]:
    """Walk through the cells of a table that are dates or numbers, with their kind."""
    if table.grid:
        for heading in table.headings if table.grid == "dates" else ():
            yield "date", heading
        side = side_column(table) if table.grid == "chicks" else -1
        for at in range(len(table.headings)):
            kind = "date" if at == side else "number"
            yield from ((kind, text) for text in texts_in(table.rows, at))
        return
    kinds = {column.name: column.kind for column in LOGS[table.log].columns}
    for at, heading in enumerate(table.headings):
        kind = kinds.get(heading, "")
        if kind in DATES + NUMBERS:
            yield from ((kind, text) for text in texts_in(table.rows, at))


def bounds(settings: Settings) -> tuple[date, date] | None:
    """Return the first and last day of the season: as set, else the year of its name, else None.

    Where only one of the two is set, the season is a year long.
    """
    start, end = settings.day("starts_on"), settings.day("ends_on")
    year = re.fullmatch(r"[12]\d{3}", settings["season"].strip())
    if year:
        start = start or date(int(year[0]), 1, 1)
        end = end or date(int(year[0]), 12, 31)
    if start is None and end is None:
        return None
    start = start or (pd.Timestamp(end) - pd.Timedelta(days=365)).date()
    end = end or (pd.Timestamp(start) + pd.Timedelta(days=365)).date()
    return min(start, end), max(start, end)


_MOST_DAYS = 36_500  # a hundred years


class Read(NamedTuple):
    """What a cell says: values by column, or the code of the rule that it breaks, or (`blank`) that nothing is known.

    `notes` are the codes of what is questionable, each with its facts.
    """

    values: Mapping[str, Any] = MappingProxyType({})
    refused: str = ""
    blank: bool = False
    notes: tuple[tuple[str, Mapping[str, Any]], ...] = ()

    @property
    def is_plain(self) -> bool:
        """Tell a cell that can be used and says nothing else."""
        return not (self.refused or self.blank or self.notes)


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
        self._asks_fertile = _asks(table, "candled", ("fert", "befrucht", "bevrucht", "fecond"))
        self._known: dict[tuple[str, str, type, str], Read] = {}

    def cell(self, text: str, column: Column) -> Read:
        """Read a cell in which something is written."""
        key = column.name, column.kind, text.__class__, text
        if (read := self._known.get(key)) is None:
            read = self._known[key] = self._read(text, column)
        return read

    def _read(self, text: str, column: Column) -> Read:
        if column.kind != "text" and is_blank_mark(text):
            return Read(blank=True)
        try:
            if column.kind == "weight":
                return self._weight(text, column)
            if column.kind == "percent":
                return self._percent(text, column)
            return Read(self._values(text, column))
        except BadCell as bad:
            return Read(refused=str(bad))

    def _values(self, text: str, column: Column) -> dict[str, Any]:
        name, decimal = column.name, self._convention.decimal
        if column.kind in DATES:
            moment, timed = self._convention.moment(text)
            return {name: moment, f"{name}_timed": timed} if column.kind == "moment" else {name: moment.normalize()}
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

    def _weight(self, text: str, column: Column) -> Read:
        unit = self._units.get(column.name) or self._weight_unit
        grams, other, about = read_weight(text, unit, self._convention.decimal)
        notes = {"other-unit": other or unit != self._weight_unit, "about": about}
        return Read({column.name: grams}, notes=tuple((code, {}) for code, is_so in notes.items() if is_so))

    def _percent(self, text: str, column: Column) -> Read:
        value, unit, _ = measure(text, self._convention.decimal)
        if unit not in ("", "%"):
            raise BadCell("unreadable-number")
        is_share = isinstance(text, Exact) and 0 < value <= 1  # a cell that shows 55 % holds 0.55
        value *= 100 if is_share else 1
        if not 0 <= value <= 100:
            raise BadCell("percent-out")
        return Read({column.name: value}, notes=(("share", {"percent": value}),) if is_share else ())


def _asks(table: RawTable, column: str, stems: tuple[str, ...]) -> bool:
    """Tell whether the heading of a column asks a question that is answered by yes or no."""
    at = table.headings.index(column) if column in table.headings else -1
    return at >= 0 and folded(table.written[at]).startswith(stems)
