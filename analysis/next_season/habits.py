"""What a pair does in a season, as far as the logs tell: when it lays, how often, and how long its young take."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.review import Record
from analysis.review.record import Array
from analysis.season.species import incubation_range, written_for

_SPACING_D = 60.0  # practice: from one clutch's first egg to the next one's
_WEAN_D = 45.0  # practice, where no chick of the kind was weaned yet and species says nothing
_INCUBATION_D = 21.0
_FIRST_DAY = 75.0  # practice: middle of March, where no laying day is known


@dataclass(frozen=True)
class Habits:
    """One pair's habits.

    Parameters
    ----------
    clutches : how many it laid, one number a season
    sizes : eggs in a clutch, its own clutches and those of its species
    first_day : day of the year of its first egg
    spacing_d : from one clutch's first egg to the next one's
    incubation_d, wean_d : days
    """

    clutches: Array
    sizes: Array
    first_day: float
    spacing_d: float
    incubation_d: float
    wean_d: float


def habits(record: Record, pair: str) -> Habits:
    """Read a pair's habits from all joined seasons; what it never did is taken from its species, then from all."""
    species = str(record.birds.pairs.set_index("pair").loc[pair, "species"])
    log, read = record.season.logs["species"], incubation_range(species)
    laid = record.clutches.merge(_first_eggs(record), on=["season", "pair", "clutch"], how="left")
    ways = [laid[laid["pair"] == pair], laid[laid["species"] == species], laid]
    return Habits(
        clutches=_most(record, species, _a_season(ways)),
        sizes=_sizes(ways),
        first_day=_known([way.groupby(["season", "pair"])["day"].min().median() for way in ways], _FIRST_DAY),
        spacing_d=_known([_spacing(way) for way in ways], _SPACING_D),
        incubation_d=_known(
            [written_for(log, species, "incubation_d"), read.high if read else None],
            _INCUBATION_D,
        ),
        wean_d=_known([_weaned_at(record, species), written_for(log, species, "wean_to_d")], _WEAN_D),
    )


def _known(values: list[float | None], otherwise: float) -> float:
    return next((float(value) for value in values if value is not None and not pd.isna(value)), otherwise)


def _first_eggs(record: Record) -> pd.DataFrame:
    """Day of the year of the first egg of each clutch: season, pair, clutch, day."""
    by = ["season", "pair", "clutch"]
    eggs, counted = record.birds.eggs, record.birds.clutches
    days = pd.concat([eggs[[*by, "laid_on"]], counted[[*by, "first_egg_on"]].set_axis([*by, "laid_on"], axis=1)])
    first = days.groupby(by)["laid_on"].min()
    return first.dt.day_of_year.rename("day").reset_index()


def _a_season(ways: list[pd.DataFrame]) -> Array:
    """Clutches a season of the pair, or of its species where it has laid none."""
    for way in ways:
        if len(way):
            return np.asarray(way.groupby(["season", "pair"]).size(), float)
    return np.array([1.0])


def _most(record: Record, species: str, clutches: Array) -> Array:
    """No more than the keeper's own limit."""
    limit = written_for(record.season.logs["species"], species, "clutches_a_season")
    return np.minimum(clutches, limit or record.season.settings.number("clutches_then_rest"))


def _sizes(ways: list[pd.DataFrame]) -> Array:
    own, alike, every = (way["eggs"].dropna().to_numpy(float) for way in ways)
    sizes = np.concatenate([own, alike])
    return sizes if len(sizes) else every if len(every) else np.array([4.0])


def _spacing(laid: pd.DataFrame) -> float | None:
    days = laid.dropna(subset=["day"]).sort_values("day").groupby(["season", "pair"])["day"].diff().dropna()
    return float(days.median()) if len(days) else None


def _weaned_at(record: Record, species: str) -> float | None:
    chicks = record.birds.chicks
    weaned = chicks[(chicks["species"] == species) & chicks["weaned_on"].notna() & chicks["hatched_at"].notna()]
    ages = (weaned["weaned_on"] - weaned["hatched_at"].dt.normalize()).dt.days
    return float(ages.median()) if len(ages) else None
