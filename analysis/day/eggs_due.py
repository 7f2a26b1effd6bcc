"""What is due of the eggs of a day: candled, candled again, hatched, out of their shell in time, taken out."""

import math
from collections.abc import Iterator

import pandas as pd

from analysis.day.things import DAY, PRACTICE, Thing, day_range, place, whose
from analysis.eggs.findings import pip_facts
from analysis.eggs.hatch_days import how_far, usual_source
from analysis.eggs.of_season import Eggs
from analysis.finding import found
from analysis.logs.headings import same
from analysis.season import Season
from analysis.season.species import window_held

CANDLE_PAST_D = 3  # practice: so long past its days an egg that was not candled is still asked for
OVERDUE_FOR_D = 7  # practice: after a week the logs are asked what became of it, and nobody is reminded
AGAIN = 0.75  # of its days an egg is through when movement shows it is alive: HARI, artificial incubation part 2
YOUR_EGGS, HARI = found("due.your-own-eggs"), found("due.hari-incubation")


def eggs_due(season: Season, day: pd.Timestamp) -> Iterator[Thing]:
    """What is due of every egg that is still incubating, and of those that were seen dead."""
    known = Eggs.of(season, day)
    eggs = season.eggs.assign(who=known.names)
    eggs = eggs[eggs["outcome"].eq("still incubating") | eggs["seen_dead"]]
    eggs = eggs.assign(
        begun=eggs["set_on"].fillna(eggs["laid_on"]).dt.normalize(),
        name=eggs["egg"],
        group=eggs["pair"],
        of=[() if one.who == one.egg else (one.pair, one.clutch) for one in eggs.itertuples()],
        where=[place(season, *by) for by in zip(_now_with(eggs), eggs["cage"], strict=True)],
        from_laying=eggs["set_on"].isna(),
    )
    yield from _taking_out(eggs[eggs["seen_dead"]], day)
    eggs = eggs[~eggs["seen_dead"]]
    yield from _candling(season, eggs, day)
    eggs = eggs[eggs["fertile"] != "no"]
    if len(eggs):
        expected = known.expected.loc[eggs.index]
        eggs = eggs.join(expected).assign(state=how_far(expected, day, eggs["hatch_by"]))
        yield from _pips(season, eggs)
        yield from _candling_again(eggs, day)
        yield from _hatching(season, eggs, day)


def _now_with(eggs: pd.DataFrame) -> pd.Series:
    """Where each egg is: in the hatcher since it pipped, else with who incubates it."""
    return eggs["hatcher"].where(eggs["hatcher"] != "", eggs["incubated_by"])


def _taking_out(eggs: pd.DataFrame, day: pd.Timestamp) -> Iterator[Thing]:
    """Eggs that were seen dead when they were candled again, until somebody writes what became of them."""
    for egg in eggs[~((day - eggs["candled_again_on"]).dt.days >= OVERDUE_FOR_D)].to_dict("records"):
        why = found("due.seen-dead", on=egg["candled_again_on"])
        yield Thing("take out", why=why, source=PRACTICE, since_on=egg["candled_again_on"], **whose(egg))


def _pips(season: Season, eggs: pd.DataFrame) -> Iterator[Thing]:
    """Eggs that pipped, and by when they should be out; one that is past it is read first, see `pips_over`."""
    sitting = {same(pair) for pair in season.pairs["pair"]}
    for egg in eggs[eggs["state"].eq("pipped")].to_dict("records"):
        facts, nest = pip_facts(season, egg), same(egg["hatcher"] or egg["incubated_by"]) in sitting
        asks = found("due.pip-in-nest" if nest else "due.pip-in-hatcher" if egg["hatcher"] else "due.pip-in-machine")
        span = {"since_on": egg["pipped_at"].normalize(), "until_on": egg["hatch_by"].normalize()}
        why, brief = (found(code, **facts, asks=asks) for code in ("due.pip", "due.pip-brief"))
        yield Thing("pipped", why=why, brief=brief, source=facts["source"], **span, **whose(egg))


def _candling_again(eggs: pd.DataFrame, day: pd.Timestamp) -> Iterator[Thing]:
    """Eggs three quarters through and without a result, or with one of this day; later they are left alone."""
    today, open_yet = eggs["candled_again_on"].eq(day), eggs["candled_again"].isin(("", "not sure"))
    eggs = eggs.assign(done=today)[(open_yet | today) & eggs["pipped_at"].isna()]
    for egg in eggs.dropna(subset="low_d").to_dict("records"):
        low, high = math.ceil(AGAIN * egg["low_d"]), math.floor(AGAIN * egg["high_d"])
        age_d, first_on = (day - egg["begun"]).days, egg["begun"] + low * DAY
        if not low <= age_d <= high or first_on <= egg["candled_on"] < day:
            continue
        facts = {"last": age_d == high, "done": egg["done"], "from_laying": egg["from_laying"]}
        facts["days"] = day_range(low, high)
        why, brief = (found(code, **facts) for code in ("due.candling-again", "due.candling-again-brief"))
        span = {"since_on": first_on, "until_on": egg["begun"] + high * DAY}
        yield Thing("candle again", why=why, brief=brief, source=HARI, age_d=age_d, **span, **whose(egg))


def _candling(season: Season, eggs: pd.DataFrame, day: pd.Timestamp) -> Iterator[Thing]:
    """Eggs without a result; one that was candled this very day was due on it."""
    today = eggs["candled_on"].eq(day) if "candled_on" in eggs else pd.Series(False, index=eggs.index)
    for egg in eggs.assign(done=today)[eggs["fertile"].eq("unknown") | today].to_dict("records"):
        age_d, shows = (day - egg["begun"]).days, window_held(season.logs["species"], egg["species"], "candle")
        if shows is None or not shows.low <= age_d <= shows.high + CANDLE_PAST_D:
            continue
        late = age_d > shows.high
        facts = {"last": age_d == shows.high, "late": late and not egg["done"], "done": egg["done"]}
        days, counted = day_range(shows.low, shows.high), egg["from_laying"]
        facts |= {"days": days, "from_laying": counted}
        why, brief = (found(code, **facts) for code in ("due.candling", "due.candling-brief"))
        source, to_d = (PRACTICE, shows.high + CANDLE_PAST_D) if late else (shows.source, shows.high)
        span = {"since_on": egg["begun"] + shows.low * DAY, "until_on": egg["begun"] + to_d * DAY}
        yield Thing("candle", why=why, brief=brief, source=source, age_d=age_d, **span, **whose(egg))


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
        again = egg["candled_again_on"] if egg["candled_again_on"] >= since_on else None
        asks = found("due.candle-overdue", again=again) if egg["state"] == "overdue" else ""
        counted = {"days": day_range(egg["low_d"], egg["high_d"]), "from_laying": egg["from_laying"], "asks": asks}
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
            **whose(egg),
        )
