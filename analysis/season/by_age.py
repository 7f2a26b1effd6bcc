"""Weights that a grid gives by age → weights with a date, by the day of hatch (of an egg: the day it was set)."""

import pandas as pd

from analysis.logs import Ledger, Row, Settings
from analysis.logs.names import NameBook
from analysis.season.dates import Rows


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
