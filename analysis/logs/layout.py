"""Where the headings stand in a sheet, which rows are under them, and which sheet is a grid."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from analysis.logs.cells import is_not_weighed
from analysis.logs.dates import is_date
from analysis.logs.headings import column_named, folded
from analysis.logs.sheets import Cells, RawTable, TextColumn, TextRows, texts_in
from analysis.logs.tables import Log

WHEN = ("weighed_at", "weighed_on")
GRIDS = ("weights", "egg_weights")
_LOOK_AT = 15  # rows from the top that may hold titles
_DAY_NUMBER = re.compile(
    r"(?:weight )?(?:at )?(?:day|days|d|age|tag|lebenstag|jour|j|dia|dag|leeftijd)\.? ?(\d{1,3})"
    r"|(\d{1,3})\.? ?(?:d|days?|tage?|jours?|dias?|dagen)"
)
_TOTAL = re.compile(
    r"(grand )?(total|totals|sum|sums|subtotal|mean|average|avg|gesamt|summe|mittel|mittelwert|durchschnitt|insgesamt"
    r"|somme|moyenne|totaux|suma|media|promedio|totaal|som|gemiddelde|gemiddeld)\b.{0,20}"
)
_AGE_WORDS = frozenset(
    ("day", "days", "age", "age d", "age days", "tag", "alter", "jour", "dia", "edad", "dag", "leeftijd")
)
_WHO = ("chick", "egg", "ring")
_NO_CHICK = (*WHEN, *_WHO, "pair", "clutch", "species", "cage", "hatched_at", "notes", "crop", "sex")
OwnNames = Mapping[str, str]


@dataclass(frozen=True)
class Block:
    """Rows under one line of headings. `top` is the row that the headings stand in, None where there are none."""

    written: Cells
    rows: TextRows
    top: int | None


def named_columns(cells: Cells, log: Log, own: OwnNames) -> list[tuple[str, str] | None]:
    """Return for each heading the column it names and the unit in it, or None; the keeper's own names come first."""
    return list(_named_columns(cells, log, tuple(own.items())))


@lru_cache(maxsize=64)  # a line of headings is asked about a dozen times
def _named_columns(cells: Cells, log: Log, own_words: tuple[tuple[str, str], ...]) -> list[tuple[str, str] | None]:
    own, named = dict(own_words), []
    for cell in cells:
        column = own.get(folded(cell)) if own else None
        found = (column, "") if column and log.column(column) else None
        named.append(found or (column_named(cell, log) if cell else None))
    return named


def blocks(rows: TextRows, log: Log, own: OwnNames) -> tuple[list[Block], int]:
    """Part the rows of a sheet where headings stand; also return how many comment lines there are."""
    comments = [at for at in _rows_that_begin(rows, lambda first: first[:1] == "#") if _is_comment(rows[at][1])]
    uncommented = without(rows, comments)
    top = _heading_row(uncommented[:_LOOK_AT], log, own)
    if top is None:
        return ([Block((), uncommented, None)] if uncommented else []), len(comments)
    written = uncommented[top][1]
    heading = folded(written[0])
    maybe = _rows_that_begin(
        uncommented, lambda first: folded(first) == heading or named_columns((first,), log, own)[0] is not None
    )
    tops = [top, *(at for at in maybe if at > top and _is_heading_again(uncommented[at][1], written, log, own))]
    found = []
    for at, end in zip(tops, [*tops[1:], len(uncommented)], strict=True):
        found += _side_by_side(Block(uncommented[at][1], uncommented[at + 1 : end], uncommented[at][0]), log, own)
    return found, len(comments)


def without(rows: TextRows, at: list[int]) -> TextRows:
    """Return the rows but for those that stand at some places."""
    return rows.take(np.bincount(at, minlength=len(rows)) == 0) if at else rows


def _rows_that_begin(rows: TextRows, wanted: Callable[[str], bool]) -> list[int]:
    """Return where the rows stand whose first cell is wanted."""
    return np.flatnonzero(rows.columns[0].map(wanted, bool, False)).tolist() if rows.columns else []


def totals(rows: TextRows) -> list[int]:
    """Return where the rows stand that sum up the others."""
    begin = _rows_that_begin(rows, lambda first: not first or bool(_TOTAL.fullmatch(folded(first))))
    return [at for at in begin if is_total(rows[at][1])]


def _is_comment(cells: Cells) -> bool:
    """Tell a line that begins with # and says nothing in columns."""
    first = cells[0] if cells else ""
    rest = [cell for cell in cells[1:] if cell]
    return first[:1] == "#" and not any(_is_value(cell) for cell in rest) and (not rest or first[:2] == "# ")


def _heading_row(rows: TextRows, log: Log, own: OwnNames) -> int | None:
    """Find the row that names most columns; a title may stand above it.

    Where no row names any, it is the first with more than one cell; unless a date or a number stands in it, which
    only the headings of a grid may have.
    """
    grid = log.name in GRIDS
    named = [_names(cells, log, own) for _, cells in rows]
    if named and max(named) > 0:
        return named.index(max(named))
    first = next((at for at, (_, cells) in enumerate(rows) if sum(map(bool, cells)) > 1), None)
    if first is None or (not grid and any(_is_value(cell) for cell in rows[first][1])):
        return None
    return first


def _names(cells: Cells, log: Log, own: OwnNames) -> int:
    """Count the columns that a row names; none where a date or a number stands in it, unless in a grid."""
    named = named_columns(cells, log, own)
    values = [
        cell
        for cell, name in zip(cells, named, strict=True)
        if name is None and _is_value(cell) and _day_number(cell) is None
    ]
    if log.name not in GRIDS and values and not (_are_ages(values) or (all(map(is_date, values)) and len(values) > 2)):
        return 0
    known = {name for name, _ in filter(None, named)}
    return len(known) + any(folded(cell) in _AGE_WORDS for cell in cells[:1])


def _is_heading_again(cells: Cells, first: Cells, log: Log, own: OwnNames) -> bool:
    filled = [cell for cell in cells if cell]
    if len(filled) < 2:
        return False
    if log.name in GRIDS and first[0] and folded(cells[0]) == folded(first[0]):
        return not any(re.fullmatch(r"[~<]?[\d.,]+ ?\w*", cell) for cell in filled[1:]) or cells == first
    return all(name is not None for name in named_columns(tuple(filled), log, own))


def _side_by_side(block: Block, log: Log, own: OwnNames) -> list[Block]:
    """Part a block of grids that stand beside one another: their first heading comes again."""
    first = folded(block.written[0]) if block.written else ""
    again = [at for at, cell in enumerate(block.written) if first and folded(cell) == first]
    is_grid = grid_kind(block, named_columns(block.written, log, own), log)
    if not is_grid or len(again) < 2 or len(block.written) - again[-1] < 2:
        return [block]
    found = []
    for start, end in zip(again, [*again[1:], len(block.written)], strict=True):
        # blank cells keep the place of the columns to the left
        blank = TextColumn(np.zeros(len(block.rows), dtype=np.int32), np.array([""], dtype=object))
        cut = TextRows(block.rows.numbers, [*[blank] * start, *block.rows.columns[start:end]]).without_blank()
        found.append(Block(("",) * start + block.written[start:end], cut, block.top))
    return found


def _day_number(heading: str) -> int | None:
    """Return the age that a heading such as "day 3" or "Tag 3" names."""
    match = _DAY_NUMBER.fullmatch(folded(heading))
    return int(match[1] or match[2]) if match else None


def day_columns(written: Cells, names: list[str | None]) -> list[int]:
    """Return which headings that name no column are days: dates, ages, and whole numbers where there are three."""
    others = [(at, cell) for at, cell in enumerate(written) if names[at] is None]
    days = [at for at, cell in others if _day_number(cell) is not None or is_date(cell)]
    whole = [at for at, cell in others if _is_whole(cell)]
    return sorted({*days, *whole}) if len(whole) >= 3 else days


def is_total(cells: Cells) -> bool:
    """Tell a row that sums up the others."""
    first = next((cell for cell in cells if cell), "")
    return bool(_TOTAL.fullmatch(folded(first)))


def _is_value(cell: str) -> bool:
    """Tell a date or a number, which no heading is."""
    return bool(cell) and cell[0] in "0123456789+-.,~<" and (is_date(cell) or bool(re.match(r"[~<+-]?[\d.,]+\b", cell)))


def grid_kind(block: Block, names: list[tuple[str, str] | None], log: Log) -> str:
    """Tell what the headings of a grid are: "chicks", "dates" or "ages"; "chicks-by-age" where rows are ages.

    Blank where the block is a list: a column is called weight, or nothing on either side is a date or an age.
    """
    columns = {name for name, _ in filter(None, names)}
    is_list = "weight" in columns or (columns & set(WHEN) and columns & {"chick", "egg"})
    if log.name not in GRIDS or is_list or not block.written:
        return ""
    others = [cell for cell, name in zip(block.written, names, strict=True) if cell and name is None]
    if sum(map(is_date, others)) > 0 and not columns & set(WHEN):
        return "dates"
    if _are_ages(others) and not columns & set(WHEN):
        return "ages"
    start = next((at for at, cell in enumerate(block.written) if cell or texts_in(block.rows, at)), 0)
    by_age = folded(block.written[start]) in _AGE_WORDS and _most(block, start, _is_whole)
    if by_age or _most(block, start, lambda cell: _day_number(cell) is not None):
        return "chicks-by-age"
    return "chicks" if columns & set(WHEN) or any(map(is_date, texts_in(block.rows, start))) else ""


def _most(block: Block, at: int, wanted: Callable[[str], bool]) -> bool:
    """Tell whether more than half of the written cells of a column are wanted."""
    if at >= len(block.rows.columns):
        return False
    column = block.rows.columns[at]
    are = column.map(lambda text: bool(text) and wanted(text), bool, False).sum()
    return bool(2 * are > column.map(bool, bool, False).sum())


def _is_whole(cell: str) -> bool:
    return cell.isdecimal() and len(cell) <= 3


def _are_ages(headings: list[str]) -> bool:
    days = [_day_number(cell) for cell in headings]
    if sum(day is not None for day in days) >= 2:
        return True
    whole = [int(cell) for cell in headings if _is_whole(cell)]
    return len(whole) >= 3 and len(whole) >= len(headings) - 1 and whole == sorted(set(whole))


def grid_cells(
    table: RawTable, left: Mapping[int, NDArray[np.bool_]] | None = None
) -> Iterator[tuple[int, int, dict[str, str]]]:
    """Walk through the written cells of a grid; of `left`, by column in which rows, only those wanted.

    Yields where each stands (row among the table's rows, column) and the cells that a list log would have: chick (or
    egg), weighed_at (or weighed_on) or day (an age), weight.
    """
    who, when = ("egg", "weighed_on") if table.log == "egg_weights" else ("chick", "weighed_at")
    by_age = table.grid in ("ages", "chicks-by-age")
    side, aside = side_column(table), set(left_alone(table))
    wanted = np.arange(len(table.rows)) if left is None else np.flatnonzero(np.any([*left.values()], axis=0))
    for row, (_, cells) in zip(wanted.tolist(), table.rows.take(wanted), strict=True):
        for at, cell in enumerate(cells):
            if at == side or at in aside or not cell or is_not_weighed(cell) or not (left is None or left[at][row]):
                continue
            name, day, _ = cell_texts(table, cells[side] if side < len(cells) else "", cell, at)
            if by_age and (age := _day_number(day)) is not None:
                day = str(age)
            yield row, at, {who: name, "day" if by_age else when: day, "weight": cell}


def cell_texts(table: RawTable, at_side: str, cell: str, at: int) -> tuple[str, str, str]:
    """Return what a cell of a grid says: whose weight it is, of when, and the weight."""
    if table.grid.startswith("chicks"):
        return table.heading(at), at_side, cell
    return at_side, table.heading(at), cell


def side_column(table: RawTable) -> int:
    """Return the column that names the chicks, or holds the days, down the side."""
    named = [name for name in (WHEN if table.grid.startswith("chicks") else _WHO) if name in table.headings]
    if named:
        return table.headings.index(named[0])
    return next((at for at in range(len(table.headings)) if texts_in(table.rows, at)), 0)


def left_alone(table: RawTable) -> list[int]:
    """Return the columns of a grid that hold no weights: notes, a total, what belongs to another log."""
    side = side_column(table)
    other = [at for at, heading in enumerate(table.headings) if at != side and heading]
    return [at for at in other if table.headings[at] in _NO_CHICK or is_total((table.headings[at],))]
