"""The record of a pair by season and stage, beside what is typical of its kind."""

import pandas as pd

from analysis.findings.pair_page import PairPages, about_pair, pair_named
from analysis.rates import interval
from analysis.review.record import FERTILE, HATCH, STAGES, WEAN
from analysis.review.verdict import Limits
from analysis.words import begun, count_words, interval_words, listed, percent

HEADS = {FERTILE: "showed fertile", HATCH: "hatched of fertile", WEAN: "weaned of those it reared"}
ALL, RATE, LIKELY, TYPICAL = "all seasons", "rate (95 %)", "likely (95 %)", "typical of its kind"
_NONE = "–"


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
        rows.append(_row(ALL, laid, stages))
    rates = {HEADS[stage]: _rate(stages[stage]) for stage in STAGES}
    return pd.DataFrame([*rows, _words_row(RATE, rates), *_beside(pages, pair)])


def _words_row(name: str, rates: dict[str, str]) -> dict[str, str]:
    return {"season": name, "clutches": "", "eggs laid": "", **rates}


def _of(stages: dict[str, pd.DataFrame], season: str) -> dict[str, pd.DataFrame]:
    return {stage: rows[rows["season"] == season] for stage, rows in stages.items()}


def _row(name: str, laid: pd.DataFrame, stages: dict[str, pd.DataFrame]) -> dict[str, str]:
    eggs = laid["eggs"].sum(min_count=1)
    counts = {HEADS[stage]: _count(stages[stage]) for stage in STAGES}
    return {
        "season": name,
        "clutches": str(len(laid) or _NONE),
        "eggs laid": _NONE if pd.isna(eggs) else f"{eggs:.0f}",
        **counts,
    }


def _count(rows: pd.DataFrame) -> str:
    tried = int(rows["tried"].sum())
    return f"{int(rows['worked'].sum())} of {tried}" if tried else _NONE


def _rate(rows: pd.DataFrame) -> str:
    worked, tried = (int(rows[name].sum()) for name in ("worked", "tried"))
    if not tried:
        return _NONE
    low, high = interval(worked, tried)
    return f"{percent(worked / tried)} ({interval_words(float(low), float(high))})"


def _beside(pages: PairPages, pair: str) -> list[dict[str, str]]:
    """What is likely of the pair, where there is enough to judge it, and what is typical of its kind."""
    held = pages.held[pages.held["pair"] == pair].set_index("stage")
    likely = {
        HEADS[stage]: f"{percent(row['mean'])} ({interval_words(row['low'], row['high'])})" if row["tried"] else _NONE
        for stage, row in held.iterrows()
    }
    typical = {HEADS[stage]: _typical(pages, pair, str(stage), row["typical"]) for stage, row in held.iterrows()}
    found = [_words_row(LIKELY, likely)] if enough(pages, pair) else []
    return [*found, _words_row(TYPICAL, typical)]


def _typical(pages: PairPages, pair: str, stage: str, rate: float) -> str:
    """What is typical, where there are others to tell it from."""
    rows = pages.judged.record.rows[stage]
    others = rows[(rows["pair"] != pair) & (rows["tried"] > 0)]
    return percent(rate) if len(others) else _NONE


def enough(pages: PairPages, pair: str) -> bool:
    """Whether a pair has the clutches and eggs that a verdict takes; of a colony or trio no number says enough."""
    laid = pages.judged.record.clutches
    ended = laid.loc[laid["pair"] == pair, "ended"].fillna(0).astype(int)
    limits = Limits.of(pages.season.settings)
    whole = (ended > 0).sum() >= limits.clutches and ended.sum() >= limits.eggs
    return bool(whole) and about_pair(pages, pair)["kind"] == "pair"


def record_note(pages: PairPages, pair: str) -> str:
    """Return what the lines of the record are."""
    held = pages.held[pages.held["pair"] == pair]
    alone = held[held["alone_in"] != ""].groupby("alone_in", sort=False)["stage"].agg(list)
    aside = held.set_index("stage")["aside"]
    out = [
        count_words(int(aside.get(stage, 0)), what) for stage, what in ((HATCH, "egg"), (WEAN, "chick")) if aside[stage]
    ]
    parts = ["Weaned: its own chicks or others', of those weaned or lost."]
    if enough(pages, pair):
        parts.append("Likely: all that is known of the aviary used.")
        parts += [
            f"{begun(' and '.join(stages))}: always in {place}, and no other pair. Likely is of both together."
            for place, stages in alone.items()
        ]
    if out:
        parts.append(f"Without {listed(out)} set aside.")
    return " ".join(parts)
