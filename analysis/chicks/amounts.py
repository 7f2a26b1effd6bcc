"""How much a chick may be given at most, how often, and how much to mix: ranges that end at the trade's cap."""

import math
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import pandas as pd

from analysis.finding import ACT, LOOK, Words, found
from analysis.season import species_facts

# "At most about 10 % of the morning's empty weight a feed": clinic's and Duerr & Gage, Hand-Rearing Birds, 2020, tables
# 27.1-27.2. A gram of formula is about a millilitre (practice).
CAP = 0.10
OVER_CAP = 1.2  # a feed over the cap by a fifth and more is spoken of (practice)
# Who was seen eating takes less at a feed: rock pigeon of 400 g, table 27.2: 4.8 %, one bird's; that it holds for
# others is practice. Age alone lowers nothing: a chick that does not eat yet would be starved by its calendar.
CAP_EATING = 0.048
# Age from which, and where a range begins (practice): small feeds of a hatchling are many.
_LOW = ((0, 0.06), (7, 0.07), (14, 0.08))
LOW_EATING = 0.02  # (practice)
LESS = 0.5  # slower and smaller: from half of where the range begins, to there (practice)
HATCHLING_D = 3  # a chick that may be under three days gets no number from any page
WASTE = (0.10, 0.30)  # what stays in the cup and the syringe (practice)
VET = found("feeding.vet", level=ACT)
ASK = found("feeding.ask")
BESIDE = found("feeding.ask-beside")
# A warm chick that begs on an empty crop starves while a veterinarian is waited for (practice).
FEED_ON = found("feeding.feed-on", level=ACT)
# Nearly empty: Doneley 2018. Nothing at first, since the yolk feeds it, and very thin: Duerr & Gage, pp. 614-617.
CROP_DECIDES = found("feeding.crop-decides", about=found("feeding.crop"))
# No formula for 12 to 24 hours, often fluids before it: veterinary pages; fed through the night: practice.
FIRST_ASK_H, _LATEST_ASK_H = 12, 24
_FIRST_FEEDS = {"hours": FIRST_ASK_H, "latest": _LATEST_ASK_H}
HATCHLINGS = found("feeding.first-feeds", about=found("feeding.hatchlings"), level=LOOK, **_FIRST_FEEDS)
WEIGH_FIRST = found("feeding.weigh-first")
# Age from which, hours between feeds, from and to. Hatchlings every 2 h, 4 a day by three weeks: Duerr & Gage,
# pp. 614-617; when the crop is nearly empty, 4-6 h: Doneley 2018; the ages between are practice.
_TIMES = ((0, 2, 2), (3, 2, 3), (7, 3, 4), (14, 4, 5), (21, 4, 6))
EATING = found("feeding.twice-a-day")  # while it weans: Duerr & Gage, p. 597


class Amount(NamedTuple):
    """What may be given at one feed, in millilitres (missing where no number is given), and why there is none."""

    low_ml: float
    high_ml: float
    why: Words


def feed_amount(
    empty_g: float,
    age_d: float,
    *,
    sure_to_days: float = 0.0,
    flagged: bool = False,
    cold: bool = False,
    food_left: bool = False,
    unwell: Sequence[Words] = (),
    less: bool = False,
    eating_alone: bool = False,
) -> Amount:
    """Give the range that ends at the cap, or say why there is none and what to ask.

    The cap is a tenth of the empty weight, and about half of that for a chick that was seen eating by itself; its age
    lowers nothing. What is given is rounded down, so that no rounding passes the cap: to 0.01 ml below 1 ml, to 0.1 ml
    below 10 ml, to 1 ml from there on.

    Parameters
    ----------
    empty_g : gram, in the morning with an empty crop; missing where it was not weighed
    age_d : days; missing where it is not known
    sure_to_days : days by which the age may be wrong; the youngest it may be counts
    flagged, cold, food_left : whether it is flagged, cold, or has food left in the crop
    unwell : what was seen of it that asks for no food, or for a veterinarian's word before any, by its signs
    less : whether what was seen asks for smaller feeds, such as air in the crop
    eating_alone : whether it was seen eating by itself

    Returns
    -------
    Amount

    Examples
    --------
    >>> feed_amount(80.0, 20)
    Amount(low_ml=6.4, high_ml=8.0, why='')
    >>> feed_amount(5.0, 2).why.code
    'feeding.under-three-days'
    """
    youngest_d = age_d - abs(sure_to_days)
    why = _unwell(flagged=flagged, cold=cold, food_left=food_left, unwell=unwell) or _unknown(
        empty_g, age_d, youngest_d
    )
    if why:
        return Amount(math.nan, math.nan, why)
    low, high = (LOW_EATING, CAP_EATING) if eating_alone else (_at(_LOW, youngest_d)[1], CAP)
    low, high = (LESS * low, low) if less else (low, high)
    return Amount(_down(low * empty_g), _down(high * empty_g), "")


def _unwell(*, flagged: bool, cold: bool, food_left: bool, unwell: Sequence[Words]) -> Words:
    if cold:
        return found("feeding.was-cold", vet=VET, ask=ASK)
    if food_left:
        return found("feeding.food-left", ask=ASK)
    if unwell:
        return found("feeding.unwell", signs=unwell, ask=ASK)
    return found("feeding.flagged", feed_on=FEED_ON) if flagged else ""


def _unknown(empty_g: float, age_d: float, youngest_d: float) -> Words:
    if age_d < HATCHLING_D:
        return found("feeding.under-three-days", beside=BESIDE)
    if math.isnan(youngest_d):
        return found("feeding.age-not-known", ask=ASK, feed_on=FEED_ON)
    if youngest_d < HATCHLING_D:
        return found("feeding.may-be-under-three-days", beside=BESIDE)
    return "" if 0 < empty_g < math.inf else WEIGH_FIRST


def _at(steps: tuple[tuple[float, ...], ...], age_d: float) -> tuple[float, ...]:
    """The last step that an age has reached; missing numbers before the first, and where the age is missing."""
    return next((step for step in reversed(steps) if age_d >= step[0]), (math.nan,) * len(steps[0]))


def _down(ml: float) -> float:
    steps = 100 if ml < 1 else 10 if ml < 10 else 1
    return math.floor(ml * steps + 1e-6) / steps


def feed_hours(age_d: float) -> tuple[float, float]:
    """Hours between feeds at an age, from and to; missing where the age is not known.

    Examples
    --------
    >>> feed_hours(1), feed_hours(10), feed_hours(25)
    ((2, 2), (3, 4), (4, 6))
    """
    _, low_h, high_h = _at(_TIMES, age_d)
    return low_h, high_h


def feed_times(age_d: float, *, eating_alone: bool = False) -> Words:
    """Hours between feeds; see `CROP_DECIDES` and `HATCHLINGS`. Blank where the age is not known.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> in_words(feed_times(1)), in_words(feed_times(25)), feed_times(float("nan"))
    ('every 2 h, nights too', 'every 4–6 h', '')
    >>> in_words(feed_times(45, eating_alone=True))
    'twice a day, as long as it begs'
    """
    low_h, high_h = feed_hours(age_d)
    if eating_alone or math.isnan(low_h):
        return EATING if eating_alone else ""
    if low_h < high_h:
        return found("feeding.every", from_h=low_h, to_h=high_h)
    return found("feeding.nights-too", hours=low_h)


def total_to_mix(amounts: Iterable[Amount], *, waste: tuple[float, float] = WASTE) -> tuple[float, float, int]:
    """Millilitres to mix for one round, from and to, with waste; and for how many chicks an amount is known.

    Examples
    --------
    >>> total_to_mix([feed_amount(80.0, 20), feed_amount(5.0, 2)])
    (7.0, 10.4, 1)
    """
    known = [(one.low_ml, one.high_ml) for one in amounts if not math.isnan(one.high_ml)]
    low, high = sum(low for low, _ in known), sum(high for _, high in known)
    return round(low * (1 + waste[0]), 1), round(high * (1 + waste[1]), 1), len(known)


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
