"""Raw tables → typed rows. What cannot be used is not used, and said; nothing is dropped in silence."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from analysis.finding import Finding, found
from analysis.logs.cells import GRAMS, BadCell, is_blank_mark, read_choice
from analysis.logs.headings import column_meant, same
from analysis.logs.layout import grid_cells, left_alone, totals, without
from analysis.logs.ledger import Ledger, Place, Row
from analysis.logs.plain import Plain, take_plain
from analysis.logs.settings import Settings
from analysis.logs.sheets import RawTable, Rows
from analysis.logs.tables import LOGS, Column, Log, either
from analysis.logs.values import Convention, Reader, conventions

_NAMED = 12  # columns that are named one by one
_MISSING = {"name": "name-missing", "date": "date-missing", "moment": "date-missing"}
_CROP = Column("crop", "choice", ("empty", "part", "full"))
_CROPS = Log(
    "weights",
    (Column("chick", "name"), Column("weighed_at", "moment"), Column("crop", "name")),
    (("chick",), ("weighed_at",), ("crop",)),
)
Written = Iterable[tuple[Place, Mapping[str, str]]]


class TypedRows(dict[str, list[Row]]):
    """The rows of each log that can be used; `plain` holds the weighings that are read by column, see `Plain`.

    `crops` holds chick, weighed_at, crop and odd_crop (another word in its place) of weighings whose weight is missing.
    """

    def __init__(self) -> None:
        super().__init__((name, []) for name in LOGS)
        self.plain: list[Plain] = []
        self.crops: list[Row] = []

    def but(self, logs: Mapping[str, list[Row]], plain: list[Plain] | None = None) -> "TypedRows":
        """Return the same rows with others in the place of those of some logs."""
        new = TypedRows()
        new.update({**self, **logs})
        new.plain, new.crops = self.plain if plain is None else plain, self.crops
        return new

    def used(self, ledger: Ledger, *logs: str) -> "TypedRows":
        """Return the rows without those of some logs, or of all, that were dropped since."""
        return self.but({log: [row for row in self[log] if ledger.is_used(row)] for log in logs or self})


def check_tables(tables: Iterable[RawTable], settings: Settings, ledger: Ledger) -> TypedRows:
    """Type every cell of every log.

    Parameters
    ----------
    tables
        Raw tables as `understand` gives them.
    settings
        The keeper's units.
    ledger
        Told of every row, problem and row not used, and of what was assumed.

    Returns
    -------
    TypedRows
        For each log the rows that can be used; columns hold text, Timestamp, float, int or None. A moment
        `x` comes with `x_timed`, a weight with `weight` in grams. A row of a grid by age has `day` in the
        place of its date.
    """
    tables = list(tables)
    settled = conventions(tables, settings)
    rows = TypedRows()
    unit = GRAMS[settings["weight_unit"]]
    for table in tables:
        convention, said = settled.get(table.file, (Convention(), []))
        ledger.assume(table.file, table.sheet, *said)
        plain, rest = take_plain(table, convention, unit)
        if plain is not None:
            rows.plain.append(plain)
            ledger.read[table.log] += len(plain)
        aside = Reader(table, settings, convention, Ledger())  # what is wrong with a row is said once
        crops = rows.crops if table.log == "weights" and not table.grid else None
        rows[table.log] += _typed_rows(rest, Reader(table, settings, convention, ledger), ledger, aside, crops)
    for log in LOGS.values():
        if log.key:
            _each_once(rows[log.name], log.key, ledger)
    return rows


def _typed_rows(
    table: RawTable, reader: Reader, ledger: Ledger, aside: Reader, crops: list[Row] | None
) -> Iterable[Row]:
    log = LOGS[table.log]
    for place, cells in _written(table, log, ledger):
        ledger.read[log.name] += 1
        row = _typed(log, place, cells, reader, ledger)
        if row is not None:
            yield row
        elif crops is not None and cells.get("crop"):
            crops += _crop_alone(place, cells, aside)
    if reader.blanks:
        ledger.assume(table.file, table.sheet, _read_as_blank(reader.blanks))


def _read_as_blank(cells: int) -> Finding:
    return found("logs.blank-marks", cells=cells)


def _crop_alone(place: Place, cells: Mapping[str, str], aside: Reader) -> Iterable[Row]:
    """The crop of a weighing that is not used, where its chick and its day can be read; its weight says nothing."""
    row = _typed(_CROPS, place, cells, aside, Ledger())
    if row is None:
        return
    try:
        yield row.but(crop=read_choice(row["crop"], _CROP), odd_crop="")
    except BadCell:
        yield row.but(crop="", odd_crop=row["crop"])


def _each_once(rows: list[Row], key: str, ledger: Ledger) -> None:
    """Use the first of two rows with one name."""
    first: dict[str, Row] = {}
    for row in rows:
        earlier = first.setdefault(same(row[key]), row)
        if earlier is not row:
            ledger.drop_repeat(row, earlier, key, row[key])
    rows[:] = first.values()


def _written(table: RawTable, log: Log, ledger: Ledger) -> Written:
    summed = totals(table.rows)
    told = without(table.rows, summed) if summed else table.rows
    for number, cells in (table.rows[at] for at in summed):
        ledger.read[log.name] += 1
        ledger.drop("totals-line", table.place(number, cells), value=next(cell for cell in cells if cell))
    _hold_back(table, log, ledger)
    if table.grid:
        _say_left_alone(table, log, ledger)
        marks = sum(is_blank_mark(cell) for _, cells in told if isinstance(told, tuple) for cell in cells[1:] if cell)
        ledger.assume(table.file, table.sheet, *[_read_as_blank(marks)] if marks else ())
        yield from _grid_places(replace(table, rows=told))
        return
    if any(not set(group) & set(table.headings) for group in log.needs):
        _set_aside_all(table, told, log, ledger)
        return
    _check_headings(table, log, ledger)
    for number, cells in told:
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


def _hold_back(table: RawTable, log: Log, ledger: Ledger) -> None:
    """Keep the rows in which control characters stood as not used; in a grid each written cell of them is a row."""
    for number, cells in table.held_back:
        place = table.place(number, cells)
        alone = replace(table, rows=((number, cells),))
        places = [found for found, _ in _grid_places(alone)] if table.grid else [place]
        if places:
            ledger.say("control-character", place)
        else:
            ledger.say("control-dropped", place, rows=[number])
        for one in places:
            ledger.read[log.name] += 1
            ledger.set_aside(one)


def _grid_places(table: RawTable) -> Written:
    for number, at, column, cell in grid_cells(table):
        yield Place(table.log, table.file, table.sheet, number, " | ".join(cell.values()), column, at), cell


def _set_aside_all(table: RawTable, rows: Rows, log: Log, ledger: Ledger) -> None:
    """Keep the rows of a log whose headings cannot be used, and say once which are missing."""
    if not rows:
        return
    groups = [group for group in log.needs if not set(group) & set(table.headings)]
    names = [heading for heading in table.written if heading]
    written = found("problems.one-by-one", names=names) if names else found("problems.none")
    whole = Place(log.name, table.file, table.sheet, None)
    near = next((meant for heading in table.written if (meant := column_meant(heading, log))), "")
    ledger.say("no-headings", whole, value=written, missing=[either(group) for group in groups], near=near)
    for number, cells in rows:
        ledger.read[log.name] += 1
        ledger.set_aside(table.place(number, cells))


def _say_left_alone(table: RawTable, log: Log, ledger: Ledger) -> None:
    whole = Place(log.name, table.file, table.sheet, None)
    _say_unknown([table.written[at] for at in left_alone(table)], whole, log, ledger)


def _check_headings(table: RawTable, log: Log, ledger: Ledger) -> None:
    whole = Place(log.name, table.file, table.sheet, None)
    names = [c.name for c in log.columns]
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
        ledger.say("repeated-columns", whole, _named([written for written, _ in again]), count=len(again))
    for written, heading in again if len(again) <= _NAMED else ():
        ledger.say("repeated-column", whole, written, first=_first_written(table, heading))


def _say_unknown(headings: list[str], whole: Place, log: Log, ledger: Ledger) -> None:
    """Say which columns are left alone: a few one by one, many at once."""
    if len(headings) > _NAMED:
        ledger.say("unknown-columns", whole, _named(headings), count=len(headings))
        return
    for written in headings:
        ledger.say("unknown-column", whole, written, near=column_meant(written, log))


def _named(headings: list[str]) -> Finding:
    return found("problems.named", names=headings)


def _first_written(table: RawTable, heading: str) -> str:
    return table.written[table.headings.index(heading)]


def _typed(log: Log, place: Place, cells: Mapping[str, str], reader: Reader, ledger: Ledger) -> Row | None:
    cells = reader.without_blank_marks(log, cells)
    if _is_missing(log, place, cells, reader, ledger):
        return None
    values: dict[str, Any] = {"day": int(cells["day"])} if _is_age(cells.get("day", "")) else {}
    if "day" in cells and not values:
        ledger.drop("unreadable-day", place, "day", cells["day"])
        return None
    for column in log.columns:
        text = cells.get(column.name, "")
        if not text:
            continue
        try:
            values |= reader.value(text, column, place)
        except BadCell as bad:
            choices = {"choices": column.choices} if str(bad) == "unknown-choice" else {}
            if column.name in log.alone:
                ledger.drop(str(bad), place, column.name, text, **choices)
                return None
            ledger.bad_cell(str(bad), place, column.name, text, **choices)
    return None if _is_missing(log, place, values, reader, ledger) else Row(place, values)


def _is_age(text: str) -> bool:
    return text.isdecimal() and len(text) <= 4


def _is_missing(log: Log, place: Place, cells: Mapping[str, Any], reader: Reader, ledger: Ledger) -> bool:
    """Drop a row that lacks what its log cannot do without; an age may stand in the place of a date."""
    for group in log.needs:
        by_age = "day" in cells and group[0] in reader.dated
        if not by_age and all(cells.get(name) in (None, "") for name in group):
            first = log.column(group[0])
            code = _MISSING.get(first.kind if first else "", "value-missing")
            ledger.drop(code, place, group[0], needed=either(group))
            return True
    return False
