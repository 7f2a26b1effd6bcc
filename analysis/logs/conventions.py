"""How one file writes dates and numbers, settled by the cells that leave no doubt, never guessed."""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.cells import BadCell
from analysis.logs.dates import date_order, read_moment
from analysis.logs.grids import side_column
from analysis.logs.held import texts_in
from analysis.logs.numbers import decimal_sign
from analysis.logs.raw import RawTable
from analysis.logs.settings import Settings
from analysis.logs.tables import LOGS

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
