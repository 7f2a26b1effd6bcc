"""Pairs, cages and incubators: each stage with its counts, credited to who did it."""

from typing import Any

import pandas as pd

from analysis import charts, findings, show
from analysis.chapters.trust import withheld
from analysis.rates import clutch_counts, stage_rates
from analysis.rates.stages import WEANED
from analysis.season import RATES, Season, hatching_known

_NO_PAIRS = "No pair is written in these logs, so pairs cannot be compared."
NONE_ENDED = "No egg has an outcome yet, and no chick weaned or lost is written, so there is no rate to show."
_WRITTEN = {"cage": "cages", "incubated_by": "who or what incubated", "reared_by": "who reared"}
_A_PICTURE = 24  # pairs in one picture, so that it stays legible on a page
_NOTE = "Count, rate and 95 % interval (Wilson). Eggs of unknown outcome or fertility are in no rate."


@withheld(*RATES)
def stages(season: Season) -> list[Any]:
    """Show every pair's stages as one picture."""
    counts = clutch_counts(season.eggs, season.clutches)
    if season.pairs.empty:
        return [show.nothing(_NO_PAIRS)]
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
    caption = "As layers: the eggs of each pair, whoever sat on them."
    return [_table(laid, "pair", caption, "pairs_as_layers")]


@withheld(*RATES)
def as_parents(season: Season) -> list[Any]:
    """Show each pair, place or hand by the chicks it reared."""
    return _by(season, "reared_by", "reared by", "As parents: chicks weaned, of those weaned or lost.", "reared_by")


@withheld(*RATES)
def cages(season: Season) -> list[Any]:
    """Show the stages by cage."""
    return _by(season, "cage", "cage", "By cage, where each clutch was laid.", "cages")


@withheld(*RATES)
def incubated(season: Season) -> list[Any]:
    """Show hatching by who or what incubated."""
    return _by(season, "incubated_by", "incubated by", "Hatching, by who or what incubated.", "incubated_by")


def _by(season: Season, group: str, who: str, caption: str, name: str) -> list[Any]:
    rates = _rates(season, group)
    if not hatching_known(season) and not (rates["stage"] == WEANED).any():
        return [show.nothing(findings.NO_HATCHING)]
    if rates.empty:
        return [show.nothing(f"Nothing is written of {_WRITTEN[group]}.")]
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
    return rates[(rates["name"] != "not written") | (tried > 0)]


def _table(rates: pd.DataFrame, who: str, caption: str, name: str) -> Any:
    table = findings.rates_table(rates, who)
    beside = [f"{row[who]} {row['beside']}" for row in table.to_dict("records") if row["beside"]]
    note = f"{_NOTE} Beside the rates: {'; '.join(beside)}." if beside else _NOTE
    return show.table(table.drop(columns="beside"), caption=caption, note=note, name=name)
