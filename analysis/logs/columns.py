"""What a column and a log are; `tables.py` lists them all."""

from collections.abc import Sequence
from dataclasses import dataclass

from analysis.finding import Finding, Words, found


@dataclass(frozen=True)
class Column:
    """One column of a log.

    `kind` is name, date, moment (a date, or a date and time), number, count, days, weight, temperature,
    percent, choice or text. `small` columns are in the small form of `season new`. `in_season` dates are
    held against the bounds of the season; birds hatch and pairs are put up in other years.
    """

    name: str
    kind: str
    choices: tuple[str, ...] = ()
    small: bool = False
    in_season: bool = True
    free: bool = False  # a choice that may also be anything else


@dataclass(frozen=True)
class Log:
    """One log: its name, its columns, and what a row cannot do without.

    `needs` holds groups of column names: of each group at least one must be filled in.
    `key` names the column whose name may stand only once.
    """

    name: str
    columns: tuple[Column, ...]
    needs: tuple[tuple[str, ...], ...]
    key: str = ""

    @property
    def row_is(self) -> Finding:
        """What a row is."""
        return found(f"columns.{_plain(self.name)}")

    def meaning(self, column: str) -> Finding:
        """Return what belongs under a heading."""
        return found("columns.notes") if column == "notes" else found(f"columns.{_plain(self.name)}-{_plain(column)}")

    @property
    def alone(self) -> set[str]:
        """The columns a row cannot do without, whatever else is filled in."""
        return {group[0] for group in self.needs if len(group) == 1}

    def column(self, name: str) -> Column | None:
        """Return the column of that name, or None."""
        return next((c for c in self.columns if c.name == name), None)


def _plain(name: str) -> str:
    return name.replace("_", "-")


def either(names: Sequence[str]) -> Words:
    """Name columns of which one is enough.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> in_words(either(["egg", "chick"])), either(["egg"])
    ('egg or chick', 'egg')
    """
    said: Words = names[0]
    for name in names[1:]:
        said = found("problems.either", one=said, other=name)
    return said
