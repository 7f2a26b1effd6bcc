"""What holds for a species: the keeper's own species log, else what was read of it."""

from typing import NamedTuple

import pandas as pd

from analysis.logs.names import same
from analysis.season import Season
from analysis.season.species import INCUBATION_D

YOURS = "your species log"
# The shorter of the days from steady incubation to hatch; the longer ones are `INCUBATION_D`. General tables, read.
FROM_D = {
    "grey parrot": 28,
    "amazon": 26,
    "blue-and-gold macaw": 25,
    "caique": 25,
    "pionus": 24,
    "rosella": 21,
    "barred parakeet": 18,
    "cockatiel": 19,
    "budgerigar": 17,
    "sun conure": 23,
    "zebra finch": 14,
    "peach-faced lovebird": 22,  # memory
    "canary": 13,  # memory
}
SPREAD_D = 2  # practice: eggs of a species hatch within two days or so of the longest
RING_D = {"budgerigar": (7, 10)}  # breeders' texts, read


class Window(NamedTuple):
    """Ages in days, the day of hatch being 0, from and to which something is done, and who says so."""

    from_d: float
    to_d: float
    source: str


def usual_days(season: Season, species: str) -> tuple[float, float]:
    """Days from steady incubation to hatch, from and to.

    The keeper's own `incubation_d` is the longest; else the general table. The shortest is the table's, or two days
    fewer than the longest (practice) where no table has it or the keeper's own is shorter still.

    Parameters
    ----------
    season : Season
    species : its name as the logs have it

    Returns
    -------
    (from, to) in days; NaN where nobody says

    Source: general tables, see `season.species`.

    Examples
    --------
    >>> from analysis import open_season
    >>> season = open_season("data_demo/season_2026")
    >>> usual_days(season, "Cockatiel"), usual_days(season, "canary"), usual_days(season, "")
    ((19.0, 21.0), (13.0, 14.0), (nan, nan))
    """
    longest = _own(season, species, "incubation_d") or INCUBATION_D.get(same(species))
    if longest is None:
        return float("nan"), float("nan")
    shortest = FROM_D.get(same(species), longest)
    known = same(species) in FROM_D and shortest <= longest
    return float(shortest if known else longest - SPREAD_D), float(longest)


def usual_source(season: Season, species: str) -> str:
    """Who says how long the eggs of a species take."""
    return YOURS if _own(season, species, "incubation_d") else "general tables"


def window(season: Season, species: str, what: str) -> Window | None:
    """The keeper's own days for "ring" or "wean", or those read; None where nobody says.

    Where only one of the two days is written, it is both.
    """
    ends = [_own(season, species, f"{what}_{end}_d") for end in ("from", "to")]
    written = [day for day in ends if day is not None]
    if written:
        return Window(min(written), max(written), YOURS)
    if what == "ring" and same(species) in RING_D:
        return Window(*RING_D[same(species)], "breeders' texts")
    return None


def limit_of(season: Season, species: str) -> tuple[float, str]:
    """Clutches after which a pair rests, and who says so."""
    own = _own(season, species, "clutches_a_season")
    if own is not None:
        return own, YOURS
    yours = "clutches_then_rest" in season.settings.values
    return season.settings.number("clutches_then_rest"), "your own setting" if yours else "several keepers' texts"


def _own(season: Season, species: str, column: str) -> float | None:
    log = season.logs.get("species", pd.DataFrame(columns=["species", column]))
    mine = log.loc[log["species"].map(same) == same(species), column].dropna()
    return float(mine.iloc[0]) if len(mine) else None
