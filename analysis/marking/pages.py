"""The pages of the marked copy: a sheet as it was written with its marks, and the list of all problems."""

import math
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from typing import Any

import pandas as pd

from analysis.guard import write_text_cell
from analysis.logs.sheets import Exact, Sheet
from analysis.marking.dress import comment, fill, write_bold, write_wrapped
from analysis.marking.places import Mark, what
from analysis.say import say

_HEADS = {  # and their widths
    "check.file": 18,
    "check.sheet": 14,
    "check.row": 7,
    "check.column": 16,
    "check.what": 36,
    "check.value": 24,
    "check.advice": 60,
}
_NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][+-]?\d+)?")
_WIDEST, _LOOK_WIDTH = 40, 70


def write_sheet(page: Any, sheet: Sheet, marks: list[Mark]) -> None:
    """Write a sheet cell by cell where the source has it, then its marks."""
    from openpyxl.utils import get_column_letter

    width = size(sheet)[1]
    for row, cells in sheet.rows:
        for column, text in enumerate(cells, start=1):
            if text:
                _write(page.cell(row, column), text)
    for column in range(1, width + 1):
        longest = max(len(cells[column - 1]) for _, cells in sheet.rows if len(cells) >= column)
        page.column_dimensions[get_column_letter(column)].width = min(max(longest + 2, 9), _WIDEST)
    if marks:
        _write_marks(page, marks, width + 1)
        heading = _heading_row(sheet, marks)
        if heading:
            write_bold(page.cell(heading, width + 1), say("check.look-at"))
            page.freeze_panes = page.cell(heading + 1, 1)


def _write(cell: Any, text: str) -> None:
    """Write a number of the spreadsheet's own as a number, and all else as the text it is."""
    if isinstance(text, Exact) and _NUMBER.fullmatch(text) and math.isfinite(float(text)):
        cell.value = float(text) if set(text) & set(".eE") else int(text)
    else:
        write_text_cell(cell, text)


def _write_marks(page: Any, marks: list[Mark], last: int) -> None:
    """Colour and comment the cells, and say the same in the last column of each row."""
    for (row, column), together in _grouped(marks, lambda mark: (mark.row, mark.column)):
        page.cell(row, column).fill = fill([mark.severity for mark in together])
        page.cell(row, column).comment = comment(_said(together))
    for (row, _), together in _grouped(marks, lambda mark: (mark.row, last)):
        page.cell(row, last).fill = fill([mark.severity for mark in together])
        write_wrapped(page.cell(row, last), _said(together))
    page.column_dimensions[page.cell(1, last).column_letter].width = _LOOK_WIDTH


def _grouped(
    marks: list[Mark], place: Callable[[Mark], tuple[int, int]]
) -> Iterable[tuple[tuple[int, int], list[Mark]]]:
    groups: dict[tuple[int, int], list[Mark]] = defaultdict(list)
    for mark in marks:
        groups[place(mark)].append(mark)
    return groups.items()


def _said(marks: list[Mark]) -> str:
    return "\n".join(dict.fromkeys(mark.said for mark in marks))


def _heading_row(sheet: Sheet, marks: list[Mark]) -> int:
    """Return the row in which most headings were found, else the first row; 0 where that row has a mark itself."""
    found = Counter(mark.heading for mark in marks if mark.heading)
    row = found.most_common(1)[0][0] if found else min((row for row, _ in sheet.rows), default=0)
    return 0 if any(mark.row == row for mark in marks) else row


def write_problems(page: Any, problems: pd.DataFrame, links: dict[Any, str]) -> None:
    """Write the list of all problems; the row number leads to the cell."""
    from openpyxl.worksheet.hyperlink import Hyperlink

    for column, (head, width) in enumerate(_HEADS.items(), start=1):
        write_bold(page.cell(1, column), say(head))
        page.column_dimensions[page.cell(1, column).column_letter].width = width
    page.freeze_panes = "A2"
    if problems.empty:
        write_text_cell(page["A2"], say("check.no-problems"))
    for line, problem in enumerate(problems.itertuples(), start=2):
        said = (problem.file, problem.sheet, "", problem.column, what(problem), problem.value, problem.advice)
        for column, text in enumerate(said, start=1):
            write_wrapped(page.cell(line, column), text)
        page.cell(line, 5).fill = fill([problem.severity])
        if not pd.isna(problem.row):
            page.cell(line, 3).value = int(problem.row)
        if problem.Index in links:
            page.cell(line, 3).hyperlink = Hyperlink(ref=f"C{line}", location=links[problem.Index])
            page.cell(line, 3).style = "Hyperlink"


def link(name: str, mark: Mark) -> str:
    """Return the address of a mark: the sheet's name in quotes, and the cell."""
    from openpyxl.utils import get_column_letter, quote_sheetname

    return f"{quote_sheetname(name)}!{get_column_letter(mark.column)}{mark.row}"


def size(sheet: Sheet) -> tuple[int, int]:
    """Last row and last column that are written."""
    return max((row for row, _ in sheet.rows), default=0), max((len(cells) for _, cells in sheet.rows), default=0)
