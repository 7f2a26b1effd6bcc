"""How a cup of formula cools (Newton): only a check that the last chick is fed in the window, never a countdown."""

import math

from analysis.feeding.formula import FEED_FROM_C, FEED_TO_C, USABLE, USABLE_MIN
from analysis.finding import LOOK, Finding, found

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
