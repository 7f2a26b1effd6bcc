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

    `kind` is name, date, moment (a date, or a date and time), hour (a moment, or an hour alone, of the day of the
    moment `after` which it comes or of the next), number, count, days, weight, temperature, percent, choice or text.
    `small` columns are in the small form of `season new`. `in_season` dates are held against the bounds of the season;
    birds hatch and pairs are put up in other years.
    """

    name: str
    kind: str
    choices: tuple[str, ...] = ()
    small: bool = False
    in_season: bool = True
    free: bool = False  # a choice that may also be anything else
    after: str = ""


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
CANDLED_AGAIN = ("fertile", "clear", "dead", "not sure")
STAGES = ("down", "pins", "feathered")  # how far a chick's feathers are, from the day it was seen; the latest counts
NOT_EMPTYING = "crop not emptying"
THICKNESSES = AS_PACKET, THICKER, THINNER = ("as the packet says", "thicker", "thinner")
SIGNS = tuple(keepers_words()["signs"])
GOOD_SIGNS = ("eating alone", "begging again", "well again", *STAGES)  # what is no alarm


def _of(kind: str, *names: str, small: bool = False, in_season: bool = True) -> list[Column]:
    return [Column(name, kind, small=small, in_season=in_season) for name in names]


_NOTES = Column("notes", "text", small=True)

_LOGS = (
    Log(
        "hatches",
        (
            *_of("name", "pair", "clutch", "egg", small=True),
            *_of("date", "laid_on", small=True),
            *_of("date", "set_on"),
            Column("candled", "choice", ("fertile", "clear", "not sure")),
            *_of("date", "candled_on"),
            Column("candled_again", "choice", CANDLED_AGAIN),
            *_of("date", "candled_again_on"),
            *_of("moment", "pipped_at"),
            Column("outcome", "choice", OUTCOMES, small=True),
            *_of("moment", "hatched_at", small=True),
            *_of("days", "sure_to_days"),
            *_of("name", "chick", small=True),
            *_of("name", "ring"),
            *_of("text", "sex", "colour"),
            *_of("name", "species", "cage", "incubated_by"),
            *_of("name", "reared_by", small=True),
            *_of("name", "brooder"),
            *_of("date", "arrived_on"),
            *_of("date", "weaned_on", small=True),
            *_of("date", "left_on"),
            *_of("number", "length_mm", "breadth_mm"),
            _NOTES,
        ),
        (("egg", "chick"),),
    ),
    Log(
        "weights",
        (
            *_of("name", "chick", small=True),
            *_of("moment", "weighed_at", small=True),
            *_of("weight", "weight", small=True),
            Column("crop", "choice", ("empty", "part", "full")),
            _NOTES,
        ),
        (("chick",), ("weighed_at",), ("weight",)),
    ),
    Log(
        "losses",
        (
            *_of("name", "chick", small=True),
            *_of("name", "egg"),
            *_of("date", "found_on", small=True),
            *_of("date", "last_seen_well_on"),
            *_of("text", "cause", small=True),
            *_of("text", "examined"),
            _NOTES,
        ),
        (("chick", "egg"), ("found_on",)),
    ),
    Log(
        "pairs",
        (
            *_of("name", "pair", "species", small=True),
            Column("kind", "choice", ("pair", "trio", "colony")),
            *_of("name", "cock", "hen", "cage", small=True),
            *_of("date", "put_up_on", "parted_on", in_season=False),
            _NOTES,
        ),
        (("pair",), ("species",)),
        key="pair",
    ),
    Log(
        "settings",
        (*_of("name", "setting", small=True), *_of("text", "value", "default", "reason", small=True)),
        (("setting",),),
    ),
    Log(
        "clutches",
        (
            *_of("name", "pair", "clutch"),
            *_of("count", "eggs"),
            *_of("date", "first_egg_on"),
            *_of("count", "fertile", "clear", "died_in_egg", "broken_or_gone", "hatched", "weaned"),
            *_of("name", "incubated_by"),
            _NOTES,
        ),
        (("pair",), ("clutch",), ("eggs",)),
    ),
    Log(
        "birds",
        (
            *_of("name", "bird"),
            *_of("text", "sex"),
            *_of("name", "species"),
            *_of("date", "hatched_on", "arrived_on", in_season=False),
            *_of("name", "father", "mother", "ring"),
            _NOTES,
        ),
        (("bird",),),
        key="bird",
    ),
    Log("cages", (*_of("name", "cage", "room"), _NOTES), (("cage",),), key="cage"),
    Log(
        "moves",
        (*_of("name", "what"), *_of("date", "on"), *_of("name", "to"), *_of("text", "why"), _NOTES),
        (("what",), ("on",), ("to",)),
    ),
    Log(
        "egg_weights",
        (*_of("name", "egg"), *_of("date", "weighed_on"), *_of("weight", "weight"), _NOTES),
        (("egg",), ("weighed_on",), ("weight",)),
    ),
    Log(
        "readings",
        (
            *_of("name", "place"),
            *_of("moment", "read_at"),
            *_of("temperature", "temperature"),
            *_of("percent", "humidity_pct"),
            _NOTES,
        ),
        (("place",), ("read_at",)),
    ),
    Log(
        "signs",
        (*_of("name", "who"), *_of("moment", "seen_at"), Column("sign", "choice", SIGNS, free=True), _NOTES),
        (("who",), ("seen_at",), ("sign",)),
    ),
    Log(
        "feeds",
        (
            *_of("moment", "fed_at"),
            *_of("name", "who"),
            *_of("text", "food"),
            *_of("number", "amount"),
            *_of("temperature", "temperature"),
            Column("thickness", "choice", THICKNESSES, free=True),
            Column("crop_empty_at", "hour", after="fed_at"),
            _NOTES,
        ),
        (("fed_at",),),
    ),
    Log(
        "species",
        (
            *_of("name", "species"),
            *_of("days", "incubation_d"),
            *_of("count", "clutch_eggs"),
            *_of("days", "candle_from_d", "candle_to_d"),
            *_of("number", "pip_from_h", "pip_to_h"),
            *_of("days", "ring_from_d", "ring_to_d", "wean_from_d", "wean_to_d"),
            *_of("percent", "water_loss_from_pct", "water_loss_to_pct"),
            *_of("number", "hen_oldest_y", "hen_youngest_y"),
            *_of("count", "clutches_a_season"),
            *_of("weight", "heaviest"),
            _NOTES,
        ),
        (("species",),),
        key="species",
    ),
    Log(
        "reference",
        (
            *_of("name", "species"),
            *_of("days", "age_d"),
            *_of("weight", "median", "low", "high"),
            *_of("text", "rearing", "source"),
            _NOTES,
        ),
        (("species",), ("age_d",), ("median",)),
    ),
)

LOGS: dict[str, Log] = {log.name: log for log in _LOGS}

SMALL_FORM = ("hatches", "weights", "losses", "pairs", "settings")
