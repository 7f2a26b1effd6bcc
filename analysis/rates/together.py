"""Losses that come together, against what chance would give: a night or a week that touches several broods."""

from typing import Any

import pandas as pd

from analysis.names import by_name, named
from analysis.rates.found_together import by_chance, most_surprising, one_brood

EVENTS = {
    "event": "object",
    "kind": "str",
    "window": "str",
    "place": "str",
    "from_d": "datetime64[us]",
    "to_d": "datetime64[us]",
    "chicks": "object",
    "pairs": "int64",
    "broods": "int64",
    "expected": "float64",
    "chance": "float64",
    "set_aside": "bool",
}
_COUNTS = ("worked", "tried", "worked_without", "tried_without")


def losses_together(spans: pd.DataFrame, *, seasons: int = 2_000, seed: int = 20_260_606) -> pd.DataFrame:
    """Losses that come together, with how often chance alone gives as much anywhere in a season.

    Looked at are single days (a night that ends in a finding) and seven days on end, in the whole aviary, in
    each room and in each place. A window counts **the broods that lost chicks in it**, not the chicks: whole
    clutches fail, and five dead of one nest are one mishap of that nest.

    Chance is worked from 2,000 seasons with the same chicks under watch on the same days, each lost on
    its own with the aviary's own chance of loss at its age (see `analysis.rates.windows.chick_days`). So it is heeded
    that many chicks hatch together and that the young die more. A window's chance is the share of those
    seasons in which *any* day, week, room or place is as surprising: having looked everywhere is paid for.

    Parameters
    ----------
    spans : frame
        A row a chick: chick, pair (that laid), nest (chicks of one nest share a fate), place, room, came_on, out_on
        (days; a loss has the day it was found), entry_d (age in days on came_on), lost.
    seasons, seed
        Seasons made by chance, and where their random numbers begin: the same digits on every run.

    Returns
    -------
    frame, a row an event: those set aside first, then by date
        event (a finding: "5 chicks of 4 pairs on 6 June 2026"), kind ("several broods" or "one brood"), window
        ("night" or "week"), place (or room, where all were in one; otherwise blank), from_d, to_d (days of the first
        and last finding), chicks (names), pairs (that laid), broods, expected (losses by chance in that night, or in
        seven days from from_d, where it was looked at; the event's own losses are part of what that is reckoned from),
        chance (NaN for one brood: not asked), set_aside.

        Set aside is what has three chicks or more, two pairs and two broods or more, and a chance below 0.01.
        A chick is in one event only: the one with the lowest chance has it, then the shorter one. After an event
        is set aside all is worked anew without its losses. "one brood": three chicks or more of one
        nest within a week; a clutch that failed, never set aside here.

    Notes
    -----
    Counting chicks instead of broods was tried: with one clutch in ten failing whole, a season in five then had an
    event set aside that was none. The price: two broods in one night are hardly ever surprising enough.
    Sources: Naus 1965 (scan statistics), Westfall & Young 1993 (the smallest p) (from memory).

    Examples
    --------
    Thirty chicks of ten broods, a day apart; in one night three go, of three broods, and no other is lost:

    >>> from analysis.say import in_words
    >>> came = pd.date_range("2026-03-01", periods=30)
    >>> spans = pd.DataFrame({"chick": [f"K{n}" for n in range(30)], "pair": [f"P{n // 3}" for n in range(30)],
    ...     "came_on": came, "out_on": came + pd.Timedelta(days=40), "entry_d": 0.0, "lost": False})
    >>> spans = spans.assign(nest=spans["pair"], place="hand", room="hand")
    >>> spans.loc[[9, 12, 15], ["out_on", "lost"]] = [pd.Timestamp("2026-03-20"), True]
    >>> event = losses_together(spans).loc[0]
    >>> in_words(event["event"]), event["place"], event["chicks"], bool(event["set_aside"])
    ('3 chicks of 3 pairs on 20 March 2026', 'hand', ('K9', 'K12', 'K15'), True)
    """
    left = spans.reset_index(drop=True)
    told: list[dict[str, Any]] = []
    chance = by_chance(left, seasons, seed)
    while (event := most_surprising(left, chance)) and event["set_aside"]:
        told.append(event)
        left = _without(left, event)
        chance = by_chance(left, seasons, seed)
    rest: list[dict[str, Any]] = []
    while other := one_brood(left) or most_surprising(left, chance):
        rest.append(other)
        left = _without(left, other)
    told = [event for part in (told, rest) for event in sorted(part, key=lambda event: event["from_d"])]
    return pd.DataFrame(told, columns=list(EVENTS)).astype(EVENTS)


def _without(spans: pd.DataFrame, event: dict[str, Any]) -> pd.DataFrame:
    """Spans in which the chicks of an event were seen until then, and not lost."""
    return spans.assign(lost=spans["lost"] & ~spans["chick"].isin(event["chicks"]))


def without_events(chicks: pd.DataFrame, events: pd.DataFrame, by: str | None = "pair") -> pd.DataFrame:
    """Weaning counts with all losses, and without the chicks of the events that are set aside.

    Parameters
    ----------
    chicks : frame
        A row a chick: chick, fate ("weaned", "lost", "left", "being reared"), and the column `by`.
    events : frame
        From `losses_together`.
    by : column of chicks, or None
        None: all chicks together.

    Returns
    -------
    frame, a row a group, by name
        name ("aviary" for all, "not written" where it is blank), worked (weaned), tried (weaned or lost),
        worked_without, tried_without: a chick set aside is in neither.

    Examples
    --------
    >>> chicks = pd.DataFrame({"chick": ["K1", "K2", "K3"], "pair": "P1", "fate": ["weaned", "lost", "lost"]})
    >>> events = pd.DataFrame({"chicks": [("K3",)], "set_aside": [True]})
    >>> without_events(chicks, events).to_dict("split")["data"]
    [['P1', 1, 3, 1, 2]]
    """
    aside = {chick for names in events.loc[events["set_aside"].astype(bool), "chicks"] for chick in names}
    kept = ~chicks["chick"].isin(aside)
    worked = chicks["fate"] == "weaned"
    tried = worked | (chicks["fate"] == "lost")
    names = pd.Series("aviary", index=chicks.index, dtype=object) if by is None else named(chicks[by])
    counts = dict(zip(_COUNTS, (worked, tried, worked & kept, tried & kept), strict=True))
    sums = pd.DataFrame(counts).groupby(names).sum().astype(int)
    return sums.loc[by_name(sums.index)].rename_axis("name").reset_index()
