"""The days that dates are held against where no season is named; rows of another season, and days after today."""

from collections.abc import Callable, Iterator
from itertools import chain
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Finding, found
from analysis.logs import LOGS, Ledger, Place, Row, TypedRows
from analysis.logs.settings import DATES

LEEWAY = pd.Timedelta(days=60)  # so far outside the season a date is a question; further it is not used
_FEW, _PART = 5, 0.1  # dates of a year, and share of all, that are no slip of the hand (practice)
_YEAR = pd.Timedelta(days=365)
_WIDEST = 10 * _YEAR  # where a handful of dates tells no year


class Held(NamedTuple):
    """The first and last day against which dates are held, and the years that they lie in.

    Several years: the logs look like several seasons. None: too few dates to tell.
    """

    first: pd.Timestamp
    last: pd.Timestamp
    years: tuple[int, ...] = ()


def dates_of(row: Row, *, every: bool = False) -> Iterator[tuple[str, pd.Timestamp]]:
    """Yield the dates of a row by column: those that belong in the season, or `every` one."""
    for column in LOGS[row.place.log].columns:
        if column.kind in DATES and (every or column.in_season) and row[column.name] is not None:
            yield column.name, row[column.name]


def held_by_dates(rows: TypedRows) -> Held | None:
    """Return the year in which most dates lie, and on into its neighbours while no 60 days are without a date.

    A season over new year is whole so. Where more than a year is spanned and several years have five dates and a tenth
    of all, these. Fewer than five dates are held within ten years of their middle; None where there is none.

    Examples
    --------
    >>> held_by_dates(TypedRows()) is None
    True
    """
    listed = [moment.to_datetime64() for row in chain.from_iterable(rows.values()) for _, moment in dates_of(row)]
    days = np.concatenate([np.array(listed, dtype="datetime64[D]"), *(one.weighed_at for one in rows.weighings)])
    return _held(np.sort(days.astype("datetime64[D]"))) if len(days) else None


def _held(days: NDArray[Any]) -> Held:
    if len(days) < _FEW:
        middle = pd.Timestamp(days[len(days) // 2])
        return Held(middle - _WIDEST, middle + _WIDEST)
    years, dates = np.unique(days.astype("datetime64[Y]").astype(int) + 1970, return_counts=True)
    many = years[(dates >= _FEW) & (dates >= _PART * len(days))]
    most = int(0.95 * (len(days) - 1))
    if len(many) > 1 and pd.Timedelta(days[most] - days[len(days) - 1 - most]) > _YEAR:
        return Held(pd.Timestamp(many[0], 1, 1), pd.Timestamp(many[-1], 12, 31), tuple(many.tolist()))
    year = int(years[::-1][np.argmax(dates[::-1])])  # of two with as many the later
    first, last = pd.Timestamp(year, 1, 1), pd.Timestamp(year, 12, 31)
    each = pd.DatetimeIndex(np.unique(days))
    run = np.cumsum(np.diff(each, prepend=each[:1]) > LEEWAY)
    own = each[np.isin(run, run[(each >= first) & (each <= last)])]
    return Held(min(first, own[0]), max(last, own[-1]), (year,))


def bounds_said(held: Held | None, *, named: bool) -> Finding:
    """Say against which days the dates were held; `named` by the settings."""
    if held is None or not (named or held.years):
        return found("logs.no-bounds")
    code = "logs.bounds" if named else "logs.bounds-of-most" if len(held.years) == 1 else "logs.bounds-of-years"
    return found(code, first=held.first, last=held.last, years=[str(year) for year in held.years])


def ask_about_seasons(rows: TypedRows, held: Held, ledger: Ledger) -> None:
    """Say once that the logs look like several seasons, where they do: at the first file that holds more than one."""
    if len(held.years) < 2:
        return
    of_file: dict[tuple[str, str, str], set[int]] = {}
    for row in chain.from_iterable(rows.values()):
        key = (row.place.log, row.place.file, row.place.sheet)
        of_file.setdefault(key, set()).update(moment.year for _, moment in dates_of(row))
    for one in rows.weighings:
        years = of_file.setdefault(("weights", one.table.file, one.table.sheet), set())
        years.update((np.unique(one.weighed_at.astype("datetime64[Y]")).astype(int) + 1970).tolist())
    both = (key for key, own in of_file.items() if len(own & {*held.years}) > 1)
    log, file, sheet = next(both, next(key for key, own in of_file.items() if own))
    named = [str(year) for year in held.years]
    ledger.say("two-seasons", Place(log, file, sheet, None), value=found("problems.named", names=named), years=named)


def without_other_seasons(rows: TypedRows, is_far: Callable[[pd.Timestamp], bool], ledger: Ledger) -> TypedRows:
    """Set aside the rows of which every date is far outside the season and of one year, where a sheet has many.

    Five of them and a tenth of the sheet are no slips of the hand: said once a sheet and year.
    """
    sizes: dict[tuple[str, str, str], int] = {}
    far: dict[tuple[str, str, str, int], list[Row]] = {}
    for row in chain.from_iterable(rows.values()):
        key = (row.place.log, row.place.file, row.place.sheet)
        sizes[key] = sizes.get(key, 0) + 1
        days = [moment for _, moment in dates_of(row)]
        if days and all(map(is_far, days)) and len({day.year for day in days}) == 1:
            far.setdefault((*key, days[0].year), []).append(row)
    for one in rows.weighings:
        key = ("weights", one.table.file, one.table.sheet)
        sizes[key] = sizes.get(key, 0) + len(one)
    for (*sheet_of, year), mine in far.items():
        log, file, sheet = map(str, sheet_of)
        if len(mine) >= max(_FEW, _PART * sizes[log, file, sheet]):
            for row in mine:
                ledger.set_aside(row.place)
            numbers = sorted({row.place.row for row in mine if row.place.row is not None})
            facts: dict[str, Any] = {"count": len(mine), "year": str(year), "rows": numbers}
            ledger.say("other-season", Place(log, file, sheet, numbers[0]), value=str(year), **facts)
    return rows.used(ledger)


def days_written(rows: TypedRows) -> pd.DataFrame:
    """Return a row a day that each column of dates holds: file, sheet, column, day (at midnight), row (its first)."""
    parts = [
        (row.place.file, row.place.sheet, column, moment.normalize(), row.place.row)
        for row in chain.from_iterable(rows.values())
        for column, moment in dates_of(row, every=True)
    ]
    for one in rows.weighings:
        days, first = np.unique(one.weighed_at.astype("datetime64[D]"), return_index=True)
        where = (one.table.file, one.table.sheet, "weighed_at")
        parts += [(*where, *day) for day in zip(pd.DatetimeIndex(days), one.numbers()[first].tolist(), strict=True)]
    frame = pd.DataFrame(parts, columns=["file", "sheet", "column", "day", "row"]).astype({"row": "Int64"})
    return frame.drop_duplicates(["file", "sheet", "column", "day"], ignore_index=True)


def dates_after(written: pd.DataFrame, day: pd.Timestamp) -> tuple[Finding, ...]:
    """Ask about each column that holds days later than `day`, as `days_written` has them."""
    later = written[written["day"] > day].sort_values("day", kind="stable")
    return tuple(
        found("season.after-today", **where, rows=own["row"].tolist(), days=[f"{on:%Y-%m-%d}" for on in own["day"]])
        for where, own in _of_columns(later)
    )


def _of_columns(frame: pd.DataFrame) -> Iterator[tuple[dict[str, Any], pd.DataFrame]]:
    for key, own in frame.groupby(["file", "sheet", "column"], sort=True):
        yield dict(zip(("file", "sheet", "column"), key, strict=True)) | {"many": len(own)}, own
