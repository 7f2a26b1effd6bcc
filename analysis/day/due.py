"""The list of a day: from the logs as they stood, what a keeper would do, in the order of a round."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pandas as pd

from analysis.day.eggs_due import eggs_due
from analysis.day.nests import nests_due
from analysis.day.things import DAY, PRACTICE, Thing, day_range, place, rows_of, whose
from analysis.eggs.hatch_days import usual_days
from analysis.finding import Words, found
from analysis.logs.headings import same
from analysis.season import Season, unaccounted_chicks
from analysis.season.chicks import WEAN_PAST_D, reared_at
from analysis.season.species import (
    YOURS,
    Held,
    longest_incubation_d,
    said_span,
    species_facts,
    window_held,
    written_for,
)

SHOWN_D = 14  # practice: how long a rest that began is told
LAID_D = 7  # practice: a week without an egg, and the clutch is complete
RING_PAST_D = 3  # practice: how long one that missed its ringing days is told
NEVER_RINGED = 3  # practice: so many young of a pair left unringed, and nobody means to ring the next
NOT_WEIGHED_D = 2  # practice: a morning may be missed, two are asked about
LOOK_AGAIN_D = 2  # practice: a flag of yesterday and of the day before
# Every morning before the first feed: HARI; Duerr & Gage, Hand-Rearing Birds, 2020, pp. 450, 552, 617.
DAILY = found("due.weighed-daily-by")
WEANS = ("due.wean-on", "due.wean-from")  # in its days of weaning
# On one day, on several, and past them; and how long past them.
_CODES = {
    "ring": ("due.ring-on", "due.ring-from", "due.ring-past", RING_PAST_D),
    "wean": (*WEANS, "due.wean-past", WEAN_PAST_D),
}


def _window(season: Season, species: str, what: str) -> Held | None:
    """The keeper's own days for "ring", "wean" or "candle" (one alone is both), or those read; None: nobody says."""
    return window_held(season.logs["species"], species, what)


def _rests_due(season: Season, day: pd.Timestamp) -> Iterator[Thing]:
    """The pairs whose rest began in the last two weeks; a trio or colony has none."""
    yours = found("due.your-own-setting" if "clutches_then_rest" in season.settings.values else "due.keepers-texts")
    limits = (season.settings.number("clutches_then_rest"), yours)
    pairs = season.pairs[season.pairs["kind"].eq("pair") & ~(season.pairs["parted_on"] <= day)]
    for name, species, cage in pairs[["pair", "species", "cage"]].itertuples(index=False):
        both = (season.eggs, season.clutches)  # pulled clutches, and those that were counted only
        laid = len({same(clutch) for frame in both for clutch in frame.loc[frame["pair"] == name, "clutch"]})
        own = written_for(season.logs["species"], species, "clutches_a_season")
        limit, source = limits if own is None else (own, YOURS)
        over = _done_on(season, name) if laid >= limit else pd.NaT
        if not pd.isna(over) and 0 <= (day - over).days <= SHOWN_D:
            why = found("due.rest-after-your-own" if source == YOURS else "due.rest-after", clutches=laid, limit=limit)
            yield Thing("rest", name, name, why, source, where=cage, since_on=over)


def _done_on(season: Season, pair: str) -> pd.Timestamp:
    """The day on which the last of its eggs and chicks was done with; NaT where none is known, or it is not yet.

    An egg was sat on until it hatched, was candled clear, or else for its usual days.
    """
    eggs = season.eggs[season.eggs["incubated_by"].eq(pair)]
    chicks = season.chicks[season.chicks["reared_by"].eq(pair)]
    if eggs["outcome"].eq("still incubating").any() or chicks["fate"].eq("being reared").any():
        return pd.NaT
    laid = season.eggs.loc[season.eggs["pair"].eq(pair), "laid_on"] + LAID_D * DAY
    clear = eggs["candled_on"].where(eggs["outcome"].eq("clear")) if "candled_on" in eggs else pd.NaT
    usual = pd.to_timedelta([_incubated_d(season, species) for species in eggs["species"]], unit="D")
    sat = eggs["hatched_at"].fillna(clear).fillna(eggs["set_on"].fillna(eggs["laid_on"]) + usual)
    out = chicks["weaned_on"].fillna(chicks["lost_on"]).fillna(chicks["left_on"])
    moves = season.logs.get("moves", pd.DataFrame(columns=["what", "on"]))
    young = {same(chick) for chick in season.chicks.loc[season.chicks["pair"].eq(pair), "chick"]}
    moved = moves.loc[moves["what"].map(same).isin(young), "on"]
    days = [*laid, *sat, *out, *moved, *_counted_until(season, pair)]
    return max((day.normalize() for day in days if not pd.isna(day)), default=pd.NaT)


def _counted_until(season: Season, pair: str) -> list[pd.Timestamp]:
    """Until when a clutch took that was counted only: its usual days, and those to weaning where any hatched."""
    days = []
    counted = season.clutches[season.clutches["pair"].eq(pair)]
    for clutch in counted.assign(hatched=counted["hatched"].fillna(1)).to_dict("records"):
        weaned = _window(season, clutch["species"], "wean")
        reared_d = weaned.high if weaned and clutch["hatched"] > 0 else 0.0
        days.append(clutch["first_egg_on"] + (_incubated_d(season, clutch["species"]) + reared_d) * DAY)
    return days


def _incubated_d(season: Season, species: str) -> float:
    longest = usual_days(season, species)[1]
    return longest_incubation_d() if pd.isna(longest) else longest


def _chicks_due(season: Season, day: pd.Timestamp, flags: pd.DataFrame | None) -> Iterator[Thing]:
    """What is due of every chick that is here and still being reared; who may be gone is asked about instead."""
    hatched = season.chicks["hatched_at"].dt.normalize()
    came = season.chicks["arrived_on"].fillna(hatched)
    here = season.chicks["fate"].eq("being reared") & ~(came > day) & ~(hatched > day)
    chicks = season.chicks[here & ~season.chicks["chick"].isin(unaccounted_chicks(season, day)["chick"])]
    weights = season.weights[season.weights["weighed_at"] < day + DAY]
    weighed = weights.groupby("chick")["weighed_at"].max().dt.normalize()
    chicks = chicks.assign(
        hatched_on=hatched[chicks.index],
        age_d=(day - hatched[chicks.index]).dt.days,
        about=chicks["sure_to_days"] > 1,
        **dict.fromkeys(("who", "name"), chicks["chick"]),
        group=chicks["pair"],
        of=[()] * len(chicks),
        weighed_on=weighed.reindex(chicks["chick"]).to_numpy(),
        where=[place(season, *by) for by in zip(reared_at(chicks), chicks["cage"], strict=True)],
    )
    unringed = _never_ringed(season, day)
    for chick in chicks.to_dict("records"):
        if chick["pair"] not in unringed and not chick["ring"]:
            yield from _of_an_age(season, chick, "ring")
        yield from _of_an_age(season, chick, "wean")
        yield from _weigh(chick, day)
        yield from _look(chick, day, flags)


def _never_ringed(season: Season, day: pd.Timestamp) -> set[str]:
    """Pairs of whose chicks several outgrew the ringing days and none has a ring: theirs are not ringed here."""
    days = {one: _window(season, one, "ring") for one in season.chicks["species"].unique()}
    last_d = season.chicks["species"].map({one: ringed.high for one, ringed in days.items() if ringed}).astype(float)
    age_d = (day - season.chicks["hatched_at"].dt.normalize()).dt.days
    grown = season.chicks["fate"].isin(["being reared", "weaned"]) & (age_d > last_d + RING_PAST_D)
    chicks = season.chicks[grown & season.chicks["pair"].ne("")]
    ringed = chicks["ring"].ne("").groupby(chicks["pair"]).agg(["sum", "size"])
    return set(ringed.index[(ringed["sum"] == 0) & (ringed["size"] >= NEVER_RINGED)])


def _of_an_age(season: Season, chick: dict[str, Any], what: str) -> Iterator[Thing]:
    """Ringing or weaning, in its days and for some days past them."""
    on_one, on_several, past, past_d = _CODES[what]
    days = _window(season, chick["species"], what)
    if days is None or not days.low <= chick["age_d"] <= days.high + past_d:
        return
    facts: dict[str, Any] = {"days": day_range(days.low, days.high), "source": days.source}
    begins, ends = (chick["hatched_on"] + day * DAY for day in (days.low, days.high))
    aged = {**whose(chick), "age_d": int(chick["age_d"]), "about": bool(chick["about"])}
    if chick["age_d"] > days.high:
        span = {"since_on": ends + DAY, "until_on": ends + past_d * DAY}
        yield Thing(what, why=found(past, **facts), source=PRACTICE, **span, **aged)
        return
    if what == "ring":
        facts |= {"last": chick["age_d"] == days.high, "size": _ring_size(chick["species"])}
    why = found(on_one if days.low == days.high else on_several, **facts)
    yield Thing(what, why=why, source=days.source, sourced=True, since_on=begins, until_on=ends, **aged)


def _ring_size(species: str) -> Words:
    """How wide a closed ring is, where it was read; a width that is only remembered could harm a leg."""
    facts = species_facts(species)
    read = facts.days("ring_size") if facts else None
    return found("due.ring-size", size=said_span(read.low, read.high)) if read and read.mark == "read" else ""


def _weigh(chick: dict[str, Any], day: pd.Timestamp) -> Iterator[Thing]:
    """Chicks reared by hand that were not weighed on this day nor on the one before."""
    came = max((one for one in (chick["hatched_on"], chick["arrived_on"]) if not pd.isna(one)), default=pd.NaT)
    weighed = not pd.isna(chick["weighed_on"])
    since_on = chick["weighed_on"] if weighed else came
    if not chick["by_hand"] or pd.isna(since_on) or (day - since_on).days < NOT_WEIGHED_D:
        return
    named = whose(chick) | {"group": ""}
    why = found("due.not-weighed-since", since_on=since_on) if weighed else found("due.never-weighed")
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
    span = {"since_on": last + DAY, "until_on": last + LOOK_AGAIN_D * DAY}
    yield Thing("look again", why=why, source=PRACTICE, **span, **whose(chick))


def due_on(season: Season, day: str | date | pd.Timestamp, *, flags: pd.DataFrame | None = None) -> pd.DataFrame:
    """What is due on a day, from the logs alone, opened with `up_to` this day, so that nothing later is in them.

    An egg is counted from the day it was set, else laid; the day of hatch is age 0. Ages are counted to `day`, which
    may be later than the last day of the logs. Eggs that showed nothing are not expected to hatch; a bird is never
    blamed. `flags`: raised on the days before, and not yet back: chick, day, sentence (text or a Finding).

    A row a thing due, several eggs or chicks alike in one; empty where nothing is: what (one of `KINDS`, in their
    order; what ends soonest first), code (of the reason), said (what it is, as a keeper reads it), who (names as the
    logs take them, a tuple; an egg whose number another has is pair/clutch/egg), names (the same as text), where,
    since_on and until_on (of the first to end, NaT where open), reason (one sentence with the numbers), brief (the same
    in fewer words), sourced (whether the reason names its source), source (as "practice") and source_code.
    """
    today = pd.Timestamp(day).normalize()
    chicks = [*_chicks_due(season, today, flags), *nests_due(season, today)]
    return rows_of([*eggs_due(season, today), *chicks, *_rests_due(season, today)])
