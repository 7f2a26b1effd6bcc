"""What each pair does from season to season: how often it lays, when it begins, how long before that it is put up."""

import numpy as np
import pandas as pd

from analysis.names import NOT_WRITTEN
from analysis.pairs.record import Array, Record
from analysis.season import Season
from analysis.season.across_seasons import seasons_by_name
from analysis.season.days import season_bounds
from analysis.season.species import written_for

OWN, ALIKE, ALL, CUSTOM = "own", "alike", "all", "custom"  # whose habit it is: its own, its species', all pairs'
_BESIDE = 2.0  # seasons of its species that a pair's own seasons are held against (practice)
# Pairs that laid nothing in a season: 0 of 8 timneh greys (Loro Parque news, Watchbird), 1 of 5 puaiohi (Kuehler et al.
# 2000), 1 of 13 echo parakeets (Greenwood 1997, PsittaScene 9(1)); at most 36 % of zebra finch hens (Griffith et al.
# 2017, from memory). So 10 %, weak: as if of ten pair-seasons one had been empty.
_NOTHING, _SEASONS = 0.1, 10.0
_AGAIN = 0.5  # pair-seasons of each answer beforehand to whether another clutch follows (Jeffreys)
_MOST = 12  # clutches of a colony or trio, of which nobody knows whose they are
_SPACING_D, _SLACK = 60.0, 1.5  # practice: from one clutch's first egg to the next one's, and until none is waited for
_FIRST_D = 74.0  # practice: the middle of March in a season that is a year, where no laying day is known
_LEAD_D, _LONGEST_LEAD_D = 30.0, 180.0  # practice: put up a month before; half a year before tells nothing of laying
_YEAR, _DAY = pd.DateOffset(years=1), pd.Timedelta(days=1)


def days_ahead(season: Season) -> tuple[pd.Timestamp, pd.Timestamp]:
    """The first and last day of the season after this one: its own days a year later; a year, where it names none."""
    begins, bounds = _begins(season), season_bounds(season.settings)
    return begins + _YEAR, (bounds[1] if bounds else begins + _YEAR - _DAY) + _YEAR


def _begins(season: Season) -> pd.Timestamp:
    """The first day of a season; where it names none, of the year in which the first egg was laid."""
    if bounds := season_bounds(season.settings):
        return bounds[0]
    first = pd.concat([season.eggs["laid_on"], season.clutches["first_egg_on"]]).min()
    return pd.Timestamp(season.day if pd.isna(first) else first).normalize().replace(month=1, day=1)


def most_clutches(season: Season, species: str, kind: str = "pair") -> int:
    """Clutches that a pair lays in a season at most, by the species log or the setting; of a group nobody can say."""
    limit = written_for(season.logs["species"], species, "clutches_a_season")
    return _MOST if kind != "pair" else int(limit or season.settings.number("clutches_then_rest"))


def pair_seasons(record: Record) -> pd.DataFrame:
    """What every pair did in every joined season in which it was a pair of the aviary.

    Returns a row a pair and season: season, pair, species, kind; clutches laid (0 where none was); running, whether
    another may still come, since these logs end (or the pair was parted) too soon to tell; first_d, its first laying
    day, counted from the first day of that season; lead_d, days from being put up to that day, and spacing_d, from one
    clutch's first egg to the next one's. NaN where it is not known.
    """
    keys, birds = ["season", "pair"], record.birds
    first_eggs = _first_eggs(record).groupby(keys)["day"]
    laid = first_eggs.agg(first="min", last="max").join(first_eggs.apply(_spacing).rename("spacing_d")).reset_index()
    rows = birds.names[keys].drop_duplicates().merge(birds.pairs[["pair", "species", "kind"]], on="pair", how="left")
    rows = rows.merge(laid, on=keys, how="left").merge(_put_up(record), on=keys, how="left")
    counts = record.clutches.groupby(keys).size().rename("clutches").reset_index()
    rows = rows.merge(counts, on=keys, how="left").fillna({"clutches": 0}).astype({"clutches": int})
    rows["begins"] = rows["season"].map({name: _begins(one) for name, one in seasons_by_name(record.season).items()})
    lead = (rows["first"] - rows["put_up_on"]).dt.days
    rows["lead_d"] = lead.where((lead >= 0) & (lead <= _LONGEST_LEAD_D))
    rows["first_d"] = (rows["first"] - rows["begins"]).dt.days
    rows["species"] = rows["species"].replace("", NOT_WRITTEN)
    rows["running"] = _running(record, rows)
    columns = [*keys, "species", "kind", "clutches", "running", "first_d", "lead_d", "spacing_d"]
    return rows[columns].reset_index(drop=True)


def _first_eggs(record: Record) -> pd.DataFrame:
    """The day of the first egg of each clutch, where it is written: season, pair, clutch, day."""
    by = ["season", "pair", "clutch"]
    counted = record.birds.clutches.rename(columns={"first_egg_on": "laid_on"})
    days = pd.concat([frame[[*by, "laid_on"]] for frame in (record.birds.eggs, counted)]).dropna()
    return days.groupby(by)["laid_on"].min().rename("day").reset_index()


def _spacing(days: pd.Series) -> float:
    return float(days.sort_values().diff().dt.days.median())


def _put_up(record: Record) -> pd.DataFrame:
    """When each pair was put up and parted, as each season has it: season, pair, put_up_on, parted_on."""
    parts = []
    for name, season in seasons_by_name(record.season).items():
        own = season.pairs[["pair", "put_up_on", "parted_on"]].assign(season=name)
        parts.append(record.birds.rename(own, name))
    return pd.concat(parts, ignore_index=True).drop_duplicates(["season", "pair"])


def _running(record: Record, rows: pd.DataFrame) -> pd.Series:
    """Whether another clutch may still come: only in the season that was opened, at most so long after the last one."""
    season = record.season
    most = [most_clutches(season, *of) for of in zip(rows["species"], rows["kind"], strict=True)]
    habits = [{what: usual(rows, pair, what)[0] for what in ("first_d", "spacing_d")} for pair in rows["pair"]]
    usual_d = pd.DataFrame(habits, index=rows.index)
    first = rows["begins"] + pd.to_timedelta(usual_d["first_d"], unit="D")
    due = first.where(~(first < rows["put_up_on"]), rows["put_up_on"] + pd.Timedelta(days=_LEAD_D))
    over = rows["last"].fillna(due) + pd.to_timedelta(_SLACK * usual_d["spacing_d"], unit="D")
    until = rows["parted_on"].where(rows["parted_on"] < season.day, season.day)
    return (rows["season"] == record.this_season) & (until < over) & (rows["clutches"] < np.array(most))


_OTHERWISE = {"first_d": _FIRST_D, "lead_d": _LEAD_D, "spacing_d": _SPACING_D}


def usual(seasons: pd.DataFrame, pair: str, what: str) -> tuple[float, str]:
    """The usual first_d, lead_d or spacing_d of a pair, the middle of what is known, and whose habit that is.

    `seasons` from `pair_seasons`. Its own; where none is known that of its species, then of all pairs, then the custom.
    """
    mine = seasons["pair"] == pair
    alike = seasons["species"].isin(seasons.loc[mine, "species"])
    for whose, rows in ((OWN, mine), (ALIKE, alike), (ALL, mine | True)):
        known = seasons.loc[rows, what].dropna()
        if len(known):
            return float(known.median()), whose
    return _OTHERWISE[what], CUSTOM


def clutch_chances(record: Record, seasons: pd.DataFrame, pair: str, *, new: bool = False) -> Array:
    """The chance that a pair lays 0, 1, 2 … clutches next season, up to the most that is allowed: see `most_clutches`.

    Its own seasons count one each beside two of its species; `seasons` from `pair_seasons`, a season in which it laid
    nothing among them. Of a season that still runs only what was laid so far is known: at least so many. `new`: of a
    pair of its species that was never seen.
    """
    mine = seasons[seasons["pair"] == pair]
    alike = seasons[seasons["species"].isin(mine["species"]) & seasons["kind"].isin(mine["kind"])]
    most = most_clutches(record.season, str(mine["species"].iloc[0]), str(mine["kind"].iloc[0]))
    species = _chances(alike["clutches"].clip(upper=most), alike["running"], most)
    if new:
        return species
    given = _BESIDE * species
    for clutches, running in zip(mine["clutches"].clip(upper=most), mine["running"], strict=True):
        some = np.where(np.arange(most + 1) >= clutches, species, 0.0) if running else np.eye(most + 1)[clutches]
        given = given + some / some.sum()
    return np.asarray(given / given.sum())


def _chances(clutches: pd.Series, running: pd.Series, most: int) -> Array:
    """The chance of each count, step by step: of the pair-seasons that came so far, how many stopped there.

    This is the product-limit estimate (Kaplan & Meier 1958), with a weak answer beforehand at every step.
    """
    left, chances = 1.0, np.zeros(most + 1)
    for count in range(most):
        stopped = int(((clutches == count) & ~running).sum())
        went_on = int((clutches > count).sum())
        before = (_NOTHING * _SEASONS, _SEASONS) if count == 0 else (_AGAIN, 2 * _AGAIN)
        chances[count] = left * (stopped + before[0]) / (stopped + went_on + before[1])
        left -= chances[count]
    chances[most] = left
    return chances
