"""A season folder → sheets of text. No heading and no value is understood here, but for one setting."""

import stat
from pathlib import Path

from analysis.errors import SeasonError
from analysis.finding import Finding, found
from analysis.logs.book import read_book
from analysis.logs.book_guard import BookError
from analysis.logs.headings import folded
from analysis.logs.ledger import Ledger, Place
from analysis.logs.sheets import Sheet
from analysis.logs.text import NotText, read_text
from analysis.logs.understand import settings_sheets
from analysis.say import say

TEXT_FILES = (".csv", ".tsv", ".txt")
WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
LARGE = 50_000_000
"""Bytes of a text file that is read only where the settings say so: a million weighings are 24 MB, and a file of
nonsense takes 16 times its size in memory (tests/prove_hostile.py)."""
_SAMPLE = 1_000_000  # bytes by which the lines of a large file are judged
_KINDS = (
    (stat.S_ISDIR, found("problems.a-folder")),
    (stat.S_ISFIFO, found("problems.a-pipe")),
    (stat.S_ISSOCK, found("problems.a-socket")),
)


def read_folder(folder: Path, ledger: Ledger) -> list[Sheet]:
    """Read every file of a season folder that may hold logs.

    Parameters
    ----------
    folder
        The season folder.
    ledger
        Told of every file that could not be read.

    Returns
    -------
    list of Sheet
        In the order of the files' names, then of the sheets.

    Raises
    ------
    SeasonError
        There is no such folder, or no log in it.
    """
    paths = _files(folder)
    large = [path for path in paths if _is_large(path)]
    sheets = [sheet for path in paths if path not in large for sheet in _read_file(path, ledger)]
    if not large:
        return sheets
    if _large_wanted(sheets):
        sheets += [sheet for path in large for sheet in _read_file(path, ledger)]
        order = [path.name for path in paths]
        return sorted(sheets, key=lambda sheet: order.index(sheet.file))
    for path in large:
        ledger.refuse("large-log", path.name, _lines_about(path))
    return sheets


def _files(folder: Path) -> list[Path]:
    try:
        if not folder.exists():
            raise SeasonError(say("logs.no-folder", folder=str(folder)))
        if not folder.is_dir():
            raise SeasonError(say("logs.no-folder-but-a-file", folder=str(folder)))
        there = sorted(p for p in folder.iterdir() if not p.name.startswith(("~$", ".")))
    except OSError as wrong:
        raise SeasonError(say("logs.folder-closed", folder=str(folder), why=wrong.strerror)) from None
    files = [p for p in there if p.suffix.casefold() in TEXT_FILES + WORKBOOKS]
    if not files:
        raise SeasonError(say("logs.no-logs", folder=str(folder)))
    return files


def _read_file(path: Path, ledger: Ledger) -> list[Sheet]:
    whole = Place(path.stem, path.name, "", None)
    if what := _no_file(path):
        ledger.refuse("no-plain-file", path.name, what=what)
        return []
    try:
        if path.suffix.casefold() in WORKBOOKS:
            return [sheet for sheet in read_book(path) if not _is_refused(sheet, ledger)]
        sheet, codes = read_text(path.read_bytes(), path.name)
    except OSError:
        ledger.refuse("cannot-open", path.name)
    except NotText:
        ledger.refuse("not-text", path.name, _lines_about(path))
    except BookError as wrong:
        ledger.refuse(str(wrong), path.name)
    else:
        for code in codes:
            ledger.say(code, whole)
        return [sheet]
    return []


def _is_refused(sheet: Sheet, ledger: Ledger) -> bool:
    if sheet.refused:
        ledger.refuse(sheet.refused, sheet.file, sheet=sheet.name)
    return bool(sheet.refused)


def _no_file(path: Path) -> Finding | None:
    """Return what something is that is no plain file, and would never end or never begin; None where it is one."""
    try:
        mode = path.stat().st_mode
    except OSError:
        return found("problems.a-dead-link") if path.is_symlink() else None
    device = found("problems.a-device")
    return None if stat.S_ISREG(mode) else next((what for is_so, what in _KINDS if is_so(mode)), device)


def _is_large(path: Path) -> bool:
    try:
        return path.suffix.casefold() in TEXT_FILES and path.stat().st_size > LARGE
    except OSError:
        return False


def _large_wanted(sheets: list[Sheet]) -> bool:
    """Tell whether the settings say yes to large logs; they are read for good once all sheets are there."""
    rows = (list(map(folded, cells)) for sheet in settings_sheets(sheets) for _, cells in sheet.rows)
    return any("large logs" in cells and "yes" in cells for cells in rows)


def _lines_about(path: Path) -> int | None:
    """Return how many lines that hold something a file seems to have, by its first megabyte; None if it is gone."""
    try:
        with path.open("rb") as file:
            start = file.read(_SAMPLE)
        return round(sum(map(bool, start.splitlines())) * path.stat().st_size / max(len(start), 1))
    except OSError:
        return None
