"""A grid of weights, a row a morning and a column a chick (or turned round) → a list of weighings."""

from collections.abc import Iterator

from analysis.logs.cells import BadCell, read_moment
from analysis.logs.read import GRIDS, RawTable, plain_heading

_WHEN = ("weighed_at", "weighed_on", "date", "day")


def is_grid(table: RawTable) -> bool:
    """Tell whether a table of weights is a grid: no column is called weight, and one side holds the dates."""
    if table.log not in GRIDS or "weight" in table.headings or not table.headings:
        return False
    first = [cells[0] for _, cells in table.rows]
    return _mornings_across(table) or plain_heading(table.headings[0]) in _WHEN or any(map(_is_date, first))


def grid_cells(table: RawTable) -> Iterator[tuple[int, int, str, dict[str, str]]]:
    """Walk through the written cells of a grid.

    Yields
    ------
    row, column, heading, cells
        Where the cell stands, and the same cells as a list log would have: chick (or egg), weighed_at (or
        weighed_on), weight. Which way round the grid is, its headings say.
    """
    who, when = ("egg", "weighed_on") if table.log == "egg_weights" else ("chick", "weighed_at")
    mornings_across = _mornings_across(table)
    for number, cells in table.rows:
        for at, cell in enumerate(cells):
            heading = table.headings[at] if at < len(table.headings) else ""
            if at == 0 or not cell or plain_heading(heading) == "notes":
                continue
            name, day = (cells[0], heading) if mornings_across else (heading, cells[0])
            yield number, at, heading, {who: name, when: day, "weight": cell}


def _mornings_across(table: RawTable) -> bool:
    if plain_heading(table.headings[0]) in _WHEN:
        return False
    return any(_is_date(heading) for heading in table.headings[1:])


def _is_date(text: str) -> bool:
    try:
        read_moment(text)
    except BadCell:
        return False
    return True
