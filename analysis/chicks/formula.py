"""How warm formula may be when it is fed, and for how long a mix is used."""

import math
from typing import NamedTuple

import pandas as pd

from analysis.finding import ACT, LOOK, Finding, Level, found
from analysis.names import name_key

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
_STIR = found("feeding.stir", thermometer=THERMOMETER)


class Judged(NamedTuple):
    """A temperature judged.

    Parameters
    ----------
    word : "feed", "wait", "refuse", "too cool" or "" where nothing can be said
    brief : what was read and how it is judged
    finding : the same with what to do
    """

    word: str
    brief: Finding
    finding: Finding


def judge_formula(celsius: float) -> Judged:
    """Judge one reading of formula, stirred.

    38 to 41 °C may be fed. Above 41 and below 43 °C it waits, and only a second reading of at most 41 °C permits
    feeding. From 43 °C on it is refused. Below 38 °C it is too cool: refusal and a slow crop follow (Duerr & Gage,
    *Hand-Rearing Birds*, 2020, pp. 617, 619).

    Parameters
    ----------
    celsius : °C; missing or no finite number where nothing was read

    Returns
    -------
    Judged

    Examples
    --------
    >>> judge_formula(39.5).word, judge_formula(42.0).word, judge_formula(43.0).word, judge_formula(36.0).word
    ('feed', 'wait', 'refuse', 'too cool')
    >>> from analysis.say import in_words
    >>> in_words(judge_formula(104).finding)
    '104 reads like °F: that is 40.0 °C. Read it again in °C before anything is fed.'
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
    word = _word(read)
    name = word.replace(" ", "-")
    brief = found(f"feeding.read-{name}", celsius=read)
    level: Level = LOOK if word == "feed" else ACT
    return Judged(word, brief, found(f"feeding.do-{name}", level=level, read=brief, to_c=FEED_TO_C, stir=_STIR))


def _word(celsius: float) -> str:
    if celsius >= REFUSE_FROM_C:
        return "refuse"
    if celsius > FEED_TO_C:
        return "wait"
    return "too cool" if celsius < FEED_FROM_C else "feed"


# Heated non-stick coatings, smoke: "Fatal Fumes", Los Angeles Times, 24 November 1985; PTFE toxicosis, poultrydvm.com
# (read). Sprays, candles, cleaners: practice.
FUMES = found("feeding.fumes-kill", level=ACT)
CAUTIONS = (found("feeding.caution-chick", level=ACT), found("feeding.caution-people", level=LOOK, fumes=FUMES))
TO_WHO_FEEDS = (
    # the window and its sources: see formula
    found("feeding.warm-so", about=found("feeding.how-warm"), level=LOOK, window=WINDOW, to_c=FEED_TO_C),
    # birdrescueguide.com, "Can a bird recover from aspiration?" (read)
    found("feeding.stop-choking", about=found("feeding.choking"), level=ACT),
)


_DECIDES = found("feeding.thermometer-decides")
_MOST_LOTS = 4  # beyond, a warmer stand helps more than further lots (practice)


def cooling_rate(minutes: float, first: float, second: float, room: float) -> float:
    """The rate k of T(t) = room + (first − room) e^(−k t), from two readings of one cup.

    Parameters
    ----------
    minutes : between the readings, above 0
    first, second, room : in one unit; the cup is warmer than the room and cools

    Returns
    -------
    1/minute; a cup, its filling and stirring change it, so it holds for that cup alone

    Raises
    ------
    ValueError : the readings are no cooling cup, or one is missing

    Examples
    --------
    >>> k = cooling_rate(10, 90, 60, 20)
    >>> round(minutes_until(k, 90, 20, 35), 2)
    27.53
    """
    if not (0 < minutes < math.inf and math.inf > first > second > room > -math.inf):
        raise ValueError(f"no cooling cup: {first:g}, then {second:g} after {minutes:g} minutes in a room of {room:g}")
    return math.log((first - room) / (second - room)) / minutes


def temperature_after(rate: float, first: float, room: float, minutes: float) -> float:
    """Temperature after so many minutes.

    Examples
    --------
    >>> round(temperature_after(cooling_rate(30, 72, 61, 44), 72, 44, 60), 1)
    54.3
    """
    return room + (first - room) * math.exp(-rate * minutes)


def minutes_until(rate: float, first: float, room: float, wanted: float) -> float:
    """Minutes until it has cooled to `wanted`: 0 where it is as cool already, infinite where the room is as warm.

    Examples
    --------
    >>> round(minutes_until(cooling_rate(30, 72, 61, 44), 72, 44, 50), 1)
    92.6
    """
    if first <= wanted:
        return 0.0
    return math.log((first - room) / (wanted - room)) / rate if wanted > room else math.inf


def lots_said(rate: float, room: float, minutes: float) -> Finding:
    """Say whether one mix stays in the window for a round, or how many lots it takes.

    One lot serves from 41 °C, where the first chick is fed, until it is 38 °C, and never for more than an hour.

    Parameters
    ----------
    rate : of the cup, from `cooling_rate`, read in °C
    room : °C
    minutes : that the round takes, chicks times minutes a chick (practice)

    Returns
    -------
    What was found; where the numbers allow nothing, what to read again

    Examples
    --------
    >>> from analysis.say import in_words
    >>> in_words(lots_said(0.02, 22.0, 7))[:78]
    'This cup is still at 38 °C or more at the end of a round of about 7 minutes: o'
    >>> in_words(lots_said(0.02, 22.0, 15)).split(". ")[0]
    'This cup is below 38 °C before a round of about 15 minutes is over: mix in two lots'
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


ORDER_WHY = found("feeding.hygiene-orders", about=found("feeding.this-order"))


def feeding_order(chicks: pd.DataFrame) -> pd.DataFrame:
    """Put chicks in the order in which they are fed.

    The healthy, then the bought-in, the ailing, and those that need a veterinarian; in each the youngest first, those
    of unknown age after the others, and by name where ages are the same.

    Parameters
    ----------
    chicks : frame
        chick, age_d (missing where it is not known), bought_in, ailing, needs_vet (truth values), and any others.

    Returns
    -------
    The same rows in order, numbered anew, with place_in_order (from 1) and own_tools (bought in, ailing, or to be seen
    by a veterinarian).

    Examples
    --------
    >>> chicks = pd.DataFrame({"chick": ["K1", "K2", "K3"], "age_d": [20.0, 3.0, 9.0], "ailing": [False, False, True]})
    >>> feeding_order(chicks.assign(bought_in=False, needs_vet=False))["chick"].tolist()
    ['K2', 'K1', 'K3']
    """
    last = pd.Series(0, index=chicks.index)
    for place, why in enumerate(("bought_in", "ailing", "needs_vet"), start=1):
        last = last.mask(chicks[why].astype(bool), place)
    age_d = chicks["age_d"].fillna(float("inf"))
    keys = list(zip(last, age_d, map(name_key, chicks["chick"].astype(str)), strict=True))
    order = sorted(range(len(chicks)), key=lambda at: keys[at])
    rows = chicks.iloc[order].reset_index(drop=True)
    own_tools = (last.iloc[order] > 0).to_numpy()
    return rows.assign(place_in_order=range(1, len(rows) + 1), own_tools=own_tools)
