"""What a column and a log are; `tables.py` lists them all."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """One column of a log.

    `kind` is name, date, moment (a date, or a date and time), number, count, days, weight, temperature,
    percent, choice or text. `small` columns are in the small form of `season new`. `in_season` dates are
    held against the bounds of the season; birds hatch and pairs are put up in other years.
    """

    name: str
    kind: str
    meaning: str
    choices: tuple[str, ...] = ()
    small: bool = False
    in_season: bool = True
    free: bool = False  # a choice that may also be anything else


@dataclass(frozen=True)
class Log:
    """One log: its name, what a row is, its columns, and what a row cannot do without.

    `needs` holds groups of column names: of each group at least one must be filled in.
    `key` names the column whose name may stand only once.
    """

    name: str
    row_is: str
    columns: tuple[Column, ...]
    needs: tuple[tuple[str, ...], ...]
    key: str = ""

    @property
    def alone(self) -> set[str]:
        """The columns a row cannot do without, whatever else is filled in."""
        return {group[0] for group in self.needs if len(group) == 1}

    def column(self, name: str) -> Column | None:
        """Return the column of that name, or None."""
        return next((c for c in self.columns if c.name == name), None)
