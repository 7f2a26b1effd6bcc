"""The cells of one table, read as its columns, its headings and its file's habits say."""

from collections.abc import Mapping
from typing import Any

from analysis.logs.cells import BadCell, is_blank_mark, read_choice, refuse_broken, yes_or_no
from analysis.logs.columns import Column, Log
from analysis.logs.conventions import Convention
from analysis.logs.headings import folded
from analysis.logs.ledger import Ledger, Place
from analysis.logs.numbers import measure, read_count, read_plain, read_temperature, read_weight
from analysis.logs.raw import RawTable
from analysis.logs.settings import Settings
from analysis.logs.sheets import Exact

_MOST_DAYS = 36_500  # a hundred years


class Reader:
    """Reads the cells of one table.

    Parameters
    ----------
    table
        Its headings may name units.
    settings
        The keeper's units.
    convention
        How the file writes dates and numbers.
    ledger
        Told of what is read and questionable.

    Attributes
    ----------
    blanks : how many cells held a mark for "not known"
    dated : the columns whose place an age may take
    """

    dated = ("weighed_at", "weighed_on")

    def __init__(self, table: RawTable, settings: Settings, convention: Convention, ledger: Ledger):
        own = (table.log == "egg_weights" and settings["egg_weight_unit"]) or settings["weight_unit"]
        self.blanks = 0
        self._units = table.units
        self._weight_unit, self._temperature_unit = own, settings["temperature_unit"]
        self._convention, self._ledger = convention, ledger
        self._asks_fertile = _asks(table, "candled", ("fert", "befrucht", "bevrucht", "fecond"))

    def without_blank_marks(self, log: Log, cells: Mapping[str, str]) -> dict[str, str]:
        """Return the cells without those that say that nothing is known; notes are left as they are."""
        found = {}
        for name, text in cells.items():
            column = log.column(name)
            if text and column and column.kind != "text" and is_blank_mark(text):
                self.blanks += 1
            else:
                found[name] = text
        return found

    def value(self, text: str, column: Column, place: Place) -> dict[str, Any]:
        """Read a cell.

        Raises
        ------
        BadCell
            Its message is the code of the rule that the cell breaks.
        """
        name, decimal = column.name, self._convention.decimal
        if column.kind in ("date", "moment"):
            moment, timed = self._convention.moment(text)
            return {name: moment, f"{name}_timed": timed} if column.kind == "moment" else {name: moment.normalize()}
        if column.kind == "weight":
            return {name: self._weight(text, column, place)}
        if column.kind == "temperature":
            unit = self._units.get(name) or self._temperature_unit
            return {name: read_temperature(text, unit, decimal)}
        if column.kind == "percent":
            return {name: self._percent(text, column, place)}
        if column.kind == "count":
            return {name: read_count(text, decimal)}
        if column.kind in ("number", "days"):
            value = read_plain(text, decimal)
            if column.kind == "days" and not 0 <= value <= _MOST_DAYS:
                raise BadCell("days-out")
            return {name: value}
        refuse_broken(text, text_too=False)
        if name == "candled" and self._asks_fertile and yes_or_no(text) is not None:
            return {name: "fertile" if yes_or_no(text) else "clear"}
        return {name: read_choice(text, column) if column.kind == "choice" else text}

    def _weight(self, text: str, column: Column, place: Place) -> float:
        unit = self._units.get(column.name) or self._weight_unit
        grams, other, about = read_weight(text, unit, self._convention.decimal)
        if other or unit != self._weight_unit:
            self._ledger.say("other-unit", place, column.name, text)
        if about:
            self._ledger.say("about", place, column.name, text)
        return grams

    def _percent(self, text: str, column: Column, place: Place) -> float:
        value, unit, _ = measure(text, self._convention.decimal)
        if unit not in ("", "%"):
            raise BadCell("unreadable-number")
        if isinstance(text, Exact) and 0 < value <= 1:  # a cell that shows 55 % holds 0.55
            self._ledger.say("share", place, column.name, text, percent=100 * value)
            value *= 100
        if not 0 <= value <= 100:
            raise BadCell("percent-out")
        return value


def _asks(table: RawTable, column: str, stems: tuple[str, ...]) -> bool:
    """Tell whether the heading of a column asks a question that is answered by yes or no."""
    at = table.headings.index(column) if column in table.headings else -1
    return at >= 0 and folded(table.written[at]).startswith(stems)
