"""The account of what was written: every row read, every row not used, every problem.

rows read = rows used + rows not used, for every log, always.
"""

import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib.resources import files
from pathlib import PurePath
from typing import Any, NamedTuple

import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.logs.headings import key_of
from analysis.logs.tables import LOGS
from analysis.say import in_words, say

NOT_USED = "not used"
CELL_NOT_USED = "cell not used"
LOOK = "look at this"
_SEASONS_APART_D = 300  # practice: of one season no name comes again so late
_ALIKE = 3  # so many problems with the same advice stand each in a line
_LONGEST = 60  # letters of a word that are said
_MOST = 24  # words of one kind that are said; more are counted


@dataclass(frozen=True)
class Rule:
    """One thing that can be wrong: a stable code, and its severity."""

    code: str
    severity: str

    @property
    def title(self) -> Finding:
        """What is wrong, in a few words."""
        return Finding(f"problems.{self.code}")

    def advice(self, facts: dict[str, Any]) -> Finding:
        """Return what to do about it."""
        return Finding(f"problems.{self.code}-do", facts=facts)


_SEVERITIES = tomllib.loads(files("analysis.logs").joinpath("rules.toml").read_text(encoding="utf-8"))
RULES: dict[str, Rule] = {code: Rule(code, severity) for code, severity in _SEVERITIES.items()}


@dataclass(frozen=True)
class Place:
    """Where something was written: log, file, sheet, row as the spreadsheet counts, and the raw cells."""

    log: str
    file: str
    sheet: str
    row: int | None
    cells: str = ""
    column: str = ""  # the chick's heading, where the row is one cell of a grid
    at: int = 0  # and where that cell stands in its row, as two columns may have one heading
    nth: int = field(default=0, compare=False)  # the place of its table among those of the folder


@dataclass(frozen=True)
class Row:
    """One typed row of a log, and where it was written. A blank cell is None. Nobody changes a row: see `but`."""

    place: Place
    values: Mapping[str, Any]

    def __getitem__(self, column: str) -> Any:
        return self.values.get(column)

    def but(self, *blank: str, **cells: Any) -> "Row":
        """Return the row with other cells, and without those of the columns in `blank`."""
        kept = {column: cell for column, cell in self.values.items() if column not in blank}
        return Row(self.place, kept | cells)


class _Problem(NamedTuple):
    """One thing that was found; `column` and `value` are as written, or a finding of several that were.

    `found` is what to do about it: one object for all that say the same. `about` is the pair that is meant.
    """

    file: str
    sheet: str
    row: int | None
    column: Words
    code: str
    severity: str
    value: Words
    found: Finding
    about: str


@dataclass
class Ledger:
    """Collects what is found while the logs are read; nothing is ever taken out again."""

    read: Counter[str] = field(default_factory=Counter)
    _problems: list[_Problem] = field(default_factory=list)
    _known: dict[Any, Finding] = field(default_factory=dict)
    _not_used: list[tuple[Any, ...]] = field(default_factory=list)
    _dropped: set[Place] = field(default_factory=set)
    _refused: dict[str, int | None] = field(default_factory=dict)
    _assumed: dict[tuple[str, str], list[Words]] = field(default_factory=dict)
    _headings: dict[tuple[str, str], dict[str, str]] = field(default_factory=dict)
    _words: dict[Words, dict[str, Words]] = field(default_factory=dict)

    def say(self, code: str, place: Place, column: Words = "", value: Any = "", **facts: Any) -> None:
        """Note something to look at; the row is used."""
        self._add(code, RULES[code].severity, place, column, value, facts)

    def refuse(self, code: str, file: str, lines: int | None = None, *, sheet: str = "", **facts: Any) -> None:
        """Note a file, or a sheet of one, of which nothing was read, and the lines it seems to have; None: unknown."""
        seems = found("problems.seems-unknown") if lines is None else found("problems.seems", lines=lines)
        self.say(code, Place(PurePath(file).stem, file, sheet, None), seems=seems, **facts)
        self._refused[f"{file}, {sheet}" if sheet else file] = lines

    def drop(self, code: str, place: Place, column: str = "", value: Any = "", **facts: Any) -> None:
        """Note that a row is not used, and why. Its raw cells are kept."""
        self._add(code, NOT_USED, place, column, value, facts)
        self.set_aside(place)

    def drop_repeat(self, row: "Row", first: "Row", column: str, value: Any) -> None:
        """Drop the second of two rows with one name; the first is used."""
        other = "name-of-two-seasons" if _are_years_apart(row, first) else "name-used-twice"
        code = "repeated-row" if row.place.cells == first.place.cells else other
        self.drop(code, row.place, column, value, first=first.place.row)

    def set_aside(self, place: Place) -> None:
        """Keep a row as not used where one problem already speaks for many rows."""
        if place not in self._dropped:
            self._dropped.add(place)
            self._not_used.append((place.file, place.sheet, place.row, place.column, place.cells))

    def bad_cell(self, code: str, place: Place, column: str, value: Any, **facts: Any) -> None:
        """Note that one cell is not used; the rest of its row is."""
        self._add(code, CELL_NOT_USED, place, column, value, facts)
        self._not_used.append((place.file, place.sheet, place.row, column, str(value)))

    def assume(self, file: str, sheet: str, *how: Words) -> None:
        """Note how a sheet was read; the same is noted once."""
        parts = self._assumed.setdefault((file, sheet), [])
        parts += [one for one in dict.fromkeys(how) if one and one not in parts]

    def read_as(self) -> list[tuple[str, Finding]]:
        """Return how each sheet was read: where (its file, and the sheet of several), and how."""
        read = [(key, found("logs.read-as", parts=tuple(parts))) for key, parts in self._assumed.items() if parts]
        return [(f"{file}, {sheet}" if sheet else file, how) for (file, sheet), how in read]

    def understand(self, of: Words, written: str, meant: Words) -> None:
        """Note what a word in a column was read as, where it is not ours; the same is noted once."""
        if isinstance(meant, Finding) or key_of(written) != key_of(meant):
            plain = " ".join(written.split())
            short = plain if len(plain) <= _LONGEST else f"{plain[:_LONGEST]}…"
            self._words.setdefault(of, {}).setdefault(short, meant)

    def understand_headings(self, whole: Place, words: Mapping[str, str]) -> None:
        """Note which log a sheet is, and what its headings that are not ours were read as."""
        named = key_of(whole.sheet or PurePath(whole.file).stem)
        if words or not named.startswith(key_of(whole.log)):
            where = f"{whole.file}, {whole.sheet}" if whole.sheet else whole.file
            self._headings.setdefault((where, whole.log), {}).update(words)

    def understood(self) -> tuple[Finding, ...]:
        """Return what was read of headings and words that are not ours, each said once: a line a log, or a column."""
        alike: dict[tuple[str, tuple[tuple[str, str], ...]], list[str]] = {}
        for (where, log), words in self._headings.items():
            alike.setdefault((log, tuple(words.items())), []).append(where)
        heads = [
            found("logs.headings-read", files=files, log=log, words=_words_read(dict(words)) if words else "")
            for (log, words), files in alike.items()
        ]
        return (*heads, *(found("logs.column-read", of=of, words=_words_read(own)) for of, own in self._words.items()))

    def is_used(self, row: Row) -> bool:
        """Tell whether a row has not been dropped."""
        return row.place not in self._dropped

    def _add(self, code: str, severity: str, place: Place, column: Words, value: Any, facts: dict[str, Any]) -> None:
        about = facts.pop("about", "")
        key = (code, _fixed(facts)) if facts else code
        if (advice := self._known.get(key)) is None:
            advice = self._known[key] = RULES[code].advice(facts)
        value = "" if value is None else value if isinstance(value, Finding) else str(value)
        place_of = (place.file, place.sheet, place.row, column or place.column)
        self._problems.append(_Problem(*place_of, code, severity, value, advice, about))

    def problems(self) -> pd.DataFrame:
        """List every problem: file, sheet, row, column, code, severity, value, advice, about; all of it text."""
        return self.advised()[0]

    def advised(self) -> tuple[pd.DataFrame, tuple[Finding, ...]]:
        """Return `problems`, and what to do about each of them: the finding that `advice` says."""
        frame = pd.DataFrame(self._problems, columns=list(_Problem._fields)).astype({"row": "Int64"})
        frame = frame.sort_values(["file", "row"], kind="stable", na_position="first", ignore_index=True)
        to_do = tuple(frame["found"])
        said = {id(one): in_words(one) for one in self._known.values()}
        for name in ("column", "value"):
            frame[name] = [one if isinstance(one, str) else in_words(one) for one in frame[name]]
        frame["found"] = [said[id(one)] for one in to_do]
        return frame.rename(columns={"found": "advice"}), to_do

    def not_used(self) -> pd.DataFrame:
        """List what was not used, as written: file, sheet, row, column (blank: the whole row), cells."""
        columns = ["file", "sheet", "row", "column", "cells"]
        frame = pd.DataFrame(self._not_used, columns=columns).astype({"row": "Int64"})
        return frame.sort_values(["file", "row"], kind="stable", na_position="first", ignore_index=True)

    def unread(self) -> tuple[str, ...]:
        """Return the files, and sheets of files, that were refused."""
        return tuple(self._refused)

    def accounting(self) -> pd.DataFrame:
        """Count the rows of each log: log, read, used, not_used; then a file that was refused, its lines or <NA>."""
        dropped = Counter(place.log for place in self._dropped)
        logs = [name for name in LOGS if name in self.read]
        rows = [(log, self.read[log], self.read[log] - dropped[log], dropped[log]) for log in logs]
        refused = [(say("logs.not-read", file=file), lines, 0, lines) for file, lines in self._refused.items()]
        frame = pd.DataFrame([*rows, *refused], columns=["log", "read", "used", "not_used"])
        return frame.astype({"read": "Int64", "used": "Int64", "not_used": "Int64"})


def _are_years_apart(*rows: Row) -> bool:
    """Tell whether two rows begin so far apart that they are of two seasons."""
    days = [min((day for day in row.values.values() if isinstance(day, pd.Timestamp)), default=None) for row in rows]
    known = [day for day in days if day is not None]
    return len(known) > 1 and (max(known) - min(known)).days >= _SEASONS_APART_D


def alike_problems(problems: pd.DataFrame, to_do: Sequence[Finding]) -> list[pd.DataFrame]:
    """Part problems (all, or some of them by their index) into those of a file for which one advice holds, in order.

    Up to three that are alike stand each alone. `to_do` is what to do about each of all.
    """
    same = pd.Series([id(to_do[at]) for at in problems.index], problems.index, dtype="int64")  # one object says it
    groups = [alike for _, alike in problems.groupby(["file", "code", same], sort=False)]
    return [
        one
        for group in groups
        for one in ([group] if len(group) > _ALIKE else [group.iloc[[at]] for at in range(len(group))])
    ]


def _words_read(words: Mapping[str, Words]) -> Finding:
    """What some words were read as, those of one meaning together."""
    alike: dict[Words, list[str]] = {}
    for written in list(words)[:_MOST]:
        alike.setdefault(words[written], []).append(written)
    read = [found("logs.word-read", written=of, meant=meant) for meant, of in alike.items()]
    return found("logs.words-read", words=read, more=max(len(words) - _MOST, 0))


def _fixed(fact: Any) -> Any:
    """A fact as something that can be a key: two that are the same are said the same."""
    if isinstance(fact, Finding):
        return fact.code, _fixed(fact.facts)
    if isinstance(fact, Mapping):
        return tuple([(name, _fixed(one)) for name, one in fact.items()])
    return tuple(map(_fixed, fact)) if isinstance(fact, list | tuple) else fact
