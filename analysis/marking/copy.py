"""Season and sheets → the marked copy, in a file that was not there before."""

import os
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from analysis.disk import book_bytes, plain_words, put_new
from analysis.errors import SeasonError
from analysis.guard import first_units
from analysis.logs.sheets import Sheet
from analysis.marking.pages import link, size, write_problems, write_sheet
from analysis.marking.places import find_marks
from analysis.say import say
from analysis.season import Season, changed_since

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
