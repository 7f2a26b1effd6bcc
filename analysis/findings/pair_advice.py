"""The advice for a pair in parts, each said once, and its birds: how they are related, and their other partners."""

from dataclasses import replace
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.findings.pair_page import PairPages, about_pair, pair_named
from analysis.findings.pair_record import enough
from analysis.pedigree import other_partners
from analysis.pedigree.partners import OTHER_PARTNERS
from analysis.review.reasons import not_joined, set_aside
from analysis.review.record import WEAN
from analysis.review.verdict import ADVICE

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
        for one in set_aside(record, pair)
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
