"""A date in one column and the hour in the next → one moment, as a log has it."""

from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd

from analysis.logs.cells import BadCell
from analysis.logs.dates import read_moment
from analysis.logs.headings import column_asked
from analysis.logs.sheets import RawTable, TextColumn, TextRows
from analysis.logs.tables import LOGS


def with_hours(table: RawTable) -> tuple[RawTable, str]:
    """Set the hours of a table beside its days; also return the heading they stood under, blank where none did.

    Only of a list whose log has one moment that a row cannot do without; where one cell of the column is no hour, or
    the day has one already, the columns stay as they are, and the keeper is asked.
    """
    log = LOGS[table.log]
    moments = [column.name for column in log.columns if column.kind == "moment" and column.name in log.alone]
    hours = [at for at, written in enumerate(table.written) if column_asked(written) == "day-and-time"]
    if table.grid or len(hours) != 1 or len(moments) != 1 or moments[0] not in table.headings:
        return table, ""
    at, hour = table.headings.index(moments[0]), hours[0]
    days, times = (_texts(table.rows, one) for one in (at, hour))
    if not all(map(_is_hour, set(times) - {""})) or any(":" in day for day in set(days)):
        return table, ""
    both = [f"{day} {time}".strip() if day else "" for day, time in zip(days, times, strict=True)]
    columns = [column.filled() for column in table.rows.columns]
    codes, different = pd.factorize(np.array(both, dtype=object))
    columns[at] = TextColumn(codes.astype(np.int32), different)
    keep = [one for one in range(len(columns)) if one != hour]
    headings, written = (tuple(of[one] for one in keep if one < len(of)) for of in (table.headings, table.written))
    rows = TextRows(table.rows.numbers, [columns[one] for one in keep])
    return replace(table, headings=headings, written=written, rows=rows), table.written[hour]


def _texts(rows: TextRows, at: int) -> list[str]:
    return [cells[at] if at < len(cells) else "" for _, cells in rows]


@cache
def _is_hour(text: str) -> bool:
    try:
        return read_moment(f"2026-01-01 {text}")[1]
    except BadCell:
        return False
