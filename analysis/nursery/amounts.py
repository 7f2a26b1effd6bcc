"""How much each chick may be given at most, why a page gives none, and what stands before the first feed."""

from typing import Any

import pandas as pd

from analysis.feeding import WEIGH_FIRST, Amount, feed_amount, feed_times
from analysis.finding import Words, found
from analysis.season import species_facts

# No parrot or cage bird hatches as heavy (from memory: the largest macaws' hatchlings weigh some 30 g).
HATCHLING_MOST_G = 40.0
FINCH = found("day.finch")  # small finches are fed far oftener than the parrots these hours are of (memory)
DAMAGED = found("day.weights-damaged")
USUAL = found("day.as-usual")
_RECENT_D = 1  # an amount rests on this morning's weight, or on yesterday's until this morning's is written


def with_amounts(chicks: pd.DataFrame, on: pd.Timestamp, *, damaged: bool = False) -> pd.DataFrame:
    """Add low_ml and high_ml (missing where no amount is given), by_today, why and times: see `feed_amount`.

    Nobody gets an amount where a chick of the day it hatched weighs more than any can: the unit is in doubt; nor
    where the log of weights is damaged.
    """
    empty_g = [_weight(chick, on) for chick in chicks.itertuples()]
    amounts = [_amount(chick, mass_g) for chick, mass_g in zip(chicks.itertuples(), empty_g, strict=True)]
    first_g = chicks.loc[chicks["age_d"] <= 1, ["today_g", "last_g"]].max(axis=None)
    if first_g > HATCHLING_MOST_G:
        amounts = [Amount(float("nan"), float("nan"), found("day.wrong-unit", mass=float(first_g)))] * len(amounts)
    if damaged:
        amounts = [Amount(float("nan"), float("nan"), DAMAGED)] * len(amounts)
    table = pd.DataFrame(amounts, columns=["low_ml", "high_ml", "why"], index=chicks.index).astype({"why": object})
    times = pd.Series([_times(chick) for chick in chicks.itertuples()], index=chicks.index, dtype=object)
    return chicks.join(table).assign(by_today=chicks["today_g"].notna(), times=times)


def _times(chick: Any) -> Words:
    """Hours between feeds; none for who is not fed by a page."""
    if chick.cold or chick.food_left or chick.unwell:
        return ""
    if chick.flagged:
        return USUAL
    facts = species_facts(chick.species)
    return FINCH if facts and facts.kind == "finch" else feed_times(chick.age_d, eating_alone=chick.eats)


def _weight(chick: Any, on: pd.Timestamp) -> float:
    if not pd.isna(chick.today_g):
        return float(chick.today_g)
    recent = not pd.isna(chick.last_on) and (on - chick.last_on).days <= _RECENT_D
    return float(chick.last_g) if recent else float("nan")


def _amount(chick: Any, empty_g: float) -> Amount:
    # A chick whose weight this morning is doubtful is weighed again before anything rests on it.
    doubtful = bool(chick.weigh_again) and not chick.flagged
    amount = feed_amount(
        float("nan") if doubtful else empty_g,
        chick.age_d,
        sure_to_days=0.0 if pd.isna(chick.sure_to_days) else float(chick.sure_to_days),
        flagged=chick.flagged,
        cold=chick.cold,
        food_left=chick.food_left,
        unwell=chick.unwell,
        less=chick.less,
        eating_alone=chick.eats,
    )
    return amount._replace(why=found("day.weigh-again-first")) if doubtful and amount.why == WEIGH_FIRST else amount
