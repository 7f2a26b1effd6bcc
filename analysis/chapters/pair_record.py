"""The record of a pair by season and stage, beside what is typical of its kind."""

from dataclasses import replace
from functools import reduce
from typing import Any

import pandas as pd

from analysis.chapters.pair_page import PairPages, about_pair, pair_named
from analysis.finding import Finding, Rates, found
from analysis.pairs.of_season import STAGE_NAMES
from analysis.pairs.partners import OTHER_PARTNERS, other_partners
from analysis.pairs.record import FERTILE, HATCH, STAGES, WEAN
from analysis.pairs.verdict import ADVICE, Limits, exclusions, not_joined
from analysis.rates import interval
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
    seasons = [name for name in reversed(record.excluded) if name in there]
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
    aside = held.set_index("stage")["excluded"]
    out = [found(code, n=int(aside[stage])) for stage, code in _ASIDE.items() if aside[stage]]
    parts = [found("advice.note-weaned")]
    if enough(pages, pair):
        parts.append(found("advice.note-likely"))
        parts += [
            found("advice.note-alone", stages=reduce(_both, (STAGE_NAMES[stage] for stage in stages)), place=place)
            for place, stages in alone.items()
        ]
    if out:
        parts.append(found("advice.note-without", what=out))
    return found("overview.sentences", about=pair, parts=parts)


def _both(first: Finding, second: Finding) -> Finding:
    return found("advice.both", first=first, second=second)


# reasons that stand in a part of their own on the page of a pair, or among what is not known of it
_ELSEWHERE = {"pairs.set-aside", "pairs.season-by-season", *OTHER_PARTNERS}


def advice_items(pages: PairPages, pair: str) -> list[Finding]:
    """Return the advice for a pair: the word with its reasons, what is set aside, what one more clutch gives."""
    pair = pair_named(pages.season, pair)
    row = pages.judged.review.set_index("pair").loc[pair]
    record = pages.judged.record
    joined = not_joined(record, pair)
    reasons = [one for one in row["findings"] if one.code not in _ELSEWHERE and one not in joined]
    items = [
        found(
            "advice.fit",
            about=found("advice.begun", what=ADVICE[row["advice"]]),
            fit=row["fit_said"],
            reasons=found("overview.sentences", parts=reasons) if reasons else None,
        )
    ]
    aside = [
        found("pairs.aside-in-season" if one.facts["season"] else "pairs.aside-now", **one.facts)
        for one in exclusions(record, pair)
    ]
    if aside:
        items.append(found("overview.sentences", about=found("advice.set-aside"), parts=aside))
    weaning = record.rows[WEAN]["tried"].sum()  # where nobody's is known, only what was thought beforehand would speak
    if weaning and enough(pages, pair) and pd.notna(row["weaned_per_clutch"]):
        items.append(_one_more(row))
    return items


def _one_more(row: pd.Series) -> Finding:
    names = {"mean": "weaned_per_clutch", "low": "weaned_per_clutch_low", "high": "weaned_per_clutch_high"}
    weaned: dict[str, Any] = {fact: float(row[name]) for fact, name in names.items()}
    return found("advice.one-clutch-gives", about=found("advice.one-more"), **weaned)


def birds_items(pages: PairPages, pair: str) -> list[Finding]:
    """Return how the birds of a pair are related, and how their eggs did with other partners."""
    pair = pair_named(pages.season, pair)
    about = about_pair(pages, pair)
    items = []
    if pair in pages.related.index:
        items.append(replace(pages.related.loc[pair, "found"], about=found("advice.related")))
    if about["kind"] == "pair" and (about["cock"] or about["hen"]):
        others = other_partners(pages.season, pair, pages.judged.partners) or [found("advice.no-other-partner")]
        items.append(found("overview.sentences", about=found("advice.other-partners"), parts=others))
    return items
