"""Which log a sheet is: by its name; by its headings where the name leaves that open; else what is asked of it."""

from collections.abc import Callable, Iterable
from pathlib import PurePath

from analysis.finding import Words, found
from analysis.logs.cells import near
from analysis.logs.dates import is_date
from analysis.logs.headings import log_asked, log_named
from analysis.logs.layout import GRIDS, OwnNames, blocks, named_columns
from analysis.logs.sheets import Sheet, TextColumn
from analysis.logs.tables import LOGS, Log, keepers_words

_A_SENTENCE = 3  # words; a cell of so many is no name


def log_of(sheet: Sheet, sheets: Iterable[Sheet]) -> str | None:
    """Return the log that a sheet's name says it is; a workbook's only sheet may leave that to the file's name."""
    stem = PurePath(sheet.file).stem
    if not sheet.name:
        return log_named(stem)
    alone = [other for other in sheets if other.file == sheet.file and other.rows] == [sheet]
    return log_named(sheet.name) or (log_named(stem) if alone else None)


def log_by_headings(sheet: Sheet, log: str | None, own: OwnNames) -> str | None:
    """Return which log a sheet is, where `log` is what its name says.

    Its headings say it where the name is only that of a book, and where the log of its name could not use them and
    one other can: "breeders" with a pair, a cock and a hen in each row are pairs.
    """
    if log is None and log_asked(sheet.name or PurePath(sheet.file).stem) != "which-book":
        return None
    mine = _names(sheet, LOGS[log], own) if log else set[str]()
    if log in GRIDS or (log and _has_needs(LOGS[log], mine)):
        return log
    best, *others = [*_logs_with_such_headings(sheet, own), ""]
    named_more = best and others == [""] and len(_names(sheet, LOGS[best], own)) > len(mine)
    return best if named_more else log


def asked_log(sheet: Sheet, own: OwnNames) -> Words:
    """Return what is asked of a sheet that is no log by its name; blank where nothing of it is like one."""
    name = sheet.name or PurePath(sheet.file).stem
    if asked := log_asked(name):
        return found(f"problems.{asked}")
    if meant := near(name, LOGS) or next((other for other in LOGS if other in name.casefold()), ""):
        return found("problems.did-you-mean", name=meant)
    if best := next(iter(_logs_with_such_headings(sheet, own)), ""):
        return found("problems.headings-like", log=best)
    return found("problems.diary") if _is_diary(sheet) else ""


def _logs_with_such_headings(sheet: Sheet, own: OwnNames) -> list[str]:
    """Return the log that has most of these headings, and all that it needs; several where they have as many.

    A name, a day and a remark stand in every diary, and tell no log.
    """
    columns_named = {}
    for log in LOGS.values():
        names = _names(sheet, log, own)
        if _has_needs(log, names) and names - _in_any(log):
            columns_named[log.name] = len(names)
    most = max(columns_named.values(), default=0)
    return [name for name, columns in columns_named.items() if columns == most]


def _names(sheet: Sheet, log: Log, own: OwnNames) -> set[str]:
    under, _ = blocks(sheet.rows, log, own)
    return {name for name, _ in filter(None, named_columns(under[0].written if under else (), log, own))}


def _has_needs(log: Log, names: set[str]) -> bool:
    return all(names & set(group) for group in log.needs)


def _in_any(log: Log) -> set[str]:
    """The columns of a log that a name and a day alone could fill."""
    return {"notes", *(shared["in"][log.name] for shared in keepers_words()["shared"] if log.name in shared["in"])}


def _is_diary(sheet: Sheet) -> bool:
    """Tell a sheet of days and sentences."""
    columns = sheet.rows.columns
    return any(_mostly(column, is_date) for column in columns) and any(
        _mostly(column, _is_sentence) for column in columns
    )


def _is_sentence(text: str) -> bool:
    return len(text.split()) >= _A_SENTENCE and not is_date(text)


def _mostly(column: TextColumn, wanted: Callable[[str], bool]) -> bool:
    """Tell whether at least half of the written cells of a column are wanted."""
    written = int(column.map(bool, bool, False).sum())
    return 0 < written <= 2 * int(column.map(lambda text: bool(text) and wanted(text), bool, False).sum())
