"""Advice for each pair: the rules and the record put together, with the reasons."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import found
from analysis.names import name_key
from analysis.pairs.beside_new import BesideNew, p_worse_than_new
from analysis.pairs.by_place import places
from analysis.pairs.evidence import stage_evidence
from analysis.pairs.fitness import Fitness, fitness
from analysis.pairs.limits import Limits
from analysis.pairs.record import Record, read_record
from analysis.pairs.verdict import (
    NOT_ENOUGH,
    Verdict,
    below_kind,
    below_kind_in_short,
    evidence_found,
    not_enough,
    only_chicks,
    reasons_of_record,
    stands,
    verdict,
    word_of,
    would_change,
)
from analysis.pairs.with_others import how_with_others
from analysis.say import in_words
from analysis.season import Season

_COLUMNS = [
    *("pair", "fit_to_breed", "fit_said", "advice", "first", "reason_codes", "findings", "reasons", "evidence"),
    *("weaned_per_clutch", "weaned_per_clutch_low", "weaned_per_clutch_high"),
    *("hatched_per_clutch", "hatched_per_clutch_low", "hatched_per_clutch_high", "p_worse_than_new"),
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
        advice: "keep", "watch", "rest", "check first", "re-pair", "stop breeding", or, of a first clutch, under two
        clutches or under eight known eggs, "nothing against it so far" (where p_worse_than_new is 0.2 or less) or "not
        enough to judge"; "re-pair", or "stop breeding" by the record, only of pairs that the setting `checked` names;
        first: the reason that weighs most, a Finding, or None;
        findings, reason_codes: the reasons, with what would change the advice, and their codes;
        reasons: the same as one text;
        evidence: counts of each stage, with the pair's own rate (95 % interval) and what is typical of its kind,
        as text;
        weaned_per_clutch, weaned_per_clutch_low, weaned_per_clutch_high: chicks weaned that one more clutch gives on
        average, and the 95 % interval of that average (a single clutch varies far more); the same for
        hatched_per_clutch, the part that is the pair's own. NaN where no egg is logged;
        p_worse_than_new: how likely a clutch of the pair gives fewer weaned chicks than one of a new pair would, drawn
        from the aviary's own, what it costs to settle taken off over three seasons (the setting `settling_cost`). NaN
        where no egg is logged, and of a colony or trio.

    Examples
    --------
    >>> from analysis import open_season
    >>> review = review_pairs(open_season("data_demo/season_2026")).set_index("pair")
    >>> review.loc[["P01", "P04"], "advice"].tolist()
    ['rest', 'not enough to judge']
    """
    if record is not None:
        return _judged(season, record)
    return season.once(review_pairs, lambda: _judged(season, read_record(season))).copy()


def _judged(season: Season, record: Record) -> pd.DataFrame:
    pairs = sorted((str(pair) for pair in season.pairs["pair"]), key=name_key)
    limits = Limits.of(season.settings)
    evidence = stage_evidence(record)
    fit = fitness(season, record.clutches[record.clutches["season"] == record.this_season])
    table = places(season, record)
    rows = [_pair(record, pair, evidence[evidence["pair"] == pair], fit[pair], limits, table) for pair in pairs]
    return pd.DataFrame(rows, columns=_COLUMNS)


def word_by_record(
    record: Record, pair: str, evidence: pd.DataFrame, limits: Limits, p_worse: float
) -> tuple[Verdict, str]:
    """The verdict on a pair and the word for it, whatever the rules say; `evidence`: its rows of `stage_evidence`."""
    if str(record.season.pairs.set_index("pair").loc[pair, "kind"]) != "pair":
        return Verdict(NOT_ENOUGH, ()), NOT_ENOUGH
    clutches, eggs = _ended(record, pair)
    checked = pair in record.checked
    with_others = how_with_others(record, pair, limits) if checked else ""
    found = verdict(evidence, clutches, eggs, limits, checked=checked, with_others=with_others)
    return found, word_of(found, clutches, p_worse)


def _ended(record: Record, pair: str) -> tuple[int, int]:
    """Clutches of a pair that ended, of all joined seasons, and eggs whose outcome is known."""
    ended = record.clutches.loc[record.clutches["pair"] == pair, "ended"].fillna(0).astype(int)
    return int((ended > 0).sum()), int(ended.sum())


def _pair(
    record: Record, pair: str, evidence: pd.DataFrame, fit: Fitness, limits: Limits, table: pd.DataFrame
) -> dict[str, Any]:
    clutches, eggs = _ended(record, pair)
    given = _per_clutch(record, pair)
    by_record, word = word_by_record(record, pair, evidence, limits, given.get("p_worse_than_new", np.nan))
    advice, why = stands(word, *(rule.advice for rule in fit.rules)), [rule.why for rule in fit.rules]
    if fit.kind != "pair":
        why.append(found("pairs.group", about=pair))
    else:
        chicks = only_chicks(record, pair)
        if by_record.advice == NOT_ENOUGH:
            why.append(chicks or not_enough(clutches, eggs, limits))
        why += reasons_of_record(record, pair, evidence, by_record, limits, table)
        change = would_change(advice, by_record, evidence, clutches, limits, chicks)
        why += [change] if change else []
    ruled = [rule.why for rule in fit.rules if rule.advice == advice]
    low = below_kind(evidence, by_record)
    return {
        "pair": pair,
        "fit_to_breed": fit.fit,
        "fit_said": fit.answer,
        "advice": advice,
        "first": ruled[0] if ruled else below_kind_in_short(low[0]) if low else None,
        "reason_codes": tuple(reason.code for reason in why),
        "findings": tuple(why),
        "reasons": in_words(why),
        "evidence": in_words(evidence_found(evidence)),
        **given,
    }


def _per_clutch(record: Record, pair: str) -> Mapping[str, float]:
    if record.clutches.empty:
        return {}
    beside = BesideNew.of(record, pair)
    given: dict[str, float] = {}
    for name, draws in (("weaned_per_clutch", beside.own.weaned), ("hatched_per_clutch", beside.own.hatched)):
        low, high = np.quantile(draws, [0.025, 0.975])
        given |= {name: float(draws.mean()), f"{name}_low": float(low), f"{name}_high": float(high)}
    group = record.season.pairs.set_index("pair").loc[pair, "kind"] != "pair"
    return given | {"p_worse_than_new": np.nan if group else p_worse_than_new(record, beside)}
