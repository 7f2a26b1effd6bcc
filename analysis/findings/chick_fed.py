"""What a chick was fed, how often and how warm, as far as it is logged; and its name, found as it is written."""

from typing import Any

import pandas as pd

from analysis.errors import SeasonError
from analysis.feeding import CAP, COLDEST_C, FEED_TO_C, OVER_CAP
from analysis.logs.cells import near
from analysis.logs.names import NameBook, same
from analysis.names import by_name
from analysis.season import Season, is_hand
from analysis.words import count_words, day_words, listed


def chick_named(season: Season, name: str, *, of: str = "chick of this season") -> str:
    """Return a chick's name as it is written, found by name or ring.

    Parameters
    ----------
    season : Season
    name : as a keeper types it
    of : what was looked for, where nobody bears it

    Raises
    ------
    SeasonError
        No chick of the season bears it; near names are offered.

    Examples
    --------
    >>> from analysis import open_season
    >>> chick_named(open_season("data_demo/season_2026"), "al26-007")
    'K07'
    """
    book = NameBook(season.chicks["chick"])
    for chick, ring in zip(season.chicks["chick"], season.chicks["ring"], strict=True):
        if ring:
            book.add(ring, leads_to=chick)
    found = book.find(name)
    if found is None:
        have = by_name(season.chicks["chick"])
        some = f" Its chicks are: {listed(have, most=12)}." if have else " No chick is written in these logs."
        meant = near(name, have)
        raise SeasonError(f"No {of} is called {name}.{f' Did you mean {meant}?' if meant else some}")
    return found


def chick_row(season: Season, chick: str) -> dict[str, Any]:
    """Return one chick's row of `season.chicks`."""
    rows = season.chicks[season.chicks["chick"] == chick_named(season, chick)]
    return dict(rows.iloc[0].to_dict())


def taken_on(season: Season, row: dict[str, Any]) -> pd.Timestamp | None:
    """The day a chick came to whoever reared it last, or None where no move says so; by hand, whatever the brooder."""
    moves = season.logs["moves"]
    names = {same(row["chick"]), same(row["ring"])} - {""}
    mine = moves[moves["what"].map(same).isin(names)]
    days = pd.to_datetime(mine["on"])
    there = mine["to"].map(lambda to: _is_with(str(to), row)).astype(bool)
    elsewhere = days[~there].max()
    days = days[there & ~(days < elsewhere)].dropna()
    return days.min() if len(days) else None


def _is_with(to: str, row: dict[str, Any]) -> bool:
    """Whether a chick that was moved there is with whoever reared it last."""
    hand = row["by_hand"] and (is_hand(to) or same(to) == same(row["brooder"]))
    return bool(hand) or same(to) == same(row["reared_by"])


def fed_said(season: Season, chick: str) -> list[str]:
    """Return what a chick was fed, how often and how, as far as it is logged."""
    row = chick_row(season, chick)
    by_birds = row["reared_by"] in set(season.pairs["pair"])
    feeds = feeds_of(season, row)
    if by_birds and feeds.empty:
        return [f"By {row['reared_by']}; what those birds were given is not in these logs."]
    if feeds.empty:
        return ["Nothing is logged of what it was fed."]
    foods = by_name({str(food) for food in feeds["food"] if isinstance(food, str) and food})
    days = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    first, last = day_words(days.min()), day_words(days.max())
    when = first if first == last else f"{first} to {last}"
    named, mixes = feeds[feeds["mine"]], int(feeds["mix"].sum())
    others = len(one_an_hour(feeds[~feeds["mine"] & ~feeds["mix"]]["fed_at"]))
    for_all = [(others, "feed", "feeds"), (mixes, "mix", "mixes")]
    parts = [_how_often(named)] if len(named) else []
    parts += [f"{count_words(*told)} logged for all that were reared by hand then" for told in for_all if told[0]]
    return [
        f"As logged, {when}: {listed(foods) or 'food that is not named'}; {', and '.join(parts)}{_how_warm(feeds)}. "
        f"What nobody wrote down is not counted{'' if row['fate'] == 'lost' else _NOT_NOW}."
    ]


_ONE_FEED = pd.Timedelta(hours=1)  # no chick is fed as often: hatchlings every 2 hours (Duerr & Gage, pp. 614-617)
_NOT_NOW = ", and nothing here says what it takes now"
TOO_MUCH = "more than a tenth of its weight: ask"  # told in place of an amount over the cap: nobody should repeat it


def feeds_of(season: Season, row: dict[str, Any]) -> pd.DataFrame:
    """Return the feeds that name a chick (`mine`), and, where no pair reared it, those of all, in its days there.

    A row that names nobody and has no amount is a `mix`, read before anybody was fed of it: no feed. `too_much`:
    whether the amount is far over the cap, by the chick's last weight before it.
    """
    feeds, by_hand = season.logs["feeds"], bool(row["by_hand"])
    names = {same(row["chick"]), same(row["ring"])} - {""}
    who = feeds["who"].map(lambda name: same(name) if isinstance(name, str) else "")
    day = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    begins = taken_on(season, row)
    begins = begins if begins is not None else row["arrived_on"] if pd.notna(row["arrived_on"]) else row["hatched_at"]
    ended = min((row[end] for end in ("weaned_on", "left_on", "lost_on") if pd.notna(row[end])), default=None)
    inside = day.notna() if pd.isna(begins) else day >= begins.normalize()
    inside = inside if ended is None else inside & (day <= ended.normalize())
    shared = (who == "") & inside if by_hand and pd.notna(begins) else who.isna()
    mine = who.isin(names)
    feeds = feeds.assign(mine=mine, mix=~mine & feeds["amount"].isna())[mine | shared]
    return feeds.assign(too_much=_too_much(season, row["chick"], feeds))


def _too_much(season: Season, chick: str, feeds: pd.DataFrame) -> list[bool]:
    own = season.weights[(season.weights["chick"] == chick) & (season.weights["together"] == 1)]
    own = own.sort_values("weighed_at", kind="stable")
    days = own["weighed_at"].dt.normalize()
    before = [own.loc[days <= at, "mass_g"].tail(1).sum() for at in feeds["fed_at"]]
    told = zip(feeds["amount"].astype(float), before, feeds["mine"], strict=True)
    return [bool(mine and mass_g > 0 and ml > OVER_CAP * CAP * mass_g) for ml, mass_g, mine in told]


def one_an_hour(fed_at: pd.Series) -> list[pd.Timestamp]:
    """Return when each feed began: what was given within an hour is one; days without an hour are each one."""
    kept: list[pd.Timestamp] = []
    for at in sorted(pd.to_datetime(fed_at).dropna()):
        if not kept or at == at.normalize() or at - kept[-1] > _ONE_FEED:
            kept.append(at)
    return kept


def _how_often(feeds: pd.DataFrame) -> str:
    began = pd.Series(one_an_hour(feeds["fed_at"]))
    days = began.dt.normalize().value_counts()
    said = f"{count_words(len(began), 'feed')} logged for it by name, {_between(days, 'd')} a day on the days logged"
    amounts = feeds.loc[~feeds["too_much"], "amount"].dropna().astype(float)
    said = f"{said}, {_between(amounts, 'g')} ml each" if len(amounts) else said
    over = int(feeds["too_much"].sum())
    return f"{said} (in {count_words(over, 'row')} {TOO_MUCH})" if over else said


def as_fed(celsius: float) -> bool:
    """Whether food may have been fed as warm: neither over what is ever fed, nor colder than any formula is.

    Examples
    --------
    >>> as_fed(40.5), as_fed(42.0), as_fed(4.4)
    (True, False, False)
    """
    return COLDEST_C <= round(celsius, 2) <= FEED_TO_C


def _how_warm(feeds: pd.DataFrame) -> str:
    read = feeds["temperature"].dropna().astype(float)
    warm = read[read.map(as_fed).astype(bool)]
    over = f"readings over {FEED_TO_C:g} °C are left out: such food waits" if (read.round(2) > FEED_TO_C).any() else ""
    said = f"{_between(warm, '.1f')} °C where it was measured" if len(warm) else ""
    told = "; ".join(part for part in (said, over) if part)
    return f"; {told}" if told else ""


def _between(values: pd.Series, form: str) -> str:
    low, high = f"{values.min():{form}}", f"{values.max():{form}}"
    return low if low == high else f"{low} to {high}"
