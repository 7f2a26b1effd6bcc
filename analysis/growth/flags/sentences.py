"""What each flag says, in words a keeper understands: what was seen, and apart from it what that calls for."""

from collections.abc import Callable

import numpy as np
import pandas as pd

from analysis.words import day_words, grams, percent

# A change smaller than this share is none (a kitchen scale's step).
SAME = 0.015
# What a flag calls for while its chick is here, which is nobody's to do once it is weaned, lost or gone.
VET = "An avian veterinarian should see it today."
TO_FEEDING = "Back to feeding."
FEED_AGAIN = f"{TO_FEEDING} {VET}"
SEE_IT_EATS = "See that it eats alone."
ALL_AGAIN = f"Weigh them all again on another scale. If it is right they have all stopped gaining: {VET}"


def in_gram(mass_g: float) -> str:
    """Write a weight with its unit."""
    return f"{grams(mass_g)} g"


def when(day: int, age_d: float) -> str:
    """Write a weighing's day: of the year where it is known, and of the chick's life.

    Examples
    --------
    >>> when(20604, 23.0), when(-1, 23.0)
    ('on 31 May 2026 (day 23)', 'on day 23')
    """
    age = f"day {round(age_d)}"
    return f"on {day_words(pd.Timestamp(day, unit='D'))} ({age})" if day >= 0 else f"on {age}"


def slip(
    written: float,
    expected: float,
    at: str,
    other: float | None = None,
    *,
    lost: float | None = None,
    told: bool = True,
) -> str:
    """Say that a weight looks mistaken, and what may have been meant; `told`: whether what was expected is said.

    Examples
    --------
    >>> slip(84, 48, "on day 23")
    '84 g on day 23 looks mistaken: about 48 g was expected. With its digits exchanged it would be 48 g.'
    """
    why = f"about {in_gram(expected)} was expected" if told else "it does not fit the weights beside it"
    said = f"{in_gram(written)} {at} looks mistaken: {why}."
    if other is not None:
        return f"{said} It and {in_gram(other)} beside it contradict each other; nobody can tell which is right."
    if lost is not None:
        return f"{said} Were it right, {percent(lost)} would be gone since the weighing before."
    return f"{said}{_meant(written, expected)}"


def weigh_again(written: float, expected: float, at: str, *, told: bool = True) -> str:
    """Ask for a second weighing; `told`: whether what was expected is said.

    Examples
    --------
    >>> weigh_again(84, 48, "on day 23")
    '84 g on day 23, where about 48 g was expected: weigh it again. With its digits exchanged it would be 48 g.'
    >>> weigh_again(84, 48, "on day 23", told=False)[:62]
    '84 g on day 23 does not fit its weights before: weigh it again'
    """
    why = f", where about {in_gram(expected)} was expected" if told else " does not fit its weights before"
    said = f"{in_gram(written)} {at}{why}: weigh it again."
    return f"{said}{_meant(written, expected)}"


def swapped(one: str, other: str, at: str) -> str:
    """Say that two chicks look swapped."""
    return f"{one} and {other} look swapped {at}: each weight fits the other chick."


def scale(gram: float, chicks: int, day: int, *, sure: bool = True) -> str:
    """Say that a morning's scale was off.

    Examples
    --------
    >>> scale(7.1, 9, 20573)[:72]
    '30 April 2026: the 9 chicks weighed stand about 7 g too high, together. '
    """
    amount = in_gram(abs(gram)) if abs(gram) < 3 else f"{abs(gram):.0f} g"
    said = (
        f"{day_words(pd.Timestamp(day, unit='D'))}: the {chicks} chicks weighed stand about {amount} too "
        f"{'high' if gram > 0 else 'low'}, together."
    )
    return f"{said} That is the scale, so no chick is judged by it." if sure else said


def stall(written: float, expected: float | None, at: str, before: float, since_d: float, *, gained: float) -> str:
    """Say that a chick has stopped gaining, or loses; `gained`: its weight now as a share of that before, crops empty.

    Examples
    --------
    >>> stall(58, 66, "on day 18", 60, 16, gained=0.97)
    'Lost weight since day 16: 60 g then, 58 g on day 18, where about 66 g was expected.'
    """
    did = "Lost weight" if gained < 1 else "Gained too little"
    if abs(gained - 1) < SAME:
        did = "No gain"
    where = f", where about {in_gram(expected)} was expected" if expected is not None else ""
    return f"{did} since day {since_d:.0f}: {in_gram(before)} then, {in_gram(written)} {at}{where}."


def fall(share: float, peak: float, peak_age_d: float, at: str, *, act: bool) -> str:
    """Tell the fall from the peak.

    Examples
    --------
    >>> fall(0.112, 95, 30, "on day 41", act=False)[69:]
    'About a tenth is usual while it weans.'
    """
    said = f"Fell {percent(share)} from its peak of {in_gram(peak)} on day {peak_age_d:.0f}, by its weights {at}."
    return f"{said} {'That is more than the tenth that is' if act else 'About a tenth is'} usual while it weans."


def light(share: float, at: str) -> str:
    """Say that a chick is light for its age.

    Examples
    --------
    >>> light(-0.18, "on day 12")
    'About 18 % lighter than the others of its age, by its weights up to and on day 12.'
    """
    return f"About {percent(-share)} lighter than the others of its age, by its weights up to and {at}."


def unusual(share: float, age_d: float) -> str:
    """Say that a chick grew on another course.

    Examples
    --------
    >>> unusual(-0.15, 12)
    'Grew on another course than the others: 15 % lighter than them on day 12.'
    """
    way = "lighter" if share < 0 else "heavier"
    return f"Grew on another course than the others: {percent(abs(share))} {way} than them on day {age_d:.0f}."


def _meant(written: float, expected: float) -> str:
    """What may have been meant, where a common slip of the pen makes the weight right."""
    meant: tuple[tuple[str, Callable[[], float]], ...] = (
        ("With its digits exchanged", lambda: _exchanged(written)),
        ("With the point a place on", lambda: written * 10),
        ("With the point a place back", lambda: written / 10),
        ("With ten less", lambda: written - 10),
        ("With ten more", lambda: written + 10),
        ("With a hundred less", lambda: written - 100),
    )
    for words, value in meant:
        if value() > 0 and abs(np.log(value() / expected)) < 0.06:
            return f" {words} it would be {in_gram(value())}."
    return ""


def _exchanged(written: float) -> float:
    whole = round(written)
    return float(str(whole)[::-1]) if 10 <= whole < 1000 and abs(whole - written) < 1e-9 else -1.0
