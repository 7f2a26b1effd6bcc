"""Eggs still incubating: candle, may pip, may hatch, overdue."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.day.things import DAY, PRACTICE, Thing, day_range, place
from analysis.eggs.hatch_days import expected_eggs, how_far, usual_source
from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.season import Season

# "Fertility shows by candling at 4-7 days": Hagen Avicultural Research Institute, artificial incubation part 2.
CANDLE_FROM_D, CANDLE_TO_D = 4, 7
CANDLE_LATE_D = 10  # practice: until then an egg that was not candled is still asked for
OVERDUE_FOR_D = 7  # practice: after a week the logs are asked what became of it, and nobody is reminded
YOUR_EGGS = found("due.your-own-eggs")
HARI = found("due.hari-incubation")


def eggs_due(season: Season, day: pd.Timestamp) -> Iterator[Thing]:
    """Yield what is due of every egg that is still incubating."""
    eggs = _sitting(season)
    yield from _candling(eggs, day)
    yield from _hatching(season, eggs[eggs["fertile"] != "no"], day)


def _sitting(season: Season) -> pd.DataFrame:
    """Eggs still incubating, with the day they are counted from, how they are called and where they lie."""
    begun = season.eggs["set_on"].fillna(season.eggs["laid_on"]).dt.normalize()
    eggs = season.eggs.assign(begun=begun, alone=_alone(season.eggs))
    eggs = eggs[eggs["outcome"].eq("still incubating")]
    names = list(zip(eggs["alone"], eggs["egg"], eggs["pair"], eggs["clutch"], strict=True))
    return eggs.assign(
        who=[egg if alone else f"{pair}/{clutch}/{egg}" for alone, egg, pair, clutch in names],
        of=[() if alone else (pair, clutch) for alone, _, pair, clutch in names],
        where=[place(season, *by) for by in zip(eggs["incubated_by"], eggs["cage"], strict=True)],
        from_laying=eggs["set_on"].isna(),
    )


def _alone(eggs: pd.DataFrame) -> pd.Series:
    """Whether no number of an egg's clutch is met in another one."""
    twice = eggs["egg"].map(same).duplicated(keep=False)
    return ~twice.groupby([eggs["pair"], eggs["clutch"]]).transform("any")


def _candling(eggs: pd.DataFrame, day: pd.Timestamp) -> Iterator[Thing]:
    """Eggs without a result; one that was candled this very day was due on it."""
    today = eggs["candled_on"].eq(day) if "candled_on" in eggs else pd.Series(False, index=eggs.index)
    for egg in eggs.assign(done=today)[eggs["fertile"].eq("unknown") | today].to_dict("records"):
        age_d = (day - egg["begun"]).days
        if not CANDLE_FROM_D <= age_d <= CANDLE_LATE_D:
            continue
        late = age_d > CANDLE_TO_D
        why = found(
            "due.candling",
            days=day_range(CANDLE_FROM_D, CANDLE_TO_D),
            last=age_d == CANDLE_TO_D,
            late=late and not egg["done"],
            done=egg["done"],
            from_laying=egg["from_laying"],
        )
        yield Thing(
            "candle",
            why=why,
            source=PRACTICE if late else HARI,
            since_on=egg["begun"] + CANDLE_FROM_D * DAY,
            until_on=egg["begun"] + (CANDLE_LATE_D if late else CANDLE_TO_D) * DAY,
            age_d=age_d,
            **_named(egg),
        )


def _hatching(season: Season, eggs: pd.DataFrame, day: pd.Timestamp) -> Iterator[Thing]:
    if eggs.empty:
        return
    expected = expected_eggs(season).loc[eggs.index]
    for egg in eggs.join(expected).assign(state=how_far(expected, day)).to_dict("records"):
        if egg["state"] not in ("may pip", "may hatch", "overdue"):
            continue
        since_on, until_on = _span(egg)
        if egg["state"] == "overdue" and (day - since_on).days >= OVERDUE_FOR_D:
            continue
        yield Thing(
            egg["state"],
            why=_when(egg, usual_source(season, egg["species"])),
            brief=found("due.hatch-brief", **_expected(egg)),
            source=YOUR_EGGS if egg["own"] else usual_source(season, egg["species"]),
            since_on=since_on,
            until_on=until_on,
            age_d=(day - egg["begun"]).days,
            **_named(egg),
        )


def _when(egg: dict[str, Any], source: Finding) -> Finding:
    """When an egg is expected to hatch, and what that rests on."""
    rests_on = []
    if not pd.isna(egg["usual_to_d"]):
        usual = day_range(egg["usual_from_d"], egg["usual_to_d"])
        rests_on.append(found("due.usual-days", days=usual, source=source))
    if egg["own"]:
        rests_on.append(found("due.own-eggs", eggs=egg["own"]))
    return found("due.hatch", **_expected(egg), likely=egg["likely_d"], rests_on=rests_on)


def _expected(egg: dict[str, Any]) -> dict[str, Any]:
    return {"days": day_range(egg["low_d"], egg["high_d"]), "from_laying": egg["from_laying"]}


def _span(egg: dict[str, pd.Timestamp]) -> tuple[pd.Timestamp, pd.Timestamp]:
    """From when to when an egg is in its state."""
    if egg["state"] == "overdue":
        return egg["hatch_high_on"] + DAY, pd.NaT
    if egg["state"] == "may hatch":
        return egg["hatch_low_on"], egg["hatch_high_on"]
    return min(egg["internal_low_on"], egg["external_low_on"]), egg["hatch_low_on"] - DAY


def _named(egg: dict[str, Any]) -> dict[str, Any]:
    return {"who": egg["who"], "name": egg["egg"], "group": egg["pair"], "of": egg["of"], "where": egg["where"]}
