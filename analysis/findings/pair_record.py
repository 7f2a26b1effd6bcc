"""The record of a pair by season and stage, beside what is typical of its kind."""

from functools import reduce

import pandas as pd

from analysis.finding import Finding, Rates, found
from analysis.findings.judged_said import STAGES_SAID
from analysis.findings.pair_page import PairPages, about_pair, pair_named
from analysis.rates import interval
from analysis.review.record import FERTILE, HATCH, STAGES, WEAN
from analysis.review.verdict import Limits
from analysis.say import heads, say

_HEADS = {FERTILE: "stage-showed-fertile", HATCH: "hatched-of-fertile", WEAN: "weaned-of-reared"}
_ASIDE = {HATCH: "advice.eggs-aside", WEAN: "advice.chicks-aside"}


def record_table(pages: PairPages, pair: str) -> pd.DataFrame:
    """Return the record of a pair: a row a season, all seasons, what is likely of the pair, what is typical.

    Columns: season, clutches, eggs laid, and of each stage the count, in the row of all seasons with rate and 95 %
    interval (Wilson). No rows where nothing is written of the pair.
    """
    pair = pair_named(pages.season, pair)
    record = pages.judged.record
    laid = record.clutches[record.clutches["pair"] == pair]
    stages = {stage: rows[rows["pair"] == pair] for stage, rows in record.rows.items()}
    there = {*laid["season"], *(name for rows in stages.values() for name in rows["season"])}
    seasons = [name for name in reversed(record.aside) if name in there]
    rows = [_row(name, laid[laid["season"] == name], _of(stages, name)) for name in seasons]
    if not rows:
        return pd.DataFrame()
    if len(rows) > 1:
        rows.append(_row(say("advice.all-seasons"), laid, stages))
    rates = [_rate(stages[stage]) for stage in STAGES]
    table = [*rows, _words_row(say("advice.rate"), rates), *_beside(pages, pair)]
    return pd.DataFrame(table, columns=heads("season", "clutches", "eggs-laid", *_HEADS.values()))


def _words_row(name: str, rates: list[str]) -> list[str]:
    return [name, "", "", *rates]


def _of(stages: dict[str, pd.DataFrame], season: str) -> dict[str, pd.DataFrame]:
    return {stage: rows[rows["season"] == season] for stage, rows in stages.items()}


def _row(name: str, laid: pd.DataFrame, stages: dict[str, pd.DataFrame]) -> list[str]:
    eggs = laid["eggs"].sum(min_count=1)
    laid_eggs = _none() if pd.isna(eggs) else say("overview.number", n=int(eggs))
    return [name, str(len(laid) or _none()), laid_eggs, *(_count(stages[stage]) for stage in STAGES)]


def _none() -> str:
    return say("overview.none")


def _count(rows: pd.DataFrame) -> str:
    tried = int(rows["tried"].sum())
    return say("advice.count", worked=int(rows["worked"].sum()), tried=tried) if tried else _none()


def _rate(rows: pd.DataFrame) -> str:
    worked, tried = (int(rows[name].sum()) for name in ("worked", "tried"))
    if not tried:
        return _none()
    low, high = interval(worked, tried)
    return _with_interval(worked / tried, float(low), float(high))


def _with_interval(rate: float, low: float, high: float) -> str:
    return say("advice.rate-and-interval", rate=rate, sure=Rates(low, high))


def _beside(pages: PairPages, pair: str) -> list[list[str]]:
    """What is likely of the pair, where there is enough to judge it, and what is typical of its kind."""
    held = pages.held[pages.held["pair"] == pair].set_index("stage").loc[list(STAGES)]
    likely = [
        _with_interval(row["mean"], row["low"], row["high"]) if row["tried"] else _none() for _, row in held.iterrows()
    ]
    typical = [_typical(pages, pair, str(stage), row["typical"]) for stage, row in held.iterrows()]
    told = [_words_row(say("advice.likely"), likely)] if enough(pages, pair) else []
    return [*told, _words_row(say("advice.typical"), typical)]


def _typical(pages: PairPages, pair: str, stage: str, rate: float) -> str:
    """What is typical, where there are others to tell it from."""
    rows = pages.judged.record.rows[stage]
    others = rows[(rows["pair"] != pair) & (rows["tried"] > 0)]
    return say("overview.rate", rate=rate) if len(others) else _none()


def enough(pages: PairPages, pair: str) -> bool:
    """Whether a pair has the clutches and eggs that a verdict takes; of a colony or trio no number says enough."""
    laid = pages.judged.record.clutches
    ended = laid.loc[laid["pair"] == pair, "ended"].fillna(0).astype(int)
    limits = Limits.of(pages.season.settings)
    whole = (ended > 0).sum() >= limits.clutches and ended.sum() >= limits.eggs
    return bool(whole) and about_pair(pages, pair)["kind"] == "pair"


def record_note(pages: PairPages, pair: str) -> Finding:
    """Return what the lines of the record are."""
    held = pages.held[pages.held["pair"] == pair]
    alone = held[held["alone_in"] != ""].groupby("alone_in", sort=False)["stage"].agg(list)
    aside = held.set_index("stage")["aside"]
    out = [found(code, n=int(aside[stage])) for stage, code in _ASIDE.items() if aside[stage]]
    parts = [found("advice.note-weaned")]
    if enough(pages, pair):
        parts.append(found("advice.note-likely"))
        parts += [
            found("advice.note-alone", stages=reduce(_both, (STAGES_SAID[stage] for stage in stages)), place=place)
            for place, stages in alone.items()
        ]
    if out:
        parts.append(found("advice.note-without", what=out))
    return found("overview.sentences", about=pair, parts=parts)


def _both(first: Finding, second: Finding) -> Finding:
    return found("advice.both", first=first, second=second)
