"""The advice for a pair in parts, each said once, and its birds: how they are related, and their other partners."""

import pandas as pd

from analysis.findings.overview import Item
from analysis.findings.pair_page import PairPages, about_pair, pair_named
from analysis.findings.pair_record import enough
from analysis.pedigree import other_partners
from analysis.review.record import WEAN
from analysis.review.sentences import set_aside
from analysis.words import begun


def advice_items(pages: PairPages, pair: str) -> list[Item]:
    """Return the advice for a pair: the word with its reasons, what is set aside, what one more clutch gives."""
    pair = pair_named(pages.season, pair)
    row = pages.judged.review.set_index("pair").loc[pair]
    record = pages.judged.record
    stands = zip(row["reason_codes"], row["sentences"], strict=True)
    reasons = " ".join(said for code, said in stands if code not in _ELSEWHERE)
    word = str(row["advice"])
    items = [(begun(word), f"Fit to breed: {row['fit_said']}. {reasons}".strip())]
    aside = [begun(f"in {when}: {what}" if when else what) for when, what in set_aside(record, pair)]
    if aside:
        items.append(("Set aside", " ".join(aside)))
    weaning = record.rows[WEAN]["tried"].sum()  # where nobody's is known, only what was thought beforehand would speak
    if weaning and enough(pages, pair) and pd.notna(row["weaned_per_clutch"]):
        items.append(("One more clutch", _one_more(row)))
    return items


# reasons that stand in a part of their own on the page of a pair, or among what is not known of it
_ELSEWHERE = ("set aside", "other partners", "not joined", "season by season")


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
    items = [("Related", str(pages.related.loc[pair, "sentence"]))] if pair in pages.related.index else []
    if about["kind"] == "pair" and (about["cock"] or about["hen"]):
        said = _partners_said(pages, pair) or ["None in the joined seasons."]
        items.append(("Other partners", " ".join(said)))
    return items


def _partners_said(pages: PairPages, pair: str) -> list[str]:
    return other_partners(pages.season, pair, pages.judged.partners)
