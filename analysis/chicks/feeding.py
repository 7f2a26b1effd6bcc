"""How warm formula may be and for how long it is used; how much a chick is given at most, how often, and who first.

Ranges that end at the trade's cap. They remind, and never prescribe.
"""

import math
from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import pandas as pd

from analysis.finding import ACT, LOOK, Finding, Level, Words, found
from analysis.names import sorted_by_name
from analysis.season.species import species_kind

# "Feed at 100-105 °F" (38-40.5 °C): Duerr & Gage, Hand-Rearing Birds, 2020, pp. 447, 616; a veterinary weekly: 39-41.
FEED_FROM_C, FEED_TO_C = 38.0, 41.0
# Crop burn above 110 °F (43.3 °C), often from a microwave's hot spots: LafeberVet, pediatric avian medicine.
REFUSE_FROM_C = 43.0
# Thrown away after an hour: Duerr & Gage, table 27.1.
_USABLE_H = 1
USABLE_MIN = 60 * _USABLE_H
USABLE = found("feeding.usable", hours=_USABLE_H)
_FROM_F, _TO_F = math.ceil(1.8 * FEED_FROM_C + 32), math.floor(1.8 * FEED_TO_C + 32)  # rounded into the window
WINDOW = found("feeding.window", from_c=FEED_FROM_C, to_c=FEED_TO_C, from_f=_FROM_F, to_f=_TO_F)
WAIT = found("feeding.wait", level=ACT, to_c=FEED_TO_C, refuse_c=REFUSE_FROM_C)
THERMOMETER = found("feeding.check-thermometer")
COLDEST_C = 15.0  # nobody mixes or measures formula so cold: another unit, or another thing (practice)
_FAHRENHEIT = (95.0, 125.0)  # no formula is as hot in °C; read so, it is one in °F
_DECIDES = found("feeding.thermometer-decides")
_MOST_LOTS = 4  # beyond, a warmer stand helps more than further lots (practice)
ORDER_WHY = found("feeding.hygiene-orders", about=found("feeding.this-order"))
# Heated non-stick coatings, smoke: "Fatal Fumes", Los Angeles Times, 24 November 1985; PTFE toxicosis, poultrydvm.com
# (read). Sprays, candles, cleaners: practice.
FUMES = found("feeding.fumes-kill", level=ACT)
CAUTIONS = (found("feeding.caution-chick", level=ACT), found("feeding.caution-people", level=LOOK, fumes=FUMES))
TO_WHO_FEEDS = (
    found("feeding.warm-so", about=found("feeding.how-warm"), level=LOOK, window=WINDOW, to_c=FEED_TO_C),
    # birdrescueguide.com, "Can a bird recover from aspiration?" (read)
    found("feeding.stop-choking", about=found("feeding.choking"), level=ACT),
)
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
# Round the clock in the first week: a keepers' page (eggbloom.com, read); from 6 to 23 h, and once at about 3 h for who
# hatched under 4 g: parrotsdailynews.com (read); 4 a day after 48 h: Duerr & Gage, p. 596. So it is asked.
NIGHT_ASK_D = 7
HATCHLING_D = 3  # a chick that may be under three days gets no number from any page
WASTE = (0.10, 0.30)  # what stays in the cup and the syringe (practice)
VET = found("feeding.vet", level=ACT)
ASK = found("feeding.ask")
BESIDE = found("feeding.ask-beside")
# A warm chick that begs on an empty crop starves while a veterinarian is waited for (practice).
FEED_ON = found("feeding.feed-on", level=ACT)
# Nearly empty: Doneley 2018. Nothing at first, since the yolk feeds it, and very thin: Duerr & Gage, pp. 614-617.
CROP_DECIDES = found("feeding.crop-decides", about=found("feeding.crop"))
# Too thin, and chicks do not gain enough; too thick slows the crop and promotes dehydration: Duerr & Gage, p. 595.
CONSISTENCY = found("feeding.consistency")
# No formula for 12 to 24 hours, often fluids before it: veterinary pages; fed through the night: practice.
FIRST_ASK_H, _LATEST_ASK_H = 12, 24
_FIRST_FEEDS = {"hours": FIRST_ASK_H, "latest": _LATEST_ASK_H}
HATCHLINGS = found("feeding.first-feeds", about=found("feeding.hatchlings"), level=LOOK, **_FIRST_FEEDS)
WEIGH_FIRST = found("feeding.weigh-first")
# Age from which, hours between feeds, from and to. Hatchlings every 2 h, 4 a day by three weeks: Duerr & Gage,
# pp. 614-617; when the crop is nearly empty, 4-6 h: Doneley 2018; the ages between are practice.
_TIMES = ((0, 2, 2), (3, 2, 3), (7, 3, 4), (14, 4, 5), (21, 4, 6))
EATING = found("feeding.twice-a-day")  # while it weans: Duerr & Gage, p. 597
FINCH = found("day.finch")  # small finches are fed far oftener than the parrots these hours are of (memory)
# No parrot or cage bird hatches as heavy (from memory: the largest macaws' hatchlings weigh some 30 g).
HATCHLING_MOST_G = 40.0
_RECENT_D = 1  # an amount rests on this morning's weight, or on yesterday's until this morning's is written


class Judged(NamedTuple):
    """A word ("feed", "wait", "refuse", "too cool" or "" where nothing can be said), in brief, and with what to do."""

    word: str
    brief: Finding
    finding: Finding


def judge_formula(celsius: float) -> Judged:
    """Judge one reading of formula, stirred; missing or no finite number where nothing was read.

    38 to 41 °C may be fed. Above 41 and below 43 °C it waits, and only a second reading of at most 41 °C permits
    feeding. From 43 °C on it is refused. Below 38 °C it is too cool: refusal and a slow crop follow (Duerr & Gage,
    *Hand-Rearing Birds*, 2020, pp. 617, 619).
    """
    if not math.isfinite(celsius):
        brief = found("feeding.not-read")
        return Judged("", brief, found("feeding.read-it-first", level=ACT, read=brief))
    if _FAHRENHEIT[0] <= celsius <= _FAHRENHEIT[1]:
        read = (celsius - 32) / 1.8
        brief = found("feeding.like-fahrenheit", read=celsius, celsius=read, burns=read >= REFUSE_FROM_C)
        return Judged("", brief, found("feeding.read-in-celsius", level=ACT, read=brief))
    if celsius < COLDEST_C:
        brief = found("feeding.so-cold", celsius=celsius)
        return Judged("", brief, found("feeding.which-unit", level=LOOK, read=brief))
    read = round(celsius, 2)  # judged as it is printed: 105.8 °F, worked out, is a hair off 41
    warm = "wait" if read > FEED_TO_C else "too cool" if read < FEED_FROM_C else "feed"
    word = "refuse" if read >= REFUSE_FROM_C else warm
    name = word.replace(" ", "-")
    brief = found(f"feeding.read-{name}", celsius=read)
    level: Level = LOOK if word == "feed" else ACT
    facts: dict[str, Any] = {"read": brief, "to_c": FEED_TO_C, "stir": found("feeding.stir", thermometer=THERMOMETER)}
    return Judged(word, brief, found(f"feeding.do-{name}", level=level, **facts))


def cooling_rate(minutes: float, first: float, second: float, room: float) -> float:
    """The rate k per minute of T(t) = room + (first − room) e^(−k t), from two readings of one cup, in one unit.

    A cup, its filling and stirring change it, so it holds for that cup alone. ValueError: the readings, `minutes`
    apart, are no cooling cup, or one is missing.
    """
    if not (0 < minutes < math.inf and math.inf > first > second > room > -math.inf):
        raise ValueError(f"no cooling cup: {first:g}, then {second:g} after {minutes:g} minutes in a room of {room:g}")
    return math.log((first - room) / (second - room)) / minutes


def minutes_until(rate: float, first: float, room: float, wanted: float) -> float:
    """Minutes until it has cooled to `wanted`: 0 where it is as cool already, infinite where the room is as warm."""
    if first <= wanted:
        return 0.0
    return math.log((first - room) / (wanted - room)) / rate if wanted > room else math.inf


def lots_needed(rate: float, room: float, minutes: float) -> Finding:
    """Say whether one mix stays in the window for a round, or how many lots it takes; else what to read again.

    One lot serves from 41 °C to 38 °C, and never for more than an hour. `minutes`: of the whole round (practice).
    """
    if not (rate > 0 and room < FEED_FROM_C):
        return found("feeding.cup-not-told", level=LOOK, decides=_DECIDES)
    if not 0 < minutes < math.inf:
        return found("feeding.no-length", level=LOOK, decides=_DECIDES)
    warm, whole = minutes_until(rate, FEED_TO_C, room, FEED_FROM_C), math.ceil(minutes)
    lots = math.ceil(minutes / min(warm, USABLE_MIN))
    if lots == 1:
        return found("feeding.one-mix", from_c=FEED_FROM_C, minutes=whole, decides=_DECIDES)
    why = found("feeding.cup-too-cool", from_c=FEED_FROM_C, minutes=whole)
    if warm >= minutes:
        why = found("feeding.mix-too-old", usable=USABLE, minutes=whole)
    number = found(f"feeding.number-{min(lots, _MOST_LOTS)}")
    if lots <= _MOST_LOTS:
        return found("feeding.lots", level=LOOK, why=why, lots=number, decides=_DECIDES)
    stand = FEED_TO_C if warm < USABLE_MIN else None
    return found("feeding.too-many-lots", level=LOOK, why=why, lots=number, stand=stand, decides=_DECIDES)


def feeding_order(chicks: pd.DataFrame) -> pd.DataFrame:
    """Put chicks in the order in which they are fed, with place_in_order (from 1) and own_tools.

    The healthy, then the bought_in, the ailing, and those that needs_vet, the last three with syringes of their own; in
    each the youngest first, those of unknown age (age_d missing) last, and by name where ages are the same.
    """
    last = pd.Series(0, index=chicks.index)
    for place, why in enumerate(("bought_in", "ailing", "needs_vet"), start=1):
        last = last.mask(chicks[why].astype(bool), place)
    chicks = sorted_by_name(chicks.assign(own_tools=last > 0, last=last), ["chick"])
    rows = chicks.sort_values(["last", "age_d"], kind="stable", ignore_index=True).drop(columns="last")
    return rows.assign(place_in_order=range(1, len(rows) + 1))


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
    slow: bool = False,
    less: bool = False,
    eating_alone: bool = False,
) -> Amount:
    """Give the range that ends at the cap, or say why there is none and what to ask.

    The cap is a tenth of `empty_g` (in the morning with an empty crop), and about half of that for a chick that was
    seen eating by itself; its age lowers nothing. What is given is rounded down, so that no rounding passes the cap: to
    0.01 ml below 1 ml, to 0.1 ml below 10 ml, to 1 ml from there on. `age_d` may be wrong by `sure_to_days`, and the
    youngest it may be counts. `unwell`: signs that ask for no food, or for a veterinarian's word before any; `slow`:
    whether its crop slowed at two feeds running; `less`: whether what was seen asks for smaller feeds, such as air in
    the crop.
    """
    youngest_d = age_d - abs(sure_to_days)
    why: Words = "" if 0 < empty_g < math.inf else WEIGH_FIRST
    if cold:
        why = found("feeding.was-cold", vet=VET, ask=ASK)
    elif food_left:
        why = found("feeding.food-left", ask=ASK)
    elif unwell:
        why = found("feeding.unwell", signs=unwell, ask=ASK)
    elif flagged or slow:
        why = found("feeding.flagged" if flagged else "feeding.slow-crop", feed_on=FEED_ON)
    elif age_d < HATCHLING_D:
        why = found("feeding.under-three-days", beside=BESIDE)
    elif math.isnan(youngest_d):
        why = found("feeding.age-not-known", ask=ASK, feed_on=FEED_ON)
    elif youngest_d < HATCHLING_D:
        why = found("feeding.may-be-under-three-days", beside=BESIDE)
    if why:
        return Amount(math.nan, math.nan, why)
    low, high = (LOW_EATING, CAP_EATING) if eating_alone else (_at(_LOW, youngest_d)[1], CAP)
    low, high = (LESS * low, low) if less else (low, high)
    return Amount(_down(low * empty_g), _down(high * empty_g), "")


def _at(steps: tuple[tuple[float, ...], ...], age_d: float) -> tuple[float, ...]:
    """The last step that an age has reached; missing numbers before the first, and where the age is missing."""
    return next((step for step in reversed(steps) if age_d >= step[0]), (math.nan,) * len(steps[0]))


def _down(ml: float) -> float:
    steps = 100 if ml < 1 else 10 if ml < 10 else 1
    return math.floor(ml * steps + 1e-6) / steps


def feed_hours(age_d: float) -> tuple[float, float]:
    """Hours between feeds at an age, from and to; missing where the age is not known."""
    _, low_h, high_h = _at(_TIMES, age_d)
    return low_h, high_h


def feed_times(age_d: float, *, eating_alone: bool = False) -> Words:
    """Hours between feeds; see `CROP_DECIDES` and `HATCHLINGS`. Blank where the age is not known."""
    low_h, high_h = feed_hours(age_d)
    if eating_alone or math.isnan(low_h):
        return EATING if eating_alone else ""
    every = found("feeding.every", from_h=low_h, to_h=high_h)
    return every if low_h < high_h else found("feeding.nights-too", hours=low_h)


def total_to_mix(amounts: Iterable[Amount], *, waste: tuple[float, float] = WASTE) -> tuple[float, float, int]:
    """Millilitres to mix for one round, from and to, with waste; and for how many chicks an amount is known."""
    known = [(one.low_ml, one.high_ml) for one in amounts if not math.isnan(one.high_ml)]
    low, high = (sum(ends) for ends in zip(*known, strict=True)) if known else (0, 0)
    return round(low * (1 + waste[0]), 1), round(high * (1 + waste[1]), 1), len(known)


def with_amounts(chicks: pd.DataFrame, on: pd.Timestamp, *, damaged: bool = False) -> pd.DataFrame:
    """Add low_ml and high_ml (missing where no amount is given), by_today, why and times: see `feed_amount`.

    Nobody gets an amount where a chick of the day it hatched weighs more than any can: the unit is in doubt; nor
    where the log of weights is damaged.
    """
    amounts = [_amount(chick, on) for chick in chicks.itertuples()]
    first_g = chicks.loc[chicks["age_d"] <= 1, ["today_g", "last_g"]].max(axis=None)
    if damaged or first_g > HATCHLING_MOST_G:
        why = found("day.weights-damaged") if damaged else found("day.wrong-unit", mass=float(first_g))
        amounts = [Amount(math.nan, math.nan, why)] * len(amounts)
    table = pd.DataFrame(amounts, columns=["low_ml", "high_ml", "why"], index=chicks.index).astype({"why": object})
    times = pd.Series([_times(chick) for chick in chicks.itertuples()], index=chicks.index, dtype=object)
    return chicks.join(table).assign(by_today=chicks["today_g"].notna(), times=times)


def _times(chick: Any) -> Words:
    """Hours between feeds; none for who is not fed by a page."""
    if chick.cold or chick.food_left or chick.unwell:
        return ""
    if chick.flagged or chick.slow:
        return found("day.as-usual")
    return FINCH if species_kind(chick.species) == "finch" else feed_times(chick.age_d, eating_alone=chick.eats)


def _amount(chick: Any, on: pd.Timestamp) -> Amount:
    # A chick whose weight this morning is doubtful is weighed again before anything rests on it.
    doubtful = bool(chick.weigh_again) and not chick.flagged
    recent = not pd.isna(chick.last_on) and (on - chick.last_on).days <= _RECENT_D
    empty_g = chick.today_g if not pd.isna(chick.today_g) else chick.last_g if recent else math.nan
    seen = {name: getattr(chick, name) for name in ("flagged", "cold", "food_left", "unwell", "slow", "less")}
    seen |= {"sure_to_days": 0.0 if pd.isna(chick.sure_to_days) else float(chick.sure_to_days)}
    amount = feed_amount(math.nan if doubtful else float(empty_g), chick.age_d, eating_alone=chick.eats, **seen)
    return amount._replace(why=found("day.weigh-again-first")) if doubtful and amount.why == WEIGH_FIRST else amount
