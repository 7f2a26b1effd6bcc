"""Raw tables → typed rows. What cannot be used is not used, and said; nothing is dropped in silence."""

from collections import Counter
from collections.abc import Iterable, Mapping
from copy import copy
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Words, found
from analysis.logs.cells import BadCell, is_not_weighed, read_choice
from analysis.logs.headings import column_asked, column_meant, key_of, same
from analysis.logs.layout import WHEN, grid_cells, left_alone, totals, without
from analysis.logs.ledger import Ledger, Place, Row
from analysis.logs.settings import Convention, Settings, conventions
from analysis.logs.sheets import RawTable, TextRows
from analysis.logs.tables import LOGS, Log, either
from analysis.logs.values import Left, Read, Reader, Weighings, plain_weighings

_NAMED = 12  # columns that are named one by one
_MISSING = {"name": "name-missing", "date": "date-missing", "moment": "date-missing"}
_CHICK, _WHEN, _, _CROP, _NOTES = LOGS["weights"].columns
_BESIDE = (("chick",), ("weighed_at",), ("crop", "notes"))
_CROPS = Log("weights", (_CHICK, _WHEN, replace(_CROP, kind="name"), _NOTES), _BESIDE)
Written = Iterable[tuple[int, Place, Mapping[str, str]]]


class TypedRows(dict[str, list[Row]]):
    """The rows of each log that can be used; `weighings` holds those of weights that bear a date, table by table.

    `crops` holds chick, weighed_at, crop, odd_crop (another word in its place) and notes of weighings without a weight.
    """

    def __init__(self) -> None:
        super().__init__((name, []) for name in LOGS)
        self.weighings: list[Weighings] = []
        self.crops: list[Row] = []

    def but(self, logs: Mapping[str, list[Row]], weighings: list[Weighings] | None = None) -> "TypedRows":
        """Return the same rows with others in the place of those of some logs."""
        new = TypedRows()
        new.update({**self, **logs})
        new.weighings, new.crops = self.weighings if weighings is None else weighings, self.crops
        return new

    def used(self, ledger: Ledger, *logs: str) -> "TypedRows":
        """Return the rows without those of some logs, or of all, that were dropped since."""
        return self.but({log: [row for row in self[log] if ledger.is_used(row)] for log in logs or self})


def check_tables(tables: Iterable[RawTable], settings: Settings, ledger: Ledger) -> TypedRows:
    """Type every cell of every log; the ledger is told of every row, problem, row not used, and of what was assumed.

    Columns of the rows hold text, Timestamp, float, int or None. A moment `x` comes with `x_timed`, a weight with
    `weight` in grams. A row of a grid by age has `day` in the place of its date.
    """
    tables = [replace(table, nth=nth) for nth, table in enumerate(tables)]
    settled = conventions(tables, settings)
    rows = TypedRows()
    for table in tables:
        convention, assumed = settled.get(table.file, (Convention(), []))
        ledger.assume(table.file, table.sheet, *assumed)
        _type_table(table, Reader(table, settings, convention), rows, ledger)
    for log in [log for log in LOGS.values() if log.key]:
        first: dict[str, Row] = {}  # of two rows with one name the first is used
        for row in rows[log.name]:
            earlier = first.setdefault(same(row[log.key]), row)
            if earlier is not row:
                ledger.drop_repeat(row, earlier, log.key, row[log.key])
        rows[log.name] = [*first.values()]
    return rows


def _type_table(table: RawTable, reader: Reader, rows: TypedRows, ledger: Ledger) -> None:
    log = LOGS[table.log]
    _understand_headings(table, log, ledger)
    summed = totals(table.rows)
    for number, cells in table.rows.take(summed):
        ledger.read[log.name] += 1
        ledger.drop("totals-line", table.place(number, cells), value=next(cell for cell in cells if cell))
    others = replace(table, rows=without(table.rows, summed))
    _hold_back(table, log, ledger)
    if table.grid:
        whole = Place(log.name, table.file, table.sheet, None)
        _say_unknown([table.written[at] for at in left_alone(table)], whole, log, ledger)
        marks = sum(int(column.map(is_not_weighed, bool, False).sum()) for column in others.rows.columns[1:])
        ledger.assume(table.file, table.sheet, found("logs.blank-marks", cells=marks) if marks else "")
    elif any(not set(group) & set(table.headings) for group in log.needs):
        return _set_aside_all(table, others.rows, log, ledger)
    else:
        _check_headings(table, log, ledger)
    weighings, left = plain_weighings(others, reader)
    typed = _typed_rows(others, left, reader, ledger, rows.crops)
    if weighings is None:
        rows[log.name] += [row for _, row in typed]
    else:
        if len(weighings):
            ledger.read[log.name] += len(weighings)
        rows.weighings.append(weighings.and_rows(typed))
    if reader.blanks:
        ledger.assume(table.file, table.sheet, found("logs.blank-marks", cells=reader.blanks))
    for column, written, meant in reader.words():
        ledger.understand(column, written, meant)


def _typed_rows(
    table: RawTable, left: Left | None, reader: Reader, ledger: Ledger, crops: list[Row]
) -> list[tuple[int, Row]]:
    """Type row by row what is left to be typed; return each row that can be used, and its place among the rows."""
    log, found = LOGS[table.log], []
    for at, place, cells in _grid_places(table, left) if table.grid else _list_places(table, left, ledger):
        ledger.read[log.name] += 1
        row = _typed(log, place, cells, reader, ledger)
        if row is not None:
            found.append((at, row))
        elif log.name == "weights" and not table.grid and (cells.get("crop") or cells.get("notes")):
            crops += _crop_alone(place, cells, copy(reader))  # what is wrong with a row is said once
    return found


def _crop_alone(place: Place, cells: Mapping[str, str], reader: Reader) -> Iterable[Row]:
    """The crop and remark of a weighing that is not used, where its chick and its day can be read."""
    row = _typed(_CROPS, place, cells, reader, Ledger())
    if row is None:
        return
    try:
        yield row.but(crop=read_choice(row["crop"], _CROP) if row["crop"] else "", odd_crop="")
    except BadCell:
        yield row.but(crop="", odd_crop=row["crop"])


def _list_places(table: RawTable, left: Left | None, ledger: Ledger) -> Written:
    wanted = np.arange(len(table.rows)) if left is None else np.flatnonzero(left[0])
    for at, (number, cells) in zip(wanted.tolist(), table.rows.take(wanted), strict=True):
        place = table.place(number, cells)
        extra = [cell for cell in cells[len(table.headings) :] if cell]
        if extra:
            ledger.read[table.log] += 1
            ledger.drop("more-cells-than-headings", place, value=" | ".join(extra))
            continue
        for heading, text in zip(table.headings, cells, strict=False):
            if text and not heading:
                ledger.bad_cell("no-heading", place, "", text)
        # read backwards, so that of two columns with one heading the first one stands
        yield at, place, dict(reversed(list(zip(table.headings, cells, strict=False))))


def _grid_places(table: RawTable, left: Left | None = None) -> Written:
    for at, column, cells in grid_cells(table, left):
        number = int(table.rows.numbers[at])
        yield at, table.place(number, cells.values(), table.heading(column), column), cells


def _hold_back(table: RawTable, log: Log, ledger: Ledger) -> None:
    """Keep the rows in which control characters stood as not used; in a grid each written cell of them is a row."""
    for at, (number, cells) in enumerate(table.held_back):
        place = table.place(number, cells)
        alone = replace(table, rows=table.held_back.take([at]))
        places = [found for _, found, _ in _grid_places(alone)] if table.grid else [place]
        if places:
            ledger.say("control-character", place)
        else:
            ledger.say("control-dropped", place, rows=[number])
        for one in places:
            ledger.read[log.name] += 1
            ledger.set_aside(one)


def _set_aside_all(table: RawTable, rows: TextRows, log: Log, ledger: Ledger) -> None:
    """Keep the rows of a log whose headings cannot be used, and say once which are missing."""
    if not rows:
        return
    groups = [group for group in log.needs if not set(group) & set(table.headings)]
    names = [heading for heading in table.written if heading]
    written = found("problems.one-by-one", names=names) if names else found("problems.none")
    whole = Place(log.name, table.file, table.sheet, None)
    near = next((meant for heading in table.written if (meant := _meant(heading, log))), "")
    ledger.say("no-headings", whole, value=written, missing=[either(group) for group in groups], near=near)
    for number, cells in rows:
        ledger.read[log.name] += 1
        ledger.set_aside(table.place(number, cells))


def _understand_headings(table: RawTable, log: Log, ledger: Ledger) -> None:
    """Note which columns the headings that are not ours were read as; of a repeated one the first, as it is used."""
    words: dict[str, str] = {}
    aside = left_alone(table) if table.grid else ()
    for at, (written, heading) in enumerate(zip(table.written, table.headings, strict=False)):
        if log.column(heading) and at not in aside and heading not in table.headings[:at]:
            ours = key_of(heading)
            unit_too = heading in table.units and key_of(written).startswith(ours)  # "weight (g)" is ours as well
            words |= {} if unit_too or key_of(written) == ours else {written: heading}
    ledger.understand_headings(Place(log.name, table.file, table.sheet, None), words)


def _check_headings(table: RawTable, log: Log, ledger: Ledger) -> None:
    whole = Place(log.name, table.file, table.sheet, None)
    names = {column.name for column in log.columns}
    seen: Counter[str] = Counter()
    again, unknown = [], []
    for written, heading in zip(table.written, table.headings, strict=True):
        seen[heading] += 1
        if heading and seen[heading] > 1:
            again.append((written, heading))
        elif heading and heading not in names:
            unknown.append(written)
    _say_unknown(unknown, whole, log, ledger)
    if len(again) > _NAMED:
        repeated = found("problems.named", names=[written for written, _ in again])
        ledger.say("repeated-columns", whole, repeated, count=len(again))
    for written, heading in again if len(again) <= _NAMED else ():
        ledger.say("repeated-column", whole, written, first=table.written[table.headings.index(heading)])


def _say_unknown(headings: list[str], whole: Place, log: Log, ledger: Ledger) -> None:
    """Say which columns are left alone: a few one by one, many at once."""
    if len(headings) > _NAMED:
        ledger.say("unknown-columns", whole, found("problems.named", names=headings), count=len(headings))
        return
    for written in headings:
        ledger.say("unknown-column", whole, written, near=_meant(written, log))


def _meant(heading: str, log: Log) -> Words:
    """Which column a heading may mean: the one that it is a slip of, or what it is asked that reads two ways."""
    asked = column_asked(heading)
    moment = next((column.name for column in log.columns if column.kind == "moment"), "")
    if asked == "day-and-time" and not moment:
        return ""
    return found(f"problems.{asked}", column=moment) if asked else column_meant(heading, log)


def _typed(log: Log, place: Place, cells: Mapping[str, str], reader: Reader, ledger: Ledger) -> Row | None:
    read = {column.name: reader.cell(cells[column.name], column) for column in log.columns if cells.get(column.name)}
    blank = {name for name, one in read.items() if one.blank}
    reader.blanks += len(blank)
    cells = {name: text for name, text in cells.items() if name not in blank}
    if _is_missing(log, place, cells, ledger):
        return None
    values: dict[str, Any] = {}
    if "day" in cells:
        if not cells["day"].isdecimal() or len(cells["day"]) > 4:
            ledger.drop("unreadable-day", place, "day", cells["day"])
            return None
        values["day"] = int(cells["day"])
    for name, one in read.items():
        values |= one.values
        for code, facts in one.notes:
            if code != "about-hatch" or not cells.get("sure_to_days"):
                ledger.say(code, place, name, cells[name], **facts)
        if one.refused:
            facts = _facts(log, name, one, cells, values)
            if name in log.alone:
                ledger.drop(one.refused, place, name, cells[name], **facts)
                return None
            ledger.bad_cell(one.refused, place, name, cells[name], **facts)
    return None if _is_missing(log, place, values, ledger) else Row(place, values | _of_their_day(log, values))


def _of_their_day(log: Log, values: Mapping[str, Any]) -> dict[str, Any]:
    """Hours that stand alone as moments: of the day of what they come after, or of the next where they are earlier."""
    moments: dict[str, Any] = {}
    for column in log.columns:
        if isinstance(hour := values.get(column.name), pd.Timedelta):
            since = values[column.after]
            at = since.normalize() + hour
            moments |= {column.name: at if at >= since else at + pd.Timedelta(days=1), f"{column.name}_timed": True}
    return moments


def _facts(log: Log, name: str, read: Read, cells: Mapping[str, str], values: Mapping[str, Any]) -> dict[str, Any]:
    """What the advice on a refused cell names."""
    if read.refused == "unknown-choice" and (column := log.column(name)):
        return {"choices": column.choices}
    if read.refused == "loss-in-weights":
        who, when = log.needs[0][0], log.needs[1][0]
        return {"who": cells.get(who, ""), "on": values.get(when)}
    return dict(read.facts)


def _is_missing(log: Log, place: Place, cells: Mapping[str, Any], ledger: Ledger) -> bool:
    """Drop a row that lacks what its log cannot do without; an age may stand in the place of a date."""
    for group in log.needs:
        by_age = "day" in cells and group[0] in WHEN
        if not by_age and all(cells.get(name) in (None, "") for name in group):
            first = log.column(group[0])
            code = _MISSING.get(first.kind if first else "", "value-missing")
            ledger.drop(code, place, group[0], needed=either(group))
            return True
    return False
