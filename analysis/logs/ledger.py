"""The account of what was written: every row read, every row not used, every problem.

rows read = rows used + rows not used, for every log, always.
"""

from collections import Counter
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any

import pandas as pd

from analysis.logs.rules import CELL_NOT_USED, NOT_USED, RULES
from analysis.logs.tables import LOGS
from analysis.words import count_words

NOT_READ = ", not read"  # behind the name of a file, where the account has it in the place of a log


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


@dataclass(frozen=True)
class Row:
    """One typed row of a log, and where it was written. A blank cell is None."""

    place: Place
    values: dict[str, Any]

    def __getitem__(self, column: str) -> Any:
        return self.values.get(column)


@dataclass
class Ledger:
    """Collects what is found while the logs are read; nothing is ever taken out again."""

    read: Counter[str] = field(default_factory=Counter)
    _problems: list[tuple[Any, ...]] = field(default_factory=list)
    _not_used: list[tuple[Any, ...]] = field(default_factory=list)
    _dropped: set[Place] = field(default_factory=set)
    _refused: dict[str, int | None] = field(default_factory=dict)
    _assumed: dict[tuple[str, str], list[str]] = field(default_factory=dict)

    def say(self, code: str, place: Place, column: str = "", value: Any = "", **facts: Any) -> None:
        """Note something to look at; the row is used."""
        self._add(code, RULES[code].severity, place, column, value, facts)

    def refuse(self, code: str, file: str, lines: int | None = None, *, sheet: str = "", **facts: Any) -> None:
        """Note a file, or a sheet of one, of which nothing was read, and the lines it seems to have; None: unknown."""
        seems = f"It seems to have {count_words(lines or 0, 'line')}; none was used."
        seems = "Its rows could not be counted; none was used." if lines is None else seems
        self.say(code, Place(PurePath(file).stem, file, sheet, None), seems=seems, **facts)
        self._refused[f"{file}, {sheet}" if sheet else file] = lines

    def drop(self, code: str, place: Place, column: str = "", value: Any = "", **facts: Any) -> None:
        """Note that a row is not used, and why. Its raw cells are kept."""
        self._add(code, NOT_USED, place, column, value, facts)
        self.set_aside(place)

    def drop_repeat(self, row: "Row", first: "Row", column: str, value: Any) -> None:
        """Drop the second of two rows with one name; the first is used."""
        code = "repeated-row" if row.place.cells == first.place.cells else "name-used-twice"
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

    def assume(self, file: str, sheet: str, how: str) -> None:
        """Note how a sheet was read; the same is noted once."""
        parts = self._assumed.setdefault((file, sheet), [])
        if how and how not in parts:
            parts.append(how)

    def read_as(self) -> list[tuple[str, str]]:
        """Return how each sheet was read: where (its file, and the sheet of several), and how in words."""
        named = {(file, sheet): f"{file}, {sheet}" if sheet else file for file, sheet in self._assumed}
        return [(named[key], ", ".join(parts)) for key, parts in self._assumed.items() if parts]

    def assumed(self) -> list[str]:
        """Say how each sheet was read, a sentence each."""
        return [f"{where}: {how}" for where, how in self.read_as()]

    def is_used(self, row: Row) -> bool:
        """Tell whether a row has not been dropped."""
        return row.place not in self._dropped

    def _add(self, code: str, severity: str, place: Place, column: str, value: Any, facts: dict[str, Any]) -> None:
        advice = RULES[code].advice.format_map(_Facts(facts))
        text = "" if value is None else str(value)
        place_of = (place.file, place.sheet, place.row, column or place.column)
        self._problems.append((*place_of, code, severity, text, advice, str(facts.get("about", ""))))

    def problems(self) -> pd.DataFrame:
        """List every problem: file, sheet, row, column, code, severity, value, advice, about (the pair meant)."""
        columns = ["file", "sheet", "row", "column", "code", "severity", "value", "advice", "about"]
        frame = pd.DataFrame(self._problems, columns=columns).astype({"row": "Int64"})
        return frame.sort_values(["file", "row"], kind="stable", na_position="first", ignore_index=True)

    def not_used(self) -> pd.DataFrame:
        """List what was not used, as written: file, sheet, row, column (blank: the whole row), cells."""
        columns = ["file", "sheet", "row", "column", "cells"]
        frame = pd.DataFrame(self._not_used, columns=columns).astype({"row": "Int64"})
        return frame.sort_values(["file", "row"], kind="stable", na_position="first", ignore_index=True)

    def accounting(self) -> pd.DataFrame:
        """Count the rows of each log: log, read, used, not_used; then a file that was refused, its lines or <NA>."""
        dropped = Counter(place.log for place in self._dropped)
        logs = [name for name in LOGS if name in self.read]
        rows = [(log, self.read[log], self.read[log] - dropped[log], dropped[log]) for log in logs]
        refused = [(file + NOT_READ, lines, 0, lines) for file, lines in self._refused.items()]
        frame = pd.DataFrame([*rows, *refused], columns=["log", "read", "used", "not_used"])
        return frame.astype({"read": "Int64", "used": "Int64", "not_used": "Int64"})


class _Facts(dict[str, Any]):
    def __missing__(self, key: str) -> str:
        return ""
