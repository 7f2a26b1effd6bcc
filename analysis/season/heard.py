"""Chicks of which nothing was written for long: weaned, left or lost, and nobody wrote it? They are asked about."""

import pandas as pd

from analysis.logs.names import same
from analysis.season.model import Season
from analysis.season.species import species_facts, written_for

SILENT_D = 14  # practice: who is reared by hand is weighed every morning; after two weeks without a word it is asked
WEAN_PAST_D = 14  # practice: so long past its species' days a chick may still be fed
UNKNOWN_D = 120  # practice: weaned by then, where nobody gives a species' days; large macaws and cockatoos are later
_DAY = pd.Timedelta(days=1)
_WORDS = (
    *(("weights", "chick", "weighed_at"), ("signs", "who", "seen_at")),
    *(("feeds", "who", "fed_at"), ("moves", "what", "on")),
)


def unheard(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """Return the chicks that are written as being reared, and may not be here any more on a day.

    Nothing was written of them for two weeks, and they are reared by hand and were written of before, or are two weeks
    past the days at which their species feeds itself. A chick that was never weighed is no such chick before that.

    Parameters
    ----------
    season : opened up to the end of that day
    on : the day, at midnight; ages are counted to it

    Returns
    -------
    frame, a row a chick: chick, by_hand, heard_on (the last day on which it was weighed, seen, fed or moved; NaT: none)

    Source: practice, see the numbers above; days of weaning as `species_facts` has them, the keeper's own first.

    Examples
    --------
    >>> from analysis import open_season
    >>> demo = open_season("data_demo/season_2026", up_to="2026-11-30")
    >>> unheard(demo, demo.as_of)["chick"].tolist()
    ['K48']
    """
    chicks = season.chicks[season.chicks["fate"] == "being reared"]
    here_d = (on - chicks["hatched_at"].fillna(chicks["arrived_on"]).dt.normalize()).dt.days
    weaned_d = {species: weaned_by_d(season, species) for species in chicks["species"].unique()}
    by_d = chicks["species"].map(weaned_d).astype(float).where(chicks["hatched_at"].notna()).fillna(UNKNOWN_D)
    grown = here_d > by_d + WEAN_PAST_D
    heard_on = pd.to_datetime(chicks["chick"].map(_heard_on(season, on)))
    silent = ~(heard_on > on - SILENT_D * _DAY)
    asked = silent & (grown | (chicks["by_hand"] & heard_on.notna()))
    return chicks[["chick", "by_hand"]].assign(heard_on=heard_on)[asked].reset_index(drop=True)


def chick_called(season: Season) -> dict[str, str]:
    """Return the chick that each name or ring leads to, by the name as `same` has it."""
    rings = zip(season.chicks["ring"], season.chicks["chick"], strict=True)
    return {same(ring): chick for ring, chick in rings if ring} | {
        same(chick): chick for chick in season.chicks["chick"]
    }


def weaned_by_d(season: Season, species: str) -> float | None:
    """The age in days by which a species feeds itself: the keeper's own, else what was read; None where nobody says."""
    own = [written_for(season.logs["species"], species, f"wean_{end}_d") for end in ("to", "from")]
    facts = species_facts(species)
    read = facts.days("wean") if facts else None
    return next((day for day in (*own, read.high if read else None) if day is not None), None)


def _heard_on(season: Season, on: pd.Timestamp) -> dict[str, pd.Timestamp]:
    """The last day, up to this one, on which each chick was weighed, seen, fed or moved."""
    called = chick_called(season)
    logs = {"weights": season.weights, **season.logs}
    parts = [
        pd.DataFrame({"who": logs[log][who], "day": pd.to_datetime(logs[log][when]).dt.normalize()})
        for log, who, when in _WORDS
    ]
    heard = pd.concat(parts).dropna()
    last = heard[heard["day"] <= on].groupby("who")["day"].max()  # of each name first: there are few
    on_last: dict[str, pd.Timestamp] = last.groupby(last.index.map(same).map(called)).max().to_dict()
    return on_last
