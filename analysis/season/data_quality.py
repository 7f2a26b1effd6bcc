"""Whether numbers may be made from these logs: damaged and one-sided ones, and the same logs given twice."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import PurePath
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import LOGS, Ledger, Place, Row
from analysis.logs.headings import column_meant, log_named, same
from analysis.logs.ledger import NOT_USED
from analysis.logs.values import Weighings
from analysis.season.days import Rows
from analysis.season.model import Season

NOT_READ, NO_HEADINGS, EMPTY, COLUMNS = "not read", "no headings", "empty", "columns"
FEW_USED, ONLY_HATCHED = "few used", "only hatched"
RATES = ("hatches", "clutches", "losses", "pairs", "moves", "cages", "settings")  # logs that the rates rest on
_DAYS = ("laid_on", "hatched_at", "arrived_on", "weaned_on", "left_on")
# Columns on which a number rests, beside those that a log cannot do without.
_NEEDED = {
    "hatches": {"pair", "clutch", "outcome", "reared_by", *_DAYS},
    "clutches": {"hatched", "weaned", "clear", "died_in_egg", "broken_or_gone"},
    "pairs": {"kind", "cock", "hen"},
}
_FILLED = ("clutch", "reared_by", "kind")  # never blank in the frames, so a blank one tells nothing
_OPEN = {"hatched", "unknown", "still incubating"}  # outcomes that stand where nobody wrote one

_COMPARED = {  # what tells whether two seasons are one
    "eggs": ("pair", "clutch", "egg", "chick", "laid_on", "set_on", "hatched_at", "outcome"),
    "chicks": ("pair", "clutch", "egg", "chick", "hatched_at", "weaned_on", "left_on", "lost_on"),
    "clutches": ("pair", "clutch", "first_egg_on", "eggs", "clear", "died_in_egg", "broken_or_gone", "hatched"),
}
_WEIGHTS = ("chick", "weighed_at", "mass_g", "together")
_FEW = 3  # fewer rows that agree may be chance, and say nothing
_COUNTED = 8  # clutches that were counted and bear no date agree by chance more easily
_PART = 0.5  # of the smaller one, from which on the rest is asked about
_Record = tuple[Any, ...]


@dataclass(frozen=True)
class UnreliableLog:
    """A log that no number should be made from: its name (blank where nobody can tell), file, headings and season.

    Codes: `NOT_READ` (the file), `NO_HEADINGS` (a needed column is not known by its heading), `EMPTY` (a file),
    `COLUMNS` (a column on which numbers rest is not known by its heading), `FEW_USED` (of most rows nothing could
    be used), `ONLY_HATCHED` (no egg that did not hatch is written: only of hatching nothing is known).
    """

    code: str
    log: str
    file: str
    columns: tuple[str, ...]
    season: str


def unreliable_logs(season: Season, *, joined: bool = False) -> list[UnreliableLog]:
    """The logs of a season, and where `joined` of its earlier ones, that no number should be made from.

    Told by the account of the rows and by the problems, each by its code. A keeper who logs chicks and no eggs is not
    doubted: such logs say nothing of hatching, and nothing is said of it. What else may be one-sided is asked only
    where no log is damaged.
    """
    damaged = [*_not_read(season), *_columns_missed(season)]
    damaged = damaged or list(_few_used(season)) or list(_only_hatched(season))
    return [*damaged, *(log for one in season.earlier if joined for log in unreliable_logs(one))]


def numbers_hold(season: Season, *, joined: bool = False, logs: tuple[str, ...] = ()) -> bool:
    """Tell whether numbers may be shown at all: those that rest on `logs`, or any."""
    damaged = [one for one in unreliable_logs(season, joined=joined) if one.code != ONLY_HATCHED]
    return not any(not logs or not one.log or one.log in logs for one in damaged)


def hatching_known(season: Season) -> bool:
    """Tell whether a rate of hatching may be shown: whether eggs are written that did not hatch."""
    return not any(_only_hatched(season))


def left_alone(season: Season) -> list[str]:
    """Return the files, and the sheets of files, of a season that were left alone, since no log has their name."""
    unknown = season.problems[season.problems["code"] == "unknown-log"]
    return [f"{one.file}, {one.sheet}" if one.sheet else str(one.file) for one in unknown.itertuples()]


def _not_read(season: Season) -> Iterator[UnreliableLog]:
    """Files that could not be read, logs without a needed column, and empty files that bear a log's name."""
    problems = season.problems
    whole = problems[problems["row"].isna() & (problems["code"] != "later-than-asked")]
    for problem in whole.itertuples():
        log = _log(str(problem.file), str(problem.sheet))
        code = {"no-headings": NO_HEADINGS, "empty-file": EMPTY}.get(str(problem.code), NOT_READ)
        if problem.severity == NOT_USED or (code == EMPTY and log):
            yield UnreliableLog(code, log, str(problem.file), (), season.name)


def _log(file: str, sheet: str) -> str:
    return (log_named(sheet) if sheet else log_named(PurePath(file).stem)) or ""


def _columns_missed(season: Season) -> Iterator[UnreliableLog]:
    """Logs with a heading that is a slip of a column on which numbers rest, and nothing in that column."""
    unknown = season.problems[season.problems["code"] == "unknown-column"]
    for (file, sheet), rows in unknown.groupby(["file", "sheet"], sort=True):
        log = _log(str(file), str(sheet))
        missed = [str(heading) for heading in rows["column"] if log and _rests_on(season, log, str(heading))]
        if missed:
            yield UnreliableLog(COLUMNS, log, str(file), tuple(missed), season.name)


def _rests_on(season: Season, log: str, heading: str) -> bool:
    column = column_meant(heading, LOGS[log])
    if column not in _NEEDED.get(log, ()):
        return False
    if column == "outcome":
        return set(season.eggs["outcome"]) <= _OPEN
    frames = {"hatches": (season.eggs, season.chicks), "clutches": (season.clutches,), "pairs": (season.pairs,)}[log]
    written = [frame[column] for frame in frames if column in frame]
    return column in _FILLED or all((cells.isna() | cells.astype(str).eq("")).all() for cells in written)


def _few_used(season: Season) -> Iterator[UnreliableLog]:
    """Logs of whose rows most could not be used (the half is ours); rows later than the day asked for are no doubt."""
    if "later-than-asked" in set(season.problems["code"]):
        return
    for row in season.accounting.itertuples():
        if row.log in LOGS and row.read > 0 and 2 * row.used < row.read:
            yield UnreliableLog(FEW_USED, str(row.log), "", (), season.name)


def _only_hatched(season: Season) -> Iterator[UnreliableLog]:
    """Eggs of which none is written that did not hatch."""
    eggs, counts = season.eggs, season.clutches
    outcomes = set(eggs["outcome"])
    hatched = "hatched" in outcomes or bool(counts["hatched"].gt(0).any())
    others = bool(outcomes - {"hatched", "unknown"}) or bool(counts["eggs"].gt(counts["hatched"]).any())
    if hatched and (not others or "only-hatched-written" in set(season.problems["code"])):
        file = str(eggs["file"].iloc[0]) if len(eggs) else ""
        yield UnreliableLog(ONLY_HATCHED, "hatches" if len(eggs) else "clutches", file, (), season.name)


def without_copied_rows(rows: Rows, ledger: Ledger) -> Rows:
    """Set aside the rows of a log that another file, or sheet, of the folder holds as well.

    Only where at least two rows of a file and half of them agree in every column with rows of one file before it, so
    that two files of different weeks, with one row in common, are left as they are. Said once a file, with the code
    "log-twice". Done before rows are linked.
    """
    repeated = _repeated(rows.weighings)
    for log, mine in rows.items():
        tables = rows.weighings if log == "weights" else []
        sizes = Counter(_source(row.place) for row in mine)
        for table in tables:
            sizes[table.table.file, table.table.sheet] += len(table)
        sources: dict[tuple[str, str], list[Row]] = {}
        every = [*mine, *(row for *_, row in repeated if tables)]
        for row in sorted(every, key=lambda row: row.place.nth) if len(sizes) > 1 else ():
            sources.setdefault(_source(row.place), []).append(row)
        for first, second in combinations(sources.values(), 2):
            known = {_cells(row) for row in first if ledger.is_used(row)}
            again = [row for row in second if ledger.is_used(row) and _cells(row) in known]
            if len(again) < max(2, _PART * sizes[_source(second[0].place)]):
                continue
            for row in again:
                ledger.set_aside(row.place)
            one, other = (", ".join(filter(None, _source(rows[0].place))) for rows in (first, second))
            what = found("problems.same-rows", one=one, other=other, rows=len(again), log=log)
            ledger.say("log-twice", Place(log, second[0].place.file, second[0].place.sheet, None), what=what)
    left = []
    for number, table in enumerate(rows.weighings):
        gone = [at for one, at, row in repeated if one == number and not ledger.is_used(row)]
        left.append(table.take(np.bincount(gone, minlength=len(table)) == 0) if gone else table)
    return rows.used(ledger).but({}, left)


def _repeated(tables: list[Weighings]) -> list[tuple[int, int, Row]]:
    """The weighings that say the same as another one, in any table: which table, which of it, and its row."""
    if len({(table.table.file, table.table.sheet) for table in tables}) < 2:
        return []
    parts = []
    for number, one in enumerate(tables):
        values: dict[str, Any] = {"chick": one.chick.map(same, object, ""), "weighed_at": one.weighed_at}
        values |= {"timed": one.timed, "weight": one.weight, "crop": one.crop, "notes": [*map(same, one.notes)]}
        parts.append(pd.DataFrame({**values, "table": number, "at": np.arange(len(one))}))
    every = pd.concat(parts, ignore_index=True)
    twice = every[every.duplicated([*every.columns[:-2]], keep=False)]
    return [(one, at, tables[one].row(at)) for one, at in zip(twice["table"], twice["at"], strict=True)]


def _source(place: Place) -> tuple[str, str]:
    return place.file, place.sheet


def _cells(row: Row) -> _Record:
    """The cells of a row as they were understood, names without case."""
    cells = {name: same(cell) if isinstance(cell, str) else cell for name, cell in row.values.items()}
    return tuple(sorted((name, str(cell)) for name, cell in cells.items() if cell not in (None, "")))


def distinct_seasons(seasons: Sequence[Season]) -> tuple[tuple[Season, ...], list[Finding]]:
    """Leave out each season that holds the same hatches as one before it; also say which, and what is asked about.

    Eggs, chicks and counted clutches are compared by names, dates and counts. Two seasons are the same where all of
    these agree and at least three of them bear a date, or eight clutches are counted. Where only a part agrees, half of
    the dated rows of the smaller season or more, both are kept and it is asked. The first is always kept.
    """
    hatches = [{record for what in _COMPARED for record in _records(one, what, _COMPARED[what])} for one in seasons]
    names = [_called(one, seasons) for one in seasons]
    left_out: set[int] = set()
    findings = []
    for first, second in combinations(range(len(seasons)), 2):
        if {first, second} & left_out:
            continue
        one, other, both = hatches[first], hatches[second], dict[str, Any](one=names[first], other=names[second])
        counted = int(seasons[first].clutches["hatched"].notna().sum())
        if one == other and (len(_dated(one)) >= _FEW or counted >= _COUNTED):
            left_out.add(second)
            weights = [set(_records(seasons[at], "weights", _WEIGHTS)) for at in (first, second)]
            code = "same-hatches" if weights[0] == weights[1] else "same-hatches-other-weights"
            findings.append(found(f"problems.{code}", **both))
            continue
        alike, fewer = len(_dated(one & other)), min(len(_dated(one)), len(_dated(other)))
        if alike >= max(_FEW, _PART * fewer):
            findings.append(found("problems.partly-the-same", alike=alike, **both))
    return tuple(season for at, season in enumerate(seasons) if at not in left_out), findings


def _called(season: Season, among: Sequence[Season]) -> str:
    """The name of a season's folder; where another has it too, with the folder it is in."""
    folder = season.folder.resolve()
    others = {other for other in (one.folder.resolve() for one in among) if other.name == folder.name}
    return folder.name if len(others) == 1 else f"{folder.parent.name}/{folder.name}"


def _dated(records: set[_Record]) -> set[_Record]:
    return {record for record in records if any(isinstance(cell, pd.Timestamp) for cell in record)}


def _records(season: Season, what: str, columns: Sequence[str]) -> Iterator[_Record]:
    frame: pd.DataFrame = getattr(season, what)
    for cells in frame[list(columns)].itertuples(index=False, name=None):
        yield (what, *(None if pd.isna(cell) else same(cell) if isinstance(cell, str) else cell for cell in cells))
