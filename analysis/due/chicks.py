"""Chicks still being reared: ring, wean, weigh again, look again."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.due.own import PRACTICE, Window, window
from analysis.due.things import DAY, Thing, day_range, place
from analysis.finding import Finding, found
from analysis.season import WEAN_PAST_D, Season, reared_at, unheard

RING_PAST_D = 3  # practice: how long one that missed its ringing days is told
NEVER_RINGED = 3  # practice: so many young of a pair left unringed, and nobody means to ring the next
NOT_WEIGHED_D = 2  # practice: a morning may be missed, two are asked about
LOOK_AGAIN_D = 2  # practice: a flag of yesterday and of the day before
# Every morning before the first feed: HARI; Duerr & Gage, Hand-Rearing Birds, 2020, pp. 450, 552, 617.
DAILY = found("due.weighed-daily-by")


def chicks_due(season: Season, day: pd.Timestamp, flags: pd.DataFrame | None) -> Iterator[Thing]:
    """Yield what is due of every chick that is here and still being reared; who may be gone is asked about instead."""
    chicks = _here(season, day)
    chicks = chicks[~chicks["chick"].isin(unheard(season, day)["chick"])]
    unringed = _never_ringed(season, day)
    for chick in chicks.to_dict("records"):
        if chick["pair"] not in unringed:
            yield from _ring(season, chick)
        yield from _wean(season, chick)
        yield from _weigh(chick, day)
        yield from _look(chick, day, flags)


def _here(season: Season, day: pd.Timestamp) -> pd.DataFrame:
    """Chicks being reared on a day, with their age, where they are and when they were weighed last."""
    hatched = season.chicks["hatched_at"].dt.normalize()
    came = season.chicks["arrived_on"].fillna(hatched)
    here = season.chicks["fate"].eq("being reared") & ~(came > day) & ~(hatched > day)
    chicks, hatched = season.chicks[here], hatched[here]
    weights = season.weights[season.weights["weighed_at"] < day + DAY]
    weighed = weights.groupby("chick")["weighed_at"].max().dt.normalize()
    return chicks.assign(
        hatched_on=hatched,
        age_d=(day - hatched).dt.days,
        about=chicks["sure_to_days"] > 1,
        weighed_on=weighed.reindex(chicks["chick"]).to_numpy(),
        where=[place(season, *by) for by in zip(reared_at(chicks), chicks["cage"], strict=True)],
    )


def _never_ringed(season: Season, day: pd.Timestamp) -> set[str]:
    """Pairs of whose chicks several outgrew the ringing days and none has a ring: theirs are not ringed here."""
    days = {one: window(season, one, "ring") for one in season.chicks["species"].unique()}
    last_d = season.chicks["species"].map({one: ringed.to_d for one, ringed in days.items() if ringed}).astype(float)
    age_d = (day - season.chicks["hatched_at"].dt.normalize()).dt.days
    grown = season.chicks["fate"].isin(["being reared", "weaned"]) & (age_d > last_d + RING_PAST_D)
    chicks = season.chicks[grown & season.chicks["pair"].ne("")]
    told = chicks["ring"].ne("").groupby(chicks["pair"]).agg(["sum", "size"])
    return set(told.index[(told["sum"] == 0) & (told["size"] >= NEVER_RINGED)])


def _ring(season: Season, chick: dict[str, Any]) -> Iterator[Thing]:
    days = window(season, chick["species"], "ring")
    if days is None or chick["ring"] or not days.from_d <= chick["age_d"] <= days.to_d + RING_PAST_D:
        return
    if chick["age_d"] <= days.to_d:
        code = "due.ring-on" if days.from_d == days.to_d else "due.ring-from"
        yield _in(days, "ring", chick, found(code, **_of(days), last=chick["age_d"] == days.to_d))
        return
    yield _past(days, RING_PAST_D, "ring", chick, found("due.ring-past", **_of(days)))


def _wean(season: Season, chick: dict[str, Any]) -> Iterator[Thing]:
    days = window(season, chick["species"], "wean")
    if days is None or not days.from_d <= chick["age_d"] <= days.to_d + WEAN_PAST_D:
        return
    if chick["age_d"] <= days.to_d:
        code = "due.wean-on" if days.from_d == days.to_d else "due.wean-from"
        yield _in(days, "wean", chick, found(code, **_of(days)))
        return
    yield _past(days, WEAN_PAST_D, "wean", chick, found("due.wean-past", **_of(days)))


def _weigh(chick: dict[str, Any], day: pd.Timestamp) -> Iterator[Thing]:
    """Chicks reared by hand that were not weighed on this day nor on the one before."""
    came = max((one for one in (chick["hatched_on"], chick["arrived_on"]) if not pd.isna(one)), default=pd.NaT)
    weighed = not pd.isna(chick["weighed_on"])
    since_on = chick["weighed_on"] if weighed else came
    if not chick["by_hand"] or pd.isna(since_on) or (day - since_on).days < NOT_WEIGHED_D:
        return
    why = found("due.not-weighed-since", since_on=since_on) if weighed else found("due.never-weighed")
    named = _named(chick) | {"group": ""}
    yield Thing("weigh again", why=why, source=DAILY, since_on=since_on + NOT_WEIGHED_D * DAY, **named)


def _look(chick: dict[str, Any], day: pd.Timestamp, flags: pd.DataFrame | None) -> Iterator[Thing]:
    """The last flag of a chick, where it was raised in the two days before."""
    if flags is None or flags.empty:
        return
    days = pd.to_datetime(flags["day"]).dt.normalize()
    mine = flags["chick"].eq(chick["chick"]) & (days < day) & (days >= day - LOOK_AGAIN_D * DAY)
    if not mine.any():
        return
    last = days[mine].max()
    why = found("due.flagged", day=last, flags=list(dict.fromkeys(flags.loc[mine & (days == last), "sentence"])))
    until_on = last + LOOK_AGAIN_D * DAY
    yield Thing("look again", why=why, source=PRACTICE, since_on=last + DAY, until_on=until_on, **_named(chick))


def _in(days: Window, what: str, chick: dict[str, Any], why: Finding) -> Thing:
    since_on, until_on = (chick["hatched_on"] + day * DAY for day in (days.from_d, days.to_d))
    return Thing(what, why=why, source=days.source, sourced=True, since_on=since_on, until_on=until_on, **_aged(chick))


def _past(days: Window, for_d: int, what: str, chick: dict[str, Any], why: Finding) -> Thing:
    over = chick["hatched_on"] + days.to_d * DAY
    return Thing(what, why=why, source=PRACTICE, since_on=over + DAY, until_on=over + for_d * DAY, **_aged(chick))


def _of(days: Window) -> dict[str, Any]:
    return {"days": day_range(days.from_d, days.to_d), "source": days.source}


def _named(chick: dict[str, Any]) -> dict[str, Any]:
    return {"who": chick["chick"], "name": chick["chick"], "group": chick["pair"], "where": chick["where"]}


def _aged(chick: dict[str, Any]) -> dict[str, Any]:
    return {**_named(chick), "age_d": int(chick["age_d"]), "about": bool(chick["about"])}
