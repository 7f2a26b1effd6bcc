"""What holds for a species: incubation days by default, the keeper's own where the species log says."""

import pandas as pd

from analysis.logs import Row
from analysis.logs.names import same

# Days from steady incubation to hatch, at most. Read in general tables; those marked are from memory.
INCUBATION_D = {
    "grey parrot": 28,
    "amazon": 28,
    "blue-and-gold macaw": 29,
    "caique": 27,
    "pionus": 26,
    "rosella": 21,
    "barred parakeet": 20,
    "cockatiel": 21,
    "budgerigar": 20,
    "sun conure": 27,
    "zebra finch": 14,
    "peach-faced lovebird": 24,  # memory
    "canary": 14,  # memory
}
# The shorter of these days, in the same tables.
INCUBATION_FROM_D = {
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
_LONGEST_D = 30  # practice: past this, an egg of any species here is overdue
_LATE_D = 5  # practice: eggs set one by one, and a cool start, run a few days late


def keepers_species(rows: list[Row]) -> dict[str, Row]:
    """Return the rows of the species log by name."""
    return {same(row["species"]): row for row in rows}


def written_for(log: pd.DataFrame, species: str, column: str) -> float | None:
    """Return a number that the species log gives for a species, or None where it gives none.

    Parameters
    ----------
    log : the species log of a season
    species : its name, in any case
    column : such as incubation_d

    Examples
    --------
    >>> log = pd.DataFrame({"species": ["Cockatiel"], "incubation_d": [20.0], "hen_oldest_y": [None]})
    >>> written_for(log, "cockatiel", "incubation_d"), written_for(log, "cockatiel", "hen_oldest_y")
    (20.0, None)
    """
    mine = log.loc[log["species"].map(same) == same(species), column].dropna()
    return float(mine.iloc[0]) if len(mine) else None


def incubation_d(species: str, own: dict[str, Row]) -> float:
    """Return the days after which an egg of this species is no longer taken to be incubating.

    Examples
    --------
    >>> incubation_d("Cockatiel", {})
    26.0
    """
    row = own.get(same(species))
    days = row["incubation_d"] if row else None
    return float(days or INCUBATION_D.get(same(species), _LONGEST_D)) + _LATE_D
