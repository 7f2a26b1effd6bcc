"""The advice for a pair in parts, each said once, and its birds: how they are related, and their other partners."""

import pandas as pd

from analysis.finding import found
from analysis.findings.overview import Item
from analysis.findings.pair_page import PairPages, about_pair, pair_named
from analysis.findings.pair_record import enough
from analysis.pedigree import other_partners
from analysis.pedigree.partners import OTHER_PARTNERS
from analysis.review.reasons import not_joined, set_aside
from analysis.review.record import WEAN
from analysis.review.verdict import ADVICE
from analysis.say import in_words
from analysis.words import begun


def advice_items(pages: PairPages, pair: str) -> list[Item]:
    """Return the advice for a pair: the word with its reasons, what is set aside, what one more clutch gives."""
    pair = pair_named(pages.season, pair)
    row = pages.judged.review.set_index("pair").loc[pair]
    record = pages.judged.record
    joined = not_joined(record, pair)
    reasons = in_words(one for one in row["findings"] if one.code not in _ELSEWHERE and one not in joined)
    items = [(begun(in_words(ADVICE[row["advice"]])), f"Fit to breed: {in_words(row['fit_said'])}. {reasons}".strip())]
    aside = [
        found("pairs.aside-in-season" if one.facts["season"] else "pairs.aside-now", **one.facts)
        for one in set_aside(record, pair)
    ]
    if aside:
        items.append(("Set aside", in_words(aside)))
    weaning = record.rows[WEAN]["tried"].sum()  # where nobody's is known, only what was thought beforehand would speak
    if weaning and enough(pages, pair) and pd.notna(row["weaned_per_clutch"]):
        items.append(("One more clutch", _one_more(row)))
    return items


# reasons that stand in a part of their own on the page of a pair, or among what is not known of it
_ELSEWHERE = {"pairs.set-aside", "pairs.season-by-season", *OTHER_PARTNERS}


def _one_more(row: pd.Series) -> str:
    low, high = row["weaned_per_clutch_low"], row["weaned_per_clutch_high"]
    return (
        f"{row['weaned_per_clutch']:.1f} chicks weaned on average (95 %: {low:.1f} to {high:.1f}); a single clutch "
        "varies far more. No number here knows your birds: you decide."
    )


def birds_items(pages: PairPages, pair: str) -> list[Item]:
    """Return how the birds of a pair are related, and how their eggs did with other partners."""
    pair = pair_named(pages.season, pair)
    about = about_pair(pages, pair)
    items = [("Related", in_words(pages.related.loc[pair, "found"]))] if pair in pages.related.index else []
    if about["kind"] == "pair" and (about["cock"] or about["hen"]):
        said = _partners_said(pages, pair) or ["None in the joined seasons."]
        items.append(("Other partners", " ".join(said)))
    return items


def _partners_said(pages: PairPages, pair: str) -> list[str]:
    return [in_words(said) for said in other_partners(pages.season, pair, pages.judged.partners)]
