"""Where each problem stands: the row is known, the column is found by its heading or by the value."""

import math
import os
import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
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


_FILLS = {NOT_USED: "FFC7CE", CELL_NOT_USED: "FFD9A8", LOOK: "FFF2B3"}  # worst first; black text is easy to read on all


def write_bold(cell: Any, text: str) -> None:
    """Write text in bold."""
    from openpyxl.styles import Font

    write_text_cell(cell, text)
    cell.font = Font(bold=True)


def write_wrapped(cell: Any, text: str) -> None:
    """Write text that takes as many lines as it needs."""
    from openpyxl.styles import Alignment

    write_text_cell(cell, text)
    cell.alignment = Alignment(wrap_text=True, vertical="top")


def fill(severities: list[str]) -> Any:
    """Return the colour of the worst."""
    from openpyxl.styles import PatternFill

    return PatternFill("solid", fgColor=next(colour for severity, colour in _FILLS.items() if severity in severities))


def comment(text: str) -> Any:
    """Return a comment in a box that is large enough for it."""
    from openpyxl.comments import Comment

    lines = sum(1 + len(line) // 45 for line in text.splitlines())
    return Comment(cell_text(text), "season check", height=20 + 18 * lines, width=320)


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


_MOST_ROWS, _MOST_COLUMNS, _LONGEST_NAME = 1_048_576, 16_384, 31  # "Excel specifications and limits" (from memory)


def write_marked(season: Season, sheets: list[Sheet], out: Path) -> Path:
    """Write a marked copy of what the keeper wrote, as a workbook.

    The first sheet, "problems", lists every problem. Then comes a sheet for each source sheet, with every cell at
    the row and column where it stands in the source. A cell with a problem has a fill colour and a comment; the
    same words stand in its row under "what to look at", right of the data, as colour alone is not enough.

    Parameters
    ----------
    season
        An opened season; its `problems` are what is marked.
    sheets
        What the season was read from, as it was written.
    out
        The file to write, ending in .xlsx. Its folder is made where it is missing.

    Returns
    -------
    Path
        `out`.

    Raises
    ------
    SeasonError
        `out` is there already, is one of the sources or lies in the season's folder (it would be read as a log
        the next time); the logs were saved since they were read; a sheet is larger than a workbook can hold; or the
        file cannot be written.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> from analysis.season import open_season
    >>> sheet = Sheet("cages.csv", "", ((1, ("cage", "room")), (3, ("C1", "shed"))), "")
    >>> with TemporaryDirectory() as folder:
    ...     write_marked(open_season("data_demo/season_2026"), [sheet], Path(folder) / "copy.xlsx").name
    'copy.xlsx'
    """
    from openpyxl import Workbook

    _refuse(season.folder, sheets, out)
    if season.folder.is_dir() and changed_since(season):
        raise SeasonError(say("check.saved-meanwhile", folder=str(season.folder)))
    book = Workbook()
    front: Any = book.active
    front.title = say("check.problems")
    names = sheet_names(sheets)
    links: dict[Any, str] = {}
    for sheet, name in zip(sheets, names, strict=True):
        found = season.problems[(season.problems["file"] == sheet.file) & (season.problems["sheet"] == sheet.name)]
        marks = dict(find_marks(sheet, found))
        write_sheet(book.create_sheet(name), sheet, list(marks.values()))
        links |= {at: link(name, mark) for at, mark in marks.items()}
    write_problems(front, season.problems, links)
    _save(book, out)
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
        rows, columns = size(sheet)
        if rows > _MOST_ROWS or columns >= _MOST_COLUMNS:
            raise SeasonError(say("check.too-large", file=sheet.file))


def sheet_names(sheets: Iterable[Sheet]) -> list[str]:
    """Name the sheets of the copy: as in the source, or as the log file; unique, and as a workbook allows.

    At most 31 characters, none of ``[ ] : * ? / \\``, no apostrophe at either end, not "History", and no two alike
    but for case.

    Examples
    --------
    >>> sheet_names([Sheet("weights.csv", "", (), ""), Sheet("2026.xlsx", "Weights", (), "")])
    ['weights', 'Weights 2']
    """
    taken = {say("check.problems").casefold(), "history"}
    names = []
    for sheet in sheets:
        wanted = re.sub(r"[\[\]:*?/\\\x00-\x1f\ud800-\udfff\ufffe\uffff]", "_", sheet.name or Path(sheet.file).stem)
        base = name = first_units(wanted, _LONGEST_NAME).strip("' ") or say("check.sheet")
        number = 1
        while name.casefold() in taken:
            number += 1
            name = f"{first_units(base, _LONGEST_NAME - len(str(number)) - 1)} {number}"
        taken.add(name.casefold())
        names.append(name)
    return names


def _save(book: Any, out: Path) -> None:
    """Write whole or not at all, and never over a file that came to be there meanwhile."""
    with plain_words("marked-copy", out.parent):
        put_new({out: book_bytes(book, out.parent)})
