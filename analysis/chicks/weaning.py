"""Weaning, as it is written: feeds dropped, soft food taken, and the weight beside its own heaviest."""

from typing import Any

import pandas as pd

from analysis.chicks.concerns import NOT_READY
from analysis.chicks.fed import feeds_by_name
from analysis.chicks.in_the_nursery import age_of
from analysis.finding import Finding, Words, found
from analysis.season import Season
from analysis.season.species import Held, window_held

WEANING = ("chick", "age", "feeds", "food", "weight", "asks")
WEANING_RULE = found("chicks.weaning-rule")
_BACK_D = 14  # practice: so far back feeds say how often it was fed before
_LAST_DAYS = 2  # practice: as many days on which feeds are written say how often it is fed now
_LEAST_DAYS = 4  # practice: with fewer such days nobody can say that feeds were dropped
_OLD_D = 3  # practice: feeds older than this say nothing of now
_WEEK_D = 7
_CALM = ("goes-on", "begins", "offer")  # what asks for nothing but to go on
_DAY = pd.Timedelta(days=1)


def weaning(season: Season, nursery: pd.DataFrame, on: pd.Timestamp) -> pd.DataFrame:
    """Return how far each chick fed by hand has come in weaning, of those that are at it, in the order of `nursery`.

    `nursery`: the columns of `in_the_nursery`, with may_wean (whether its kind may eat alone at its age) and needs_vet.
    A chick is at it in its kind's days of weaning, or when it may wean and is seen eating, takes food by itself, or has
    its feeds dropped. Days on which nobody wrote a feed of a chick are unknown, and count as none. Nothing is ever
    dropped by age: a feed goes when the chick refuses it. Sources: Duerr & Gage, *Hand-Rearing Birds*, 2020, p. 597
    (two feeds a day, each later and later) and p. 750 (above a tenth below the heaviest: not ready; finches).

    A row a chick: chick, age, feeds, food, weight and asks, as findings; look (whether it asks for more than to go on).
    """
    fed = feeds_by_name(season)
    fed, rows = fed[fed["day"] <= on], []
    for chick in nursery.itertuples():
        own, days = fed[fed["chick"] == chick.chick], window_held(season.logs["species"], str(chick.species), "wean")
        facts = _feeds(own[~own["solid"]], on) | _taken(own[own["solid"]], on) | _weight(chick, on)
        begun = bool(chick.may_wean) and bool(chick.eats or facts["took_d"] or facts["before"])
        if begun or (days is not None and days.low <= float(str(chick.age_d))):
            asks = _asks(chick, facts)
            said = (_of_feeds(facts), _of_food(chick, facts), _of_weight(facts), found(f"chicks.weaning-{asks}"))
            rows.append((str(chick.chick), _aged(chick, days), *said, asks not in _CALM))
    return pd.DataFrame(rows, columns=[*WEANING, "look"])


def _feeds(own: pd.DataFrame, on: pd.Timestamp) -> dict[str, Any]:
    """How many feeds a day it gets (a_day) and got (before, None where none were dropped), and how many it refused."""
    recent = own[(own["day"] < on) & (own["day"] >= on - _BACK_D * _DAY)]
    refused = int(((recent["amount"] == 0) & (recent["day"] >= on - _LAST_DAYS * _DAY)).sum())
    days = recent["day"].drop_duplicates().sort_values()
    given = recent[recent["amount"] != 0].groupby("day").size().reindex(days, fill_value=0)
    if given.empty or (on - given.index[-1]).days > _OLD_D:
        return {"a_day": None, "before": None, "refused": refused}
    so_far = int(((own["day"] == on) & (own["amount"] != 0)).sum())  # this day is not over: it can only tell of more
    now, earlier = max(int(given.iloc[-_LAST_DAYS:].max()), so_far), given.iloc[:-_LAST_DAYS]
    before = int(earlier.median()) if len(given) >= _LEAST_DAYS else 0
    return {"a_day": now, "before": before if before > now else None, "refused": refused}


def _taken(own: pd.DataFrame, on: pd.Timestamp) -> dict[str, Any]:
    """On how many days of the last week it took food by itself, and which."""
    lately = own[(own["day"] > on - _WEEK_D * _DAY) & (own["amount"] != 0)]
    return {"took_d": lately["day"].nunique(), "foods": list(dict.fromkeys(map(str, lately["food"])))}


def _weight(chick: Any, on: pd.Timestamp) -> dict[str, Any]:
    """Its last weight beside its heaviest; missing where it is older than a day or two."""
    mass_g, day = (chick.last_g, chick.last_on) if pd.isna(chick.today_g) else (chick.today_g, on)
    recent = not pd.isna(day) and (on - day).days < _OLD_D
    peak_g = max(float(chick.peak_g), float(mass_g)) if recent else float("nan")
    return {"mass": float(mass_g), "peak": peak_g, "below": 1 - float(mass_g) / peak_g}


def _aged(chick: Any, days: Held | None) -> Finding:
    """Its age, and the days of weaning of its kind, where anybody says."""
    age = age_of(chick, brief=True)
    return found("chicks.weaning-age", age=age, low=days.low, high=days.high) if days is not None else age


def _asks(chick: Any, facts: dict[str, Any]) -> str:
    """What it asks for, by the code of its sentence."""
    eats = bool(chick.eats or facts["took_d"])
    if chick.needs_vet:
        return "read-first"
    if pd.isna(facts["below"]):
        return "weigh"
    if facts["below"] > NOT_READY:
        return "give-back" if facts["before"] else "drop-none"
    if facts["before"]:
        return "goes-on" if eats else "does-it-eat"
    return "begins" if eats else "offer"


def _of_feeds(facts: dict[str, Any]) -> Words:
    if facts["a_day"] is None:
        return found("chicks.weaning-no-feeds")
    feeds = {name: facts[name] for name in ("a_day", "before", "refused")}
    return found("chicks.weaning-dropped" if facts["before"] else "chicks.weaning-feeds", **feeds)


def _of_food(chick: Any, facts: dict[str, Any]) -> Words:
    if facts["took_d"]:
        return found("chicks.weaning-took", days=facts["took_d"], foods=facts["foods"], alone=bool(chick.eats))
    return found("chicks.weaning-eats" if chick.eats else "chicks.weaning-no-food")


def _of_weight(facts: dict[str, Any]) -> Words:
    if pd.isna(facts["below"]):
        return found("chicks.weaning-no-weight")
    masses = {name: facts[name] for name in ("mass", "peak", "below")}
    return found("chicks.weaning-below" if facts["below"] > 0 else "chicks.weaning-heaviest", **masses)
