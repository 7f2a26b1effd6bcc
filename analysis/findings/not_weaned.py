"""A chick that leaves before it is weaned: what whoever feeds it next must know first, as far as it is logged."""

import math

import pandas as pd

from analysis.feeding import REFUSE_FROM_C
from analysis.finding import ACT, Finding, found
from analysis.findings.chick_fed import TOO_MUCH, as_fed, chick_row, feeds_of, one_an_hour
from analysis.season import Season

NOT_WEANED = found("chicks.not-weaned")


def not_weaned(season: Season, chick: str) -> bool:
    """Whether no weaning of a chick is written, or only one after it had left."""
    row = chick_row(season, chick)
    return bool(pd.isna(row["weaned_on"]) or row["left_on"] < row["weaned_on"])


def not_weaned_said(season: Season, chick: str) -> list[Finding]:
    """Return what stands above everything on the paper of a chick that is not weaned; nothing of one that is.

    That it must be fed, then the hours of the last day logged, and when its last feed was and how much; what nobody
    wrote is said to be so. An amount counts where its feed names the chick: one for all is what was mixed.
    """
    if not not_weaned(season, chick):
        return []
    row = chick_row(season, chick)
    rows = feeds_of(season, row).sort_values("fed_at", kind="stable")
    feeds = rows[~rows["mix"]]
    # Local law may forbid it to leave: the Netherlands and California restrict it (read); no list is complete.
    first = found("chicks.must-be-fed", about=NOT_WEANED, level=ACT, left_before=pd.notna(row["weaned_on"]))
    return [first, _hours(pd.to_datetime(feeds["fed_at"]), mixes=bool(rows["mix"].any())), _last_feed(feeds)]


def _hours(at: pd.Series, *, mixes: bool) -> Finding:
    """The hours at which it was fed on the last day on which any is written; those of a mix are none."""
    about, timed = found("chicks.about-hours"), at[at != at.dt.normalize()]
    if timed.empty:
        return found("chicks.hours-not-written", about=about, mixes=mixes)
    last = timed[timed.dt.normalize() == timed.max().normalize()]
    return found("chicks.hours", about=about, hours=[_hour(one) for one in one_an_hour(last)], day=last.max())


def _last_feed(feeds: pd.DataFrame) -> Finding:
    about = found("chicks.about-last-feed")
    if feeds.empty:
        return found("chicks.last-feed-not-written", about=about)
    last, at = feeds.iloc[-1], pd.Timestamp(feeds["fed_at"].iloc[-1])
    return found(
        "chicks.last-feed",
        about=about,
        day=at,
        hour=found("chicks.hour-not-written") if at == at.normalize() else _hour(at),
        amount=_amount(last) if last["mine"] and pd.notna(last["amount"]) else _amount_before(feeds),
        food=last["food"] if isinstance(last["food"], str) else None,
        warm=_warm(float(last["temperature"])),
        its_own=bool(last["mine"]),
    )


def _amount(feed: pd.Series) -> Finding:
    return TOO_MUCH if feed["too_much"] else found("chicks.amount", ml=feed["amount"])


def _warm(celsius: float) -> Finding | None:
    """How warm its last feed was; what nobody should feed as warm or as cold is asked about, not repeated."""
    if math.isnan(celsius):
        return None
    return found("chicks.warm", celsius=celsius) if as_fed(celsius) else found("chicks.warm-not-told")


def _amount_before(feeds: pd.DataFrame) -> Finding:
    """The last amount that was written for this chick, where that of its last feed was not."""
    told = feeds[feeds["mine"] & feeds["amount"].notna()].tail(1)
    if told.empty:
        return found("chicks.amount-not-written")
    last = told.iloc[-1]
    return found("chicks.amount-before", day=last["fed_at"], amount=_amount(last))


def _hour(at: pd.Timestamp) -> Finding:
    return found("chicks.hour", at=at)


def burnt_said(season: Season, chick: str) -> list[Finding]:
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
