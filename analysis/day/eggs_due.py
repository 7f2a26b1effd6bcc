"""Eggs still incubating: candle, may pip, may hatch, overdue."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.day.things import DAY, PRACTICE, Thing, day_range, place
from analysis.eggs.hatch_days import how_far, usual_source
from analysis.eggs.of_season import Eggs
from analysis.finding import found
from analysis.season import Season

# "Fertility shows by candling at 4-7 days": Hagen Avicultural Research Institute, artificial incubation part 2.
CANDLE_FROM_D, CANDLE_TO_D = 4, 7
CANDLE_LATE_D = 10  # practice: until then an egg that was not candled is still asked for
OVERDUE_FOR_D = 7  # practice: after a week the logs are asked what became of it, and nobody is reminded
YOUR_EGGS = found("due.your-own-eggs")
HARI = found("due.hari-incubation")


def eggs_due(season: Season, day: pd.Timestamp) -> Iterator[Thing]:
    """What is due of every egg that is still incubating."""
    known = Eggs.of(season, day)
    begun = season.eggs["set_on"].fillna(season.eggs["laid_on"]).dt.normalize()
    eggs = season.eggs.assign(begun=begun, who=known.names)
    eggs = eggs[eggs["outcome"].eq("still incubating")]
    eggs = eggs.assign(
        of=[() if one.who == one.egg else (one.pair, one.clutch) for one in eggs.itertuples()],
        where=[place(season, *by) for by in zip(eggs["incubated_by"], eggs["cage"], strict=True)],
        from_laying=eggs["set_on"].isna(),
    )
    yield from _candling(eggs, day)
    eggs = eggs[eggs["fertile"] != "no"]
    if len(eggs):
        expected = known.expected.loc[eggs.index]
        yield from _hatching(season, eggs.join(expected).assign(state=how_far(expected, day)), day)


def _candling(eggs: pd.DataFrame, day: pd.Timestamp) -> Iterator[Thing]:
    """Eggs without a result; one that was candled this very day was due on it."""
    today = eggs["candled_on"].eq(day) if "candled_on" in eggs else pd.Series(False, index=eggs.index)
    for egg in eggs.assign(done=today)[eggs["fertile"].eq("unknown") | today].to_dict("records"):
        age_d = (day - egg["begun"]).days
        if not CANDLE_FROM_D <= age_d <= CANDLE_LATE_D:
            continue
        late = age_d > CANDLE_TO_D
        facts = {"last": age_d == CANDLE_TO_D, "late": late and not egg["done"], "done": egg["done"]}
        days, counted = day_range(CANDLE_FROM_D, CANDLE_TO_D), egg["from_laying"]
        why = found("due.candling", days=days, **facts, from_laying=counted)
        source, to_d = (PRACTICE, CANDLE_LATE_D) if late else (HARI, CANDLE_TO_D)
        span = {"since_on": egg["begun"] + CANDLE_FROM_D * DAY, "until_on": egg["begun"] + to_d * DAY}
        yield Thing("candle", why=why, source=source, age_d=age_d, **span, **_named(egg))


def _hatching(season: Season, eggs: pd.DataFrame, day: pd.Timestamp) -> Iterator[Thing]:
    """Eggs that may pip or hatch, or should have; with `state` and the columns of `expected_hatch`."""
    for egg in eggs[eggs["state"].isin(("may pip", "may hatch", "overdue"))].to_dict("records"):
        since_on, until_on = egg["hatch_high_on"] + DAY, pd.NaT
        if egg["state"] == "may hatch":
            since_on, until_on = egg["hatch_low_on"], egg["hatch_high_on"]
        elif egg["state"] == "may pip":
            since_on, until_on = min(egg["internal_low_on"], egg["external_low_on"]), egg["hatch_low_on"] - DAY
        if egg["state"] == "overdue" and (day - since_on).days >= OVERDUE_FOR_D:
            continue
        source = usual_source(season, egg["species"])
        counted = {"days": day_range(egg["low_d"], egg["high_d"]), "from_laying": egg["from_laying"]}
        rests_on = [found("due.own-eggs", eggs=egg["own"])] if egg["own"] else []
        if not pd.isna(egg["usual_to_d"]):
            usual = day_range(egg["usual_from_d"], egg["usual_to_d"])
            rests_on.insert(0, found("due.usual-days", days=usual, source=source))
        yield Thing(
            egg["state"],
            why=found("due.hatch", **counted, likely=egg["likely_d"], rests_on=rests_on),
            brief=found("due.hatch-brief", **counted),
            source=YOUR_EGGS if egg["own"] else source,
            **{"since_on": since_on, "until_on": until_on, "age_d": (day - egg["begun"]).days},
            **_named(egg),
        )


def _named(egg: dict[str, Any]) -> dict[str, Any]:
    return {"who": egg["who"], "name": egg["egg"], "group": egg["pair"], "of": egg["of"], "where": egg["where"]}
