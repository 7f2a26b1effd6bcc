"""Where each problem stands: the row is known, the column is found by its heading or by the value."""

import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.logs.rules import CELL_NOT_USED, LOOK, NOT_USED, RULES
from analysis.logs.sheets import Sheet
from analysis.say import say

_HOW_BAD = {NOT_USED: "check.not-used", CELL_NOT_USED: "check.cell-not-used", LOOK: "check.look-at-this"}


@dataclass(frozen=True)
class Mark:
    """One problem at the cell where it stands; `heading` is the row its column's heading was found in, or 0."""

    row: int
    column: int
    heading: int
    severity: str
    said: str


def find_marks(sheet: Sheet, problems: pd.DataFrame) -> Iterator[tuple[Any, Mark]]:
    """Find the cell of each problem that has a row; yield the problem's place in the list, and its mark."""
    rows = dict(sheet.rows)
    headings = _headings(sheet, {_plain(column) for column in problems["column"] if column})
    for problem in problems.dropna(subset="row").itertuples():
        row = int(problem.row)
        cells = rows.get(row, ())
        heading, column = _column(problem, row, cells, rows, headings)
        said = say("check.mark", what=what(problem), advice=problem.advice)
        yield problem.Index, Mark(row, column, heading, problem.severity, said)


def _headings(sheet: Sheet, wanted: set[str]) -> dict[str, list[tuple[int, int]]]:
    """Find every cell that reads like one of these headings: its row and column, from 1, from the top."""
    found: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for row, cells in sheet.rows if wanted else ():
        for column, cell in enumerate(cells, start=1):
            if cell and (plain := _plain(cell)) in wanted:
                found[plain].append((row, column))
    return found


def _column(
    problem: Any, row: int, cells: tuple[str, ...], rows: dict[int, tuple[str, ...]], headings: Any
) -> tuple[int, int]:
    """Return the row of the heading (0 where none is found) and the column of a problem's cell."""
    above = [at for at in headings.get(_plain(problem.column), ()) if at[0] < row]
    # a title such as "weights" stands alone in its row
    above = [at for at in above if sum(map(bool, rows[at[0]])) > 1] or above
    heading = above[0][0] if above else 0
    under = [column for at, column in above if at == heading]
    alike = [column for column, cell in enumerate(cells, start=1) if cell and cell == problem.value.strip()]
    # of two columns with one heading, the one that holds the value
    both = [column for column in under if column in alike]
    return heading, (both or under or alike or [1])[0]


def _plain(heading: str) -> str:
    return re.sub(r"[\s_\-]+", "_", heading.strip()).casefold()


def what(problem: Any) -> str:
    """Say in one line how bad it is and what it is."""
    return say(_HOW_BAD[problem.severity], title=RULES[problem.code].title)
