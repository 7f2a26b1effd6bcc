"""The same logs given twice: a season joined to its own copy, or two files of one folder with the same rows."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import Ledger, Place, Row
from analysis.logs.headings import same
from analysis.logs.values import Weighings
from analysis.season.dates import Rows
from analysis.season.model import Season

_NAMES = ("pair", "clutch", "egg", "chick")
_EGGS = ("laid_on", "set_on", "hatched_at", "outcome")
_CHICKS = ("hatched_at", "weaned_on", "left_on", "lost_on")
_CLUTCHES = ("first_egg_on", "eggs", "clear", "died_in_egg", "broken_or_gone", "hatched")
_WEIGHTS = ("weighed_at", "mass_g", "together")
_FEW = 3  # fewer rows that agree may be chance, and say nothing
_COUNTED = 8  # clutches that were counted and bear no date agree by chance more easily
_PART = 0.5  # of the smaller one, from which on the rest is asked about
Record = tuple[Any, ...]


@dataclass(frozen=True)
class _Content:
    """What a season holds, as sets of rows: what hatched, and what was weighed."""

    called: str
    hatches: frozenset[Record]
    weights: frozenset[Record]
    enough: bool  # whether so much is written that two seasons cannot agree by chance


def distinct(seasons: Sequence[Season]) -> tuple[tuple[Season, ...], list[Finding]]:
    """Leave out each season that holds the same hatches as one before it.

    Eggs, chicks and counted clutches are compared by names, dates and counts. Two seasons are the same where all of
    these agree and at least three of them bear a date, or eight clutches are counted. Where only a part agrees, half of
    the dated rows of the smaller season or more, both are kept and it is asked.

    Parameters
    ----------
    seasons : the season that was opened first, then those to be joined to it

    Returns
    -------
    kept : the seasons without the copies, in their order; the first is always kept
    findings : one for each that was left out or is asked about

    Examples
    --------
    >>> from dataclasses import replace
    >>> from pathlib import Path
    >>> from analysis import open_season
    >>> from analysis.say import in_words
    >>> season, before = open_season("data_demo/season_2026"), open_season("data_demo/season_2025")
    >>> copy = replace(before, folder=Path("season_2025_copy"))
    >>> kept, findings = distinct([season, before, copy])
    >>> [one.name for one in kept], in_words(findings)
    (['2026', '2025'], 'season_2025 and season_2025_copy hold the same hatches; the second is left out.')
    """
    contents = [_content(season, seasons) for season in seasons]
    left_out: set[int] = set()
    findings = []
    for first, second in combinations(range(len(seasons)), 2):
        if not {first, second} & left_out:
            one, other = contents[first], contents[second]
            if _is_copy(one, other):
                left_out.add(second)
                findings.append(_copied(one, other))
            else:
                findings += _partly(one, other)
    return tuple(season for at, season in enumerate(seasons) if at not in left_out), findings


def set_aside_copies(rows: Rows, ledger: Ledger) -> None:
    """Set aside the rows of a log that another file, or sheet, of the folder holds as well.

    Only where at least two rows of a file and half of them agree in every column with rows of one file before it, so
    that two files of different weeks, with one row in common, are left as they are. Said once a file, with the code
    "log-twice"; the rows are not used. To be called before rows are linked, with the rows of `check_tables`.

    Parameters
    ----------
    rows : the typed rows of every log; the copies are taken out
    ledger : told of them

    Examples
    --------
    >>> rows = {"signs": [
    ...     Row(Place("signs", file, "", row), {"who": who})
    ...     for file in ("signs.csv", "signs copy.csv") for row, who in enumerate(["K1", "K2"], start=2)
    ... ]}
    >>> ledger = Ledger()
    >>> set_aside_copies(rows, ledger)
    >>> len(rows["signs"]), ledger.problems()["advice"].item()
    (2, 'signs.csv and signs copy.csv hold the same 2 rows of signs; those of signs copy.csv are not used.')
    """
    for log, mine in rows.items():
        tables = rows.weighings if log == "weights" else []
        sizes = Counter(_source(row.place) for row in mine)
        for weighings in tables:
            sizes[weighings.table.file, weighings.table.sheet] += len(weighings)
        if len(sizes) < 2:
            continue
        twice = [(number, at, tables[number].row(at)) for number, at in _written_twice(tables)]
        sources: dict[tuple[str, str], list[Row]] = {}
        for row in sorted([*mine, *(row for *_, row in twice)], key=lambda row: row.place.nth):
            sources.setdefault(_source(row.place), []).append(row)
        for first, second in combinations(sources, 2):
            _copies(log, sources[first], sources[second], sizes[second], ledger)
        mine[:] = [row for row in mine if ledger.is_used(row)]
        for number, weighings in enumerate(tables):
            gone = [at for one, at, row in twice if one == number and not ledger.is_used(row)]
            if gone:
                tables[number] = weighings.take(np.bincount(gone, minlength=len(weighings)) == 0)


def _written_twice(tables: list[Weighings]) -> list[tuple[int, int]]:
    """Return which weighings of which table say the same as another one, in any table."""
    if not tables:
        return []
    parts = []
    for number, one in enumerate(tables):
        values: dict[str, Any] = {
            "chick": one.chick.map(same, object, ""),
            "weighed_at": one.weighed_at,
            "timed": one.timed,
        }
        values |= {"weight": one.weight, "crop": one.crop, "notes": [same(text) for text in one.notes]}
        parts.append(pd.DataFrame({**values, "table": number, "at": np.arange(len(one))}))
    every = pd.concat(parts, ignore_index=True)
    twice = every[every.duplicated([*every.columns[:-2]], keep=False)]
    return [*zip(twice["table"].tolist(), twice["at"].tolist(), strict=True)]


def _source(place: Place) -> tuple[str, str]:
    return place.file, place.sheet


def _copies(log: str, first: list[Row], second: list[Row], size: int, ledger: Ledger) -> None:
    known = {_cells(row) for row in first if ledger.is_used(row)}
    again = [row for row in second if ledger.is_used(row) and _cells(row) in known]
    if len(again) < max(2, _PART * size):
        return
    for row in again:
        ledger.set_aside(row.place)
    one, other = _file(first[0].place), _file(second[0].place)
    what = found("problems.same-rows", one=one, other=other, rows=len(again), log=log)
    ledger.say("log-twice", Place(log, second[0].place.file, second[0].place.sheet, None), what=what)


def _cells(row: Row) -> Record:
    """The cells of a row as they were understood, names without case."""
    text = {name: same(cell) if isinstance(cell, str) else cell for name, cell in row.values.items()}
    return tuple(sorted((name, str(cell)) for name, cell in text.items() if cell not in (None, "")))


def _file(place: Place) -> str:
    return f"{place.file}, {place.sheet}" if place.sheet else place.file


def _content(season: Season, among: Sequence[Season]) -> _Content:
    folder = season.folder.resolve()
    others = [other.folder.resolve() for other in among]
    called = folder.name
    if len({other for other in others if other.name == folder.name}) > 1:
        called = f"{folder.parent.name}/{folder.name}"
    told = [
        *_records(season.eggs, "egg", (*_NAMES, *_EGGS)),
        *_records(season.chicks, "chick", (*_NAMES, *_CHICKS)),
        *_records(season.clutches, "clutch", (*_NAMES, *_CLUTCHES)),
    ]
    enough = len(_dated(told)) >= _FEW or int(season.clutches["hatched"].notna().sum()) >= _COUNTED
    weights = frozenset(_records(season.weights, "weight", ("chick", *_WEIGHTS)))
    return _Content(called, frozenset(told), weights, enough)


def _dated(records: Iterable[Record]) -> set[Record]:
    return {record for record in records if any(isinstance(cell, pd.Timestamp) for cell in record)}


def _records(frame: pd.DataFrame, what: str, columns: Sequence[str]) -> Iterator[Record]:
    there = [column for column in columns if column in frame]
    for cells in frame[there].itertuples(index=False, name=None):
        yield (what, *(None if pd.isna(cell) else same(cell) if isinstance(cell, str) else cell for cell in cells))


def _is_copy(one: _Content, other: _Content) -> bool:
    return one.enough and one.hatches == other.hatches


def _copied(one: _Content, other: _Content) -> Finding:
    code = "problems.same-hatches" if one.weights == other.weights else "problems.same-hatches-other-weights"
    return found(code, one=one.called, other=other.called)


def _partly(one: _Content, other: _Content) -> list[Finding]:
    """Ask where one season holds much of another; rows without a date say nothing."""
    dated, others = _dated(one.hatches), _dated(other.hatches)
    alike, fewer = len(dated & others), min(len(dated), len(others))
    if alike < max(_FEW, _PART * fewer):
        return []
    return [found("problems.partly-the-same", alike=alike, one=one.called, other=other.called)]
