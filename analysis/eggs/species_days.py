"""The usual days and lines of a species: the keeper's own species log, else what was read of it."""

import pandas as pd

from analysis.eggs.hatch_days import expected_hatch
from analysis.eggs.water_advice import HIGH_LINE, LINES_SOURCE, LOW_LINE
from analysis.finding import Finding, Words, found
from analysis.season import Season
from analysis.season.species import incubation_range, species_facts, written_for

YOURS = found("due.your-species-log")
SPREAD_D = 2  # practice: eggs of a species hatch within two days or so of the longest


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

    Source: each species has its own, in `season/species.toml`.

    Examples
    --------
    >>> from analysis import open_season
    >>> season = open_season("data_demo/season_2026")
    >>> usual_days(season, "Cockatiel"), usual_days(season, "canary"), usual_days(season, "")
    ((19.0, 21.0), (13.0, 14.0), (nan, nan))
    """
    own, read = written_for(season.logs["species"], species, "incubation_d"), incubation_range(species)
    longest = own or (read.high if read else None)
    if longest is None:
        return float("nan"), float("nan")
    shortest = read.low if read and read.low <= longest else longest - SPREAD_D
    return float(shortest), float(longest)


def pip_hours(species: str) -> tuple[float, float]:
    """Hours from external pip to hatch, from and to, as `season/species.toml` has them; NaN where nobody says.

    Examples
    --------
    >>> pip_hours("cockatiel"), pip_hours("zebra finch")
    ((24.0, 72.0), (6.0, 24.0))
    """
    facts = species_facts(species)
    read = facts.days("pip_to_hatch") if facts else None
    return (float(read.low), float(read.high)) if read else (float("nan"), float("nan"))


def water_lines(season: Season, species: str) -> tuple[float, float, Words]:
    """Shares of its fresh mass between which an egg should lose water by pip, and who says so.

    The keeper's own `water_loss_from_pct` and `water_loss_to_pct`; else those read of the species; else the general
    lines, of which one alone of the keeper's takes the other.

    Examples
    --------
    >>> from analysis import open_season
    >>> water_lines(open_season("data_demo/season_2026"), "cockatiel")[:2]
    (0.13, 0.17)
    """
    facts = species_facts(species)
    read = facts.water_loss if facts else None
    low, high, source = (read.low, read.high, read.source) if read else (LOW_LINE, HIGH_LINE, LINES_SOURCE)
    log = season.logs["species"]
    own = [written_for(log, species, f"water_loss_{end}_pct") for end in ("from", "to")]
    if own == [None, None]:
        return low, high, source
    ends = [mine / 100 if mine is not None else end for mine, end in zip(own, (low, high), strict=True)]
    return min(ends), max(ends), YOURS


def usual_source(season: Season, species: str) -> Finding:
    """Who says how long the eggs of a species take."""
    if written_for(season.logs["species"], species, "incubation_d"):
        return YOURS
    read = incubation_range(species)
    return found("due.from-memory" if read and read.mark == "memory" else "due.general-tables")


def expected_eggs(season: Season) -> pd.DataFrame:
    """When each egg of a season is expected to pip and hatch, by the index of `season.eggs`.

    From the usual days of its species and the keeper's own eggs that hatched, of this season and those joined to it.

    Returns
    -------
    frame, a row an egg: usual_from_d and usual_to_d (see `usual_days`), pip_from_h and pip_to_h (see `pip_hours`),
    and the columns of `expected_hatch`

    Examples
    --------
    >>> from analysis import open_season
    >>> expected = expected_eggs(open_season("data_demo/season_2026", up_to="2026-05-20"))
    >>> int(expected["own"].max()) > 20
    True
    """
    eggs = season.eggs[["species", "set_on", "laid_on"]]
    known = {one: (*usual_days(season, one), *pip_hours(one)) for one in eggs["species"].unique()}
    names = ["usual_from_d", "usual_to_d", "pip_from_h", "pip_to_h"]
    rows = [known[one] for one in eggs["species"]]
    eggs = eggs.join(pd.DataFrame(rows, index=eggs.index, columns=names, dtype=float))
    return eggs[names].join(expected_hatch(eggs, _finished(season)))


def _finished(season: Season) -> pd.DataFrame:
    """The keeper's own eggs that hatched, of this season and those joined to it."""
    columns = ["species", "set_on", "laid_on", "hatched_at"]
    eggs = pd.concat([one.eggs for one in (season, *season.earlier)], ignore_index=True)
    return eggs.loc[eggs["outcome"].eq("hatched") & eggs["hatched_at"].notna(), columns]
