"""What is made ready before the first feed: how warm, how much to mix, which brooder, who first; who is asked about."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pandas as pd

from analysis.chicks import feeding
from analysis.chicks.brooders import HUMIDITY, brooder_ranges, needs_of
from analysis.chicks.crop_time import crop_findings, mixed_otherwise
from analysis.chicks.in_the_nursery import age_of
from analysis.day.outside_nursery import RECENT_D, remarks_words
from analysis.day.round import Round
from analysis.finding import LOOK, NOTE, Finding, Words, found
from analysis.logs.headings import same
from analysis.names import by_name
from analysis.season import chick_called, kept_apart, new_birds, unaccounted_chicks
from analysis.season.species import species_kind
from analysis.season.vocabulary import is_brooder, is_cup, is_formula, is_kept_warm

_ROOM_C = (10, 35)
_APART_MIN = 60  # two readings of a cup further apart are of two fillings (practice)


def before_feeding(today: Round) -> list[Finding]:
    """Return what is looked at before anybody is fed; nothing where nobody is."""
    if today.chicks.empty:
        return []
    formula = {"window": feeding.WINDOW, "wait": feeding.WAIT}
    findings = [found("day.formula-so", about=found("day.formula"), level=LOOK, **formula), *_batches(today)]
    findings += [_consistency(today), _to_mix(today), *_cup(today), feeding.CROP_DECIDES]
    findings += crop_findings(today.crop_times, today.on)
    findings += [feeding.HATCHLINGS] if (today.chicks["age_d"] < feeding.HATCHLING_D).any() else []
    findings += _night(today)
    warm = [brooder_ranges(list(needs_of(today.chicks).values())), _brooder_read(today), HUMIDITY]
    return [*findings, found("day.all-of", about=found("day.brooder"), parts=warm), feeding.ORDER_WHY]


def no_amounts(today: Round) -> list[Finding]:
    """Return why the page gives some chicks no amount; why a veterinarian is needed is read of first."""
    none = today.chicks[(today.chicks["why"] != "") & ~today.chicks["needs_vet"]]
    by_why = [(why, own["chick"].tolist()) for why, own in none.groupby("why", sort=False)]
    return [
        replace(why, about=found("day.many-chicks", names=names) if len(names) > 1 else str(names[0]))
        for why, names in by_why
    ]


def still_here(today: Round) -> list[Finding]:
    """Ask about the chicks that may be weaned, gone or lost, and are not fed by a page."""
    asked = unaccounted_chicks(today.season, today.on).merge(today.season.chicks, on=["chick", "by_hand"])
    asked = asked.assign(age_d=(today.on - asked["hatched_at"].dt.normalize()).dt.days.astype(float))
    chicks, findings = [], []
    for chick in asked[asked["by_hand"]].itertuples():
        on = chick.last_record_on
        heard = found("day.nothing-written") if pd.isna(on) else found("day.no-word-since", on=on)
        chicks.append(found("day.chick-heard", chick=chick.chick, age=age_of(chick), heard=heard))
    if chicks:
        findings.append(found("day.still-fed", about=found("day.still-fed-by-hand"), level=LOOK, chicks=chicks))
    if names := asked.loc[~asked["by_hand"], "chick"].tolist():
        findings.append(found("day.past-feeding", about=found("day.still-here"), level=LOOK, chicks=names))
    if names := _maybe_lost(today):
        findings.append(found("day.lost-in-weights", about=found("day.still-here"), level=LOOK, chicks=names))
    return findings


def _maybe_lost(today: Round) -> list[str]:
    """The chicks still here for which a word such as dead stands among the weights, up to the day."""
    season, end = today.season, today.on + pd.Timedelta(days=1)
    here = set(season.chicks.loc[season.chicks["fate"] == "being reared", "chick"])
    words = [season.to_do[at].facts for at in season.problems.index[season.problems["code"] == "loss-in-weights"]]
    names = (chick_called(season).get(same(word["who"])) for word in words if word["on"] is None or word["on"] < end)
    return list(dict.fromkeys(name for name in names if name is not None and name in here))


def kept_from_others(today: Round) -> list[Finding]:
    """Say who came from elsewhere and is still kept apart, where and with whom; ask where new birds are from."""
    apart = kept_apart(today.season, today.on)
    findings = []
    for (came, until, place, room), own in apart.groupby(["arrived_on", "until_on", "place", "room"], sort=True):
        beside = [who for who in dict.fromkeys(own["beside"].explode().dropna())]
        days = {"came": came, "day": (today.on - came.normalize()).days, "until": until}
        days["of"] = today.season.settings.number("quarantine_d")
        where = found("day.apart-in", place=place, room=room) if place else found("day.apart-nowhere")
        code = "day.apart-beside" if beside else "day.apart-alone" if place else "day.apart-unsaid"
        about = found("day.many-chicks", names=own["who"].tolist())
        findings.append(found(code, about=about, level=LOOK if beside else NOTE, where=where, beside=beside, **days))
    if findings:
        findings.append(found("day.kept-apart", about=found("day.about-apart")))
    for pair, birds in new_birds(today.season, today.on).items():
        findings.append(found("day.new-birds", about=pair, birds=birds))
    return findings


def remarks_since(today: Round) -> list[Finding]:
    """Return what was written of each in the keeper's own words, yesterday and today, but for what is read first."""
    remarks, read = today.season.remarks, {one.about for one in today.reads}
    recent = remarks[remarks["on"].dt.normalize() > today.on - RECENT_D * pd.Timedelta(days=1)]
    quoted = recent["who"].isin(read) & (recent["asked"].astype(bool) | (recent["log"] == "signs"))
    by_who = dict(iter(recent[~quoted].groupby("who", sort=False)))
    everybody = found("day.everybody")
    return [found("day.remarks", about=who or everybody, remarks=remarks_words(by_who[who])) for who in by_name(by_who)]


def _batches(today: Round) -> Iterator[Finding]:
    """The mixes whose temperature was read on the day."""
    feeds = today.season.logs["feeds"]
    of_day = pd.to_datetime(feeds["fed_at"]).dt.normalize() == today.on
    formula = feeds["food"].map(lambda food: not isinstance(food, str) or is_formula(food)).astype(bool)
    read = feeds[feeds["temperature"].notna() & of_day & formula].sort_values("fed_at", kind="stable")
    mixes = []
    for row in read.itertuples():
        when = found("day.at", at=row.fed_at) if row.fed_at != today.on else found("day.no-time")
        mixes.append(found("day.mix", when=when, judged=feeding.judge_formula(float(row.temperature)).brief))
    if mixes:
        yield found("day.mixes", about=found("day.read-today"), mixes=mixes)


def _consistency(today: Round) -> Finding:
    """How thick the mix is made, and what was written of it."""
    otherwise = [*mixed_otherwise(today.season, today.on)]
    written = found("day.all-of", parts=otherwise) if otherwise else None
    return found("day.consistency", about=found("day.consistency-of"), always=feeding.CONSISTENCY, written=written)


def _night(today: Round) -> Iterator[Finding]:
    """Who is fed through the night, of those that are fed by a page at all; the youngest they may be counts."""
    fed = today.chicks[(today.chicks["times"] != "") & (today.chicks["species"].map(species_kind) != "finch")]
    youngest_d = fed["age_d"] - fed["sure_to_days"].astype(float).abs().fillna(0)
    young = youngest_d < feeding.HATCHLING_D
    older = ~young & (youngest_d < feeding.NIGHT_ASK_D)
    parts: list[Words] = []
    if young.any():
        parts.append(found("day.night-hatchlings", chicks=by_name(fed.loc[young, "chick"])))
    if older.any():
        parts.append(found("day.night-older", chicks=by_name(fed.loc[older, "chick"]), after=bool(parts)))
    if parts:
        yield found("day.all-of", about=found("day.night-of"), level=LOOK, parts=parts)


def _to_mix(today: Round) -> Finding:
    amounts = [feeding.Amount(*row) for row in today.chicks[["low_ml", "high_ml", "why"]].itertuples(index=False)]
    low, high, known = feeding.total_to_mix(amounts)
    others = len(amounts) - known
    beside = found("day.without-amount", chicks=others) if others else ""
    always: dict[str, Any] = {"beside": beside, "usable": feeding.USABLE}
    if not known:
        return found("day.no-amount-at-all", about=found("day.to-mix"), **always)
    step = 0.01 if high < 1 else 0.1 if high < 10 else 1.0  # the upper end rounded up: nobody's feed is short
    low, high = math.floor(low / step) * step, math.ceil(high / step) * step
    return found("day.mix-so-much", about=found("day.to-mix"), low_ml=low, high_ml=high, chicks=known, **always)


def _cup(today: Round) -> Iterator[Finding]:
    """Whether the keeper's own cup stays warm for the round, by its last two readings of the day."""
    readings = today.season.logs["readings"]
    read = readings[readings["temperature"].notna()].sort_values("read_at", kind="stable")
    read = read[pd.to_datetime(read["read_at"]).dt.normalize() == today.on]
    # a cup by the place that it stands under; the room: the coolest that is neither cup, nor kept warm, nor a fridge
    cup = read["place"].map(is_cup).astype(bool)
    incubators = {same(name) for name in today.season.eggs["incubated_by"]}
    warm = read["place"].map(lambda place: same(place) in incubators or is_kept_warm(place)).astype(bool)
    rooms = read[~cup & ~warm & read["temperature"].between(*_ROOM_C)]
    cups, room = read[cup], rooms["temperature"].min() if len(rooms) else None
    for cup, own in cups.groupby(cups["place"].map(same), sort=True):
        if len(own) < 2 or room is None:
            continue
        first, second = own.iloc[-2:].itertuples()
        name = str(cup)[:1].upper() + str(cup)[1:]
        minutes = (second.read_at - first.read_at).total_seconds() / 60
        if not (0 < minutes <= _APART_MIN and first.temperature > second.temperature > room):
            yield found("day.no-cooling-cup", about=name)
            continue
        rate = feeding.cooling_rate(minutes, first.temperature, second.temperature, room)
        chicks, each = len(today.chicks), today.season.settings.number("minutes_a_chick")
        lots = feeding.lots_needed(rate, room, chicks * each)
        yield found("day.cup", about=name, chicks=chicks, each=each, lots=lots)


def _brooder_read(today: Round) -> Words:
    readings = today.season.logs["readings"]
    readings = readings.assign(temperature=readings["temperature"].fillna(readings["temperature_if_other"]))
    read = readings[readings["temperature"].notna() & readings["place"].map(is_brooder).astype(bool)]
    read = read[read["read_at"] >= today.on - pd.Timedelta(days=2)].sort_values("read_at").groupby("place").tail(1)
    rows = zip(read["place"], read["temperature"], read["read_at"], strict=True)
    last = [found("day.place-read", place=where, celsius=celsius, on=at) for where, celsius, at in rows]
    return found("day.last-read", read=last) if last else ""
