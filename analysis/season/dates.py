"""Dates of a season: its bounds, its last day, ages, and what was not yet known on an earlier day."""

from collections.abc import Callable, Iterator
from datetime import date, datetime
from typing import Any

import numpy as np
import pandas as pd

from analysis.logs import LOGS, Ledger, Place, Row, Settings, TypedRows
from analysis.logs.headings import NameBook, same
from analysis.logs.settings import bounds

read_clock = datetime.now


def now() -> datetime:
    """The day and the time, as this machine has them."""
    return read_clock()


def today() -> date:
    """The day, as this machine has it.

    Examples
    --------
    >>> today() == now().date()
    True
    """
    return now().date()


Rows = TypedRows

_LEEWAY = pd.Timedelta(days=60)
_YEAR = pd.Timedelta(days=365)
_WHO_WHEN = (
    *(("weights", "chick", "weighed_at"), ("moves", "what", "on"), ("feeds", "who", "fed_at")),
    *(("signs", "who", "seen_at"), ("losses", "chick", "found_on")),
)


def age_d(moment: pd.Timestamp, timed: bool, hatched_at: pd.Timestamp | None, hatched_timed: bool) -> float:
    """Age in days; the day of hatch is 0.

    Where a time of day is missing on either side, the difference of the dates; otherwise a fraction.

    Examples
    --------
    >>> age_d(pd.Timestamp("2026-04-05 06:00"), True, pd.Timestamp("2026-04-03 18:00"), True)
    1.5
    >>> age_d(pd.Timestamp("2026-04-05 06:00"), True, pd.Timestamp("2026-04-03"), False)
    2.0
    """
    if hatched_at is None:
        return float("nan")
    if timed and hatched_timed:
        return float((moment - hatched_at) / pd.Timedelta(days=1))
    return float((moment.normalize() - hatched_at.normalize()).days)


def season_bounds(settings: Settings) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """Return the first and last day of the season: as set, else the year of its name, else None.

    Where only one of the two is set, the season is a year long.
    """
    days = bounds(settings)
    return (pd.Timestamp(days[0]), pd.Timestamp(days[1])) if days else None


def _bulk(rows: Rows) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """Return ten years on either side of the middle date: bounds for logs that name no season."""
    days = [moment.to_datetime64() for row in _all(rows) for _, moment in _dated(row)]
    every = np.concatenate([np.array(days, dtype="datetime64[us]"), *(one.weighed_at for one in rows.weighings)])
    middle = pd.Timestamp(np.partition(every, len(every) // 2)[len(every) // 2]) if len(every) else None
    return (middle - 10 * _YEAR, middle + 10 * _YEAR) if middle is not None else None


def _dated(row: Row) -> Iterator[tuple[str, pd.Timestamp]]:
    for column in LOGS[row.place.log].columns:
        if column.kind in ("date", "moment") and column.in_season and row[column.name] is not None:
            yield column.name, row[column.name]


def keep_in_bounds(rows: Rows, settings: Settings, ledger: Ledger) -> None:
    """Hold every date against the bounds; up to 60 days outside is a question, further is not used.

    Logs that name no season are held against ten years on either side of their middle date, so that a
    mistyped 2126 never becomes the last day.
    """
    bounds = season_bounds(settings) or _bulk(rows)
    if bounds is None:
        return
    start, end = bounds[0], bounds[1] + pd.Timedelta(days=1)
    _look_closer(rows, lambda moments: (moments < start) | (moments >= end))
    for row in _all(rows):
        outside = [(name, moment) for name, moment in _dated(row) if not start <= moment < end]
        needed = LOGS[row.place.log].alone if outside else set()
        for name, moment in outside:
            text = _as_written(moment)
            if start - _LEEWAY <= moment < end + _LEEWAY:
                ledger.say("outside-season", row.place, name, text)
            elif name in needed:
                ledger.drop("far-from-season", row.place, name, text)
            else:
                ledger.bad_cell("far-from-season", row.place, name, text)
                del row.values[name]
    _forget_dropped(rows, ledger)


def forget_after(rows: Rows, day: pd.Timestamp, ledger: Ledger) -> None:
    """Leave out what was not yet known at the end of `day`: later rows, later cells, later outcomes.

    An outcome without a date of its own counts as known once the egg's days are over, or where its chick was weighed,
    moved, fed or seen by then; counts of a clutch are taken as they stand when its first egg was laid by then. Where
    nothing is later, everything is known.
    """
    end = day + pd.Timedelta(days=1)
    latest = last_day(rows)
    if latest is None or latest < end:
        return
    seen = _seen_by(rows, end)
    later: dict[tuple[str, str, str], int] = {}
    _look_closer(rows, lambda moments: moments >= end)
    for row in _all(rows):
        dates = dict(_dated(row))
        needed = [dates[name] for name in {*LOGS[row.place.log].alone, "arrived_on"} if name in dates]
        if dates and max(needed, default=min(dates.values())) >= end:
            ledger.set_aside(row.place)
            where = (row.place.log, row.place.file, row.place.sheet)
            later[where] = later.get(where, 0) + 1
            continue
        if row.place.log == "hatches":
            _forget_outcome(row, end, seen)
        for name, moment in dates.items():
            if moment >= end:
                del row.values[name]
    for (log, file, sheet), count in later.items():
        place = Place(log, file, sheet, None)
        ledger.say("later-than-asked", place, value=count, count=count, day=day)
    _forget_dropped(rows, ledger)


def _look_closer(rows: Rows, odd: Callable[[pd.DatetimeIndex], Any]) -> None:
    """Go on row by row with the weighings whose dates are odd."""
    for number, weighings in enumerate(rows.weighings):
        mask = np.asarray(odd(pd.DatetimeIndex(weighings.weighed_at)))
        if mask.any():
            rows["weights"] += [weighings.row(at) for at in np.flatnonzero(mask).tolist()]
            rows.weighings[number] = weighings.take(~mask)


def _seen_by(rows: Rows, end: pd.Timestamp) -> set[str]:
    """Names that were weighed, moved, fed, seen or found by then: such a chick has hatched."""
    found: set[str] = set()
    for log, who, when in _WHO_WHEN:
        found |= {same(row[who]) for row in rows[log] if row[who] and row[when] is not None and row[when] < end}
    for weighings in rows.weighings:
        early = np.unique(weighings.chick.codes[weighings.weighed_at < np.datetime64(end)])
        found |= {same(str(name)) for name in weighings.chick.texts[early]}
    return found


def _forget_outcome(row: Row, end: pd.Timestamp, seen: set[str]) -> None:
    begun, hatched = row["set_on"] or row["laid_on"], row["hatched_at"]
    known_on = hatched
    if hatched is None and {same(row[name]) for name in ("chick", "ring") if row[name]} & seen:
        return
    if hatched is None and row["outcome"] == "clear" and row["candled_on"] is not None:
        known_on = row["candled_on"]
    elif hatched is None and begun is not None:
        known_on = begun + pd.Timedelta(days=30)
    if known_on is not None and known_on >= end:
        for name in ("chick", "ring"):
            row.values.pop(name, None)
        row.values["outcome"] = "still incubating"
    if row["candled_on"] is not None and row["candled_on"] >= end:
        row.values.pop("candled", None)


def last_day(rows: Rows) -> pd.Timestamp | None:
    """Return the latest date used: the day these logs stand at."""
    days = [moment for row in _all(rows) for _, moment in _dated(row)]
    days += [pd.Timestamp(one.weighed_at.max()) for one in rows.weighings if len(one)]
    return max(days).normalize() if days else None


def _all(rows: Rows) -> Iterator[Row]:
    for log in rows.values():
        yield from log


def _forget_dropped(rows: Rows, ledger: Ledger) -> None:
    for log in rows.values():
        log[:] = [row for row in log if ledger.is_used(row)]


def _as_written(moment: pd.Timestamp) -> str:
    return f"{moment:%Y-%m-%d}" if moment == moment.normalize() else f"{moment:%Y-%m-%d %H:%M}"


def date_by_age(rows: Rows, settings: Settings, ledger: Ledger) -> None:
    """Give each weighing that has an age its date; one that cannot have one is not used, and said."""
    if not any("day" in row.values for log in ("weights", "egg_weights") for row in rows[log]):
        return
    first_day = int(settings.number("hatch_day_is"))
    hatched = _begun(rows["hatches"], ("chick", "ring", "egg"), ("hatched_at",))
    set_on = _begun(rows["hatches"], ("egg",), ("set_on", "laid_on"))
    for log, who, when, known in (
        ("weights", "chick", "weighed_at", hatched),
        ("egg_weights", "egg", "weighed_on", set_on),
    ):
        for row in rows[log]:
            if "day" not in row.values:
                continue
            begun = known[0].find(row[who])
            if begun is None:
                ledger.drop("age-without-hatch", row.place, who, row[who], who=row[who])
                continue
            days = row.values.pop("day") - (first_day if log == "weights" else 0)
            row.values[when] = known[1][begun].normalize() + pd.Timedelta(days=days)
            row.values[f"{when}_timed"] = False
        rows[log][:] = [row for row in rows[log] if ledger.is_used(row)]


def _begun(rows: list[Row], names: tuple[str, ...], days: tuple[str, ...]) -> tuple[NameBook, dict[str, pd.Timestamp]]:
    book, begun = NameBook(), dict[str, pd.Timestamp]()
    for row in rows:
        day = next((row[name] for name in days if row[name] is not None), None)
        for name in names:
            if row[name] and day is not None and row[name] not in book:
                begun[book.add(row[name])] = day
    return book, begun
