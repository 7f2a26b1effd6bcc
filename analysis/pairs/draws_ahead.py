"""Draws of a season to come: what all pairs share in it, what was set aside and comes again, and each clutch."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.pairs.evidence import ClutchSizes, ClutchValue, StageDraws, log_odds
from analysis.pairs.record import HATCH, WEAN, Array, Record
from analysis.rates.pooling.model import inv_logit

Counts = NDArray[np.int64]
# Standard deviations on the logit. Shares fertile of Puerto Rican amazons differ by 0.43 between three seasons (59, 65
# and 77 %; Iguaca Aviary, report of the recovery programme, 2013), of kakapo by 0.56 between four (56, 67, 75 and 45 %;
# news of that programme, 2009 to 2019), trend and chance in both: less than these.
_SEASON_SD, _PAIR_SD = 0.4, 0.3  # of all pairs together; of one pair within it (practice)
_DRAWN_IN = 0.346  # (16 √3 / 15 π)²: a logit with a normal spread, averaged (Johnson & Kotz; from memory)
_STAGES = ("intact", "fertile", "hatch", "wean")


@dataclass(frozen=True)
class SetAside:
    """What was set aside at one stage, and how often: it is no pair's doing, and comes again all the same.

    `happened` of `seasons`: in how many; there `clutches`, the share of clutches that it met, `met`, the share of eggs
    or chicks in these that it met, and `works`, the share of those that came through.
    """

    happened: int
    seasons: int
    clutches: float
    met: float
    works: float

    def draw(self, draws: int, rng: np.random.Generator) -> Array:
        """The share of clutches that it meets next season, (draws,); one season alone is not taken as certain."""
        if not self.happened:
            return np.zeros(draws)
        share = rng.beta(self.happened + 0.5, self.seasons - self.happened + 0.5, draws)
        return np.where(rng.random(draws) < share, self.clutches, 0.0)


def set_aside(record: Record, stage: str) -> SetAside:
    """How often eggs (stage `HATCH`) or chicks (`WEAN`) were set aside in the joined seasons."""
    rows = record.rows[stage]
    rows = rows[rows["tried"] + rows["excluded"] > 0]
    hit = rows[rows["excluded"] > 0]
    there = rows[rows["season"].isin(hit["season"])]
    spoilt = [one.spoilt[["hatched", "tried"]].sum() for one in record.excluded.values()] if stage == HATCH else []
    hatched, tried = (sum(float(counts[name]) for counts in spoilt) for name in ("hatched", "tried"))
    return SetAside(
        happened=hit["season"].nunique(),
        seasons=rows["season"].nunique(),
        clutches=len(hit) / max(len(there), 1),
        met=float(hit["excluded"].sum()) / max(float((hit["tried"] + hit["excluded"]).sum()), 1.0),
        works=hatched / max(tried, 1.0),
    )


@dataclass(frozen=True)
class NextSeason:
    """What all pairs share in each draw of a next season.

    `effects`: by stage, what the season does to its rate, on the logit, (draws,); `spoilt`: by stage, what was set
    aside and the share of clutches that it meets, (draws,).
    """

    effects: dict[str, Array]
    spoilt: dict[str, tuple[SetAside, Array]]

    @classmethod
    def of(cls, record: Record, draws: int, rng: np.random.Generator) -> "NextSeason":
        """Draw it."""
        effects = {stage: _SEASON_SD * rng.standard_normal(draws) for stage in _STAGES}
        aside = {"hatch": set_aside(record, HATCH), "wean": set_aside(record, WEAN)}
        return cls(effects, {stage: (one, one.draw(draws, rng)) for stage, one in aside.items()})


def draw(chances: Array, sizes: ClutchSizes, value: ClutchValue, shared: NextSeason, rng: np.random.Generator) -> Array:
    """Draw the chicks that a pair weans next season, once for each draw of the rates, (draws,).

    `chances`: of 0, 1, 2 … clutches; `sizes`: eggs in a clutch.
    """
    draws = len(value.eggs)
    clutches = rng.choice(len(chances), draws, p=chances)
    stages = {stage: _moved(getattr(value, stage), shared.effects[stage], rng) for stage in _STAGES}
    weaned = np.zeros(draws)
    for number in range(int(clutches.max(initial=0))):
        left = np.where(clutches > number, sizes.drawn(rng), 0).astype(int)
        for name, stage in stages.items():
            left = through(left, _met(stage, *shared.spoilt[name], rng) if name in shared.spoilt else stage, rng)
        weaned += left
    return weaned


def _moved(stage: StageDraws, effect: Array, rng: np.random.Generator) -> StageDraws:
    """A stage in another season: what the season does to all pairs, and what it does to this one.

    Its rate stays what it is on average over seasons: logits are moved out by as much as the spread draws shares in.
    """
    out = np.sqrt(1 + _DRAWN_IN * (_SEASON_SD**2 + _PAIR_SD**2))
    odds = out * log_odds(stage.rate) + effect + _PAIR_SD * rng.standard_normal(len(effect))
    return replace(stage, rate=inv_logit(odds))


def _met(stage: StageDraws, aside: SetAside, share: Array, rng: np.random.Generator) -> StageDraws:
    """A stage of one clutch, where what was set aside may meet it."""
    worse = (1 - aside.met) * stage.rate + aside.met * aside.works
    return replace(stage, rate=np.where(rng.random(len(share)) < share, worse, stage.rate))


def through(came: Counts, stage: StageDraws, rng: np.random.Generator) -> Counts:
    """How many of a clutch come through a stage: eggs of one clutch are alike, and some clutches fail whole."""
    alike = np.clip(stage.scatter, 1e-6, 1 - 1e-6)
    size, rate = 1 / alike - 1, np.clip(stage.rate, 1e-9, 1 - 1e-9)
    of_clutch = np.where(stage.scatter > 0, rng.beta(size * rate, size * (1 - rate)), rate)
    left: Counts = rng.binomial(came, of_clutch) * (rng.random(len(rate)) >= stage.failing)
    return left
