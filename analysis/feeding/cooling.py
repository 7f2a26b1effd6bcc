"""How a cup of formula cools (Newton): only a check that the last chick is fed in the window, never a countdown."""

import math

from analysis.feeding.formula import FEED_FROM_C, FEED_TO_C

_DECIDES = "The thermometer decides at every chick."
_MOST_LOTS = 4  # where more would be needed, a warmer stand helps more than further lots (practice)


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
    ValueError : the readings are no cooling cup

    Examples
    --------
    >>> k = cooling_rate(10, 90, 60, 20)
    >>> round(minutes_until(k, 90, 20, 35), 2)
    27.53
    """
    if not (minutes > 0 and first > second > room):
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
    """Minutes until it has cooled to `wanted`; infinite where the room is warmer.

    Examples
    --------
    >>> round(minutes_until(cooling_rate(30, 72, 61, 44), 72, 44, 50), 1)
    92.6
    """
    return math.log((first - room) / (wanted - room)) / rate if wanted > room else math.inf


def lots_said(rate: float, room: float, minutes: float) -> str:
    """Say whether one mix stays in the window for a round, or how many lots it takes.

    Parameters
    ----------
    rate : of the cup, from `cooling_rate`
    room : °C
    minutes : that the round takes

    Examples
    --------
    >>> lots_said(0.02, 22.0, 7).split("; ")[1]
    'a round of about 7 minutes is fed from one mix. The thermometer decides at every chick.'
    >>> lots_said(0.02, 22.0, 15).split("; ")[1]
    'for a round of about 15 minutes mix in two lots. The thermometer decides at every chick.'
    """
    warm = minutes_until(rate, FEED_TO_C, room, FEED_FROM_C)
    lots = math.ceil(minutes / warm) if math.isfinite(warm) else 1
    first = f"In this cup formula stays between {FEED_TO_C:g} and {FEED_FROM_C:g} °C for about {warm:.0f} minutes;"
    round_ = f"a round of about {minutes:.0f} minutes"
    if not math.isfinite(warm) or lots <= 1:
        return f"{first} {round_} is fed from one mix. {_DECIDES}"
    if lots <= _MOST_LOTS:
        return f"{first} for {round_} mix in {('two', 'three', 'four')[lots - 2]} lots. {_DECIDES}"
    return (
        f"{first} {round_} would take {lots} lots. Mix a little at a time, or keep the cup standing in a bowl of warm "
        f"water (practice). {_DECIDES}"
    )
