"""How much a chick may be given at most, how often, and how much to mix: ranges that end at the trade's cap."""

from collections.abc import Iterable
from typing import NamedTuple

import pandas as pd

# "At most about 10 % of the morning's empty weight a feed": clinic's and Duerr & Gage, Hand-Rearing Birds, 2020, tables
# 27.1-27.2; below a tenth near independence. A gram of formula is about a millilitre (practice).
CAP = 0.10
CAP_WEANING = 0.048  # rock pigeon of 400 g, table 27.2: 4.8 %; how soon it falls is the chick's (practice)
LOW = 0.08  # where a range begins (practice)
LOW_WEANING = 0.02
HATCHLING_D = 3  # a chick under three days gets no number from any page
WASTE = (0.10, 0.30)  # what stays in the cup and the syringe (practice)
VET = "Keep it warm and quiet; an avian veterinarian, today."
ASK = "Ask an avian veterinarian whether, what and how much it is fed."
BESIDE = "Ask an avian veterinarian or an experienced breeder beside you."
# Age from which, hours between feeds, in words. Hatchlings every 2 h, 4 a day by three weeks: Duerr & Gage,
# pp. 614-617; when the crop is nearly empty, 4-6 h: Doneley 2018; the ages between are practice.
_TIMES = (
    (0, 2, 2, "none in the first hours, then about every 2 h"),
    (3, 2, 3, "every 2–3 h"),
    (7, 3, 4, "every 3–4 h"),
    (14, 4, 5, "every 4–5 h"),
    (21, 4, 6, "every 4–6 h"),
)


class Amount(NamedTuple):
    """What may be given at one feed, in millilitres (missing where no number is given), and why there is none."""

    low_ml: float
    high_ml: float
    why: str


def feed_amount(
    empty_g: float,
    age_d: float,
    *,
    sure_to_days: float = 0.0,
    flagged: bool = False,
    cold: bool = False,
    food_left: bool = False,
    weaning: bool = False,
) -> Amount:
    """Give the range that ends at the cap, or say why there is none and what to ask.

    Parameters
    ----------
    empty_g : gram, in the morning with an empty crop; missing where it was not weighed
    age_d : days; missing where it is not known
    sure_to_days : days by which the age may be wrong
    flagged, cold, food_left : whether it is flagged, cold, or has food left in the crop
    weaning : whether it is within the weaning days of its species

    Returns
    -------
    Amount

    Examples
    --------
    >>> feed_amount(80.0, 20)
    Amount(low_ml=6.4, high_ml=8.0, why='')
    >>> feed_amount(5.0, 2).why
    'Under three days old: no page gives an amount. Ask an avian veterinarian or an experienced breeder beside you.'
    """
    why = _why_not(empty_g, age_d - max(sure_to_days, 0.0) if sure_to_days > 1 else age_d, flagged, cold, food_left)
    if why:
        return Amount(float("nan"), float("nan"), why)
    low, high = (LOW_WEANING, CAP_WEANING) if weaning else (LOW, CAP)
    return Amount(round(low * empty_g, 2), round(high * empty_g, 2), "")


def _why_not(empty_g: float, age_d: float, flagged: bool, cold: bool, food_left: bool) -> str:
    if cold:
        return f"It was cold, and a cold chick is never fed. {VET} {ASK}"
    if food_left:
        return f"Food is left in its crop, and nothing is fed on top of it. {ASK}"
    if flagged:
        return f"It is flagged: no amount before an avian veterinarian has seen it. {ASK}"
    if age_d < HATCHLING_D:
        return f"Under three days old: no page gives an amount. {BESIDE}"
    if age_d != age_d:
        return f"Its age is not known at all. {ASK}"
    return "Weigh it first: no weight of this morning or yesterday is written." if empty_g != empty_g else ""


def feed_times(age_d: float) -> str:
    """Hours between feeds, in words; the crop decides, and once a day it empties wholly (practice).

    Examples
    --------
    >>> feed_times(1), feed_times(25), feed_times(float("nan"))
    ('none in the first hours, then about every 2 h', 'every 4–6 h', '')
    """
    return next((words for since, _, _, words in reversed(_TIMES) if age_d >= since), "")


def total_to_mix(amounts: Iterable[Amount], *, waste: tuple[float, float] = WASTE) -> tuple[float, float, int]:
    """Millilitres to mix for one round, from and to, with waste; and for how many chicks an amount is known.

    Examples
    --------
    >>> total_to_mix([feed_amount(80.0, 20), feed_amount(5.0, 2)])
    (7.0, 10.4, 1)
    """
    known = [(one.low_ml, one.high_ml) for one in amounts if not pd.isna(one.high_ml)]
    low, high = sum(low for low, _ in known), sum(high for _, high in known)
    return round(low * (1 + waste[0]), 1), round(high * (1 + waste[1]), 1), len(known)
