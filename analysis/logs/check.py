"""Raw tables → typed rows. What cannot be used is not used, and said; nothing is dropped in silence."""

from collections.abc import Iterable, Mapping
from typing import Any

from analysis.logs.cells import (
    BadCell,
    near,
    read_choice,
    read_count,
    read_moment,
    read_number,
    read_temperature,
    read_weight,
)
from analysis.logs.columns import Column, Log
from analysis.logs.grids import grid_cells, is_grid
from analysis.logs.ledger import Ledger, Place, Row
from analysis.logs.names import same
from analysis.logs.read import RawTable
from analysis.logs.settings import Settings
from analysis.logs.tables import LOGS

_MISSING = {"name": "name-missing", "date": "date-missing", "moment": "date-missing"}


def check_tables(tables: Iterable[RawTable], settings: Settings, ledger: Ledger) -> dict[str, list[Row]]:
    """Type every cell of every log.

    Parameters
    ----------
    tables
        Raw tables as `read_folder` gives them.
    settings
        The keeper's units.
    ledger
        Told of every row, problem and row not used.

    Returns
    -------
    dict
        For each log the rows that can be used; columns hold text, Timestamp, float, int or None. A moment
        `x` comes with `x_timed`, a weight with `weight` in grams.
    """
    rows: dict[str, list[Row]] = {name: [] for name in LOGS}
    for table in tables:
        log = LOGS[table.log]
        for place, cells in _written(table, log, ledger):
            ledger.read[log.name] += 1
            row = _typed(log, place, cells, settings, ledger)
            if row is not None:
                rows[log.name].append(row)
    for log in LOGS.values():
        if log.key:
            _each_once(rows[log.name], log.key, ledger)
    return rows


def _each_once(rows: list[Row], key: str, ledger: Ledger) -> None:
    """Use the first of two rows with one name."""
    first: dict[str, Row] = {}
    for row in rows:
        earlier = first.setdefault(same(row[key]), row)
        if earlier is not row:
            ledger.drop_repeat(row, earlier, key, row[key])
    rows[:] = first.values()


def _written(table: RawTable, log: Log, ledger: Ledger) -> Iterable[tuple[Place, Mapping[str, str]]]:
    if is_grid(table):
        for number, at, column, cell in grid_cells(table):
            raw = " | ".join(cell.values())
            yield Place(log.name, table.file, table.sheet, number, raw, column, at), cell
        return
    if any(not set(group) & set(table.headings) for group in log.needs):
        _set_aside_all(table, log, ledger)
        return
    _check_headings(table, log, ledger)
    for number, cells in table.rows:
        place = table.place(number, cells)
        extra = [cell for cell in cells[len(table.headings) :] if cell]
        if extra:
            ledger.read[log.name] += 1
            ledger.drop("more-cells-than-headings", place, value=" | ".join(extra))
            continue
        for heading, text in zip(table.headings, cells, strict=False):
            if text and not heading:
                ledger.bad_cell("no-heading", place, "", text)
        # read backwards, so that of two columns with one heading the first one stands
        yield place, dict(reversed(list(zip(table.headings, cells, strict=False))))


def _set_aside_all(table: RawTable, log: Log, ledger: Ledger) -> None:
    """Keep the rows of a log whose headings cannot be used, and say once which are missing."""
    if not table.rows:
        return
    missing = [" or ".join(group) for group in log.needs if not set(group) & set(table.headings)]
    found = ", ".join(heading for heading in table.headings if heading) or "none"
    whole = Place(log.name, table.file, table.sheet, None)
    ledger.say("no-headings", whole, value=found, missing=", ".join(missing))
    for number, cells in table.rows:
        ledger.read[log.name] += 1
        ledger.set_aside(table.place(number, cells))


def _check_headings(table: RawTable, log: Log, ledger: Ledger) -> None:
    whole = Place(log.name, table.file, table.sheet, None)
    names = [c.name for c in log.columns]
    for at, heading in enumerate(table.headings):
        if heading in table.headings[:at] and heading:
            ledger.say("repeated-column", whole, heading)
        elif heading and heading not in names:
            ledger.say("unknown-column", whole, heading, near=near(heading, names))


def _typed(log: Log, place: Place, cells: Mapping[str, str], settings: Settings, ledger: Ledger) -> Row | None:
    values: dict[str, Any] = {}
    for group in log.needs:
        if not any(cells.get(name) for name in group):
            first = log.column(group[0])
            code = _MISSING.get(first.kind if first else "", "value-missing")
            ledger.drop(code, place, group[0], needed=" or ".join(group))
            return None
    for column in log.columns:
        text = cells.get(column.name, "")
        if not text:
            continue
        try:
            values |= _value(text, column, log, settings, place, ledger)
        except BadCell as bad:
            choices = ", ".join(column.choices)
            if column.name in log.alone:
                ledger.drop(str(bad), place, column.name, text, choices=choices)
                return None
            ledger.bad_cell(str(bad), place, column.name, text, choices=choices)
    return Row(place, values)


def _value(text: str, column: Column, log: Log, settings: Settings, place: Place, ledger: Ledger) -> dict[str, Any]:
    name = column.name
    if column.kind in ("date", "moment"):
        moment, timed = read_moment(text)
        return {name: moment, f"{name}_timed": timed} if column.kind == "moment" else {name: moment.normalize()}
    if column.kind == "weight":
        unit = (log.name == "egg_weights" and settings["egg_weight_unit"]) or settings["weight_unit"]
        grams, other = read_weight(text, unit)
        if other:
            ledger.say("other-unit", place, name, text)
        return {name: grams}
    if column.kind == "temperature":
        return {name: read_temperature(text, settings["temperature_unit"])}
    if column.kind == "percent":
        value = read_number(text.removesuffix("%"))
        if not 0 <= value <= 100:
            raise BadCell("percent-out")
        return {name: value}
    plain = {"count": read_count, "number": read_number, "days": read_number}
    if column.kind in plain:
        return {name: plain[column.kind](text)}
    return {name: read_choice(text, column) if column.kind == "choice" else text}
