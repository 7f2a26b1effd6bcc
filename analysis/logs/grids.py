"""A grid of weights, by chick and day or age → a list of weighings."""

from collections.abc import Iterator

from analysis.logs.cells import is_blank_mark
from analysis.logs.held import texts_in
from analysis.logs.layout import WHEN, day_number, is_total
from analysis.logs.raw import RawTable
from analysis.logs.sheets import Cells

_WHO = ("chick", "egg", "ring")
_NO_CHICK = (*WHEN, *_WHO, "pair", "clutch", "species", "cage", "hatched_at", "notes", "crop", "sex")


def grid_cells(table: RawTable) -> Iterator[tuple[int, int, str, dict[str, str]]]:
    """Walk through the written cells of a grid.

    Yields
    ------
    row, column, heading, cells
        Where the cell stands, and the same cells as a list log would have: chick (or egg), weighed_at (or
        weighed_on) or day (an age), weight.
    """
    who, when = ("egg", "weighed_on") if table.log == "egg_weights" else ("chick", "weighed_at")
    by_age = table.grid in ("ages", "chicks-by-age")
    side, aside = side_column(table), set(left_alone(table))
    for number, cells in table.rows:
        for at, cell in enumerate(cells):
            if at == side or at in aside or not cell or is_blank_mark(cell):
                continue
            name, day, _ = cell_texts(table, cells, at, side)
            when_it_was = {"day": _age(day)} if by_age else {when: day}
            yield number, at, table.heading(at), {who: name, **when_it_was, "weight": cell}


def cell_texts(table: RawTable, cells: Cells, at: int, side: int) -> tuple[str, str, str]:
    """Return what a cell of a grid says: whose weight it is, of when, and the weight."""
    at_side = cells[side] if side < len(cells) else ""
    if table.grid.startswith("chicks"):
        return table.heading(at), at_side, cells[at]
    return at_side, table.heading(at), cells[at]


def _age(text: str) -> str:
    day = day_number(text)
    return text if day is None else str(day)


def side_column(table: RawTable) -> int:
    """Return the column that names the chicks, or holds the days, down the side."""
    wanted = WHEN if table.grid.startswith("chicks") else _WHO
    for name in wanted:
        if name in table.headings:
            return table.headings.index(name)
    return next((at for at in range(len(table.headings)) if texts_in(table.rows, at)), 0)


def left_alone(table: RawTable) -> list[int]:
    """Return the columns of a grid that hold no weights: notes, a total, what belongs to another log."""
    side = side_column(table)
    other = [at for at, heading in enumerate(table.headings) if at != side and heading]
    return [at for at in other if table.headings[at] in _NO_CHICK or is_total((table.headings[at],))]
