"""A grid of weights, by chick and day or age → a list of weighings."""

from collections.abc import Iterator

from analysis.logs.cells import is_blank_mark
from analysis.logs.held import texts_in
from analysis.logs.layout import WHEN, day_number, is_total
from analysis.logs.raw import RawTable

_WHO = ("chick", "egg", "ring")
_NO_CHICK = (*WHEN, *_WHO, "pair", "clutch", "species", "cage", "ring", "hatched_at", "notes", "crop", "sex")


def grid_cells(table: RawTable) -> Iterator[tuple[int, int, str, dict[str, str]]]:
    """Walk through the written cells of a grid.

    Yields
    ------
    row, column, heading, cells
        Where the cell stands, and the same cells as a list log would have: chick (or egg), weighed_at (or
        weighed_on) or day (an age), weight.
    """
    who, when = ("egg", "weighed_on") if table.log == "egg_weights" else ("chick", "weighed_at")
    side, aside = _side(table), set(left_alone(table))
    for number, cells in table.rows:
        at_side = cells[side] if side < len(cells) else ""
        for at, cell in enumerate(cells):
            if at == side or at in aside or not cell or is_blank_mark(cell):
                continue
            heading = table.heading(at)
            if table.grid in ("chicks", "chicks by age"):
                name, day = heading, at_side
            else:
                name, day = at_side, heading
            column = "day" if table.grid in ("ages", "chicks by age") else when
            yield number, at, heading, {who: name, column: _age(day) if column == "day" else day, "weight": cell}


def grid_sides(table: RawTable) -> tuple[int, list[int]]:
    """Return the column down the side of a grid, and the columns that hold weights."""
    side, aside = _side(table), set(left_alone(table))
    width = max(len(table.headings), max((len(cells) for _, cells in table.rows[:1]), default=0))
    return side, [at for at in range(width) if at != side and at not in aside]


def cell_texts(table: RawTable, cells: tuple[str, ...], at: int) -> tuple[str, str, str]:
    """Return what a cell of a grid says, in the order that `grid_cells` has it: whose, when, how much."""
    side = _side(table)
    day, name = (
        (cells[side], table.heading(at)) if table.grid.startswith("chicks") else (table.heading(at), cells[side])
    )
    return name, day, cells[at]


def _age(text: str) -> str:
    day = day_number(text)
    return text if day is None else str(day)


def _side(table: RawTable) -> int:
    """Return the column that names the chicks, or holds the days, down the side."""
    wanted = WHEN if table.grid.startswith("chicks") else _WHO
    for name in wanted:
        if name in table.headings:
            return table.headings.index(name)
    return next((at for at in range(len(table.headings)) if texts_in(table.rows, at)), 0)


def left_alone(table: RawTable) -> list[int]:
    """Return the columns of a grid that hold no weights: notes, a total, what belongs to another log."""
    side = _side(table)
    other = [at for at, heading in enumerate(table.headings) if at != side and heading]
    return [at for at in other if table.headings[at] in _NO_CHICK or is_total((table.headings[at],))]
