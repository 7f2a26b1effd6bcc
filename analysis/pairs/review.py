"""Advice for each pair: the rules and the record put together, with the reasons."""

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.names import name_key
from analysis.pairs import reasons
from analysis.pairs.by_place import blamed_places, places
from analysis.pairs.evidence import clutch_value, evidence
from analysis.pairs.fitness import Fitness, fitness
from analysis.pairs.partners import other_partners
from analysis.pairs.reasons import elsewhere, in_question
from analysis.pairs.record import FERTILE, Record, read_record
from analysis.pairs.verdict import NOT_ENOUGH, WATCH, Limits, Verdict, stands, verdict
from analysis.say import in_words
from analysis.season import Season

COLUMNS = [
    *("pair", "fit_to_breed", "fit_said", "advice", "first", "reason_codes", "findings", "reasons", "evidence"),
    *("weaned_per_clutch", "weaned_per_clutch_low", "weaned_per_clutch_high"),
    *("hatched_per_clutch", "hatched_per_clutch_low", "hatched_per_clutch_high"),
]


def review_pairs(season: Season, record: Record | None = None) -> pd.DataFrame:
    """What to do with each pair, and why.

    Two questions, two answers. May the pair breed? Rules, most of them the keeper's own: age, clutches laid, rest,
    relatedness, signs that call a veterinarian. And what does its record say, as layers and as parents, over all joined
    seasons? Each stage is credited to who did it; eggs that an incubator spoilt and chicks lost in one event are set
    aside; thin evidence borrows from the aviary (`pooled`). The keeper decides.

    Parameters
    ----------
    season : Season
        With the earlier seasons that are joined to it.
    record : Record
        From `read_record`, where it is known already.

    Returns
    -------
    frame, a row a pair of this season, by name
        pair;
        fit_to_breed: "yes" (within the keeper's rules, and no more), "no", "ask", or "unknown": nothing that any rule
        needs is written;
        fit_said: the same, with what was checked or what would tell, a Finding;
        advice: "keep", "watch", "rest", "check first", "re-pair", "stop breeding" or "not enough to judge". Nothing is
        said of a first clutch, under two clutches, or under eight known eggs; "re-pair", or "stop breeding" by the
        record, only of pairs that the setting `checked` names;
        first: the reason that weighs most, a Finding, or None;
        findings, reason_codes: the reasons, with what would change the advice, and their codes;
        reasons: the same as one text;
        evidence: counts of each stage, with the pair's own rate (95 % interval) and what is typical of its kind,
        as text;
        weaned_per_clutch, weaned_per_clutch_low, weaned_per_clutch_high: chicks weaned that one more clutch gives on
        average, and the 95 % interval of that average (a single clutch varies far more); the same for
        hatched_per_clutch, the part that is the pair's own. NaN where no egg is logged.

    Examples
    --------
    >>> from analysis import open_season
    >>> review = review_pairs(open_season("data_demo/season_2026")).set_index("pair")
    >>> review.loc[["P01", "P04"], "advice"].tolist()
    ['rest', 'not enough to judge']
    """
    record = read_record(season) if record is None else record
    pairs = sorted((str(pair) for pair in season.pairs["pair"]), key=name_key)
    limits = Limits.of(season.settings)
    held = evidence(record)
    fit = fitness(season, record.of_this_season(record.clutches))
    table = places(season, record)
    rows = [_pair(record, pair, held[held["pair"] == pair], fit[pair], limits, table) for pair in pairs]
    return pd.DataFrame(rows, columns=COLUMNS)


def _pair(
    record: Record, pair: str, held: pd.DataFrame, fit: Fitness, limits: Limits, table: pd.DataFrame
) -> dict[str, Any]:
    clutches, eggs = _known(record, pair)
    group = str(record.season.pairs.set_index("pair").loc[pair, "kind"]) != "pair"
    checked = pair in record.checked
    told = elsewhere(record, pair, limits) if checked else ""
    said = verdict(held, clutches, eggs, limits, checked=checked, elsewhere=told)
    said = Verdict(NOT_ENOUGH, ()) if group else said
    advice = stands(said.advice, *(rule.advice for rule in fit.rules))
    why = [rule.why for rule in fit.rules]
    if group:
        why.append(found("pairs.group", about=pair))
    else:
        why += _told(record, pair, held, said, (clutches, eggs), limits, table)
        change = reasons.would_change(advice, said, held, clutches, limits, reasons.only_chicks(record, pair))
        why += [change] if change else []
    return {
        "pair": pair,
        "fit_to_breed": fit.fit,
        "fit_said": fit.said,
        "advice": advice,
        "first": _first(fit, said, held, advice),
        "reason_codes": tuple(reason.code for reason in why),
        "findings": tuple(why),
        "reasons": in_words(why),
        "evidence": in_words(reasons.evidence_found(held)),
        **_per_clutch(record, pair),
    }


def _first(fit: Fitness, said: Verdict, held: pd.DataFrame, advice: str) -> Finding | None:
    """What the advice rests on: the rule that gives it, else the first stage at which the pair is low."""
    ruled = [rule.why for rule in fit.rules if rule.advice == advice]
    low = held[held["stage"].isin(said.low)].to_dict("records")
    return ruled[0] if ruled else reasons.low_in_short(low[0]) if low else None


def _told(
    record: Record,
    pair: str,
    held: pd.DataFrame,
    said: Verdict,
    known: tuple[int, int],
    limits: Limits,
    table: pd.DataFrame,
) -> Iterator[Finding]:
    """What is to be said beside the rules."""
    if said.advice == NOT_ENOUGH:
        yield reasons.only_chicks(record, pair) or reasons.not_enough(*known, limits)
    for row in held[held["stage"].isin(said.low)].to_dict("records"):
        yield from reasons.low(row, watched=said.advice == WATCH)
    if said.low:
        yield from other_partners(record.season, pair, record.partners)
        yield from blamed_places(table, pair)
    if FERTILE in said.low and said.advice != WATCH and (asked := in_question(record, pair, limits)):
        yield asked
    yield from reasons.of_record(record, pair)


def _known(record: Record, pair: str) -> tuple[int, int]:
    """Clutches that ended and eggs whose outcome is known, over all joined seasons."""
    mine = record.clutches[record.clutches["pair"] == pair]
    ended = mine["ended"].fillna(0).astype(int)
    return int((ended > 0).sum()), int(ended.sum())


def _per_clutch(record: Record, pair: str) -> Mapping[str, float]:
    if record.clutches.empty:
        return {}
    value = clutch_value(record, pair)
    given: dict[str, float] = {}
    for name, draws in (("weaned_per_clutch", value.weaned), ("hatched_per_clutch", value.hatched)):
        low, high = np.quantile(draws, [0.025, 0.975])
        given |= {name: float(draws.mean()), f"{name}_low": float(low), f"{name}_high": float(high)}
    return given
