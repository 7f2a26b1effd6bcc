"""The evening: what is handed over for the night, from the morning's round and from what was written since."""

from typing import Any

import pandas as pd

from analysis.chicks.brooders import WARM_C, needs_of
from analysis.chicks.fed import taken_alone
from analysis.chicks.feeding import HATCHLING_D
from analysis.day.outside_nursery import last_read
from analysis.day.round import Round
from analysis.finding import Words, found
from analysis.logs.headings import same
from analysis.names import by_name
from analysis.season import LOOKS, Season
from analysis.season.vocabulary import is_brooder

LOOK_AT, LAST_FEED, READING, EGGS, MOVED = "look at", "last feed", "reading", "eggs", "moved"  # kinds of lines
# Eggs that are looked at in the night, of what is due, and what each line of them is called.
_TONIGHT = {
    "pipped": found("day.evening-pipped"),
    "may hatch": found("day.evening-may-hatch"),
    "may pip": found("day.evening-may-pip"),
}
_COLUMNS = ["kind", "about", "who", "told"]
_DAY = pd.Timedelta(days=1)


def evening_rows(today: Round) -> pd.DataFrame:
    """Return what is handed over for the night, a row a line: kind, about, who (names) and told, as text and findings.

    kind: "look at" (who was not right this morning, or came or moved since yesterday), "last feed", "reading" (heat and
    humidity of each place with chicks or eggs in it), "eggs", "moved". No row where nothing is kept.
    """
    rows = [*_not_right(today), *_last_feed(today), *_eggs(today), *_moved(today), *_places(today)]
    return pd.DataFrame(rows, columns=_COLUMNS)


def _not_right(today: Round) -> list[tuple[str, Words, Words, Words]]:
    """Whoever is read of first, those whose weight was in doubt, and those not weighed: how are they now?"""
    soon: dict[str, list[str]] = {}
    living = {same(one) for one in today.season.chicks["chick"]} | _birds(today.season)
    for one in today.reads:
        if isinstance(one.about, str) and same(one.about) in living:
            soon.setdefault("looked-at" if one.facts["soon"] in LOOKS else "vet", []).append(one.about)
    told = {same(name) for names in soon.values() for name in names}
    again = today.chicks[today.chicks["weigh_again"] & ~today.chicks["chick"].map(same).isin(told)]
    soon |= {"weigh-again": again["chick"].tolist()}
    parts = [found(f"day.evening-{code}", names=list(dict.fromkeys(names))) for code, names in soon.items() if names]
    return [(LOOK_AT, found("day.evening-look-at"), found("day.evening-parts", parts=parts), "")] if parts else []


def _birds(season: Season) -> set[str]:
    """The names of pairs and of their birds."""
    columns = [season.pairs[name] for name in ("pair", "cock", "hen")] + [season.logs["birds"]["bird"]]
    return {same(str(name)) for column in columns for name in column} - {""}


def _last_feed(today: Round) -> list[tuple[str, Words, Words, Words]]:
    """Whom the night's feeds are of, and the last feed that is written of this day."""
    if today.chicks.empty:
        return []
    young = today.chicks.loc[~(today.chicks["age_d"] >= HATCHLING_D) & today.chicks["age_d"].notna(), "chick"]
    feeds = today.season.logs["feeds"]
    at = pd.to_datetime(feeds.loc[~taken_alone(feeds), "fed_at"])
    at = at[(at.dt.normalize() == today.on) & (at != today.on)]
    who = found("day.evening-fed", chicks=len(today.chicks), young=by_name(young))
    told = found("day.evening-last-written", at=at.max()) if len(at) else ""
    return [(LAST_FEED, found("day.evening-last-feed"), who, told)]


def _eggs(today: Round) -> list[tuple[str, Words, Words, Words]]:
    """The eggs that have pipped, and those that may pip or hatch in the night."""
    rows: list[tuple[str, Words, Words, Words]] = []
    for what, about in _TONIGHT.items():
        due = today.due[today.due["what"] == what]
        where = [found("day.evening-egg", names=one.names, where=one.where) for one in due.itertuples()]
        rows += [(EGGS, about, found("day.evening-parts", parts=where), "")] if where else []
    return rows


def _moved(today: Round) -> list[tuple[str, Words, Words, Words]]:
    """Who was moved, or came, yesterday or today, where to and why."""
    since, moves, chicks = today.on - _DAY, today.season.logs["moves"], today.season.chicks
    days = pd.to_datetime(moves["on"]).dt.normalize()
    parts = [
        found("day.evening-moved-to", who=row.what, to=row.to, why=row.why if isinstance(row.why, str) else "")
        for row in moves[(days >= since) & (days <= today.on)].itertuples()
    ]
    came = chicks.loc[chicks["arrived_on"].dt.normalize().between(since, today.on), "chick"]
    parts += [found("day.evening-came", names=came.tolist())] if len(came) else []
    return [(MOVED, found("day.evening-new"), found("day.evening-parts", parts=parts), "")] if parts else []


def _places(today: Round) -> list[tuple[str, Words, Words, Words]]:
    """Each incubator and brooder in use, how warm it should be, and what was last read of it this day."""
    season, pairs = today.season, {same(pair) for pair in today.season.pairs["pair"]}
    eggs = {str(one) for one in today.eggs.incubating["incubated_by"] if one and same(one) not in pairs}
    low_c, high_c = (season.settings.number(name) for name in ("incubator_from_c", "incubator_to_c"))
    wanted: dict[str, Words] = {one: found("day.range", low_c=low_c, high_c=high_c) for one in by_name(eggs)}
    needs = needs_of(today.chicks)
    for place, chicks in _in_brooders(today).items():
        least = max((needs[chick] for chick in chicks), key=lambda need: need.least_c)
        low_c, high_c = WARM_C[least.stages[0]]
        wanted[place] = found("day.evening-wanted", chicks=len(chicks), chick=least.chick, low_c=low_c, high_c=high_c)
    return [(READING, place, want, _read(season, place, today.on)) for place, want in wanted.items()]


def _in_brooders(today: Round) -> dict[str, list[str]]:
    """The chicks of each brooder; of whom nobody wrote which, in each one that was read of late."""
    chicks = today.chicks.groupby("brooder", sort=True)["chick"].agg(list).to_dict()
    anywhere = chicks.pop("", [])
    read = last_read(today.season, today.on)["place"]
    own = {same(place): place for place in [*chicks, *read[read.map(is_brooder).astype(bool)]]}
    return {place: inside for place in own.values() if (inside := chicks.get(place, anywhere))}


def _read(season: Season, place: str, on: pd.Timestamp) -> Words:
    """What was last read of a place on a day."""
    readings: Any = season.logs["readings"]
    own = readings[(readings["place"].map(same) == same(place)) & readings["temperature"].notna()]
    own = own[pd.to_datetime(own["read_at"]).dt.normalize() == on].sort_values("read_at", kind="stable")
    if own.empty:
        return found("day.evening-not-read")
    last = own.iloc[-1]
    at = found("day.at", at=last["read_at"]) if last["read_at"] != on else None
    humid = None if pd.isna(last["humidity_pct"]) else round(float(last["humidity_pct"]))
    return found("day.evening-read", celsius=float(last["temperature"]), humidity=humid, at=at)
