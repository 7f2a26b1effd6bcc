"""What a chick was fed, how often and how warm, as far as it is logged; and its name, found as it is written."""

import re
from functools import reduce
from typing import Any

import numpy as np
import pandas as pd

from analysis.chicks.feeding import CAP, COLDEST_C, FEED_TO_C, OVER_CAP, REFUSE_FROM_C
from analysis.errors import SeasonError
from analysis.finding import ACT, Finding, Words, found
from analysis.logs.cells import near
from analysis.logs.headings import NameBook, same
from analysis.names import by_name
from analysis.say import say
from analysis.season import Season, chick_called
from analysis.season.vocabulary import is_hand, is_solid

OF_SEASON = found("chicks.chick-of-season")
ONE_FEED = pd.Timedelta(hours=1)  # no chick is fed as often: hatchlings every 2 hours (Duerr & Gage, pp. 614-617)
NOT_WEANED = found("chicks.not-weaned")


def chick_named(season: Season, name: str, *, of: Words = OF_SEASON) -> str:
    """Return a chick's name as it is written, found by name or ring; `of`: what was looked for, where nobody bears it.

    SeasonError: no chick of the season bears it; near names are offered.
    """
    book = NameBook(season.chicks["chick"])
    for chick, ring in zip(season.chicks["chick"], season.chicks["ring"], strict=True):
        if ring:
            book.add(ring, leads_to=chick)
    chick = book.find(name)
    if chick is not None:
        return chick
    have = by_name(season.chicks["chick"])
    if close := near(name, have):
        raise SeasonError(say("chicks.none-called", of=of, name=name, near=close))
    code = "chicks.none-called-these" if have else "chicks.none-called-none"
    raise SeasonError(say(code, of=of, name=name, chicks=have))


def chick_row(season: Season, chick: str) -> dict[str, Any]:
    """Return one chick's row of `season.chicks`."""
    rows = season.chicks[season.chicks["chick"] == chick_named(season, chick)]
    return dict(rows.iloc[0].to_dict())


def names_of(row: dict[str, Any]) -> set[str]:
    """How a chick may be called in a log: by its name or its ring."""
    return {same(row["chick"]), same(row["ring"])} - {""}


def names_in(who: object, called: dict[str, str]) -> list[object]:
    """Whom a feed names: chicks that the logs know, where it names several, else what is written."""
    if not isinstance(who, str) or same(who) in called:
        return [who]
    for between in (r"[,;+&/]|\band\b", r"[,;+&/\s]+(?:and\s)?\s*"):
        parts = [part for part in map(str.strip, re.split(between, who)) if part]
        if len(parts) > 1 and all(same(part) in called for part in parts):
            return list(parts)
    return [who]


def feeds_by_name(season: Season) -> pd.DataFrame:
    """Return the feeds that name a chick of the season, a row a chick: chick, fed_at, day, food, amount, solid.

    solid: a food that it takes by itself, see `is_solid`; any other is fed by hand.
    """
    called, feeds = chick_called(season), season.logs["feeds"]
    named = pd.Series([names_in(who, called) for who in feeds["who"]], index=feeds.index, dtype=object)
    feeds = feeds.assign(who=named).explode("who")
    keys = feeds["who"].map(lambda who: same(who) if isinstance(who, str) else "")
    feeds = feeds.assign(chick=keys.map(called), fed_at=pd.to_datetime(feeds["fed_at"])).dropna(subset="chick")
    solid = feeds["food"].map(lambda food: isinstance(food, str) and is_solid(food)).astype(bool)
    feeds = feeds.assign(day=feeds["fed_at"].dt.normalize(), solid=solid, amount=feeds["amount"].astype(float))
    return feeds[["chick", "fed_at", "day", "food", "amount", "solid"]].reset_index(drop=True)


def taken_alone(feeds: pd.DataFrame) -> pd.Series:
    """Whether each row of the log of feeds is food that was taken and not fed: dry or soft, and without an amount."""
    solid = feeds["food"].map(lambda food: isinstance(food, str) and is_solid(food)).astype(bool)
    return solid & feeds["amount"].isna()


def taken_on(season: Season, row: dict[str, Any]) -> pd.Timestamp | None:
    """The day a chick came to whoever reared it last, or None where no move says so; by hand, whatever the brooder."""
    moves = season.logs["moves"]
    mine = moves[moves["what"].map(same).isin(names_of(row))]
    days, to = pd.to_datetime(mine["on"]), mine["to"].astype(str)
    there = to.map(same) == same(row["reared_by"])
    if row["by_hand"]:
        there |= to.map(is_hand).astype(bool) | (to.map(same) == same(row["brooder"]))
    left = days[~there].max()
    days = days[there & ~(days < left)].dropna()
    return days.min() if len(days) else None


def feeding_history(season: Season, chick: str) -> Finding:
    """Return what a chick was fed, how often and how, as far as it is logged."""
    row = chick_row(season, chick)
    feeds = feeds_of(season, row)
    if feeds.empty:
        by_birds = row["reared_by"] in set(season.pairs["pair"])
        return found("chicks.fed-by-birds", who=row["reared_by"]) if by_birds else found("chicks.fed-not-logged")
    days = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    read = feeds["temperature"].dropna().astype(float)
    warm = read[_as_fed(read)].agg(["min", "max"]).round(1)
    return found(
        "chicks.fed",
        first=days.min(),
        last=days.max() if days.max() > days.min() else None,
        foods=by_name({str(food) for food in feeds["food"] if isinstance(food, str) and food}),
        feeds=reduce(lambda feeds, more: found("chicks.feeds-and", feeds=feeds, more=more), _how_many(feeds)),
        warm=_between(warm, tenths=True) if warm.notna().all() else None,
        too_hot=found("chicks.feeds-too-hot", limit=FEED_TO_C) if (read.round(2) > FEED_TO_C).any() else None,
        lost=row["fate"] == "lost",
    )


def feeds_of(season: Season, row: dict[str, Any]) -> pd.DataFrame:
    """Return the feeds that name a chick (`mine`), and, where no pair reared it, those of all, in its days there.

    `row`: its row of `season.chicks`. Where a feed names several, the amount is one chick's share. A row that names
    nobody and has neither an amount nor when the crop was empty is a `mix`, read before anybody was fed of it: no feed;
    nor is `solid` food without an amount, which it took by itself.
    `too_much`: whether the amount is far over the cap, by the chick's last weight before it.
    """
    feeds, by_hand, called = season.logs["feeds"], bool(row["by_hand"]), chick_called(season)
    names = {who: [same(str(name)) for name in names_in(who, called)] for who in feeds["who"].dropna().unique()}
    mine = feeds["who"].isin([who for who, whose in names.items() if names_of(row) & set(whose)])
    shared = feeds["who"].isna() & _inside(season, row, feeds["fed_at"]) & by_hand
    fed = feeds["who"].map({who: len(whose) for who, whose in names.items()}).fillna(1)
    amount, solid = feeds["amount"].astype(float) / fed, taken_alone(feeds)
    mix = ~mine & ~solid & amount.isna() & feeds["crop_empty_at"].isna()
    feeds = feeds.assign(amount=amount, mine=mine, solid=solid, mix=mix)[mine | shared]
    own = season.weights[(season.weights["chick"] == row["chick"]) & (season.weights["together"] == 1)]
    own = own.sort_values("weighed_at", kind="stable")
    at = np.searchsorted(own["weighed_at"].dt.normalize(), pd.to_datetime(feeds["fed_at"]), "right")
    before_g = np.append(0.0, own["mass_g"].to_numpy(dtype=float))[at]
    over = feeds["amount"] > OVER_CAP * CAP * before_g
    return feeds.assign(too_much=feeds["mine"] & (before_g > 0) & over)


def _inside(season: Season, row: dict[str, Any], fed_at: pd.Series) -> pd.Series:
    """Whether a feed was in a chick's days with whoever reared it; of none where nobody knows when these began."""
    begins = taken_on(season, row)
    begins = begins if begins is not None else row["arrived_on"] if pd.notna(row["arrived_on"]) else row["hatched_at"]
    day = pd.to_datetime(fed_at).dt.normalize()
    if pd.isna(begins):
        return day.isna() & False
    ended = min((row[end] for end in ("weaned_on", "left_on", "lost_on") if pd.notna(row[end])), default=None)
    inside = day >= begins.normalize()
    return inside if ended is None else inside & (day <= ended.normalize())


def _one_an_hour(fed_at: pd.Series) -> list[pd.Timestamp]:
    """When each feed began: what was given within an hour is one; days without an hour are each one."""
    kept: list[pd.Timestamp] = []
    for at in sorted(pd.to_datetime(fed_at).dropna()):
        if not kept or at == at.normalize() or at - kept[-1] > ONE_FEED:
            kept.append(at)
    return kept


def _how_many(feeds: pd.DataFrame) -> list[Finding]:
    """How often it was fed by name, how many feeds and mixes were logged for all, and what it took by itself."""
    mixes, solid = int(feeds["mix"].sum()), int(feeds["solid"].sum())
    feeds = feeds[~feeds["mix"] & ~feeds["solid"]]
    named, others = feeds[feeds["mine"]], len(_one_an_hour(feeds[~feeds["mine"]]["fed_at"]))
    of_it = [_how_often(named)] if len(named) else []
    of_all = [found("chicks.feeds-of-all", feeds=others)] if others else []
    of_all += [found("chicks.mixes-of-all", mixes=mixes)] if mixes else []
    return [*of_it, *of_all, *([found("chicks.taken-by-itself", times=solid)] if solid else [])]


def _how_often(feeds: pd.DataFrame) -> Finding:
    began = pd.Series(_one_an_hour(feeds["fed_at"]))
    amounts = feeds.loc[~feeds["too_much"], "amount"].dropna().astype(float)
    over, ml = int(feeds["too_much"].sum()), _between(amounts) if len(amounts) else None
    over_cap = found("chicks.feeds-over-cap", rows=over) if over else None
    a_day = _between(began.dt.normalize().value_counts())
    return found("chicks.feeds-of-it", feeds=len(began), a_day=a_day, ml=ml, over=over_cap)


def _as_fed(celsius: pd.Series) -> pd.Series:
    """Whether food may have been fed as warm: neither over what is ever fed, nor colder than any formula is."""
    return celsius.round(2).between(COLDEST_C, FEED_TO_C)


def _between(values: pd.Series, *, tenths: bool = False) -> Finding:
    low, high = values.min(), values.max()
    if f"{low:g}" == f"{high:g}":
        return found("chicks.single-tenths" if tenths else "chicks.single", low=low)
    return found("chicks.between-tenths" if tenths else "chicks.between", low=low, high=high)


def not_weaned(season: Season, chick: str) -> bool:
    """Whether no weaning of a chick is written, or only one after it had left."""
    row = chick_row(season, chick)
    return bool(pd.isna(row["weaned_on"]) or row["left_on"] < row["weaned_on"])


def feeding_handover(season: Season, chick: str) -> list[Finding]:
    """Return what stands above everything on the paper of a chick that is not weaned; nothing of one that is.

    That it must be fed, the hours of the last day logged, its last feed; what nobody wrote is said to be so.
    """
    if not not_weaned(season, chick):
        return []
    row = chick_row(season, chick)
    rows = feeds_of(season, row).sort_values("fed_at", kind="stable")
    feeds = rows[~rows["mix"] & ~rows["solid"]]
    # Local law may forbid it to leave: the Netherlands and California restrict it (read); no list is complete.
    first = found("chicks.must-be-fed", about=NOT_WEANED, level=ACT, left_before=pd.notna(row["weaned_on"]))
    about, fed_at = found("chicks.about-hours"), pd.to_datetime(feeds["fed_at"])
    timed = fed_at[fed_at != fed_at.dt.normalize()]
    if timed.empty:
        hours = found("chicks.hours-not-written", about=about, mixes=bool(rows["mix"].any()))
    else:
        last_day = timed[timed.dt.normalize() == timed.max().normalize()]
        each = [found("chicks.hour", at=at) for at in _one_an_hour(last_day)]
        hours = found("chicks.hours", about=about, hours=each, day=timed.max())
    return [first, hours, _last_feed(feeds)]


def _last_feed(feeds: pd.DataFrame) -> Finding:
    about = found("chicks.about-last-feed")
    if feeds.empty:
        return found("chicks.last-feed-not-written", about=about)
    last, at = feeds.iloc[-1], pd.Timestamp(feeds["fed_at"].iloc[-1])
    amount, written = found("chicks.amount-not-written"), feeds[feeds["mine"] & feeds["amount"].notna()]
    if len(written):
        amount = found("chicks.amount", ml=written["amount"].iloc[-1])
        if written["too_much"].iloc[-1]:  # nobody should repeat it
            amount = found("chicks.amount-too-much")
        if written.index[-1] != feeds.index[-1]:
            amount = found("chicks.amount-before", day=written["fed_at"].iloc[-1], amount=amount)
    # What nobody should feed as warm or as cold is asked about, not repeated.
    celsius = feeds["temperature"].tail(1).astype(float).dropna()
    warm = [found("chicks.warm", celsius=c) for c in celsius[_as_fed(celsius)]] or [found("chicks.warm-not-told")]
    return found(
        "chicks.last-feed",
        about=about,
        day=at,
        hour=found("chicks.hour-not-written") if at == at.normalize() else found("chicks.hour", at=at),
        amount=amount,
        food=last["food"] if isinstance(last["food"], str) else None,
        warm=warm[0] if len(celsius) else None,
        its_own=bool(last["mine"]),
    )


def hot_feeds(season: Season, chick: str) -> list[Finding]:
    """Return what a veterinarian is told of food that burns a crop and is written as a feed of this chick.

    That a burn shows days later: LafeberVet, pediatric avian medicine.
    """
    feeds = feeds_of(season, chick_row(season, chick))
    limit = min(season.settings.number("formula_burn_c"), REFUSE_FROM_C)
    hot = feeds[feeds["mine"] & (feeds["temperature"].round(2) >= limit)]
    days = pd.to_datetime(hot["fed_at"]).dt.normalize()
    hottest = hot["temperature"].astype(float).round(1).groupby(days).max()
    about = found("chicks.about-hot-food")
    return [
        found("chicks.hot-food", about=about, level=ACT, celsius=celsius, day=pd.Timestamp(str(day)))
        for day, celsius in hottest.items()
    ]
