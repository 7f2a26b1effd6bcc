"""Next season of one pair, drawn many times over: clutches, eggs, chicks, and the weeks they are in hand."""

from dataclasses import dataclass

import numpy as np

from analysis.next_season.habits import Habits
from analysis.review.clutch_value import ClutchValue
from analysis.review.record import Array

WEEKS = 53
_LOST_AT = 0.2  # share of the time to weaning at which a chick is lost, about (practice: most losses come early)


@dataclass(frozen=True)
class Drawn:
    """Draws of one pair's next season.

    Parameters
    ----------
    weaned, hatched : (draws,)
    in_hand : (draws, weeks) chicks hatched and not yet weaned, by week of the year
    """

    weaned: Array
    hatched: Array
    in_hand: Array


def draw(habits: Habits, value: ClutchValue, rng: np.random.Generator) -> Drawn:
    """Draw a pair's next season from what a clutch of it gives, once for each draw of the rates."""
    draws = len(value.fertile)
    clutches = rng.choice(habits.clutches, draws).astype(int)
    weaned, hatched, in_hand = np.zeros(draws), np.zeros(draws), np.zeros((draws, WEEKS))
    day = habits.first_day + rng.normal(0, 7, draws)
    for number in range(int(clutches.max(initial=0))):
        out, fledged = _clutch(habits, value, rng)
        out, fledged = (np.where(clutches > number, part, 0) for part in (out, fledged))
        hatched, weaned = hatched + out, weaned + fledged
        hatch_day = day + number * habits.spacing_d + habits.incubation_d
        in_hand += fledged[:, None] * _weeks(hatch_day, habits.wean_d)
        in_hand += (out - fledged)[:, None] * _weeks(hatch_day, _LOST_AT * habits.wean_d)
    return Drawn(weaned, hatched, in_hand)


def _clutch(habits: Habits, value: ClutchValue, rng: np.random.Generator) -> tuple[Array, Array]:
    """Chicks hatched and weaned of one clutch, for each draw; some clutches fail whole."""
    eggs = rng.choice(habits.sizes, len(value.fertile)).astype(int)
    fertile = rng.binomial(eggs, value.fertile)
    hatched = rng.binomial(fertile, value.hatch) * (rng.random(len(eggs)) < value.whole_eggs)
    weaned = rng.binomial(hatched, value.wean) * (rng.random(len(eggs)) < value.whole_chicks)
    return hatched.astype(float), weaned.astype(float)


def _weeks(from_day: Array, days: float) -> Array:
    """Whether a chick of each draw is in hand in each week."""
    week = 7.0 * np.arange(WEEKS) + 3.5
    return ((week >= from_day[:, None]) & (week < from_day[:, None] + days)).astype(float)
