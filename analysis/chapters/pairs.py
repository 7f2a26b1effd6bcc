"""Pairs, cages and incubators: each stage with its counts, credited to who did it."""

from typing import Any

import pandas as pd

from analysis import charts, findings, show
from analysis.chapters.trust import withheld
from analysis.finding import Finding, found
from analysis.names import NOT_WRITTEN
from analysis.rates import clutch_counts, stage_rates
from analysis.rates.stages import WEANED
from analysis.say import heads, in_words
from analysis.season import RATES, Season, hatching_known

NONE_ENDED = found("chapters.none-ended")
_NOTHING = {"cage": "chapters.nothing-of-cages", "incubated_by": "chapters.nothing-of-incubating"}
_NOTHING |= {"reared_by": "chapters.nothing-of-rearing"}
_A_PICTURE = 24  # pairs in one picture, so that it stays legible on a page


@withheld(*RATES)
def stages(season: Season) -> list[Any]:
    """Show every pair's stages as one picture."""
    counts = clutch_counts(season.eggs, season.clutches)
    if season.pairs.empty:
        return [show.nothing(found("chapters.no-pairs-to-compare"))]
    if not hatching_known(season):
        return [show.nothing(findings.NO_HATCHING)]
    rates = _named(stage_rates(counts, season.reared, by="pair"))
    overall = stage_rates(counts, season.reared)
    names = list(dict.fromkeys(rates["name"]))
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    return [charts.stages_chart(rates[rates["name"].isin(page)], overall, who="pair") for page in pages]


@withheld(*RATES)
def as_layers(season: Season) -> list[Any]:
    """Show each pair by the eggs it laid."""
    if season.pairs.empty:
        return []
    if not hatching_known(season):
        return [show.nothing(findings.NO_HATCHING)]
    rates = _rates(season, "pair")
    if not rates["tried"].any():
        return [show.nothing(NONE_ENDED)]
    laid = _named(rates[rates["stage"] != "weaned"])
    caption = found("chapters.layers-caption")
    return [_table(laid, "pair", caption, "pairs_as_layers")]


@withheld(*RATES)
def as_parents(season: Season) -> list[Any]:
    """Show each pair, place or hand by the chicks it reared."""
    return _by(season, "reared_by", "reared-by", found("chapters.parents-caption"), "reared_by")


@withheld(*RATES)
def cages(season: Season) -> list[Any]:
    """Show the stages by cage."""
    return _by(season, "cage", "cage", found("chapters.cages-caption"), "cages")


@withheld(*RATES)
def incubated(season: Season) -> list[Any]:
    """Show hatching by who or what incubated."""
    return _by(season, "incubated_by", "incubated-by", found("chapters.incubated-caption"), "incubated_by")


def _by(season: Season, group: str, who: str, caption: Finding, name: str) -> list[Any]:
    rates = _rates(season, group)
    if not hatching_known(season) and not (rates["stage"] == WEANED).any():
        return [show.nothing(findings.NO_HATCHING)]
    if rates.empty:
        return [show.nothing(found(_NOTHING[group]))]
    if not rates["tried"].any():
        return [show.nothing(NONE_ENDED)]
    return [_table(rates, who, caption, name)]


def _rates(season: Season, group: str) -> pd.DataFrame:
    parts = group in ("cage", "incubated_by")  # a clutch that was divided is credited in its parts
    rates = stage_rates(clutch_counts(season.eggs, season.clutches, parts=parts), season.reared, by=group)
    known = rates if hatching_known(season) else rates[rates["stage"] == WEANED]
    return _named(known)


def _named(rates: pd.DataFrame) -> pd.DataFrame:
    """Leave out what is not written where that group has nothing to show."""
    tried = rates.groupby("name")["tried"].transform("sum")
    return rates[(rates["name"] != NOT_WRITTEN) | (tried > 0)]


def _table(rates: pd.DataFrame, who: str, caption: Finding, name: str) -> Any:
    (head,) = heads(who)
    table = findings.rates_table(rates, head)
    beside = [
        found("chapters.beside-one", name=row[head], beside=row["beside"])
        for row in table.to_dict("records")
        if row["beside"]
    ]
    note = [found("chapters.rates-note"), *([found("chapters.beside-rates", beside=beside)] if beside else [])]
    return show.table(table.drop(columns="beside"), caption=caption, note=in_words(note), name=name)
