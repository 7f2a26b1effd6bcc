"""Losses: survival by age, when and why chicks were lost, and what came together."""

from typing import Any

import pandas as pd

from analysis import charts, show
from analysis.chapters.logs import withheld
from analysis.finding import Rates, found
from analysis.rates import kaplan_meier, losses_by_cause, survival_to
from analysis.say import heads, in_words, say
from analysis.season import RATES, Season, cause_words, chick_spans
from analysis.season.losses import lost_by_age
from analysis.words import day_words


@withheld(*RATES)
def survival(season: Season) -> list[Any]:
    """Show the share of chicks alive at each age, those still being reared counted as far as they are."""
    spans = chick_spans(season)
    if spans.empty:
        return [show.nothing(found("chapters.no-ages"))]
    if not spans["lost"].any():
        return [show.prose(found("chapters.none-lost-of-known-age"))]
    return [charts.survival_chart(kaplan_meier(spans))]


@withheld(*RATES)
def by_group(season: Season) -> list[Any]:
    """Show how many chicks lived to weaning age, by who reared them and by room; those still being reared count too."""
    spans = chick_spans(season)
    spans = spans[spans["wean_d"] > 0]
    if spans.empty:
        return [show.nothing(found("chapters.no-weaning-age"))]
    names, parts = heads("by", "name", "chicks", "lost", "alive-at-weaning", "beside"), []
    for by, words in (("reared_by", say("overview.by-rearer")), ("room", say("overview.by-room"))):
        table = survival_to(spans, "wean_d", by=by)
        alive = [
            say("overview.alive", rate=row.survival, sure=Rates(row.low, row.high), in_part=not row.sound)
            for row in table.itertuples()
        ]
        told = table.assign(by=words, alive=alive)
        parts.append(told[["by", "name", "chicks", "lost", "alive", "beside"]].set_axis(names, axis=1))
    caption, note = found("chapters.alive-caption"), found("chapters.alive-note")
    table = pd.concat(parts, ignore_index=True)
    return [show.table(table, caption=caption, note=note, name="survival_to_weaning")]


def ages_and_causes(season: Season) -> list[Any]:
    """Show losses by age band, week by week, and by cause as the keeper wrote it."""
    by_age, unknown = lost_by_age(season)
    shown: list[Any] = []
    if by_age["lost"].any():
        shown.append(charts.losses_by_age_chart(by_age))
    if unknown:
        shown.append(show.prose(found("chapters.not-by-age", n=unknown)))
    chicks = season.losses[season.losses["chick"] != ""]
    chicks = chicks.assign(cause_group=[in_words(cause_words(group)) for group in chicks["cause_group"]])
    if chicks["found_on"].notna().any():
        shown.append(charts.losses_calendar(chicks, season.chicks["hatched_at"]))
    elif len(chicks):
        shown.append(charts.losses_by_cause_chart(losses_by_cause(chicks)))
    return shown or [show.prose(found("chapters.no-losses"))]


def table(season: Season) -> list[Any]:
    """Show every loss."""
    if season.losses.empty:
        return []
    names = zip(season.losses["chick"], season.losses["egg"], strict=True)
    who = [chick or say("overview.egg-named", egg=egg) for chick, egg in names]
    told = season.losses.assign(who=who, found=season.losses["found_on"].map(day_words))
    losses = told[["who", "found", "age_d", "cause", "examined", "event"]]
    losses = losses.set_axis(heads("who", "found", "age-d", "cause-as-written", "examined", "together"), axis=1)
    for optional in heads("examined", "together"):
        if not losses[optional].any():
            losses = losses.drop(columns=optional)
    formats: dict[str, show.Format] = {say("heads.age-d"): "{:.0f}"}
    caption = found("chapters.losses-caption")
    return [show.table(losses, caption=caption, formats=formats, name="losses_listed")]
