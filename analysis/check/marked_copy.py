"""A copy of what the keeper wrote, as a workbook, with every problem marked at its cell."""

import math
import os
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, count
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.disk import book_bytes, plain_words, put_new
from analysis.errors import SeasonError
from analysis.guard import cell_text, first_units, write_text_cell
from analysis.logs.ledger import CELL_NOT_USED, LOOK, NOT_USED, RULES
from analysis.logs.sheets import Exact, Sheet
from analysis.say import say
from analysis.season import Season, changed_since

_HOW_BAD = {NOT_USED: "check.not-used", CELL_NOT_USED: "check.cell-not-used", LOOK: "check.look-at-this"}
_FILLS = {NOT_USED: "FFC7CE", CELL_NOT_USED: "FFD9A8", LOOK: "FFF2B3"}  # worst first; black text is easy to read on all
# The list of problems: what each column is, and how wide.
_HEADS = {"check.file": 18, "check.sheet": 14, "check.row": 7, "check.column": 16}
_HEADS |= {"check.what": 36, "check.value": 24, "check.advice": 60}
_NUMBER = re.compile(r"-?\d+(\.\d+)?([eE][+-]?\d+)?")
_At = tuple[int, int]  # a row and a column
_WIDEST, _LOOK_WIDTH = 40, 70
_MOST_ROWS, _MOST_COLUMNS, _LONGEST_NAME = 1_048_576, 16_384, 31  # "Excel specifications and limits" (from memory)


def write_marked(season: Season, sheets: list[Sheet], out: Path) -> Path:
    """Write a marked copy of what the keeper wrote to `out`, a file ending in .xlsx; its folder is made where missing.

    The first sheet lists every problem. Then comes a sheet for each source sheet, every cell at its row and column. A
    cell with a problem has a fill colour and a comment; the same words stand in its row, right of the data, as colour
    alone is not enough. A SeasonError where `out` is there, is a source or lies in the season's folder (it would be
    read as a log), the logs were saved since, a sheet is too large for a workbook, or the file cannot be written.
    """
    from openpyxl import Workbook
    from openpyxl.utils import get_column_letter, quote_sheetname

    _refuse(season.folder, sheets, out)
    if season.folder.is_dir() and changed_since(season):
        raise SeasonError(say("check.saved-meanwhile", folder=str(season.folder)))
    book = Workbook()
    front: Any = book.active
    front.title = say("check.problems")
    links: dict[Any, str] = {}
    for sheet, name in zip(sheets, sheet_names(sheets), strict=True):
        its = season.problems[(season.problems["file"] == sheet.file) & (season.problems["sheet"] == sheet.name)]
        marks = dict(_find_marks(sheet, its))
        _write_sheet(book.create_sheet(name), sheet, list(marks.values()))
        page = quote_sheetname(name)
        links |= {at: f"{page}!{get_column_letter(mark.column)}{mark.row}" for at, mark in marks.items()}
    _write_problems(front, season.problems, links)
    with plain_words("marked-copy", out.parent):  # whole or not at all, and never over a file that came there meanwhile
        put_new({out: book_bytes(book, out.parent)})
    return out


def _refuse(folder: Path, sheets: list[Sheet], out: Path) -> None:
    if os.path.lexists(out):
        raise SeasonError(say("check.is-there", out=str(out)))
    home = folder.parent if folder.is_file() else folder
    target = out.resolve()
    if target in {(home / sheet.file).resolve() for sheet in sheets}:
        raise SeasonError(say("check.own-log", out=str(out)))
    if home is folder and home.resolve() in target.parents:
        raise SeasonError(say("check.own-folder", out=str(out)))
    for sheet in sheets:
        last_row = max((row for row, _ in sheet.rows), default=0)
        if last_row > _MOST_ROWS or _width(sheet) >= _MOST_COLUMNS:
            raise SeasonError(say("check.too-large", file=sheet.file))


def _width(sheet: Sheet) -> int:
    return max((len(cells) for _, cells in sheet.rows), default=0)


def sheet_names(sheets: Iterable[Sheet]) -> list[str]:
    """Name the sheets of the copy, each as in the source, or as the log file; at most 31 characters, as Excel allows.

    None of ``[ ] : * ? / \\``, no apostrophe at either end, not "History", and no two alike but for case.
    """
    taken = {say("check.problems").casefold(), "history"}
    names = []
    for sheet in sheets:
        wanted = re.sub(r"[\[\]:*?/\\\x00-\x1f\ud800-\udfff\ufffe\uffff]", "_", sheet.name or Path(sheet.file).stem)
        base = first_units(wanted, _LONGEST_NAME).strip("' ") or say("check.sheet")
        numbered = (f"{first_units(base, _LONGEST_NAME - len(str(n)) - 1)} {n}" for n in count(2))
        name = next(one for one in chain([base], numbered) if one.casefold() not in taken)
        taken.add(name.casefold())
        names.append(name)
    return names


@dataclass(frozen=True)
class _Mark:
    """One problem at the cell where it stands; `heading` is the row its column's heading was found in, or 0."""

    row: int
    column: int
    heading: int
    severity: str
    words: str


def _find_marks(sheet: Sheet, problems: pd.DataFrame) -> Iterator[tuple[Any, _Mark]]:
    """Find the cell of each problem that has a row; yield the problem's place in the list, and its mark."""
    rows = dict(sheet.rows)
    wanted = {_plain(column) for column in problems["column"] if column}
    headings: dict[str, list[_At]] = defaultdict(list)  # the cells that read like one, from the top, counted from 1
    for at, cells in sheet.rows if wanted else ():
        for column, cell in enumerate(cells, start=1):
            if cell and (plain := _plain(cell)) in wanted:
                headings[plain].append((at, column))
    for problem in problems.dropna(subset="row").itertuples():
        row = int(problem.row)
        heading, column = _column(problem, row, rows, headings)
        words = say("check.mark", what=_what(problem), advice=problem.advice)
        yield problem.Index, _Mark(row, column, heading, problem.severity, words)


def _column(problem: Any, row: int, rows: dict[int, tuple[str, ...]], headings: Any) -> _At:
    """The row of the heading (0 where none is found) and the column of a problem's cell."""
    above = [at for at in headings.get(_plain(problem.column), ()) if at[0] < row]
    # a title such as "weights" stands alone in its row
    above = [at for at in above if sum(map(bool, rows[at[0]])) > 1] or above
    heading = above[0][0] if above else 0
    under = [column for at, column in above if at == heading]
    cells = enumerate(rows.get(row, ()), start=1)
    alike = [column for column, cell in cells if cell and cell == problem.value.strip()]
    # of two columns with one heading, the one that holds the value
    both = [column for column in under if column in alike]
    return heading, (both or under or alike or [1])[0]


def _plain(heading: str) -> str:
    return re.sub(r"[\s_\-]+", "_", heading.strip()).casefold()


def _what(problem: Any) -> str:
    """How bad it is and what it is, in one line."""
    return say(_HOW_BAD[problem.severity], title=RULES[problem.code].title)


def _write_sheet(page: Any, sheet: Sheet, marks: list[_Mark]) -> None:
    """Write a sheet cell by cell, a number of the spreadsheet's own as one, all else as text; then its marks."""
    from openpyxl.utils import get_column_letter

    width = _width(sheet)
    for row, cells in sheet.rows:
        for column, text in enumerate(cells, start=1):
            if isinstance(text, Exact) and _NUMBER.fullmatch(text) and math.isfinite(float(text)):
                page.cell(row, column).value = float(text) if set(text) & set(".eE") else int(text)
            elif text:
                write_text_cell(page.cell(row, column), text)
    for column in range(1, width + 1):
        longest = max(len(cells[column - 1]) for _, cells in sheet.rows if len(cells) >= column)
        page.column_dimensions[get_column_letter(column)].width = min(max(longest + 2, 9), _WIDEST)
    if marks:
        _write_marks(page, marks, width + 1)
    if marks and (heading := _heading_row(sheet, marks)):
        _write(page.cell(heading, width + 1), say("check.look-at"), bold=True)
        page.freeze_panes = page.cell(heading + 1, 1)


def _write_marks(page: Any, marks: list[_Mark], last: int) -> None:
    """Colour and comment the cells, and say the same in the last column of each row."""
    from openpyxl.comments import Comment

    for (row, column), fill, text in _grouped(marks, lambda mark: (mark.row, mark.column)):
        lines = sum(1 + len(line) // 45 for line in text.splitlines())
        page.cell(row, column).fill = fill
        page.cell(row, column).comment = Comment(cell_text(text), "season check", height=20 + 18 * lines, width=320)
    for (row, _), fill, text in _grouped(marks, lambda mark: (mark.row, last)):
        page.cell(row, last).fill = fill
        _write(page.cell(row, last), text)
    page.column_dimensions[page.cell(1, last).column_letter].width = _LOOK_WIDTH


def _grouped(marks: list[_Mark], place: Callable[[_Mark], _At]) -> Iterator[tuple[_At, Any, str]]:
    """The marks of each place: where it is, the colour of the worst, and what all of them say."""
    groups: dict[_At, list[_Mark]] = defaultdict(list)
    for mark in marks:
        groups[place(mark)].append(mark)
    for at, together in groups.items():
        yield at, _fill({mark.severity for mark in together}), "\n".join(dict.fromkeys(mark.words for mark in together))


def _heading_row(sheet: Sheet, marks: list[_Mark]) -> int:
    """The row in which most headings were found, else the first row; 0 where that row has a mark itself."""
    found = Counter(mark.heading for mark in marks if mark.heading)
    row = found.most_common(1)[0][0] if found else min((row for row, _ in sheet.rows), default=0)
    return 0 if any(mark.row == row for mark in marks) else row


def _write_problems(page: Any, problems: pd.DataFrame, links: dict[Any, str]) -> None:
    """Write the list of all problems; the row number leads to the cell."""
    from openpyxl.worksheet.hyperlink import Hyperlink

    for column, (head, width) in enumerate(_HEADS.items(), start=1):
        _write(page.cell(1, column), say(head), bold=True)
        page.column_dimensions[page.cell(1, column).column_letter].width = width
    page.freeze_panes = "A2"
    if problems.empty:
        write_text_cell(page["A2"], say("check.no-problems"))
    for line, problem in enumerate(problems.itertuples(), start=2):
        texts = (problem.file, problem.sheet, "", problem.column, _what(problem), problem.value, problem.advice)
        for column, text in enumerate(texts, start=1):
            _write(page.cell(line, column), text)
        page.cell(line, 5).fill = _fill({problem.severity})
        if not pd.isna(problem.row):
            page.cell(line, 3).value = int(problem.row)
        if problem.Index in links:
            page.cell(line, 3).hyperlink = Hyperlink(ref=f"C{line}", location=links[problem.Index])
            page.cell(line, 3).style = "Hyperlink"


def _write(cell: Any, text: str, *, bold: bool = False) -> None:
    """Write text in bold, or in as many lines as it needs."""
    from openpyxl.styles import Alignment, Font

    write_text_cell(cell, text)
    if bold:
        cell.font = Font(bold=True)
    else:
        cell.alignment = Alignment(wrap_text=True, vertical="top")


def _fill(severities: set[str]) -> Any:
    """The colour of the worst."""
    from openpyxl.styles import PatternFill

    return PatternFill("solid", fgColor=next(colour for severity, colour in _FILLS.items() if severity in severities))
