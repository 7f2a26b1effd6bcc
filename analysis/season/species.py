"""What holds for a species: the keeper's own where the species log says, else what was read, in `species.toml`."""

import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import NamedTuple

import pandas as pd

from analysis.logs import Row
from analysis.logs.headings import same


class Days(NamedTuple):
    """A range that somebody gives, its source, and its mark: read, practice or memory."""

    low: float
    high: float
    source: str
    mark: str


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
        """The days of "incubation", "pins", "feathered" or "wean"; the hours of "pip_to_hatch"."""
        return self.known.get(what)

    @property
    def water_loss(self) -> Days | None:
        """The share of its fresh mass that an egg loses by pip."""
        percent = self.known.get("water_loss")
        return percent and percent._replace(low=percent.low / 100, high=percent.high / 100)


def species_facts(species: str) -> SpeciesFacts | None:
    """Find what is known of a species by any of its names, or None.

    Case, accents, hyphens and an English plural do not count. This is for looking up alone: birds are grouped by what
    the keeper calls them.

    Source: each range has its own, see `species.toml`.
    """
    return next((_by_name()[key] for key in _keys(species) if key in _by_name()), None)


def incubation_range(species: str) -> Days | None:
    """Days from steady incubation to hatch, as `species.toml` has them; None where nobody says."""
    facts = species_facts(species)
    return facts.days("incubation") if facts else None


@cache
def _by_name() -> dict[str, SpeciesFacts]:
    return {next(_keys(name)): facts for facts in all_species() for name in (facts.name, *facts.names)}


@cache
def all_species() -> tuple[SpeciesFacts, ...]:
    """Every species of `species.toml`; what holds for its kind holds where the species itself has nothing."""
    table = tomllib.loads(files("analysis.season").joinpath("species.toml").read_text(encoding="utf-8"))
    found = []
    for name, own in table["species"].items():
        facts = table["kinds"][own["kind"]] | own
        known = {what: Days(**one) for what, one in facts.items() if isinstance(one, dict)}
        found.append(SpeciesFacts(name, own["kind"], tuple(own["names"]), known, own.get("large", False)))
    return tuple(found)


def _keys(name: str) -> Iterator[str]:
    """What the spellings of a name have in common, as written, then as the singular of it."""
    plain = unicodedata.normalize("NFKD", name.replace("&", "and")).casefold().replace("gray", "grey")
    key = "".join(letter for letter in plain if letter.isalnum())
    yield key
    for many, one in (("ies", "y"), ("es", ""), ("s", "")):
        if key.endswith(many):
            yield key.removesuffix(many) + one


def keepers_species(rows: list[Row]) -> dict[str, Row]:
    """The rows of the species log by name."""
    return {same(row["species"]): row for row in rows}


def written_for(log: pd.DataFrame, species: str, column: str) -> float | None:
    """A number that the species log gives for a species, of a column such as incubation_d; None where it gives none."""
    mine = log.loc[log["species"].map(same) == same(species), column].dropna()
    return float(mine.iloc[0]) if len(mine) else None


def window_written(log: pd.DataFrame, species: str, what: str) -> tuple[float, float] | None:
    """The days that the species log gives for "ring" or "wean"; where only one is written it is both."""
    ends = [written_for(log, species, f"{what}_{end}_d") for end in ("from", "to")]
    written = [day for day in ends if day is not None]
    return (min(written), max(written)) if written else None


def incubation_d(species: str, own: dict[str, Row]) -> float | None:
    """The most days that an egg of this species takes, by the species log or `species.toml`; None where none says."""
    row, read = own.get(same(species)), incubation_range(species)
    return (row["incubation_d"] if row else None) or (read.high if read else None)
