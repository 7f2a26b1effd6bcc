"""The nests in which birds rear their young: which of them to look into on a day."""

from collections.abc import Iterator

import pandas as pd

from analysis.day.things import DAY, PRACTICE, Thing, day_range
from analysis.finding import found
from analysis.season import Season, last_records, unaccounted_chicks
from analysis.season.chicks import WEAN_D
from analysis.season.species import window_held


def nests_due(season: Season, day: pd.Timestamp) -> Iterator[Thing]:
    """The nests with chicks that birds rear, where on this day nobody wrote of any of them yet; until they can wean.

    Look once a day, as often as the pair bears it: practice.
    """
    chicks, hatched = season.chicks, season.chicks["hatched_at"].dt.normalize()
    chicks = chicks.assign(age_d=(day - hatched).dt.days, last_on=chicks["chick"].map(last_records(season, day)))
    here = chicks["fate"].eq("being reared") & ~chicks["by_hand"] & chicks["reared_by"].ne("") & (chicks["age_d"] >= 0)
    chicks = chicks[here & ~chicks["chick"].isin(unaccounted_chicks(season, day)["chick"])]
    windows = {one: window_held(season.logs["species"], one, "wean") for one in chicks["species"].unique()}
    in_nest_d = chicks["species"].map({one: days.low if days else WEAN_D for one, days in windows.items()})
    chicks = chicks[chicks["age_d"] < in_nest_d.astype(float)]
    cages = dict(zip(season.pairs["pair"], season.pairs["cage"], strict=True))
    for pair, own in chicks.groupby("reared_by", sort=True):
        last_on = pd.to_datetime(own["last_on"]).max()
        if last_on == day:
            continue
        days, last = day_range(own["age_d"].min(), own["age_d"].max()), None if pd.isna(last_on) else last_on
        why = found("due.nest", chicks=own["chick"].tolist(), days=days, last=last)
        since_on = pd.NaT if last is None else last + DAY
        where = "" if cages.get(pair) == pair else cages.get(pair, "")
        yield Thing("nest", str(pair), str(pair), why, PRACTICE, where=where, since_on=since_on)
