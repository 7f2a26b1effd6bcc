"""The logs as data: every log, its columns and what is needed; what they mean stands in `say/columns.toml`.

Blank logs, the checks and the documentation are all made from `LOGS`; nothing else lists columns.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from analysis.finding import Finding, Words, found
from analysis.names import DIED_IN_EGG, GONE


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
    """Name columns of which one is enough."""
    said: Words = names[0]
    for name in names[1:]:
        said = found("problems.either", one=said, other=name)
    return said


@cache
def keepers_words() -> dict[str, Any]:
    """Return what keepers write, by kind: other words for logs, columns, choices and signs, as in `headings.toml`."""
    return tomllib.loads(files("analysis.logs").joinpath("headings.toml").read_text(encoding="utf-8"))


OUTCOMES = ("hatched", "clear", *DIED_IN_EGG, *GONE, "still incubating")
STAGES = ("down", "pins", "feathered")  # how far a chick's feathers are, from the day it was seen; the latest counts
NOT_EMPTYING = "crop not emptying"
SIGNS = tuple(keepers_words()["signs"])
GOOD_SIGNS = ("eating alone", "begging again", "well again", *STAGES)  # what is no alarm


def _small(name: str, kind: str, choices: tuple[str, ...] = ()) -> Column:
    return Column(name, kind, choices, small=True)


def _free(name: str, choices: tuple[str, ...]) -> Column:
    return Column(name, "choice", choices, free=True)


_NOTES = Column("notes", "text", small=True)

_LOGS = (
    Log(
        "hatches",
        (
            _small("pair", "name"),
            _small("clutch", "name"),
            _small("egg", "name"),
            _small("laid_on", "date"),
            Column("set_on", "date"),
            Column("candled", "choice", ("fertile", "clear", "not sure")),
            Column("candled_on", "date"),
            _small("outcome", "choice", OUTCOMES),
            _small("hatched_at", "moment"),
            Column("sure_to_days", "days"),
            _small("chick", "name"),
            Column("ring", "name"),
            Column("sex", "text"),
            Column("species", "name"),
            Column("cage", "name"),
            Column("incubated_by", "name"),
            _small("reared_by", "name"),
            Column("brooder", "name"),
            Column("arrived_on", "date"),
            _small("weaned_on", "date"),
            Column("left_on", "date"),
            Column("length_mm", "number"),
            Column("breadth_mm", "number"),
            _NOTES,
        ),
        (("egg", "chick"),),
    ),
    Log(
        "weights",
        (
            _small("chick", "name"),
            _small("weighed_at", "moment"),
            _small("weight", "weight"),
            Column("crop", "choice", ("empty", "part", "full")),
            _NOTES,
        ),
        (("chick",), ("weighed_at",), ("weight",)),
    ),
    Log(
        "losses",
        (
            _small("chick", "name"),
            Column("egg", "name"),
            _small("found_on", "date"),
            Column("last_seen_well_on", "date"),
            _small("cause", "text"),
            Column("examined", "text"),
            _NOTES,
        ),
        (("chick", "egg"), ("found_on",)),
    ),
    Log(
        "pairs",
        (
            _small("pair", "name"),
            _small("species", "name"),
            Column("kind", "choice", ("pair", "trio", "colony")),
            _small("cock", "name"),
            _small("hen", "name"),
            _small("cage", "name"),
            Column("put_up_on", "date", in_season=False),
            Column("parted_on", "date", in_season=False),
            _NOTES,
        ),
        (("pair",), ("species",)),
        key="pair",
    ),
    Log(
        "settings",
        (
            _small("setting", "name"),
            _small("value", "text"),
            _small("default", "text"),
            _small("reason", "text"),
        ),
        (("setting",),),
    ),
    Log(
        "clutches",
        (
            Column("pair", "name"),
            Column("clutch", "name"),
            Column("eggs", "count"),
            Column("first_egg_on", "date"),
            Column("fertile", "count"),
            Column("clear", "count"),
            Column("died_in_egg", "count"),
            Column("broken_or_gone", "count"),
            Column("hatched", "count"),
            Column("weaned", "count"),
            Column("incubated_by", "name"),
            _NOTES,
        ),
        (("pair",), ("clutch",), ("eggs",)),
    ),
    Log(
        "birds",
        (
            Column("bird", "name"),
            Column("sex", "text"),
            Column("species", "name"),
            Column("hatched_on", "date", in_season=False),
            Column("father", "name"),
            Column("mother", "name"),
            Column("ring", "name"),
            _NOTES,
        ),
        (("bird",),),
        key="bird",
    ),
    Log(
        "cages",
        (
            Column("cage", "name"),
            Column("room", "name"),
            _NOTES,
        ),
        (("cage",),),
        key="cage",
    ),
    Log(
        "moves",
        (
            Column("what", "name"),
            Column("on", "date"),
            Column("to", "name"),
            _NOTES,
        ),
        (("what",), ("on",), ("to",)),
    ),
    Log(
        "egg_weights",
        (
            Column("egg", "name"),
            Column("weighed_on", "date"),
            Column("weight", "weight"),
            _NOTES,
        ),
        (("egg",), ("weighed_on",), ("weight",)),
    ),
    Log(
        "readings",
        (
            Column("place", "name"),
            Column("read_at", "moment"),
            Column("temperature", "temperature"),
            Column("humidity_pct", "percent"),
            _NOTES,
        ),
        (("place",), ("read_at",)),
    ),
    Log(
        "signs",
        (
            Column("who", "name"),
            Column("seen_at", "moment"),
            _free("sign", SIGNS),
            _NOTES,
        ),
        (("who",), ("seen_at",), ("sign",)),
    ),
    Log(
        "feeds",
        (
            Column("fed_at", "moment"),
            Column("who", "name"),
            Column("food", "text"),
            Column("amount", "number"),
            Column("temperature", "temperature"),
            _NOTES,
        ),
        (("fed_at",),),
    ),
    Log(
        "species",
        (
            Column("species", "name"),
            Column("incubation_d", "days"),
            Column("clutch_eggs", "count"),
            Column("ring_from_d", "days"),
            Column("ring_to_d", "days"),
            Column("wean_from_d", "days"),
            Column("wean_to_d", "days"),
            Column("water_loss_from_pct", "percent"),
            Column("water_loss_to_pct", "percent"),
            Column("hen_oldest_y", "number"),
            Column("hen_youngest_y", "number"),
            Column("clutches_a_season", "count"),
            Column("heaviest", "weight"),
            _NOTES,
        ),
        (("species",),),
        key="species",
    ),
    Log(
        "reference",
        (
            Column("species", "name"),
            Column("age_d", "days"),
            Column("median", "weight"),
            Column("low", "weight"),
            Column("high", "weight"),
            Column("rearing", "text"),
            Column("source", "text"),
            _NOTES,
        ),
        (("species",), ("age_d",), ("median",)),
    ),
)

LOGS: dict[str, Log] = {log.name: log for log in _LOGS}

SMALL_FORM = ("hatches", "weights", "losses", "pairs", "settings")
