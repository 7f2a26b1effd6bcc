"""The settings, their defaults and the keeper's own values; and how each file writes its dates and numbers."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Any

import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.logs.cells import BadCell, decimal_sign, near, read_number, without_about
from analysis.logs.dates import date_order, order_meant, read_day, read_moment
from analysis.logs.headings import folded
from analysis.logs.layout import side_column
from analysis.logs.ledger import Ledger, Row
from analysis.logs.sheets import RawTable, texts_in
from analysis.logs.tables import LOGS
from analysis.logs.weight_cells import usual_weights

DATES = ("date", "moment", "hour")
_NUMBERS = ("weight", "number", "count", "days", "temperature", "percent")
_ORDERS = {
    "day-month": found("logs.day-month"),
    "month-day": found("logs.month-day"),
    "year-month": found("logs.year-month"),
}
_SIGNS = {",": found("logs.decimal-comma"), ".": found("logs.decimal-point")}


@dataclass(frozen=True)
class Setting:
    """One setting: its default, and the values it may take (any, where none are listed)."""

    name: str
    default: str
    choices: tuple[str, ...] = ()
    kind: str = "text"
    low: float = 0.0
    high: float = 0.0

    @property
    def reason(self) -> Finding:
        """What it is for, and where its default is from."""
        return found(f"settings.{self.name.replace('_', '-')}")

    @property
    def takes(self) -> Words | tuple[str, ...]:
        """What may be written: its choices, or what kind of thing."""
        if self.kind == "number":
            return found("problems.a-number", low=self.low, high=self.high)
        return self.choices or found("problems.a-date")


SETTINGS: dict[str, Setting] = {
    s.name: s
    for s in (
        Setting("format", "1", ("1",)),
        Setting("aviary", ""),
        Setting("season", ""),
        Setting("starts_on", "", kind="date"),
        Setting("ends_on", "", kind="date"),
        Setting("earlier", ""),
        Setting("date_order", "", ("day-month", "month-day", "year-month")),
        Setting("weight_unit", "g", ("g", "kg", "oz", "lb")),
        Setting("egg_weight_unit", "", ("g", "kg", "oz", "lb")),
        Setting("temperature_unit", "C", ("C", "F")),
        Setting("paper", "A4", ("A4", "Letter")),
        Setting("language", "en", ("en",)),
        Setting("hatch_day_is", "0", ("0", "1")),
        Setting("large_logs", "no", ("yes", "no")),
        Setting("formula_burn_c", "43.0", kind="number", low=38, high=43),
        Setting("quarantine_d", "45", kind="number", low=1, high=365),
        Setting("minutes_a_chick", "3", kind="number", low=0.5, high=30),
        Setting("clutch_gap_d", "30", kind="number", low=1, high=366),
        Setting("incubator_from_c", "36.9", kind="number", low=30, high=40),
        Setting("incubator_to_c", "37.8", kind="number", low=30, high=45),
        Setting("enough_clutches", "2", kind="number", low=2, high=20),
        Setting("enough_eggs", "8", kind="number", low=4, high=100),
        Setting("low_share", "0.6", kind="number", low=0.2, high=1),
        Setting("sure_to_check", "0.93", kind="number", low=0.5, high=0.999),
        Setting("sure_to_part", "0.95", kind="number", low=0.8, high=0.999),
        Setting("checked", ""),
        Setting("settling_cost", "0.3", kind="number", low=0, high=0.9),
        Setting("clutches_then_rest", "3", kind="number", low=1, high=12),
        Setting("hen_youngest_y", "1", kind="number", low=0.2, high=15),
        Setting("related_ask", "0.125", kind="number", low=0.01, high=1),
    )
}


@dataclass(frozen=True)
class Settings:
    """The keeper's settings. `values` holds what was written; a missing one has its default.

    `columns` holds the keeper's own headings, folded, and the columns they stand for.
    """

    values: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    columns: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __getitem__(self, name: str) -> str:
        return self.values.get(name) or SETTINGS[name].default

    def number(self, name: str) -> float:
        """Return a setting that is a number."""
        return read_number(self[name])

    def day(self, name: str) -> date | None:
        """Return a setting that is a date, or None where it is blank."""
        return read_day(self[name]) if self[name] else None

    def table(self) -> list[dict[str, Words]]:
        """List every setting with the value that holds, where it comes from, and its reason."""
        return [
            {
                "setting": s.name,
                "value": self[s.name],
                "from": found("settings.yours" if self.values.get(s.name) else "settings.default"),
                "reason": s.reason,
            }
            for s in SETTINGS.values()
        ]


def read_settings(rows: Iterable[Row], ledger: Ledger) -> Settings:
    """Read the rows of the settings log; what cannot be used is said and its default holds."""
    values: dict[str, str] = {}
    used: dict[str, Row] = {}
    columns: dict[str, str] = {}
    for row in rows:
        name = str(row["setting"]).strip().casefold().replace(" ", "_")
        if name.startswith("column:"):
            _own_column(row, columns, ledger)
        elif name not in SETTINGS:
            ledger.drop(
                "unknown-setting", row.place, "setting", row["setting"], near=near(name, SETTINGS), names=list(SETTINGS)
            )
        elif name in values:
            _again(row, used[name], SETTINGS[name], ledger)
        elif row["value"]:
            try:
                values[name] = _value(SETTINGS[name], str(row["value"]).strip())
                used[name] = row
            except BadCell:
                ledger.bad_cell("bad-setting", row.place, "value", row["value"], choices=SETTINGS[name].takes)
    return Settings(MappingProxyType(values), MappingProxyType(columns))


def _again(row: Row, first: Row, setting: Setting, ledger: Ledger) -> None:
    """Drop the second row of a setting; written as another value it is no mere repeat."""
    try:
        same = not row["value"] or _value(setting, str(row["value"]).strip()) == _value(setting, str(first["value"]))
    except BadCell:
        same = False
    code = "repeated-row" if same else "name-used-twice"
    ledger.drop(code, row.place, "setting", row["setting"], first=first.place.row)


def _own_column(row: Row, columns: dict[str, str], ledger: Ledger) -> None:
    """Read a heading of the keeper's own: `column: Gewicht` with the value weight, or `column: Gewicht = weight`."""
    written = str(row["setting"]).partition(":")[2]
    heading, _, value = written.rpartition("=") if "=" in written else (written, "", str(row["value"] or ""))
    column = value.strip().casefold().replace(" ", "_")
    known = {c.name for log in LOGS.values() for c in log.columns}
    if column in known and folded(heading):
        columns[folded(heading)] = column
    else:
        choices = found("problems.a-column", near=near(column, known))
        ledger.bad_cell("bad-setting", row.place, "value", value.strip(), choices=choices)


def _value(setting: Setting, text: str) -> str:
    text = order_meant(text) if setting.name == "date_order" else text
    match: Any = {c.casefold(): c for c in setting.choices}.get(text.casefold(), text)
    if setting.choices and match not in setting.choices:
        raise BadCell("bad-setting")
    if setting.kind == "date" and not 1900 <= read_day(text).year <= 2200:
        raise BadCell("bad-setting")
    if setting.kind == "number" and not setting.low <= read_number(text) <= setting.high:
        raise BadCell("bad-setting")
    return str(match)


@dataclass(frozen=True)
class Convention:
    """How a file writes dates (`order`: "day-month", "month-day", "year-month") and numbers (`decimal`: "," or ".").

    Blank where nothing tells. A date without a year lies between `first` and `last`; `usual_weights` are the least and
    most of its weights, where one of them reads two ways.
    """

    order: str = ""
    decimal: str = ""
    first: date | None = None
    last: date | None = None
    usual_weights: tuple[float, float] | None = None

    def moment(self, text: str) -> tuple[pd.Timestamp, bool]:
        """Read a date as this file writes them; one without a year lies between the first and the last day."""
        try:
            return read_moment(text, self.order)
        except BadCell as bad:
            if str(bad) != "date-without-year" or self.first is None or self.last is None:
                raise
        inside = []
        for year in range(self.first.year, self.last.year + 1):
            with suppress(BadCell):  # 29 February
                moment = read_moment(text, self.order, year)
                inside += [moment] if self.first <= moment[0].date() <= self.last else []
        if len(inside) != 1:
            raise BadCell("date-without-year")
        return inside[0]


def conventions(tables: Iterable[RawTable], settings: Settings) -> dict[str, tuple[Convention, list[Finding]]]:
    """Settle for each file how it writes dates and numbers; also return what was assumed.

    A file in which no date settles the order goes by the others, where all of these that settle it agree.
    """
    dates: dict[str, list[str]] = defaultdict(list)
    numbers: dict[str, list[str]] = defaultdict(list)
    weights: dict[str, list[str]] = defaultdict(list)
    for table in tables:
        for kind, text in _cells(table):
            (dates if kind in DATES else numbers)[table.file].append(text)
            if kind == "weight":
                weights[table.file].append(text)
    own = {file: date_order(without_about(text, day=True)[0] for text in texts) for file, texts in dates.items()}
    settled = {order: file for file, (order, _) in sorted(own.items(), reverse=True) if order}
    if len(settled) == 1:
        of_folder = next(iter(settled.items()))
        own |= {file: of_folder for file, (order, _) in own.items() if not order and not _contradicts(dates[file])}
    return {
        file: _settle(own.get(file, ("", "")), dates[file], numbers[file], weights[file], settings)
        for file in {*dates, *numbers}
    }


def _contradicts(dates: list[str]) -> bool:
    """Tell whether a file in which no order holds has dates that settle it two ways."""
    return any(date_order([without_about(text, day=True)[0]])[0] for text in dates)


def _settle(
    own: tuple[str, str], dates: list[str], numbers: list[str], weights: list[str], settings: Settings
) -> tuple[Convention, list[Finding]]:
    assumed = []
    order_of_dates, because = own
    order = settings["date_order"] or order_of_dates
    if order and any("/" in text or re.match(r"\d\d?-\d", text) for text in dates):
        by_settings = found("logs.dates-by-settings", order=_ORDERS[order])
        by_date = found("logs.dates-by-a-date", order=_ORDERS[order], because=because)
        assumed.append(by_settings if settings["date_order"] else by_date)
    if any(re.fullmatch(r"\d{5}(\.\d+)?", text) for text in dates):
        assumed.append(found("logs.day-numbers"))
    sign = decimal_sign(numbers)
    if sign:
        assumed.append(_SIGNS[sign])
    first, last = bounds(settings) or (None, None)
    return Convention(order, sign, first, last, usual_weights(weights, sign)), assumed


def _cells(table: RawTable) -> Iterable[tuple[str, str]]:
    """Walk through the cells of a table that are dates or numbers, with their kind."""
    if table.grid:
        for heading in table.headings if table.grid == "dates" else ():
            yield "date", heading
        side = side_column(table) if table.grid == "chicks" else -1
        for at in range(len(table.headings)):
            kind = "date" if at == side else "weight"
            yield from ((kind, text) for text in texts_in(table.rows, at))
        return
    kinds = {column.name: column.kind for column in LOGS[table.log].columns}
    for at, heading in enumerate(table.headings):
        kind = kinds.get(heading, "")
        if kind in DATES + _NUMBERS:
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
