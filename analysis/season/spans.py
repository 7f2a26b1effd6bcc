"""From when to when each chick was watched, and where: what survival is reckoned from."""

import pandas as pd

from analysis.logs.headings import same
from analysis.rates import losses_by_age
from analysis.season.model import Season
from analysis.season.rearing import reared_at

_DAY = pd.Timedelta(days=1)


def chick_spans(season: Season) -> pd.DataFrame:
    """Return one row a chick of known age.

    A chick hatched here enters at age 0, one that arrived enters at the age it had then. It is watched until
    it was weaned, lost, left or, failing these, the last day. A loss is put half-way between the last good
    look and the finding (Green, Bird Ecology and Conservation, §3.3.6) where a last good look is written,
    otherwise on the day it was found.

    Returns
    -------
    frame
        chick, species, reared_by, event, entry_d and exit_d (age in days), lost; then pair and clutch (that laid),
        nest (the pair that reared it, or the pair that laid it where no pair did: chicks of one nest share a fate),
        place (the cage of the pair that reared it; the brooder, or hand, where no pair did), cage (of the pair that
        laid, as in `season.chicks`), room (of the place; the place itself where it is no cage), hatched_at,
        came_on and out_on (days; a loss has the day it was found), fate, and wean_d, the age in days by which its
        species is weaned: the keeper's `wean_to_d`, or the latest age at which one of it was weaned this season,
        or the keeper's `wean_from_d`; missing where none is known.

        A chick that was moved is counted, for all its days, where it was last.
    """
    chicks = season.chicks[season.chicks["hatched_at"].notna()]
    losses = season.losses[season.losses["chick"] != ""].drop_duplicates("chick").set_index("chick")
    hatched = chicks["hatched_at"].dt.normalize()
    of_chick = losses.reindex(chicks["chick"]).set_axis(chicks.index)
    lost = chicks["fate"].eq("lost")
    ends = chicks["weaned_on"].fillna(chicks["left_on"]).fillna(season.last_day)
    out = _died(chicks["lost_on"], of_chick["last_seen_well_on"], hatched).where(lost, ends)
    spans = pd.DataFrame(
        {
            "chick": chicks["chick"],
            "species": chicks["species"],
            "reared_by": chicks["reared_by"],
            "event": of_chick["event_found"].fillna(""),
            "entry_d": ((chicks["arrived_on"] - hatched) / _DAY).clip(lower=0).fillna(0.0),
            "exit_d": ((out - hatched) / _DAY).clip(lower=0),
            "lost": lost,
            "pair": chicks["pair"],
            "clutch": chicks["clutch"],
            **_where(season, chicks),
            "cage": chicks["cage"],
            "hatched_at": chicks["hatched_at"],
            "came_on": chicks["arrived_on"].where(chicks["arrived_on"] > hatched, hatched),
            "out_on": chicks["lost_on"].where(lost, ends),
            "fate": chicks["fate"],
            "wean_d": _wean_d(season, chicks, hatched),
        }
    )
    # Where the logs contradict themselves no chick goes before it came.
    spans["out_on"] = spans["out_on"].where(spans["out_on"] > spans["came_on"], spans["came_on"])
    spans["exit_d"] = spans[["entry_d", "exit_d"]].max(axis=1, skipna=False)
    return spans.reset_index(drop=True)


def ages_lost(season: Season) -> pd.DataFrame:
    """Return how old each chick was that was lost before weaning: the one count of losses by age.

    Returns
    -------
    frame, a row a chick, in the order of `season.chicks`
        chick, lost_on, age_d: days from the day of hatch to the day it was found; NaN where either is not known
    """
    lost = season.chicks[season.chicks["fate"] == "lost"]
    age = lost["lost_on"].dt.normalize() - lost["hatched_at"].dt.normalize()
    return lost[["chick", "lost_on"]].assign(age_d=age.dt.days.astype(float)).reset_index(drop=True)


def lost_by_age(season: Season) -> tuple[pd.DataFrame, int]:
    """Count the chicks lost before weaning by age when they were found, as the list of losses has it.

    Returns
    -------
    frame, number
        The bands of `rates.losses_by_age`; and how many chicks were lost at an age that nobody knows.
    """
    ages, spans = ages_lost(season).set_index("chick")["age_d"], chick_spans(season)
    age_d = spans["chick"].map(ages).fillna(spans["exit_d"])
    known = spans.assign(exit_d=age_d.where(age_d > spans["entry_d"], spans["entry_d"]))
    return losses_by_age(known), int(ages.isna().sum())


def _died(found: pd.Series, seen: pd.Series, hatched: pd.Series) -> pd.Series:
    """Half-way between the last good look and the finding."""
    seen = seen.where(seen >= hatched, found)
    return seen + (found - seen) / 2


def _where(season: Season, chicks: pd.DataFrame) -> dict[str, pd.Series]:
    """Return nest, place and room of each chick."""
    pairs = dict(zip(season.pairs["pair"].map(same), season.pairs["cage"], strict=True))
    rooms = dict(zip(season.cages["cage"].map(same), season.cages["room"], strict=True))
    by = chicks["reared_by"].map(same)
    own = by == chicks["pair"].map(same)
    with_pair = own | by.isin(list(pairs))
    cage = [pairs.get(name, "") for name in by]
    place = chicks["cage"].where(own, pd.Series(cage, index=chicks.index, dtype="str"))
    place = place.where(with_pair, reared_at(chicks))
    room = [rooms.get(same(name), name) for name in place]
    return {
        "nest": chicks["reared_by"].where(with_pair, chicks["pair"]),
        "place": place,
        "room": pd.Series(room, index=chicks.index, dtype="str"),
    }


def _wean_d(season: Season, chicks: pd.DataFrame, hatched: pd.Series) -> pd.Series:
    """Age by which a chick's species is weaned."""
    species = chicks["species"].map(same)
    latest = ((chicks["weaned_on"] - hatched) / _DAY).groupby(species).max()
    log = season.logs.get("species", pd.DataFrame(columns=["species", "wean_from_d", "wean_to_d"]))
    own = log.assign(species=log["species"].map(same)).drop_duplicates("species").set_index("species")
    first, last = (pd.to_numeric(species.map(own[column])) for column in ("wean_from_d", "wean_to_d"))
    return last.fillna(species.map(latest)).fillna(first).astype(float)
