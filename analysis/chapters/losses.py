"""Losses: survival by age, when and why chicks were lost, and what came together."""

from typing import Any

from analysis import charts, findings, show
from analysis.chapters.trust import withheld
from analysis.rates import kaplan_meier, losses_by_cause
from analysis.season import RATES, Season, chick_spans
from analysis.words import count_words

_NO_AGES = "No chick of known age is logged, so survival by age cannot be drawn."
_ALIVE = (
    "Kaplan and Meier's estimate with its 95 % interval; who came late or is still being reared counts as far as "
    "it was watched. A chick counts, for all its days, with whoever had it last, so hand-rearing looks better "
    "than it is: what it is given has lived until then. From day to day: Mayfield's estimate. In both a loss is put "
    "half-way between the last good look and the finding, where a look is written; losses by age count the finding."
)
_NO_LOSSES = "No loss is logged."


@withheld(*RATES)
def survival(season: Season) -> list[Any]:
    """Show the share of chicks alive at each age, those still being reared counted as far as they are."""
    spans = chick_spans(season)
    if spans.empty:
        return [show.nothing(_NO_AGES)]
    if not spans["lost"].any():
        return [show.prose("No chick of known age is logged as lost before weaning.")]
    return [charts.survival_chart(kaplan_meier(spans))]


@withheld(*RATES)
def by_group(season: Season) -> list[Any]:
    """Show how many chicks lived to weaning age, by who reared them and by room."""
    table = findings.survival_table(season)
    if table.empty:
        return [show.nothing("No age at weaning is known for these chicks, so survival to it cannot be told.")]
    return [show.table(table, caption="Chicks alive at weaning age.", note=_ALIVE, name="survival_to_weaning")]


def ages_and_causes(season: Season) -> list[Any]:
    """Show losses by age band, week by week, and by cause as the keeper wrote it."""
    by_age, unknown = findings.losses_by_age(season)
    shown: list[Any] = []
    if by_age["lost"].any():
        shown.append(charts.losses_by_age_chart(by_age))
    if unknown:
        shown.append(show.prose(f"Not in it: {count_words(unknown, 'chick')} lost at an age that is not known."))
    chicks = season.losses[season.losses["chick"] != ""]
    if chicks["found_on"].notna().any():
        shown.append(charts.losses_calendar(chicks, season.chicks["hatched_at"]))
    elif len(chicks):
        shown.append(charts.losses_by_cause_chart(losses_by_cause(chicks)))
    return shown or [show.prose(_NO_LOSSES)]


def table(season: Season) -> list[Any]:
    """Show every loss."""
    if season.losses.empty:
        return []
    losses = findings.losses_table(season)
    for optional in ("examined", "together"):
        if not losses[optional].any():
            losses = losses.drop(columns=optional)
    formats = {"age (d)": "{:.0f}"}
    return [show.table(losses, caption="Every loss, by the day it was found.", formats=formats, name="losses_listed")]
