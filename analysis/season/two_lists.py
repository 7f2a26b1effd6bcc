"""A chick that stands in two lists, of eggs and of chicks: its rows are one, where neither contradicts the other."""

from typing import Any

import pandas as pd

from analysis.finding import Words, found
from analysis.logs import Ledger, Row
from analysis.logs.headings import same
from analysis.season.days import Rows

_Source = tuple[str, str]


def join_lists(rows: Rows, ledger: Ledger) -> Rows:
    """Join the rows of hatches that name one chick in different files or sheets; how is noted of the later one.

    A blank cell is filled by the other's. Where a cell says something else, both rows stay as they are, and the later
    one is refused where names are told apart. A day with its hour and the same day without are no contradiction.
    """
    first: dict[str, int] = {}
    joined: list[Row] = []
    told: dict[_Source, _Source] = {}
    for row in rows["hatches"]:
        name = same(row["chick"] or row["ring"] or "")
        at = first.get(name) if name else None
        one = None if at is None or _source(joined[at]) == _source(row) else _one_of(joined[at], row)
        if one is None or at is None:
            joined.append(row)
            first.setdefault(name, len(joined) - 1)
        else:
            told[_source(row)] = _source(joined[at])
            joined[at] = one
    for later, earlier in told.items():
        ledger.assume(*later, found("logs.joined-lists", other=_called(earlier)))
    return rows.but({"hatches": joined})


def _one_of(row: Row, other: Row) -> Row | None:
    """Two rows as one; None where they contradict."""
    filled: dict[str, Any] = {}
    for name, cell in other.values.items():
        mine = row[name]
        if cell in (None, "") or name.endswith("_timed"):
            continue
        if mine in (None, ""):
            filled[name] = cell
        elif name == "notes":
            filled[name] = mine if same(cell) in same(mine) else f"{mine}; {cell}"
        elif isinstance(cell, pd.Timestamp):
            if not _is_one_day(name, row, other):
                return None
            filled |= {name: cell} if other[f"{name}_timed"] else {}
        elif same(str(mine)) != same(str(cell)):
            return None
    timed = {f"{name}_timed": other[f"{name}_timed"] for name in filled if f"{name}_timed" in other.values}
    return row.but(**filled, **timed)


def _is_one_day(name: str, row: Row, other: Row) -> bool:
    if row[f"{name}_timed"] and other[f"{name}_timed"]:
        return bool(row[name] == other[name])
    return bool(row[name].normalize() == other[name].normalize())


def _source(row: Row) -> _Source:
    return row.place.file, row.place.sheet


def _called(source: _Source) -> Words:
    return ", ".join(filter(None, source))
