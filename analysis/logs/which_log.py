"""Which log a sheet is: by its name, and where that says too little by its headings."""

from collections.abc import Callable, Collection, Iterable
from itertools import chain
from pathlib import PurePath

from analysis.finding import Words, found
from analysis.logs.cells import near
from analysis.logs.dates import is_date
from analysis.logs.headings import column_named, has_stem, log_asked, log_named
from analysis.logs.layout import OwnNames, blocks, named_columns
from analysis.logs.sheets import Sheet, TextColumn
from analysis.logs.tables import LOGS, Log, keepers_words

_A_SENTENCE = 3  # words; a cell of so many is no name
_OF_AN_EGG = {"laid_on", "candled", "outcome", "hatched_at"}


def log_of(sheet: Sheet, sheets: Iterable[Sheet]) -> str | None:
    """Return the log that a sheet's name says it is; a workbook's only sheet may leave that to the file's name."""
    stem = PurePath(sheet.file).stem
    if not sheet.name:
        return log_named(stem)
    alone = [other for other in sheets if other.file == sheet.file and other.rows] == [sheet]
    return log_named(sheet.name) or (log_named(stem) if alone else None)


def log_meant(sheet: Sheet, log: str | None, own: OwnNames) -> str | None:
    """Return the log that a sheet's name says, unless its headings say what such a name may say too.

    A sheet of clutches may have a row an egg, and one of breeding birds or of cages a row a pair.
    """
    if log == "clutches" and {"pair", "egg"} <= (named := _named(sheet, "hatches", own)) and named & _OF_AN_EGG:
        return "hatches"
    if log == "cages" and {"cock", "hen"} <= _named(sheet, "pairs", own):
        return "pairs"
    if log == "birds" and "bird" not in _named(sheet, log, own):
        return "pairs" if {"pair", "cock", "hen"} <= _named(sheet, "pairs", own) else log
    return log or _by_headings(sheet, own)


def _by_headings(sheet: Sheet, own: OwnNames) -> str | None:
    """Return which log a book is whose name says no more than that it is one, which names a place that was
    read, or may be said of birds that were sold and tells of deaths alone.

    None for any other name.
    """
    name = sheet.name or PurePath(sheet.file).stem
    if log_asked(name) == "died-or-left-log" and _tells_of_deaths(sheet, own):
        return "losses"
    if is_place(name) and {"read_at", "temperature"} <= _named(sheet, "readings", own):
        return "readings"
    if log_asked(name) != "which-book":
        return None
    best, *others = [*_logs_with_such_headings(sheet, own), ""]
    return best if best and others == [""] else None


def log_asked_of(sheet: Sheet, own: OwnNames) -> Words:
    """What is asked of a sheet that is no log by its name; blank where nothing of it is like one."""
    name = sheet.name or PurePath(sheet.file).stem
    if asked := log_asked(name):
        return found(f"problems.{asked}")
    if meant := near(name, LOGS) or next((other for other in LOGS if other in name.casefold()), ""):
        return found("problems.did-you-mean", name=meant)
    if best := next(iter(_logs_with_such_headings(sheet, own)), ""):
        return found("problems.headings-like", log=best)
    return found("problems.diary") if _is_diary(sheet) else ""


def _tells_of_deaths(sheet: Sheet, own: OwnNames) -> bool:
    """Tell whether every row of a sheet has a cause that birds die of, and none says that a bird left."""
    under, _ = blocks(sheet.rows, LOGS["losses"], own)
    if not {"chick", "found_on", "cause"} <= _named(sheet, "losses", own) or len(under) != 1:
        return False
    names = [name and name[0] for name in named_columns(under[0].written, LOGS["losses"], own)]
    at, words = names.index("cause"), keepers_words()
    causes = [cells[at] if at < len(cells) else "" for _, cells in under[0].rows]
    of_deaths = [*chain(*words["causes"].values()), *words["in_weights"]["lost"]]
    of_leaving = [*words["in_weights"]["left"], *words["no_log"]["words"]]
    return all(has_stem(cause, of_deaths) and not has_stem(cause, of_leaving) for cause in causes)


def is_place(name: str) -> bool:
    """Tell whether a sheet's name is one of a place, such as "Incubator 2": its first word says so."""
    return column_named((name.split() or [""])[0], LOGS["readings"]) == ("place", "")


def _logs_with_such_headings(sheet: Sheet, own: OwnNames) -> list[str]:
    """Return the log that has most of these headings, and all that it needs; several where they have as many.

    A name, a day and a remark stand in every diary, and tell no log.
    """
    columns_named = {}
    for log in LOGS.values():
        names = _named(sheet, log.name, own)
        if all(names & set(group) for group in log.needs) and names - _in_any(log):
            columns_named[log.name] = len(names)
    most = max(columns_named.values(), default=0)
    return [name for name, columns in columns_named.items() if columns == most]


def _named(sheet: Sheet, log: str, own: OwnNames) -> set[str]:
    """The columns of a log that the first headings of a sheet name."""
    under, _ = blocks(sheet.rows, LOGS[log], own)
    named = {name for name, _ in filter(None, named_columns(under[0].written if under else (), LOGS[log], own))}
    return named | ({"pair"} if cage_names_pair(log, named) else set())


def cage_names_pair(log: str, columns: Collection[str]) -> bool:
    """Tell whether a log of pairs has a cage and its birds, and no name: keepers call a pair by its cage."""
    return log == "pairs" and "cage" in columns and "pair" not in columns and bool({"cock", "hen"} & set(columns))


def _in_any(log: Log) -> set[str]:
    """The columns of a log that a name and a day alone could fill."""
    return {"notes", *(shared["in"][log.name] for shared in keepers_words()["shared"] if log.name in shared["in"])}


def _is_diary(sheet: Sheet) -> bool:
    """Tell a sheet of days and sentences."""
    columns = sheet.rows.columns
    return any(_mostly(one, is_date) for one in columns) and any(_mostly(one, _is_sentence) for one in columns)


def _is_sentence(text: str) -> bool:
    return len(text.split()) >= _A_SENTENCE and not is_date(text)


def _mostly(column: TextColumn, wanted: Callable[[str], bool]) -> bool:
    """Tell whether at least half of the written cells of a column are wanted."""
    written = int(column.map(bool, bool, False).sum())
    return 0 < written <= 2 * int(column.map(lambda text: bool(text) and wanted(text), bool, False).sum())
