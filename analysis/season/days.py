"""Days of a season: today, ages, its bounds, its last day, and what was not yet known on an earlier day."""

from collections import Counter
from collections.abc import Callable, Iterator
from datetime import date, datetime
from itertools import chain
from typing import Any

import numpy as np
import pandas as pd

from analysis.logs import LOGS, Ledger, Place, Row, Settings, TypedRows
from analysis.logs.headings import NameBook, same
from analysis.logs.settings import DATES, bounds

Rows = TypedRows
_FirstDays = tuple[NameBook, dict[str, pd.Timestamp]]  # names that are known, and the first day of each
read_clock = datetime.now

_LEEWAY = pd.Timedelta(days=60)
_YEAR = pd.Timedelta(days=365)
_INCUBATED = pd.Timedelta(days=30)  # practice: an egg's days are over
WHO_WHEN = {"weights": ("chick", "weighed_at"), "moves": ("what", "on"), "feeds": ("who", "fed_at")}
WHO_WHEN |= {"signs": ("who", "seen_at"), "losses": ("chick", "found_on")}  # who is written of, and on which day


def now() -> datetime:
    """The day and the time, as this machine has them."""
    return read_clock()


def today() -> date:
    """The day, as this machine has it."""
    return now().date()


def season_bounds(settings: Settings) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    """The first and last day of the season: as set (a year, where one of the two is), else the year of its name."""
    days = bounds(settings)
    return (pd.Timestamp(days[0]), pd.Timestamp(days[1])) if days else None


def last_day(rows: Rows) -> pd.Timestamp | None:
    """The latest date used: the day these logs stand at."""
    days = [moment for row in chain.from_iterable(rows.values()) for _, moment in _dates(row)]
    days += [pd.Timestamp(one.weighed_at.max()) for one in rows.weighings if len(one)]
    return max(days).normalize() if days else None


def date_by_age(rows: Rows, settings: Settings, ledger: Ledger) -> Rows:
    """Give each weighing that has an age its date; one that cannot have one is not used, and said."""
    if not any("day" in row.values for log in ("weights", "egg_weights") for row in rows[log]):
        return rows
    first_day = int(settings.number("hatch_day_is"))
    hatched = _first_days(rows["hatches"], ("chick", "ring", "egg"), ("hatched_at",))
    set_on = _first_days(rows["hatches"], ("egg",), ("set_on", "laid_on"))
    weights = [_dated_by_age(row, "chick", "weighed_at", hatched, first_day, ledger) for row in rows["weights"]]
    eggs = [_dated_by_age(row, "egg", "weighed_on", set_on, 0, ledger) for row in rows["egg_weights"]]
    return rows.but({"weights": weights, "egg_weights": eggs}).used(ledger, "weights", "egg_weights")


def _first_days(rows: list[Row], names: tuple[str, ...], days: tuple[str, ...]) -> _FirstDays:
    book, begun = NameBook(), dict[str, pd.Timestamp]()
    for row in rows:
        day = next((row[name] for name in days if row[name] is not None), None)
        for name in names:
            if row[name] and day is not None and row[name] not in book:
                begun[book.add(row[name])] = day
    return book, begun


def _dated_by_age(row: Row, who: str, when: str, begun: _FirstDays, first_day: int, ledger: Ledger) -> Row:
    if "day" not in row.values:
        return row
    book, days = begun
    name = book.find(row[who])
    if name is None:
        ledger.drop("age-without-hatch", row.place, who, row[who], who=row[who])
        return row
    moment = days[name].normalize() + pd.Timedelta(days=row["day"] - first_day)
    return row.but("day", **{when: moment, f"{when}_timed": False})


def keep_in_bounds(rows: Rows, settings: Settings, ledger: Ledger) -> Rows:
    """Hold every date against the bounds; up to 60 days outside is a question, further is not used.

    Logs that name no season are held against ten years on either side of their middle date, so that a
    mistyped 2126 never becomes the last day.
    """
    bounds = season_bounds(settings) or _around_the_middle(rows)
    if bounds is None:
        return rows
    start, end = bounds[0], bounds[1] + pd.Timedelta(days=1)
    rows = _by_row(rows, lambda moments: (moments < start) | (moments >= end))
    inside = {log: [_in_bounds(row, start, end, ledger) for row in mine] for log, mine in rows.items()}
    return rows.but(inside).used(ledger)


def _around_the_middle(rows: Rows) -> tuple[pd.Timestamp, pd.Timestamp] | None:
    days = [moment.to_datetime64() for row in chain.from_iterable(rows.values()) for _, moment in _dates(row)]
    every = np.concatenate([np.array(days, dtype="datetime64[us]"), *(one.weighed_at for one in rows.weighings)])
    middle = pd.Timestamp(np.partition(every, len(every) // 2)[len(every) // 2]) if len(every) else None
    return (middle - 10 * _YEAR, middle + 10 * _YEAR) if middle is not None else None


def _in_bounds(row: Row, start: pd.Timestamp, end: pd.Timestamp, ledger: Ledger) -> Row:
    outside = [(name, moment) for name, moment in _dates(row) if not start <= moment < end]
    far = []
    for name, moment in outside:
        text = f"{moment:%Y-%m-%d}" if moment == moment.normalize() else f"{moment:%Y-%m-%d %H:%M}"
        if start - _LEEWAY <= moment < end + _LEEWAY:
            ledger.say("outside-season", row.place, name, text)
        elif name in LOGS[row.place.log].alone:
            ledger.drop("far-from-season", row.place, name, text)
        else:
            ledger.bad_cell("far-from-season", row.place, name, text)
            far.append(name)
    return row.but(*far) if far else row


def forget_after(rows: Rows, day: pd.Timestamp, ledger: Ledger) -> Rows:
    """Leave out what was not yet known at the end of `day`: later rows, later cells, later outcomes.

    An outcome without a date of its own counts as known once the egg's days are over, or where its chick was weighed,
    moved, fed or seen by then; counts of a clutch are taken as they stand when its first egg was laid by then. Where
    nothing is later, everything is known.
    """
    end = day + pd.Timedelta(days=1)
    latest = last_day(rows)
    if latest is None or latest < end:
        return rows
    seen = _seen_before(rows, end)
    rows = _by_row(rows, lambda moments: moments >= end)
    later = [row.place for row in chain.from_iterable(rows.values()) if _is_later(row, end)]
    for place in later:
        ledger.set_aside(place)
    for place, count in Counter(Place(place.log, place.file, place.sheet, None) for place in later).items():
        ledger.say("later-than-asked", place, value=count, count=count, day=day)
    rows = rows.used(ledger)
    return rows.but({log: [_as_known(row, end, seen) for row in mine] for log, mine in rows.items()})


def _seen_before(rows: Rows, end: pd.Timestamp) -> set[str]:
    """Names that were weighed, moved, fed, seen or found by then: such a chick has hatched."""
    seen: set[str] = set()
    for log, (who, when) in WHO_WHEN.items():
        seen |= {same(row[who]) for row in rows[log] if row[who] and row[when] is not None and row[when] < end}
    for table in rows.weighings:
        early = np.unique(table.chick.codes[table.weighed_at < np.datetime64(end)])
        seen |= {same(str(name)) for name in table.chick.texts[early]}
    return seen


def _is_later(row: Row, end: pd.Timestamp) -> bool:
    dates = dict(_dates(row))
    needed = [dates[name] for name in {*LOGS[row.place.log].alone, "arrived_on"} if name in dates]
    return bool(dates) and max(needed, default=min(dates.values())) >= end


def _as_known(row: Row, end: pd.Timestamp, seen: set[str]) -> Row:
    """A row without its later days; of an egg, without what became of it later."""
    later, cells = [name for name, moment in _dates(row) if moment >= end], {}
    hatched = row["hatched_at"]
    met = hatched is None and {same(row[name]) for name in ("chick", "ring") if row[name]} & seen
    if row.place.log == "hatches" and not met:
        known_on, begun = hatched, row["set_on"] or row["laid_on"]
        if hatched is None and row["outcome"] == "clear" and row["candled_on"] is not None:
            known_on = row["candled_on"]
        elif hatched is None and begun is not None:
            known_on = begun + _INCUBATED
        later += ["candled"] if "candled_on" in later else []
        if known_on is not None and known_on >= end:
            later, cells = [*later, "chick", "ring"], {"outcome": "still incubating"}
    return row.but(*later, **cells) if later or cells else row


def _by_row(rows: Rows, odd: Callable[[pd.DatetimeIndex], Any]) -> Rows:
    """Go on row by row with the weighings whose dates are odd."""
    weights, tables = list(rows["weights"]), []
    for table in rows.weighings:
        mask = np.asarray(odd(pd.DatetimeIndex(table.weighed_at)))
        weights += [table.row(at) for at in np.flatnonzero(mask).tolist()]
        tables.append(table.take(~mask) if mask.any() else table)
    return rows.but({"weights": weights}, tables)


def _dates(row: Row) -> Iterator[tuple[str, pd.Timestamp]]:
    for column in LOGS[row.place.log].columns:
        if column.kind in DATES and column.in_season and row[column.name] is not None:
            yield column.name, row[column.name]
