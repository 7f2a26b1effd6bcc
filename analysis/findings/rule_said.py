"""The trade's own rule on a day: whom it calls a veterinarian for, decided once for page, screen, round and sheet."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.findings.growing import Growth
from analysis.growth import rule_today
from analysis.growth.trade_rule import FROM_D
from analysis.season import Season, species_facts
from analysis.season.species import window_written

FLEDGING = 0.75  # share of the weaning age from which a chick is near fledging, and gains little (practice)
_COLUMNS = ("chick", "mass_g", "before_g", "weighed_on", "age_d", "said")
_DAY = pd.Timedelta(days=1)


def called_by_rule(growth: Growth, on: pd.Timestamp) -> pd.DataFrame:
    """Return the chicks for which the trade's rule calls a veterinarian on a day.

    Of those that are here: whose kind has no curve yet (a flag says it better), not past their peak and not near
    fledging, by the weighing of the day or of the day before. Weighings of several chicks together and those with food
    in the crop count for none; a chick of unknown age is read from its first weighing on.

    Parameters
    ----------
    growth : of a season opened up to the end of the day
    on : the day, at midnight

    Returns
    -------
    frame, a row a chick: chick, mass_g, before_g, weighed_on, age_d, said (a finding,
    without who is to see it)

    Source: Duerr & Gage, *Hand-Rearing Birds*, 2020, p. 617, from day 3 on; see `analysis.growth.rule_today`.
    """
    empty = _weighed(growth, on)
    if empty.empty:
        return pd.DataFrame({name: pd.Series(dtype=object) for name in _COLUMNS})
    newest = empty.groupby("chick")["day"].max()
    here = growth.season.chicks
    here = here[(here["fate"] == "being reared") & here["chick"].isin(newest.index[newest >= on - _DAY])]
    here = here[~here["chick"].isin(_with_curve(growth)) & ~near_fledging(growth.season, here, on)]
    called = rule_today(empty[empty["chick"].isin(here["chick"])], until=growth.watch.peaks)
    ages = empty.groupby("chick")["age_d"].max()
    called = called.assign(weighed_on=called["chick"].map(newest), age_d=called["chick"].map(ages))
    said = [_said(row.mass_g, row.before_g, row.weighed_on, on) for row in called.itertuples()]
    return called.assign(said=pd.Series(said, index=called.index, dtype=object))


def near_fledging(season: Season, chicks: pd.DataFrame, on: pd.Timestamp) -> pd.Series:
    """Whether chicks are near fledging on a day, by the species log's weaning days; where it has none they are not."""
    begins = {name: window_written(season.logs["species"], name, "wean") for name in chicks["species"].unique()}
    from_d = chicks["species"].map({name: ends[0] if ends else float("inf") for name, ends in begins.items()})
    age_d = (on - chicks["hatched_at"].dt.normalize()).dt.days
    return (age_d >= FLEDGING * from_d.astype(float)).astype(bool)


def may_wean(season: Season, chicks: pd.DataFrame, on: pd.Timestamp) -> pd.Series:
    """Whether chicks are of an age at which their kind may eat alone; where age or kind's days are not known they are.

    By the species log's days, else those read of the species.
    """
    begins = {name: _wean_from_d(season, name) for name in chicks["species"].unique()}
    age_d = (on - chicks["hatched_at"].dt.normalize()).dt.days
    return ~(age_d < FLEDGING * chicks["species"].map(begins).astype(float))


def _wean_from_d(season: Season, species: str) -> float:
    written, facts = window_written(season.logs["species"], species, "wean"), species_facts(species)
    read = facts.days("wean") if facts else None
    return written[0] if written else read.low if read else 0.0


def _weighed(growth: Growth, on: pd.Timestamp) -> pd.DataFrame:
    """Weighings up to a day with an empty crop, one a chick and day, each with an age; none of a scale that was off."""
    season = growth.season
    weights = season.weights[(season.weights["together"] == 1) & ~season.weights["crop"].isin(("part", "full"))]
    weights = weights.assign(day=weights["weighed_at"].dt.normalize()).sort_values("weighed_at", kind="stable")
    off = [pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings_live]
    weights = weights[~weights["day"].isin(off)]
    weights = weights[(weights["day"] <= on) & ~weights.duplicated(["chick", "day"])]
    if weights.empty:
        return weights
    since = weights["day"] - weights.groupby("chick")["day"].transform("min")
    return weights.assign(age_d=weights["age_d"].fillna(FROM_D + since.dt.days.astype(float)))


def _with_curve(growth: Growth) -> set[str]:
    """Chicks of which a curve says what they should weigh."""
    told = growth.expected.get("median_g", pd.Series(dtype=float))
    return set(told.index[told.notna()])


def _said(mass_g: float, before_g: float, weighed_on: pd.Timestamp, on: pd.Timestamp) -> Finding:
    return found("chicks.rule-calls", mass=mass_g, before=before_g, today=weighed_on == on)
