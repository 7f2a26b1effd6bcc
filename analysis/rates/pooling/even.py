"""Draws of equal weight, of everything that is not known."""

from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.design import Array, Index
from analysis.rates.pooling.model import NEVER, Model, inv_logit, shares_of
from analysis.rates.pooling.posterior import Draws

EVEN_DRAWS = 4000


@dataclass(frozen=True)
class Even:
    """Draws of equal weight: `sd` and `effects` (draws, levels) of each group, on the logit; shares None where off.

    `never` (draws, levels of the first group): the rate of a level that never works in that draw, else NaN.
    """

    mu: Array
    sd: dict[str, Array]
    effects: dict[str, Array]
    never: Array
    share_never: Array | None
    failing: Array | None
    scatter: Array | None

    def weights(self, scale: float) -> Array:
        """What each draw would weigh, (draws,), by HalfNormal(scale) over HalfNormal(1) for all standard deviations."""
        squares = np.sum(np.column_stack(list(self.sd.values())) ** 2, axis=1)
        return np.asarray(np.exp(-0.5 * squares * (scale**-2 - 1)))

    def rates(self, at: dict[str, int | None], first: str, rng: np.random.Generator) -> Array:
        """Rates of these levels together; None: a level that was never seen."""
        eta, never = self.mu.copy(), np.full(len(self.mu), np.nan)
        for group, number in at.items():
            if number is not None:
                eta = eta + self.effects[group][:, number]
                never = self.never[:, number] if group == first else never
                continue
            eta = eta + self.sd[group] * rng.standard_normal(len(eta))
            if group == first and self.share_never is not None:
                out = rng.random(len(eta)) < self.share_never
                never = np.where(out, rng.beta(*NEVER, len(eta)), np.nan)
        return np.where(np.isnan(never), inv_logit(eta), never)


def times_drawn(weights: Array, seed: int) -> Index:
    """As how many even draws each weighted one is taken."""
    even = (np.arange(EVEN_DRAWS) + np.random.default_rng([seed, 1]).random()) / EVEN_DRAWS
    at = np.searchsorted(np.cumsum(weights), even)
    return np.bincount(np.minimum(at, len(weights) - 1), minlength=len(weights))


@dataclass(frozen=True)
class Own:
    """Even draws of the levels of the first group: which draw each is of, (draws,), and (draws, levels) of each.

    `u`: the effect in standard deviations; `never`: the logit of a level that never works in that draw, else NaN.
    """

    draw: Index
    u: Array
    never: Array


def even_draws(m: Model, draws: Draws, own: Own, rng: np.random.Generator) -> Even:
    """Put together what was drawn, shuffled."""
    turn = rng.permutation(len(own.draw))
    x, sds, u, never = draws.x[own.draw[turn]], draws.sds[own.draw[turn]], own.u[turn], own.never[turn]
    shares = shares_of(m, x)
    first, *others = m.design.groups
    effects = {first: np.where(np.isnan(never), sds[:, :1] * u, -np.inf)}
    for number, (group, part) in enumerate(zip(others, m.effects, strict=True), start=1):
        effects[group] = sds[:, number, None] * x[:, part]
    return Even(
        mu=x[:, 0],
        sd={group: sds[:, number] for number, group in enumerate(m.design.groups)},
        effects=effects,
        never=inv_logit(never),
        share_never=None if shares.never is None else inv_logit(shares.never),
        failing=None if shares.failing is None else inv_logit(shares.failing),
        scatter=None if shares.theta is None else shares.theta / (1 + shares.theta),
    )
