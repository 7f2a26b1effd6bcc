"""A list as its log has it: the hour joined to its day, days of candling, a heading that serves for one not written."""

from dataclasses import replace

import numpy as np
import pandas as pd

from analysis.logs.cells import BadCell, is_blank_mark, near
from analysis.logs.dates import is_date, read_hour, read_moment
from analysis.logs.headings import column_asked, key_of
from analysis.logs.sheets import Exact, RawTable, TextColumn, TextRows, as_column, texts_in, with_column
from analysis.logs.tables import LOGS, keepers_words


def fitted(table: RawTable) -> RawTable:
    """Return a table that is no grid with the columns that its log asks for, where others say the same.

    A day and an hour in two columns are one moment; a cell of hours that is no hour stays where it stood. A column for
    what candling showed that holds days holds the days of candling. A column that no heading names is read from the one
    that stands in for it (`stand_ins` of headings.toml).
    """
    if table.grid or not table.headings:
        return table
    return _with_stand_ins(_with_candling_days(_with_hours(table)))


def _with_hours(table: RawTable) -> RawTable:
    moments = [column.name for column in LOGS[table.log].columns if column.kind == "moment"]
    named = [name for name in moments if name in table.headings]
    hours = [at for at, heading in enumerate(table.headings) if column_asked(heading) == "day-and-time"]
    if len(named) != 1 or len(hours) != 1 or max(hours) >= len(table.rows.columns):
        return table
    at, of = hours[0], table.headings.index(named[0])
    cells = [column.filled().cells() for column in (table.rows.columns[of], table.rows.columns[at])]
    joined = [_joined(day or "", hour or "") for day, hour in zip(*cells, strict=True)]
    columns = [*table.rows.columns]
    columns[of], columns[at] = (as_column([one[nth] for one in joined]) for nth in (0, 1))
    fuller = replace(table, rows=TextRows(table.rows.numbers, columns))
    return fuller if any(left for _, left in joined) else _without(fuller, at)


def _joined(day: str, hour: str) -> tuple[str, str]:
    """A day with its hour, and what is left of the hour's cell."""
    since = _hour(hour) if day and ":" not in day else None
    if since is None:
        return day, hour
    whole = f"{day} {pd.Timestamp(0) + since:%H:%M}"
    return (Exact(whole) if isinstance(day, Exact) else whole), ""


def _hour(text: str) -> pd.Timedelta | None:
    """An hour, also as "11 h", which is one in a column of hours and a while in any other."""
    if (since := read_hour(text)) is not None or not text:
        return since
    try:
        moment, timed = read_moment(f"2026-01-01 {text}")
    except BadCell:
        return None
    return moment - moment.normalize() if timed else None


def _without(table: RawTable, at: int) -> RawTable:
    """A table without one of its columns."""
    written, headings = ((*cells[:at], *cells[at + 1 :]) for cells in (table.written, table.headings))
    columns = [*table.rows.columns[:at], *table.rows.columns[at + 1 :]]
    return replace(table, headings=headings, written=written, rows=TextRows(table.rows.numbers, columns))


def _with_candling_days(table: RawTable) -> RawTable:
    """The first column for what candling showed holds the days where most of its cells are days."""
    headings = [*table.headings]
    for choice, day in (("candled", "candled_on"), ("candled_again", "candled_again_on")):
        if choice in headings and day not in headings:
            texts = [text for text in texts_in(table.rows, headings.index(choice)) if not is_blank_mark(text)]
            if texts and 2 * sum(map(is_date, texts)) > len(texts):
                headings[headings.index(choice)] = day
    return replace(table, headings=tuple(headings))


def _with_stand_ins(table: RawTable) -> RawTable:
    log = LOGS[table.log]
    for wanted in keepers_words()["stand_ins"]:
        group = next((one for one in log.needs if wanted["column"] in one), (wanted["column"],))
        slips = [heading for heading in table.headings if log.column(heading) is None and near(heading, group)]
        if wanted["log"] != log.name or set(group) & set(table.headings) or slips:  # "pare" is asked about
            continue
        words = {key_of(word) for word in wanted["words"]}
        at = next((at for at, heading in enumerate(table.headings) if key_of(heading) in words), None)
        table = table if at is None else _standing_in(table, at, wanted["column"])
    return table


def _standing_in(table: RawTable, at: int, column: str) -> RawTable:
    """Name a column otherwise; one that the log has too keeps its own name, and stands there twice."""
    if LOGS[table.log].column(table.headings[at]) is None:
        return replace(table, headings=(*table.headings[:at], column, *table.headings[at + 1 :]))
    blank = TextColumn(np.full(len(table.rows), -1, dtype=np.int32), np.array([], dtype=object))
    cells = table.rows.columns[at] if at < len(table.rows.columns) else blank
    rows = with_column(table.rows, len(table.headings), cells)
    written = (*table.written, table.written[at])
    return replace(table, rows=rows, headings=(*table.headings, column), written=written)
