"""A season folder → sheets of text. No heading and no value is understood here."""

from pathlib import Path

from analysis.errors import SeasonError
from analysis.logs.book import BookError, read_book
from analysis.logs.ledger import Ledger, Place
from analysis.logs.sheets import Sheet
from analysis.logs.text import NotText, read_text

TEXT_FILES = (".csv", ".tsv", ".txt")
WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")


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
    return [sheet for path in _files(folder) for sheet in _read_file(path, ledger)]


def _files(folder: Path) -> list[Path]:
    try:
        if not folder.exists():
            raise SeasonError(f"There is no folder {folder}. Check the spelling, or make one with: season new {folder}")
        if not folder.is_dir():
            raise SeasonError(f"{folder} is a file. Name the folder that your logs are in.")
        found = sorted(p for p in folder.iterdir() if p.is_file() and not p.name.startswith(("~$", ".")))
    except OSError as wrong:
        raise SeasonError(f"The folder {folder} cannot be opened ({wrong.strerror}). Check who may read it.") from None
    files = [p for p in found if p.suffix.casefold() in TEXT_FILES + WORKBOOKS]
    if not files:
        raise SeasonError(f"There are no logs in {folder}. Make blank ones to fill in with: season new {folder}")
    return files


def _read_file(path: Path, ledger: Ledger) -> list[Sheet]:
    whole = Place(path.stem, path.name, "", None)
    try:
        if path.suffix.casefold() in WORKBOOKS:
            return read_book(path)
        sheet, codes = read_text(path.read_bytes(), path.name)
    except OSError:
        ledger.say("cannot-open", whole)
    except NotText:
        ledger.say("not-text", whole)
    except BookError as wrong:
        ledger.say(str(wrong), whole)
    else:
        for code in codes:
            ledger.say(code, whole)
        return [sheet]
    return []
