"""What holds for a species: the keeper's own where the species log says, else what was read, in `species.toml`."""

import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any, NamedTuple

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import Row
from analysis.logs.headings import same, words_of

YOURS = found("due.your-species-log")
MARKS = ("read", "practice", "memory")  # how far a source is to be trusted, the surest first
LEFT_OUT = "left out"  # the mark of a source that is named and not held
# Plurals of the languages of the table, the longest first; what is left of a word has at least three letters.
_PLURALS = (("ies", "y"), ("ie", "y"), ("es", ""), ("en", ""), ("e", ""), ("s", ""), ("x", ""))
_LEAST = 3
_NO_RANGE = ("kind", "scientific", "names", "large")
# The columns of the species log that say from when to when; one alone is both.
_OWN = {"pip_to_hatch": ("pip_from_h", "pip_to_h")} | {
    what: (f"{what}_from_d", f"{what}_to_d") for what in ("candle", "ring", "wean")
}


class Reading(NamedTuple):
    """What one source says: from and to, its mark (read, practice or memory; left out: named alone), and who it is."""

    low: float
    high: float
    mark: str
    source: str


class Days(NamedTuple):
    """A range that holds what all its sources say, and the mark of the less sure of its two ends."""

    low: float
    high: float
    mark: str
    readings: tuple[Reading, ...]


class Held(NamedTuple):
    """From when to when something is due, and who says so: the keeper's own log, or the table."""

    low: float
    high: float
    source: Finding


@dataclass(frozen=True)
class SpeciesFacts:
    """What is known of a species: its kind (parrot, finch or dove), its other names, and the ranges somebody gives.

    `large`: an amazon, macaw, cockatoo or grey parrot.
    """

    name: str
    kind: str
    names: tuple[str, ...]
    known: Mapping[str, Days]
    large: bool = False

    def days(self, what: str) -> Days | None:
        """The range of a fact of `species.toml`, such as "incubation", in days; "pip_to_hatch" is in hours."""
        return self.known.get(what)

    @property
    def water_loss(self) -> Days | None:
        """The share of its fresh mass that an egg loses by pip."""
        percent = self.known.get("water_loss")
        return percent and percent._replace(low=percent.low / 100, high=percent.high / 100)


@lru_cache(maxsize=1 << 10)
def species_facts(species: str) -> SpeciesFacts | None:
    """Find what is known of a species by any of its names, or None; a word that several birds share names none.

    Case, accents, hyphens, plurals and the language do not count: "Budgies" and "Wellensittich" are one.

    Source: each number has its own, see `species.toml`.

    Examples
    --------
    >>> species_facts("Wellensittiche").days("incubation")[:2]
    (17.0, 21.0)
    """
    return next((_by_name()[key] for key in name_keys(species) if key in _by_name()), None)


def species_asked(species: str, *, of_a_genus: bool = False) -> tuple[str, ...]:
    """The species that a word may mean which several birds share, such as "conure"; empty where it is no such word.

    `of_a_genus`: only of words for a few birds alike, and not of such as "parrot" and "finch".
    """
    return next((_asked(of_a_genus)[key] for key in name_keys(species) if key in _asked(of_a_genus)), ())


@lru_cache(maxsize=1 << 10)
def species_key(species: str) -> str:
    """What all names of one species have in common; of one that the table does not know, all its spellings."""
    facts = species_facts(species)
    return same(facts.name) if facts else next(iter(name_keys(species)), same(species))


def incubation_range(species: str) -> Days | None:
    """Days from steady incubation to hatch, as `species.toml` has them; None where nobody says."""
    facts = species_facts(species)
    return facts.days("incubation") if facts else None


@cache
def any_bird(what: str) -> Days:
    """What holds where nothing is known of the species: "candle", "pip_to_hatch", "pins", "feathered" and so on."""
    return _range(_table()["any"][what])


@cache
def longest_incubation_d() -> float:
    """The most days that any egg of the table takes; past them an egg of an unknown species is overdue too."""
    return max(days.high for facts in all_species() if (days := facts.days("incubation")))


@cache
def all_species() -> tuple[SpeciesFacts, ...]:
    """Every species of `species.toml`, with what holds for its kind beside what holds for itself."""
    species = []
    for name, own in _table()["species"].items():
        kind = _table()["kinds"][own["kind"]]
        facts = [what for what in own | kind if what not in _NO_RANGE]
        known = {what: _range([*own.get(what, ()), *kind.get(what, ())]) for what in facts}
        genus, _, kept = own["scientific"].partition(" ")
        names = (*own["names"], own["scientific"], f"{genus[0]}. {kept}")
        species.append(SpeciesFacts(name, own["kind"], names, known, own.get("large", False)))
    return tuple(species)


@cache
def shared_words() -> tuple[str, ...]:
    """The words that several birds share."""
    return tuple(word for one in _table()["asked"] for word in one["words"])


@cache
def _table() -> dict[str, Any]:
    text = files("analysis.season").joinpath("species.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _range(lines: Iterable[tuple[float, float, str, str]]) -> Days:
    readings = tuple(Reading(float(low), float(high), mark, source) for low, high, mark, source in lines)
    held = [one for one in readings if one.mark != LEFT_OUT]
    low, high = min(one.low for one in held), max(one.high for one in held)
    ends = [min(MARKS.index(one.mark) for one in held if end in one[:2]) for end in (low, high)]
    return Days(low, high, MARKS[max(ends)], readings)


@cache
def _by_name() -> dict[str, SpeciesFacts]:
    named = ((name, facts) for facts in all_species() for name in (facts.name, *facts.names))
    return {key: facts for name, facts in named for key in name_keys(name)}


@cache
def _asked(of_a_genus: bool) -> dict[str, tuple[str, ...]]:
    shared = [one for one in _table()["asked"] if not (of_a_genus and one.get("wide"))]
    return {key: tuple(one["may_be"]) for one in shared for word in one["words"] for key in name_keys(word)}


def name_keys(name: str) -> Iterator[str]:
    """What the spellings of a name have in common: word by word, then as one word; nothing where no letter is."""
    words = ["grey" if word == "gray" else word for word in words_of(_plain(name))]
    if words:
        yield "".join(map(_singular, words))
        yield _singular("".join(words))


def _plain(name: str) -> str:
    for sign, plain in (("&", " and "), ("'", ""), ("’", "")):
        name = name.replace(sign, plain)
    return name


def _singular(word: str) -> str:
    endings = ((many, one) for many, one in _PLURALS if len(word) >= len(many) + _LEAST and word.endswith(many))
    return next((word.removesuffix(many) + one for many, one in endings), word)


def keepers_species(rows: list[Row]) -> dict[str, Row]:
    """The rows of the species log by name."""
    return {same(row["species"]): row for row in rows}


def written_for(log: pd.DataFrame, species: str, column: str) -> float | None:
    """A number that the species log gives for a species, of a column such as incubation_d; None where it gives none."""
    if log.empty or column not in log:
        return None
    mine = log.loc[log["species"].map(species_key) == species_key(species), column].dropna()
    return float(mine.iloc[0]) if len(mine) else None


def window_written(log: pd.DataFrame, species: str, what: str) -> tuple[float, float] | None:
    """The span that the species log gives for "candle", "ring", "wean" or "pip_to_hatch"; one end alone is both."""
    ends = [written_for(log, species, column) for column in _OWN[what]]
    written = [day for day in ends if day is not None]
    return (min(written), max(written)) if written else None


def window_held(log: pd.DataFrame, species: str, what: str) -> Held | None:
    """The span that holds for "candle", "ring", "wean" or "pip_to_hatch", and who says so; None where nobody does.

    The keeper's own row of the species log goes before the table. Candling alone has days for any bird.
    """
    written = window_written(log, species, what)
    if written:
        return Held(*written, YOURS)
    facts = species_facts(species)
    read = facts.days(what) if facts else any_bird(what) if what == "candle" else None
    return Held(read.low, read.high, said_by(read, what)) if read else None


def pip_hours(log: pd.DataFrame, species: str) -> Held:
    """Hours from the first pip to the hatch, and who says so; where nobody does, the fewest of any bird it may be."""
    held = window_held(log, species, "pip_to_hatch")
    if held:
        return held
    may_be = [facts for name in species_asked(species) if (facts := species_facts(name))] or all_species()
    read = [hours for facts in may_be if (hours := facts.days("pip_to_hatch"))]
    fewest = min(hours.low for hours in read), min(hours.high for hours in read)
    return Held(*fewest, found("due.no-hours-known"))


def said_by(read: Days, what: str) -> Finding:
    """Who says what the table has, in few words: that it is remembered or custom is always said."""
    if read.mark != "read":
        return found("due.from-memory" if read.mark == "memory" else "due.practice")
    if what == "candle" and read[:2] == any_bird("candle")[:2]:
        return found("due.hari-incubation")
    return found("due.general-tables" if what == "incubation" else "due.breeders-texts")


def said_span(low: float, high: float) -> Finding:
    """A number, or from one to another, as a keeper reads it."""
    return found("logs.number", of=low) if low == high else found("logs.span", low=low, high=high)


def species_kind(species: str) -> str:
    """Whether a species is a parrot, a finch or a dove, also where a word such as "finch" is all that is written."""
    facts = [species_facts(name) for name in species_asked(species) or (species,)]
    kinds = {one.kind if one else "" for one in facts}
    return kinds.pop() if len(kinds) == 1 else ""


def incubation_d(species: str, own: dict[str, Row]) -> float | None:
    """The most days that an egg of this species takes, by the species log or `species.toml`; None where none says."""
    row, read = own.get(same(species)), incubation_range(species)
    return (row["incubation_d"] if row else None) or (read.high if read else None)
