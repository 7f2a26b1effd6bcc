"""A chick that leaves before it is weaned: what whoever feeds it next must know first, as far as it is logged."""

import math

import pandas as pd

from analysis.feeding import REFUSE_FROM_C
from analysis.findings.chick_fed import TOO_MUCH, as_fed, chick_row, feeds_of, one_an_hour
from analysis.findings.overview import Item
from analysis.season import Season
from analysis.words import day_words, listed

NOT_WEANED = "NOT WEANED"
ASK = "not written: ask"
# Local law: the Netherlands and California restrict it (read); no list is complete.
_WHO = (
    "No day of weaning is written{before}. It must be fed by somebody who can do that, at its hours, until it eats "
    "alone and keeps its weight; nobody else should take it. Local law may forbid it to leave before."
)


def not_weaned(season: Season, chick: str) -> bool:
    """Whether no weaning of a chick is written, or only one after it had left."""
    row = chick_row(season, chick)
    return bool(pd.isna(row["weaned_on"]) or row["left_on"] < row["weaned_on"])


def not_weaned_said(season: Season, chick: str) -> list[Item]:
    """Return what stands above everything on the paper of a chick that is not weaned; nothing of one that is.

    That it must be fed, then the hours of the last day logged, and when its last feed was and how much; what nobody
    wrote is said to be so. An amount counts where its feed names the chick: one for all is what was mixed.
    """
    if not not_weaned(season, chick):
        return []
    row = chick_row(season, chick)
    before = " before it left" if pd.notna(row["weaned_on"]) else ""
    rows = feeds_of(season, row).sort_values("fed_at", kind="stable")
    feeds = rows[~rows["mix"]]
    at = pd.to_datetime(feeds["fed_at"])
    said = [(NOT_WEANED, _WHO.format(before=before)), ("Hours", _hours(at, mixed=bool(rows["mix"].any())))]
    if feeds.empty:
        return [*said, ("Last feed", f"{ASK} when it was, how much, and of what.")]
    last = feeds.iloc[-1]
    amount = _amount(last) if last["mine"] and pd.notna(last["amount"]) else _amount_before(feeds)
    food = str(last["food"]) if isinstance(last["food"], str) and last["food"] else f"food {ASK}"
    warm = _warm(float(last["temperature"]))
    whose = "" if last["mine"] else " (logged for all that were reared by hand)"
    when = f"{day_words(at.iloc[-1])}, {_hour(at.iloc[-1]) or f'hour {ASK}'}"
    return [*said, ("Last feed", f"{when}: {amount}, {food}{warm}{whose}. It may have been fed since: ask.")]


def _hours(at: pd.Series, *, mixed: bool) -> str:
    """The hours at which it was fed on the last day on which any is written; those of a mix are none."""
    timed = at[at != at.dt.normalize()]
    if timed.empty:
        mixes = " Mixes are logged, and not who was fed of them, nor when." if mixed else ""
        return f"{ASK} at which hours it is fed, and at night.{mixes}"
    last = timed[timed.dt.normalize() == timed.max().normalize()]
    hours = listed(f"{one:%H:%M}" for one in one_an_hour(last))
    return f"{hours}, as logged on {day_words(last.max())}. Ask whether those are all, and of the night."


def _amount(feed: pd.Series) -> str:
    return TOO_MUCH if feed["too_much"] else f"{feed['amount']:g} ml"


def _warm(celsius: float) -> str:
    """How warm its last feed was; what nobody should feed as warm or as cold is asked about, not repeated."""
    if math.isnan(celsius):
        return ""
    return f", {celsius:.1f} °C" if as_fed(celsius) else ", how warm: ask"


def _amount_before(feeds: pd.DataFrame) -> str:
    """The last amount that was written for this chick, where that of its last feed was not."""
    told = feeds[feeds["mine"] & feeds["amount"].notna()].tail(1)
    if told.empty:
        return f"amount {ASK}"
    last = told.iloc[-1]
    return f"amount {ASK} (the last for it by name, {day_words(last['fed_at'])}: {_amount(last)})"


def _hour(at: pd.Timestamp) -> str:
    return "" if at == at.normalize() else f"{at:%H:%M}"


def burnt_said(season: Season, chick: str) -> list[Item]:
    """Return what a veterinarian is told of food that burns a crop and is written as a feed of this chick."""
    feeds = feeds_of(season, chick_row(season, chick))
    limit = min(season.settings.number("formula_burn_c"), REFUSE_FROM_C)
    hot = feeds[feeds["mine"] & (feeds["temperature"].round(2) >= limit)]
    days = pd.to_datetime(hot["fed_at"]).dt.normalize()
    return [
        ("Hot food", f"Food of {celsius:g} °C is written on {day_words(pd.Timestamp(str(day)))}: {_BURNT}")
        for day, celsius in hot["temperature"].astype(float).round(1).groupby(days).max().items()
    ]


# LafeberVet, pediatric avian medicine.
_BURNT = "tell the veterinarian; a burn of the crop shows days later."
